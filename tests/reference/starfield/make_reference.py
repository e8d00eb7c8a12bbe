#!/usr/bin/python3
"""Outside values for the starfield tests.

Positions on a sensor of a camera on a turning board, made without any code of this project:
  tan.csv       gnomonic projection and roll, by astropy.wcs (TAN)
  stopped.csv   a camera that stands still under the turning sky, by ERFA: Earth rotation angle (era00), hour angle
                and declination to azimuth and altitude (hd2ae), parallactic angle (hd2pa), gnomonic (tpxes)
  board.csv     a board that turns about an axis off the pole, by ERFA rotation matrices (rv2m) and tpxes
  trail.csv     arc that a star runs through in t seconds with the drive stopped, by ERFA (hd2ae, seps)
  refraction.csv  lift of a star at an airless zenith distance, by ERFA (refco; its series solved for the observed
                zenith distance), 1010 hPa, 10 C, dry air, 0.55 micrometre
Run:  /usr/bin/python3 make_reference.py     (writes the files beside itself)
"""
import os
import numpy as np
import erfa
import astropy
from astropy.wcs import WCS

HERE = os.path.dirname(os.path.abspath(__file__))
D = np.pi / 180
W, H, PITCH_UM = 6000, 4000, 3.9
J2000 = 2451545.0


def write(name, columns, rows):
    with open(os.path.join(HERE, name), "w", newline="\n") as f:
        f.write(f"# made by make_reference.py with pyerfa {erfa.__version__}, astropy {astropy.__version__}, "
                f"numpy {np.__version__}\n")
        f.write(",".join(columns) + "\n")
        for r in rows:
            f.write(",".join(f"{v:.9f}" if isinstance(v, float) else str(v) for v in r) + "\n")


def tan():
    rows = []
    rng = np.random.default_rng(20270304)
    for ra0, dec0, roll, focal in [(83.0, 5.0, 0.0, 50.0), (310.5, 45.0, 37.0, 50.0), (12.0, 88.0, -120.0, 135.0),
                                   (200.0, -60.0, 180.0, 24.0)]:
        w = WCS(naxis=2)
        w.wcs.ctype = ["RA---TAN", "DEC--TAN"]
        w.wcs.crval = [ra0, dec0]
        # FITS counts pixels from 1; rows run down, so eta falls with the row number where north is up.
        w.wcs.crpix = [(W + 1) / 2, (H + 1) / 2]
        s = np.degrees(PITCH_UM / 1000 / focal)
        c, q = np.cos(roll * D), np.sin(roll * D)
        w.wcs.cd = [[-s * c, -s * q], [s * q, -s * c]]
        for _ in range(12):
            x, y = rng.uniform(0, W - 1), rng.uniform(0, H - 1)
            ra, dec = w.wcs_pix2world([[x, y]], 0)[0]
            x2, y2 = w.wcs_world2pix([[ra, dec]], 0)[0]
            rows.append((ra0, dec0, roll, focal, float(ra), float(dec), float(x2), float(y2)))
    write("tan.csv", ["ra0_deg", "dec0_deg", "roll_deg", "focal_mm", "ra_deg", "dec_deg", "x_px", "y_px"], rows)


def sensor_of(xi, eta, angle, focal):
    """Tangent coordinates (xi right, eta up in some frame) to pixels of a camera whose up is turned by angle:
    up = cos(angle) eta-axis - sin(angle) xi-axis  (anticlockwise as seen)."""
    k = focal * 1000 / PITCH_UM
    right = np.cos(angle) * xi + np.sin(angle) * eta
    up = -np.sin(angle) * xi + np.cos(angle) * eta
    return (W - 1) / 2 + k * right, (H - 1) / 2 - k * up


def era(utc_jd_frac, t):
    return erfa.era00(J2000, utc_jd_frac + t / 86400.0)


# 2027-03-04 20:00:00 UTC
DAYS = erfa.cal2jd(2027, 3, 4)[1] + 2400000.5 - J2000 + 20 / 24


