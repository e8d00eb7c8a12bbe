#!/usr/bin/python3
"""Do the spots in a rendered sequence lie where its truth file says? Asked of SEP, which knows nothing of either.

Run: centroids_by_sep.py FOLDER   (FOLDER: FITS frames with truth-stars.csv, as FrameSequence writes them)
Prints, for unsaturated stars with more than 20000 electrons and no neighbour within 40 px: number matched, mean and
RMS difference in x and y. Tracked frames only: it matches within 2 px.
"""
import csv
import glob
import os
import sys
import numpy as np
import sep
from astropy.io import fits

folder = sys.argv[1]
truth = {}
with open(os.path.join(folder, "truth-stars.csv")) as f:
    for r in csv.DictReader(f):
        truth.setdefault(int(r["frame"]), []).append(
            (float(r["x_px"]), float(r["y_px"]), float(r["electrons"]), int(r["saturated"])))
dx, dy, wanted = [], [], 0
for i, path in enumerate(sorted(glob.glob(os.path.join(folder, "*.fits")))):
    data = fits.getdata(path).astype(np.float32)
    sky = sep.Background(data)
    found = sep.extract(data - sky.back(), 5.0, err=sky.globalrms)
    x, y, _ = sep.winpos(data - sky.back(), found["x"], found["y"], np.full(len(found), 1.0))
    stars = np.array(truth[i])
    for s in stars:
        near = np.hypot(stars[:, 0] - s[0], stars[:, 1] - s[1])
        if s[2] < 20000 or s[3] or (near < 40).sum() > 1:
            continue
        wanted += 1
        d = np.hypot(x - s[0], y - s[1])
        if len(d) and d.min() < 2:
            j = d.argmin()
            dx.append(x[j] - s[0])
            dy.append(y[j] - s[1])
dx, dy = np.array(dx), np.array(dy)
print(f"{len(dx)} of {wanted} stars matched; mean {dx.mean():+.4f} {dy.mean():+.4f} px; "
      f"rms {dx.std():.4f} {dy.std():.4f} px")
