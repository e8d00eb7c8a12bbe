#!/usr/bin/env python3
"""Writes pole.csv beside this script: pole stars on the clock face as the eye sees it, from ERFA alone.

Run:  python3 tests/reference/sky/make_pole.py
Needs Debian's python3-erfa; the versions used stand in the first line of the table.

For 500 epochs of 2020-2040 and a site each, 250 on either side of the equator (latitudes 8 to 75 degrees), eraAtco13
gives the observed place of a star near the pole, with the site's air. The pole itself is observed through the same air:
the direction of declination 90 degrees (-90 in the south) by eraApco13 and eraAtioq. The clock angle is eraPas's
position angle of the star as seen from the pole, measured from the zenith, and clockwise for an observer who faces the
pole: azimuth grows to the right, so eraPas with azimuth as longitude counts clockwise already.

Columns: clock angle and distance with air, and clock angle without air (pressure 0).
"""
import csv
import pathlib
import warnings

import erfa
import numpy as np

warnings.filterwarnings("ignore", category=erfa.ErfaWarning)

J2000 = 2451545.0
COUNT = 500
rng = np.random.default_rng(20260413)

# J2000 places, Hipparcos era values from memory, as in PoleReference.cs: ra deg, dec deg, pm cos dec and pm, arcsec/yr.
STARS = {
    "alpha UMi": ((2 + 31 / 60 + 49.09 / 3600) * 15, 89 + 15 / 60 + 50.8 / 3600, 0.0445, -0.0119),
    "delta UMi": ((17 + 32 / 60 + 13.00 / 3600) * 15, 86 + 35 / 60 + 11.3 / 3600, 0.0101, 0.0540),
    "sigma Oct": ((21 + 8 / 60 + 46.86 / 3600) * 15, -(88 + 57 / 60 + 23.4 / 3600), 0.0257, 0.0050),
    "chi Oct": ((18 + 54 / 60 + 47.12 / 3600) * 15, -(87 + 36 / 60 + 21.0 / 3600), 0.0, 0.0),
}


def observed_star(star, days, lat, lon, pressure, temperature):
    ra, dec, pm_ra, pm_dec = STARS[star]
    per_year = np.radians(1 / 3600)
    az, zd, *_ = erfa.atco13(np.radians(ra), np.radians(dec), pm_ra / np.cos(np.radians(dec)) * per_year,
                             pm_dec * per_year, 0, 0, J2000, days, 0, lon, lat, 0, 0, 0, pressure, temperature, 0.5,
                             0.55)
    return az, np.pi / 2 - zd


def observed_pole(days, lat, lon, pressure, temperature):
    """The true pole of date: declination +-90 in the CIRS is the celestial intermediate pole."""
    astrom, _ = erfa.apco13(J2000, days, 0, lon, lat, 0, 0, 0, pressure, temperature, 0.5, 0.55)
    # Exactly at the pole the aberration of the day does not matter (0.3 arcsec).
    az, zd, *_ = erfa.atioq(0.0, np.copysign(np.pi / 2, lat), astrom)
    return az, np.pi / 2 - zd


def clock(star, pole):
    return np.degrees(erfa.anp(erfa.pas(pole[0], pole[1], star[0], star[1]))), \
        np.degrees(erfa.seps(pole[0], pole[1], star[0], star[1])) * 60


out_path = pathlib.Path(__file__).parent / "pole.csv"
with open(out_path, "w", newline="\n") as f:
    f.write(f"# make_pole.py, pyerfa {erfa.__version__}, ERFA {erfa.version.erfa_version}\n")
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["utc", "lat_deg", "lon_deg", "star", "pressure_hpa", "temperature_c", "clock_deg",
                  "distance_arcmin", "clock_without_air_deg"])
    for i in range(COUNT):
        south = i % 2 == 1
        days = rng.integers(7305 * 86400000, 14610 * 86400000) / 86400000.0
        lat = round(rng.uniform(8, 75) * (-1 if south else 1), 6)
        lon = round(rng.uniform(-180, 180), 6)
        star = ["sigma Oct", "chi Oct"][i // 2 % 2] if south else ["alpha UMi", "delta UMi"][i // 2 % 2]
        pressure, temperature = round(rng.uniform(700, 1030), 1), round(rng.uniform(-10, 25), 1)
        at = np.radians(lat), np.radians(lon)
        with_air = clock(observed_star(star, days, *at, pressure, temperature),
                         observed_pole(days, *at, pressure, temperature))
        without = clock(observed_star(star, days, *at, 0.0, temperature), observed_pole(days, *at, 0.0, temperature))
        utc = str(np.datetime64("2000-01-01T12:00:00.000") + np.timedelta64(int(round(days * 86400000)), "ms")) + "Z"
        out.writerow([utc, lat, lon, star, pressure, temperature, round(float(with_air[0]), 6),
                      round(float(with_air[1]), 6), round(float(without[0]), 6)])
