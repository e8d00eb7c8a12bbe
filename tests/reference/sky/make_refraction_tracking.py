#!/usr/bin/env python3
"""Writes refraction-tracking.csv beside this script: refracted stars over an hour of tracking, from ERFA alone.

Run:  python3 tests/reference/sky/make_refraction_tracking.py
Needs Debian's python3-erfa; the versions used stand in the first line of the table.

For each site, star and hour angle eraApco13 makes the star-independent parameters of every minute of one hour and
eraAtioq turns the star's CIRS place into the observed place (refraction and diurnal aberration in). The observed
direction is then described about two axes in the meridian:

  true       the celestial pole itself: the observed place with the pressure set to zero;
  refracted  the direction in which the celestial pole is observed through the same air.

Columns, for each axis: the rate of the hour angle at mid-hour (central difference over two minutes) and its mean
over the hour, both less the Earth's rotation rate, ppm of that rate; the change of the declination over the hour,
arcsec; and the greatest distance, arcsec, between the star and a hinge that turns about that axis at the mid-hour
rate, both together at mid-hour.

Air: standard air of the code under test, 1010 hPa, 10 degC; 0.5 relative humidity, 0.55 um, sea level.
"""
import csv
import pathlib
import warnings

import erfa
import numpy as np

warnings.filterwarnings("ignore", category=erfa.ErfaWarning)

J2000 = 2451545.0
DAY = 9862.5  # 2027-01-01
RATE = 7.292115e-5  # rad/s, IERS Conventions (2010), table 1.2
ARCSEC = 206264.80624709636
SECONDS = np.arange(-1800.0, 1801.0, 60.0)
MIDDLE = len(SECONDS) // 2
PRESSURE, TEMPERATURE, HUMIDITY, WAVELENGTH = 1010.0, 10.0, 0.5, 0.55


def observed(intermediate_ra, dec, lat, seconds, pressure):
    """Unit vectors south, east, up of the observed place."""
    astrom, _ = erfa.apco13(J2000, DAY + seconds / 86400, 0.0, 0.0, lat, 0.0, 0.0, 0.0, pressure, TEMPERATURE,
                            HUMIDITY, WAVELENGTH)
    az, zd, *_ = erfa.atioq(intermediate_ra, dec, astrom)
    return np.stack([-np.sin(zd) * np.cos(az), np.sin(zd) * np.sin(az), np.cos(zd)], -1)


def pole_altitude(lat, pressure):
    """Altitude at which the celestial pole above the horizon is observed."""
    vector = observed(0.0, np.copysign(np.pi / 2, lat), lat, np.zeros(1), pressure)[0]
    return np.arcsin(vector[2])


def about(vectors, lat, axis_altitude):
    """Hour angle (west positive, continuous) and declination about an axis in the meridian."""
    phi = np.copysign(axis_altitude, lat)
    south, east, up = vectors.T
    hour_angle = np.arctan2(-east, south * np.sin(phi) + up * np.cos(phi))
    return np.unwrap(hour_angle), np.arcsin(np.clip(up * np.sin(phi) - south * np.cos(phi), -1, 1))


def figures(vectors, lat, axis_altitude):
    hour_angle, dec = about(vectors, lat, axis_altitude)
    middle = (hour_angle[MIDDLE + 1] - hour_angle[MIDDLE - 1]) / (SECONDS[MIDDLE + 1] - SECONDS[MIDDLE - 1])
    mean = (hour_angle[-1] - hour_angle[0]) / (SECONDS[-1] - SECONDS[0])
    west = (hour_angle - hour_angle[MIDDLE] - middle * SECONDS) * np.cos(dec)
    north = dec - dec[MIDDLE]
    return [(middle / RATE - 1) * 1e6, (mean / RATE - 1) * 1e6, (dec[-1] - dec[0]) * ARCSEC,
            np.sqrt(west**2 + north**2).max() * ARCSEC]


with open(pathlib.Path(__file__).parent / "refraction-tracking.csv", "w", newline="\n") as f:
    f.write(f"# make_refraction_tracking.py, pyerfa {erfa.__version__}, ERFA {erfa.version.erfa_version}\n")
    out = csv.writer(f, lineterminator="\n")
    columns = ["lat_deg", "dec_deg", "ha_deg", "alt_deg"]
    for axis in ("true", "refracted"):
        columns += [f"{axis}_ppm", f"{axis}_hour_ppm", f"{axis}_dec_arcsec", f"{axis}_trail_arcsec"]
    out.writerow(columns)
    for lat_deg in (-35, 20, 35, 45, 52, 60):
        lat = np.radians(lat_deg)
        era = erfa.era00(J2000, DAY)
        for dec_size in (85, 75, 60, 45, 20, 0, -15):
            dec_deg = dec_size if lat_deg > 0 else -dec_size
            for ha_deg in (-75, -45, -20, 0, 20, 45, 75, 120, 180):
                ra = era - np.radians(ha_deg)
                star = observed(ra, np.radians(dec_deg), lat, SECONDS, PRESSURE)
                if star[:, 2].min() < np.sin(np.radians(15)):
                    continue
                row = [lat_deg, dec_deg, ha_deg,
                       np.degrees(np.arcsin(star[MIDDLE, 2]))]
                row += figures(star, lat, pole_altitude(lat, 0.0))
                row += figures(star, lat, pole_altitude(lat, PRESSURE))
                out.writerow([repr(round(float(v), 6)) for v in row])