def stopped():
    rows = []
    for lat, lon in [(47.0, 11.0), (-33.0, 151.0)]:
        for h0, d0, roll in [(-20.0, 30.0, 0.0), (35.0, -5.0, 25.0), (10.0, -40.0 if lat < 0 else 60.0, -70.0)]:
            lst0 = era(DAYS, 0) + lon * D
            az0, al0 = erfa.hd2ae(h0 * D, d0 * D, lat * D)
            # Position angle of the zenith (north through east). North is that far clockwise of the zenith as seen
            # (east is to the left), and the picture's up is "roll" anticlockwise of north.
            pa = erfa.hd2pa(h0 * D, d0 * D, lat * D)
            for dh, dd in [(0.0, 0.0), (5.0, 3.0), (-6.0, -4.0), (8.0, -5.0)]:
                for t in (0.0, 30.0, 600.0):
                    ra = lst0 - (h0 + dh) * D
                    ha = era(DAYS, t) + lon * D - ra
                    az, al = erfa.hd2ae(ha, (d0 + dd) * D, lat * D)
                    xi, eta = erfa.tpxes(az, al, az0, al0)[0:2]
                    x, y = sensor_of(float(xi), float(eta), roll * D - pa, 50.0)
                    rows.append((lat, lon, h0, d0, roll, float(np.degrees(ra) % 360), d0 + dd, t, float(x), float(y)))
    write("stopped.csv", ["latitude_deg", "longitude_deg", "hour_angle0_deg", "dec0_deg", "roll_deg", "ra_deg",
                          "dec_deg", "t_s", "x_px", "y_px"], rows)


def board():
    """The sky stays, the board turns: all in the frame of azimuth and altitude (x north, y EAST, z up would be
    left-handed, so x south, y east, z up is used here)."""
    rows = []
    rate = 7.292115e-5
    for lat in (47.0, -33.0):
        south = lat < 0
        for d_alt, d_az, wrong in [(0.0, 0.0, 0.0), (30.0, 0.0, 0.0), (0.0, 45.0, 0.0), (-20.0, 25.0, 0.015)]:
            h0, d0 = -20.0, 10.0

            def vec(az, al):
                return np.array([-np.cos(al) * np.cos(az), np.cos(al) * np.sin(az), np.sin(al)])
            az0, al0 = erfa.hd2ae(h0 * D, d0 * D, lat * D)
            pa = erfa.hd2pa(h0 * D, d0 * D, lat * D)
            axis = vec((np.pi if south else 0.0) + d_az / 60 * D, abs(lat) * D + d_alt / 60 * D)
            lst0 = era(DAYS, 0)
            for t in (0.0, 600.0, 3600.0):
                theta = rate * (1 + wrong) * t
                # ERFA's rv2m turns the frame by the right-hand rule about the vector; seen from a board that has
                # turned, the world has turned the other way. The board turns -theta about the north pole (with the
                # sky) and +theta about the south pole.
                turn = erfa.rv2m(axis * (theta if south else -theta))
                for dh, dd in [(0.0, 0.0), (5.0, 4.0), (-6.0, -4.0)]:
                    ra = lst0 - (h0 + dh) * D
                    az, al = erfa.hd2ae(era(DAYS, t) - ra, (d0 + dd) * D, lat * D)
                    seen = turn @ vec(float(az), float(al))
                    az1, al1 = np.arctan2(seen[1], -seen[0]), np.arcsin(seen[2])
                    xi, eta = erfa.tpxes(az1, al1, az0, al0)[0:2]
                    x, y = sensor_of(float(xi), float(eta), -pa, 50.0)
                    rows.append((lat, d_alt, d_az, wrong, h0, d0, float(np.degrees(ra) % 360), d0 + dd, t,
                                 float(x), float(y)))
    write("board.csv", ["latitude_deg", "axis_alt_arcmin", "axis_az_arcmin", "rate_error", "hour_angle0_deg",
                        "dec0_deg", "ra_deg", "dec_deg", "t_s", "x_px", "y_px"], rows)


def trail():
    rows = []
    for dec in (-40.0, -10.0, 0.0, 20.0, 45.0, 70.0, 89.0):
        for t in (10.0, 30.0, 60.0):
            a = erfa.hd2ae(0.1, dec * D, 20 * D)
            b = erfa.hd2ae(0.1 + era(DAYS, t) - era(DAYS, 0), dec * D, 20 * D)
            rows.append((dec, t, float(np.degrees(erfa.seps(a[0], a[1], b[0], b[1])) * 3600)))
    write("trail.csv", ["dec_deg", "t_s", "arc_arcsec"], rows)


def refraction():
    a, b = erfa.refco(1010.0, 10.0, 0.0, 0.55)
    rows = []
    for z in (1.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 65.0, 70.0, 75.0, 80.0):
        seen = z * D
        for _ in range(50):
            seen = z * D - (a * np.tan(seen) + b * np.tan(seen) ** 3)
        rows.append((z, float((z * D - seen) / D * 3600)))
    write("refraction.csv", ["airless_zenith_distance_deg", "lift_arcsec"], rows)


for make in (tan, stopped, board, trail, refraction):
    make()
