#!/usr/bin/python3
"""Fits the six frames of fixed-24mm with and without the lens's axis as a parameter, independently of our own code, and
writes fixed-24mm-fit.csv beside this script.

Sources: SEP 1.2.1 (Debian python3-sep). Stars: Hipparcos to magnitude 6.8 from the npm package d3-celestial 0.7.35
(data/stars.14.json, BSD-3-Clause), J2000 without proper motions, refraction left in, as the table of README.md has it.
Model "centred" is the table's: gnomonic, r' = r (1 + k1 r^2 + k2 r^4) about the frame's centre. Model "axis" has two
parameters more: where the lens's axis meets the frame. Model "tangential" leaves the axis at the centre and has instead
the two terms of a lens whose elements are not in line (Brown 1966, Photogrammetric Engineering 32, 444; the formula
from memory). Least squares with a soft L1 loss (SciPy 1.10.1).

The camera stood still. So the frame's centre must stay at one declination of date and at one hour angle: the last
columns are its distance from the mean of the six (precession and sidereal time by ERFA), for each model and the table.

  fit_fixed_24mm.py STARS.14.JSON
"""
import csv
import json
import pathlib
import sys

import erfa
import numpy
import sep
from PIL import Image
from scipy.optimize import least_squares
from scipy.spatial import cKDTree

HERE = pathlib.Path(__file__).parent
WIDTH, HEIGHT, FAINTEST = 2000, 1333, 6.8
ZONE_HOURS, TT_MINUS_UTC = 5.5, 69.184


def table():
    """Rows of README.md: frame, seconds of the local day, right ascension, declination, focal length, k1, k2."""
    rows = []
    for line in (HERE / "README.md").read_text().splitlines():
        cells = [c.strip() for c in line.strip("|").split("|")]
        if len(cells) == 7 and cells[0].isdigit():
            hours, minutes, seconds = (float(t) for t in cells[1].split(" ")[0].split(":"))
            rows.append([int(cells[0]), hours * 3600 + minutes * 60 + seconds,
                         *(float(c) for c in cells[2].split(",")), *(float(c) for c in cells[3:6])])
    return rows


def vectors(ra_deg, dec_deg):
    return erfa.s2c(numpy.radians(ra_deg), numpy.radians(dec_deg))


def camera_axes(ra, dec, roll):
    """Rows: right, down and forward in J2000 axes."""
    forward = erfa.s2c(ra, dec)
    west = numpy.array([numpy.sin(ra), -numpy.cos(ra), 0])
    south = numpy.cross(forward, west)
    c, s = numpy.cos(roll), numpy.sin(roll)
    return numpy.array([c * west - s * south, s * west + c * south, forward])


def draw(p, stars):
    """Pixels of directions. p: ra, dec, roll (rad), focal length (px), k1, k2, axis x, axis y (px from the centre),
    p1, p2 (tangential)."""
    right, down, forward = camera_axes(*p[:3]) @ stars.T
    z = numpy.where(forward > 0.2, forward, numpy.nan)
    x, y = right / z, down / z
    square = x * x + y * y
    scale = p[3] * (1 + p[4] * square + p[5] * square * square)
    sideways = p[3] * (p[8] * (square + 2 * x * x) + 2 * p[9] * x * y)
    downward = p[3] * (p[9] * (square + 2 * y * y) + 2 * p[8] * x * y)
    return numpy.c_[(WIDTH - 1) / 2 + p[6] + x * scale + sideways, (HEIGHT - 1) / 2 + p[7] + y * scale + downward]


def centre_direction(p):
    """Direction of the frame's centre: the axis's place undone by fixed-point steps. (Tangential terms are 0 there when
    the axis is at the centre.)"""
    plane = numpy.zeros(2)
    for _ in range(50):
        square = plane @ plane
        plane = -numpy.array(p[6:8]) / p[3] / (1 + p[4] * square + p[5] * square * square)
    v = camera_axes(*p[:3]).T @ numpy.array([plane[0], plane[1], 1])
    return v / numpy.linalg.norm(v)


def ground(seconds, v):
    """Hour angle at Greenwich and declination of date, degrees."""
    day, part = erfa.cal2jd(2021, 9, 29)
    part += (seconds + 30 - ZONE_HOURS * 3600) / 86400
    tt = part + TT_MINUS_UTC / 86400
    ra, dec = erfa.c2s(erfa.pnm06a(day, tt) @ v)
    return numpy.degrees(erfa.gst06a(day, part, day, tt) - ra) % 360, numpy.degrees(dec)


