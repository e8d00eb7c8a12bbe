#!/usr/bin/env python3
"""Rewrites the Tycho-2 rows of bright-stars.csv and checks both tables.

Run:  apt-get install python3-astropy astrometry-data-tycho2-10-19
      python3 host/sky/data/make_bright_stars.py /usr/share/astrometry/index-tycho2-10.littleendian.fits
The rows marked "memory" are kept as they are. Positions in the index are unit vectors as scaled 32-bit integers.
"""
import csv
import pathlib
import sys

import astropy.units as u
import numpy as np
from astropy.coordinates import SkyCoord, get_constellation
from astropy.io import fits

HERE = pathlib.Path(__file__).parent
FAINTEST = 4.1
PAIR_ARCSEC = 30
TO_TYCHO_EPOCH_YEARS = 8.75


def column(path, hdus, name):
    for hdu in hdus[1:]:
        if hdu.columns.names[0] == name:
            where = hdu.fileinfo()["datLoc"]
            return path.read_bytes()[where:where + hdu.header["NAXIS1"] * hdu.header["NAXIS2"]]
    raise SystemExit(f"{path} has no table named {name}.")


def tycho(path):
    hdus = fits.open(path)
    span = np.frombuffer(column(path, hdus, "kdtree_range_stars"), "<f8")
    scaled = np.frombuffer(column(path, hdus, "kdtree_data_stars"), "<u4").reshape(-1, 3)
    x, y, z = (span[0:3] + scaled / span[6]).T
    mag = np.frombuffer(column(path, hdus, "MAG_VT"), ">f4").astype(float)
    bright = mag < 5.6
    return np.degrees(np.arctan2(y, x))[bright] % 360, np.degrees(np.arcsin(z))[bright], mag[bright]


def rows(name):
    lines = (HERE / name).read_text().splitlines()
    return lines[:1], list(csv.DictReader(lines[1:]))


def main(path):
    ra, dec, mag = tycho(pathlib.Path(path))
    places = SkyCoord(ra * u.deg, dec * u.deg)
    homes = get_constellation(places, short_name=True)
    head, table = rows("bright-stars.csv")
    kept = [r for r in table if r["source"] == "memory"]
    used, checked = set(), 0
    for row in kept:
        star = SkyCoord(float(row["ra_deg"]) * u.deg, float(row["dec_deg"]) * u.deg)
        if str(get_constellation(star, short_name=True)) != row["constellation"]:
            print("other constellation:", row)
        east, north = float(row["pm_ra"]) * TO_TYCHO_EPOCH_YEARS, float(row["pm_dec"]) * TO_TYCHO_EPOCH_YEARS
        early = SkyCoord(star.ra - east * u.arcsec / np.cos(star.dec), star.dec - north * u.arcsec)
        near = np.nonzero(star.separation(places).arcsec < 60)[0]
        used.update(near.tolist())
        # Supplement stars stand at epoch 1991.25, the others at 2000.
        off = min((min(star.separation(places[i]).arcsec, early.separation(places[i]).arcsec) for i in near), default=99)
        checked += off < 1
        if off >= 1:
            print(f"not checked: {row['name']} ({'not in the index' if off == 99 else f'only a companion, {off:.1f} arcsec'})")
    print(f"{checked} of {len(kept)} named stars agree with Tycho-2 within 1 arcsec")
    lines = [r for r in kept]
    for i in np.argsort(mag):
        apart = [np.hypot((ra[i] - float(r["ra_deg"])) * np.cos(np.radians(dec[i])), dec[i] - float(r["dec_deg"])) * 3600
                 for r in lines]
        if mag[i] < FAINTEST and i not in used and min(apart) > PAIR_ARCSEC:
            lines.append({"name": "", "designation": "", "constellation": str(homes[i]), "ra_deg": f"{ra[i]:.5f}",
                          "dec_deg": f"{dec[i]:.5f}", "mag": f"{mag[i]:.2f}", "pm_ra": "0.000", "pm_dec": "0.000",
                          "source": "tycho-2"})
    lines.sort(key=lambda r: float(r["mag"]))
    with open(HERE / "bright-stars.csv", "w", newline="\n") as f:
        f.write(head[0] + "\n")
        out = csv.DictWriter(f, lines[0].keys(), lineterminator="\n")
        out.writeheader()
        out.writerows(lines)
    for row in rows("deep-sky.csv")[1]:
        place = SkyCoord(row["ra"], row["dec"], unit=(u.hourangle, u.deg))
        if str(get_constellation(place, short_name=True)) != row["constellation"]:
            print("other constellation:", row)
    print(f"{len(lines)} stars, {len(rows('deep-sky.csv')[1])} deep-sky objects")


if __name__ == "__main__":
    main(sys.argv[1])
