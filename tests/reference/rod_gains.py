"""Singular values of the Jacobian of the demo readings heron-rod.csv for the rod of straight-quarter-twenty.toml.

Law of cosines, central differences, damped Gauss-Newton; parameters: mean arm, arm difference (starts at its
file value 0), reading zero; each in units of a ruler's error (1 % of the arm, 1.5 degrees), divided by the readings'
errors (gap 0.2 mm, rod 0.1 mm) and by the scatter found. Made with numpy 1.24 or later.
"""
import csv
import pathlib

import numpy as np

DATA = pathlib.Path(__file__).parents[2] / "host" / "examples" / "data" / "heron-rod.csv"
ARM = 290.3
rows = list(csv.DictReader(line for line in DATA.open() if not line.startswith("#")))
s = np.array([float(r["rod_mm"]) for r in rows])
gap = np.array([float(r["gap_mm"]) for r in rows])
at = np.array([float(r["at_mm"]) for r in rows])
half = np.arcsin(gap / 2 / at)


def opening(p):
    a, b = p[0] + p[1] / 2, p[0] - p[1] / 2
    return np.arccos((a * a + b * b - s * s) / (2 * a * b)) + p[2]


sigma = np.hypot(0.2 / (at * np.cos(half)), 0.1 * s / (ARM * ARM * np.sin(opening([ARM, 0, 0]))))
drawn = np.array([0.01 * ARM, 0.01 * ARM, np.radians(1.5)])


def residuals(p):
    return (opening(p) - 2 * half) / sigma


def jacobian(p):
    columns = []
    for j, h in enumerate((1e-4, 1e-4, 1e-7)):
        step = np.eye(3)[j] * h
        columns.append((residuals(p + step) - residuals(p - step)) / (2 * h) * drawn[j])
    return np.array(columns).T


p = np.array([ARM, 0.0, 0.0])
for _ in range(20):
    j = jacobian(p)[:, [0, 2]]
    p[[0, 2]] -= np.linalg.solve(j.T @ j, j.T @ residuals(p)) * drawn[[0, 2]]
scatter = np.sqrt((residuals(p) ** 2).sum() / (len(s) - 3))
print(p, scatter, np.linalg.svd(jacobian(p), compute_uv=False) / scatter)