def sources(frame):
    sep.set_extract_pixstack(3_000_000)
    rgb = numpy.asarray(Image.open(HERE / f"fixed-24mm/frame-{frame}.jpg").convert("RGB")).astype(numpy.float32)
    light = numpy.ascontiguousarray(rgb.mean(axis=2))
    sky = sep.Background(light)
    found = sep.extract(light - sky.back(), 5, err=sky.rms())
    return numpy.c_[found["x"], found["y"]]


def in_frame(places):
    return (places[:, 0] > 0) & (places[:, 0] < WIDTH) & (places[:, 1] > 0) & (places[:, 1] < HEIGHT)


def first_roll(start, stars, tree):
    def hits(roll):
        places = draw([*start[:2], roll, *start[3:]], stars)
        return (tree.query(places[in_frame(places)])[0] < 5).sum()

    return max(numpy.radians(numpy.arange(0, 360, 0.5)), key=hits)


def fit(start, free, stars, points, tree):
    p = numpy.array(start)
    steps = numpy.array([1e-4, 1e-4, 1e-3, 1, 0.01, 0.01, 10, 10, 1e-3, 1e-3])[free]
    for radius in (8, 6, 5, 4, 3, 3, 2.5, 2.5, 2.5, 2.5):
        places = draw(p, stars)
        seen = stars[in_frame(places)]
        distance, index = tree.query(places[in_frame(places)])
        seen, matched = seen[distance < radius], points[index[distance < radius]]

        def residuals(values):
            q = p.copy()
            q[free] = values
            return (draw(q, seen) - matched).ravel()

        p[free] = least_squares(residuals, p[free], x_scale=steps, loss="soft_l1", f_scale=0.3).x
    off = draw(p, seen) - matched
    return p, len(seen), numpy.sqrt(numpy.mean(off ** 2))


def main(path):
    features = json.load(open(path))["features"]
    bright = [f for f in features if float(f["properties"]["mag"]) < FAINTEST]
    stars = vectors(*numpy.array([f["geometry"]["coordinates"] for f in bright]).T)
    very = vectors(*numpy.array([f["geometry"]["coordinates"] for f in bright
                                 if float(f["properties"]["mag"]) < 5.5]).T)
    results = []
    for frame, seconds, ra, dec, focal, k1, k2 in table():
        points = sources(frame)
        tree = cKDTree(points)
        start = [numpy.radians(ra), numpy.radians(dec), 0, focal, k1, k2, 0, 0, 0, 0]
        results.append(["table", frame, *ground(seconds, erfa.s2c(*start[:2])), ra, dec, *start[3:], 0, 0])
        start[2] = first_roll(start, very, tree)
        for model, more in (("centred", []), ("axis", [6, 7]), ("tangential", [8, 9])):
            p, count, rms = fit(start, [*range(6), *more], stars, points, tree)
            start = p if model == "centred" else start
            v = centre_direction(p)
            right_ascension, declination = numpy.degrees(erfa.c2s(v))
            results.append([model, frame, *ground(seconds, v), right_ascension % 360, declination, *p[3:], count, rms])
    with open(HERE / "fixed-24mm-fit.csv", "w", newline="\n") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow("model frame ra_deg dec_deg focal_px k1 k2 axis_x_px axis_y_px stars rms_px off_mean_deg p1 p2"
                     .split())
        for model in ("table", "centred", "axis", "tangential"):
            rows = [r for r in results if r[0] == model]
            mean = numpy.mean([r[2:4] for r in rows], axis=0)
            for r in rows:
                east = (r[2] - mean[0]) * numpy.cos(numpy.radians(mean[1]))
                out.writerow([model, r[1], f"{r[4]:.4f}", f"{r[5]:.4f}", f"{r[6]:.2f}", f"{r[7]:.4f}", f"{r[8]:.4f}",
                              f"{r[9]:.2f}", f"{r[10]:.2f}", r[13], f"{r[14]:.3f}",
                              f"{numpy.hypot(east, r[3] - mean[1]):.4f}", f"{r[11]:.5f}", f"{r[12]:.5f}"])


if __name__ == "__main__":
    main(sys.argv[1])
