#!/usr/bin/python3
"""Outside judge of speed: the work of `hourhinge frames` by SEP on the same files, on as many processes.

SEP 1.2.1 (Debian package python3-sep) as in judge_sep.py: each frame is read (FITS by numpy, JPEG by Pillow as ITU-R
BT.709 luminance), its background taken off, sources found and the 1000 brightest measured by windowed centroids. Prints
frames a second and the largest memory of one process.

  grade_by_sep.py FOLDER [--workers 2]
"""
import argparse
import glob
import multiprocessing
import os
import resource
import time

import numpy
import sep
from PIL import Image

from judge_sep import read_fits


def read_jpeg(path):
    rgb = numpy.asarray(Image.open(path).convert("RGB")).astype(numpy.float32)
    return numpy.ascontiguousarray(rgb @ numpy.array([0.2126, 0.7152, 0.0722], dtype=numpy.float32))


def grade(path):
    """Stars, width, elongation and background of a frame; what FrameMeasures.Of condenses from it."""
    sep.set_extract_pixstack(3_000_000)
    data = read_jpeg(path) if path.endswith(".jpg") else read_fits(path)
    sky = sep.Background(data)
    data -= sky.back()
    found = sep.extract(data, 3.0, err=sky.globalrms)
    bright = found[numpy.argsort(-found["flux"])][:1000]
    radius, _ = sep.flux_radius(data, bright["x"], bright["y"], 6.0 * bright["a"], 0.5, normflux=bright["flux"], subpix=5)
    sep.winpos(data, bright["x"], bright["y"], 2.0 / 2.35 * radius)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return len(found), numpy.median(2 * radius), numpy.median(bright["a"] / bright["b"]), sky.globalback, peak


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("folder")
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    paths = sorted(path for kind in ("*.fits", "*.jpg") for path in glob.glob(os.path.join(options.folder, kind)))
    start = time.perf_counter()
    with multiprocessing.Pool(options.workers) as pool:
        results = list(pool.imap_unordered(grade, paths))
    seconds = time.perf_counter() - start
    print(f"SEP {sep.__version__}: {len(paths)} frames in {seconds:.1f} s: {len(paths) / seconds:.2f} frames a second, "
          f"{options.workers} processes of up to {max(r[4] for r in results) / 1024:.0f} MiB each")
