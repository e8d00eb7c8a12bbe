#!/usr/bin/python3
"""Outside judge of centroids: runs SEP over FITS frames and writes what it finds.

SEP 1.2.1 (Debian package python3-sep, LGPL-3.0+/BSD parts) is a general-purpose source extraction library; it is run
here as it stands and shares no code with this project. The pixels are read by numpy alone, so that the judge depends on
nothing of ours.

  judge_sep.py FRAME.fits... [--out FOLDER]   one CSV a frame: x,y,flux,a,b,theta,flag (x, y 0-based, pixel centres whole)
  judge_sep.py --time FRAME.fits...           seconds a frame: read, background, extraction, windowed centroids
"""
import argparse
import csv
import os
import sys
import time

import numpy
import sep


def read_fits(path):
    """Pixels of a primary image with BITPIX 16 or -32 as native float32."""
    with open(path, "rb") as file:
        cards = {}
        while True:
            block = file.read(2880)
            if len(block) < 2880:
                raise ValueError(f"{path}: header without END")
            lines = [block[i:i + 80].decode("ascii") for i in range(0, 2880, 80)]
            for line in lines:
                if line[8:10] == "= ":
                    cards[line[:8].strip()] = line[10:].split("/")[0].strip()
            if any(line.startswith("END     ") for line in lines):
                break
        width, height, bits = (int(cards[k]) for k in ("NAXIS1", "NAXIS2", "BITPIX"))
        raw = numpy.fromfile(file, dtype={16: ">i2", -32: ">f4"}[bits], count=width * height)
    scale, zero = float(cards.get("BSCALE", 1)), float(cards.get("BZERO", 0))
    return (raw.astype(numpy.float32) * numpy.float32(scale) + numpy.float32(zero)).reshape(height, width)


def measure(path):
    clock = [time.perf_counter()]

    def lap():
        clock.append(time.perf_counter())

    data = read_fits(path)
    lap()
    sky = sep.Background(data)
    data -= sky.back()
    lap()
    found = sep.extract(data, 3.0, err=sky.globalrms)
    lap()
    # The usual recipe: window of the star's own width, from the half-light radius (SEP documentation, "winpos").
    bright = found[numpy.argsort(-found["flux"])][:2000]
    radius, _ = sep.flux_radius(data, bright["x"], bright["y"], 6.0 * bright["a"], 0.5, normflux=bright["flux"], subpix=5)
    sigma = 2.0 / 2.35 * radius
    x, y, flag = sep.winpos(data, bright["x"], bright["y"], sigma)
    lap()
    return bright, x, y, flag, len(found), numpy.diff(clock)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("frames", nargs="+")
    parser.add_argument("--out")
    parser.add_argument("--time", action="store_true")
    options = parser.parse_args()
    sep.set_extract_pixstack(3_000_000)
    for path in options.frames:
        rounds = 4 if options.time else 1
        laps = []
        for _ in range(rounds):
            bright, x, y, flag, count, spent = measure(path)
            laps.append(spent)
        if options.time:
            read, sky, extract, centre = numpy.mean(laps[1:], axis=0)
            print(f"{os.path.basename(path)}: {count} sources, SEP {sep.__version__}: read {read:.3f} s, background {sky:.3f} s, "
                  f"extract {extract:.3f} s, winpos of {len(x)} {centre:.3f} s; find and measure {sky + extract + centre:.3f} s")
        else:
            out = os.path.join(options.out or os.path.dirname(path), os.path.splitext(os.path.basename(path))[0] + ".sep.csv")
            with open(out, "w", newline="") as file:
                writer = csv.writer(file)
                writer.writerow(["x", "y", "flux", "a", "b", "theta", "flag"])
                for k in range(len(x)):
                    writer.writerow([f"{x[k]:.5f}", f"{y[k]:.5f}", f"{bright['flux'][k]:.3f}", f"{bright['a'][k]:.4f}",
                                     f"{bright['b'][k]:.4f}", f"{bright['theta'][k]:.5f}", int(flag[k]) | int(bright["flag"][k])])
    return 0


if __name__ == "__main__":
    sys.exit(main())
