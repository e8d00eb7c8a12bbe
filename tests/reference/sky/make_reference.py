#!/usr/bin/env python3
"""Writes the sky reference tables beside this script from ERFA (Debian python3-erfa 2.0.0.1, ERFA 2.0.0).

Run:  python3 tests/reference/sky/make_reference.py
Rigorous IAU 2006/2000A models; UT1 = UTC and no polar motion, as in the code under test (the cost of both is
stated in Instant.cs). Seeded, so that a second run writes the same bytes.
"""
import csv
import pathlib
import warnings

import erfa
import numpy as np

# "Dubious year" only says that leap seconds after the last announced one are unknown.
warnings.filterwarnings("ignore", category=erfa.ErfaWarning)

HERE = pathlib.Path(__file__).parent
COUNT = 500
AU_M = 149597870700.0
MOON_RADIUS_M = 0.272481 * 6378137.0
rng = np.random.default_rng(20260101)


def write(name, header, columns):
    with open(HERE / name, "w", newline="\n") as f:
        f.write(f"# make_reference.py, pyerfa {erfa.__version__}, ERFA {erfa.version.erfa_version}\n")
        out = csv.writer(f, lineterminator="\n")
        out.writerow(header)
        for row in zip(*columns):
            out.writerow([v if isinstance(v, str) else repr(round(float(v), 9)) for v in row])


def iso(utc_days):
    """UTC days since J2000 to text with milliseconds; no leap second falls in the years used."""
    base = np.datetime64("2000-01-01T12:00:00.000")
    return [str(base + np.timedelta64(int(round(d * 86400000)), "ms")) + "Z" for d in utc_days]


def random_days(count=COUNT):
    """Random milliseconds in 2020-2040."""
    return rng.integers(7305 * 86400000, 14610 * 86400000, count) / 86400000.0


def random_sites(count=COUNT):
    return rng.uniform(-66, 66, count), rng.uniform(-180, 180, count)


def tt_of(days):
    return days + 69.184 / 86400


J = 2451545.0


def to_true(gcrs, days):
    return erfa.rxp(erfa.pnm06a(J, tt_of(days)), gcrs)


def observer(days, lat, lon, height=0.0):
    """Site on WGS 84, true equator and equinox of date, metres."""
    fixed = erfa.gd2gc(1, np.radians(lon), np.radians(lat), height)
    turn = erfa.gst06a(J, days, J, tt_of(days))
    c, s = np.cos(turn), np.sin(turn)
    return np.stack([c * fixed[..., 0] - s * fixed[..., 1], s * fixed[..., 0] + c * fixed[..., 1], fixed[..., 2]], -1)


def sun_true(days):
    """Apparent sun, true equator and equinox of date, metres: light time and aberration in."""
    helio, bary = erfa.epv00(J, tt_of(days))
    light_days = erfa.pm(helio["p"]) * 499.004784 / 86400
    helio2, bary2 = erfa.epv00(J, tt_of(days) - light_days)
    geometric = (bary2["p"] - helio2["p"]) - bary["p"]
    distance = erfa.pm(geometric)
    v = bary["v"] * 499.004784 / 86400
    bm1 = np.sqrt(1 - np.sum(v * v, -1))
    proper = erfa.ab(geometric / distance[..., None], v, distance, bm1)
    return to_true(proper, days) * (distance * AU_M)[..., None]


def moon_true(days):
    return to_true(erfa.moon98(J, tt_of(days))["p"], days) * AU_M


def altaz(vector, days, lat, lon):
    ra, dec = erfa.c2s(vector)
    ha = erfa.gst06a(J, days, J, tt_of(days)) + np.radians(lon) - ra
    az, alt = erfa.hd2ae(ha, dec, np.radians(lat))
    return np.degrees(alt), np.degrees(az)


def sun_alt(days, lat, lon):
    return altaz(sun_true(days) - observer(days, lat, lon), days, lat, lon)[0]


def moon_above(days, lat, lon):
    """Upper limb against the refracted horizon, degrees."""
    seen = moon_true(days) - observer(days, lat, lon)
    return altaz(seen, days, lat, lon)[0] + 34 / 60 + np.degrees(np.arcsin(MOON_RADIUS_M / erfa.pm(seen)))


def crossings(function, start, lat, lon, step_minutes=5):
    """All sign changes of function(days, lat, lon) in the 24 h from start: (row, days, +1 rising or -1 setting)."""
    steps = np.arange(0, 1440 + step_minutes, step_minutes) / 1440
    grid = start[:, None] + steps[None, :]
    values = function(grid, lat[:, None] + 0 * grid, lon[:, None] + 0 * grid)
    rows, cols = np.nonzero(np.sign(values[:, :-1]) * np.sign(values[:, 1:]) < 0)
    a, b = grid[rows, cols], grid[rows, cols + 1]
    rising = values[rows, cols] < 0
    for _ in range(40):
        middle = (a + b) / 2
        above = function(middle, lat[rows], lon[rows]) > 0
        left = above == rising
        b, a = np.where(left, middle, b), np.where(left, a, middle)
    return rows, (a + b) / 2, np.where(rising, 1, -1), values


def make_leap_seconds():
    table = erfa.leap_seconds.get()
    table = table[table["year"] >= 1972]
    write("leap-seconds.csv", ["year", "month", "tai_minus_utc_s"],
          [table["year"], table["month"], table["tai_utc"]])


def make_time():
    days = random_days()
    tt = tt_of(days)
    dpsi, deps = erfa.nut06a(J, tt)
    write("time.csv", ["utc", "era_deg", "gmst_deg", "gast_deg", "dpsi_arcsec", "deps_arcsec", "mean_obliquity_deg"],
          [iso(days), np.degrees(erfa.era00(J, days)), np.degrees(erfa.gmst06(J, days, J, tt)),
           np.degrees(erfa.gst06a(J, days, J, tt)), np.degrees(dpsi) * 3600, np.degrees(deps) * 3600,
           np.degrees(erfa.obl06(J, tt))])


def make_precession():
    days = random_days()
    ra, dec = rng.uniform(0, 360, COUNT), np.degrees(np.arcsin(rng.uniform(-1, 1, COUNT)))
    _, _, rp, *_ = erfa.pn06(J, tt_of(days), 0, 0)
    ra2, dec2 = erfa.c2s(erfa.rxp(rp, erfa.s2c(np.radians(ra), np.radians(dec))))
    write("precession.csv", ["utc", "ra_j2000_deg", "dec_j2000_deg", "ra_date_deg", "dec_date_deg"],
          [iso(days), ra, dec, np.degrees(erfa.anp(ra2)), np.degrees(dec2)])


def make_stars():
    days = random_days()
    lat, lon = random_sites()
    ra = np.round(rng.uniform(0, 360, COUNT), 7)
    dec = np.round(np.degrees(np.arcsin(rng.uniform(-1, 1, COUNT))), 7)
    pm_ra, pm_dec = np.round(rng.uniform(-1, 1, (2, COUNT)), 6)
    pressure, temperature = np.round(rng.uniform(900, 1030, COUNT), 1), np.round(rng.uniform(-10, 25, COUNT), 1)
    lat, lon = np.round(lat, 6), np.round(lon, 6)

    def seen(phpa):
        per_year = np.radians(1 / 3600)
        az, zd, *_ = erfa.atco13(np.radians(ra), np.radians(dec), pm_ra / np.cos(np.radians(dec)) * per_year,
                                 pm_dec * per_year, 0, 0, J, days, 0, np.radians(lon), np.radians(lat), 0, 0, 0,
                                 phpa, temperature, 0.5, 0.55)
        return 90 - np.degrees(zd), np.degrees(az)

    alt, az = seen(0.0)
    refracted, _ = seen(pressure)
    write("stars.csv", ["utc", "lat_deg", "lon_deg", "ra_deg", "dec_deg", "pm_ra_cosdec_arcsec", "pm_dec_arcsec",
                        "alt_deg", "az_deg", "pressure_hpa", "temperature_c", "refracted_alt_deg"],
          [iso(days), lat, lon, ra, dec, pm_ra, pm_dec, alt, az, pressure, temperature, refracted])


def make_sun_and_moon():
    days = random_days()
    lat, lon = (np.round(x, 6) for x in random_sites())
    site = observer(days, lat, lon)
    sun, moon = sun_true(days), moon_true(days)
    sun_ra, sun_dec = erfa.c2s(sun)
    alt, az = altaz(sun - site, days, lat, lon)
    write("sun.csv", ["utc", "lat_deg", "lon_deg", "ra_deg", "dec_deg", "alt_deg", "az_deg", "distance_au"],
          [iso(days), lat, lon, np.degrees(erfa.anp(sun_ra)), np.degrees(sun_dec), alt, az, erfa.pm(sun) / AU_M])
    moon_ra, moon_dec = erfa.c2s(moon)
    alt, az = altaz(moon - site, days, lat, lon)
    elongation = erfa.sepp(moon, sun)
    phase_angle = erfa.sepp(-moon, sun - moon)
    write("moon.csv", ["utc", "lat_deg", "lon_deg", "ra_deg", "dec_deg", "distance_km", "alt_deg", "az_deg",
                       "elongation_deg", "illuminated"],
          [iso(days), lat, lon, np.degrees(erfa.anp(moon_ra)), np.degrees(moon_dec), erfa.pm(moon) / 1000, alt, az,
           np.degrees(elongation), (1 + np.cos(phase_angle)) / 2])


def make_nights():
    """Nights from mean solar noon to the next; each crossing with the distance of the day's extremes from it."""
    dates = rng.integers(7306, 14609, COUNT).astype(float)
    lat, lon = (np.round(x, 6) for x in random_sites())
    start = dates - lon / 360
    night = []
    for name, altitude in (("sunset", -50 / 60), ("civil", -6.0), ("nautical", -12.0), ("astronomical", -18.0)):
        rows, when, sign, values = crossings(lambda d, a, o: sun_alt(d, a, o) - altitude, start, lat, lon)
        for row in range(COUNT):
            hits = [(w, s) for r, w, s in zip(rows, when, sign) if r == row]
            state = "crosses" if hits else ("above" if values[row, 0] > 0 and values[row].min() > 0 else "below")
            down = next((w for w, s in hits if s < 0), None)
            up = next((w for w, s in hits if s > 0), None)
            margin = min(abs(values[row].min()), abs(values[row].max()))
            night.append((dates[row], lat[row], lon[row], name, state, down, up, margin))
    stamp = lambda d: "" if d is None else iso([d])[0]
    write("twilight.csv", ["date", "lat_deg", "lon_deg", "event", "state", "down_utc", "up_utc", "margin_deg"],
          [[iso([n[0]])[0][:10] for n in night], [n[1] for n in night], [n[2] for n in night],
           [n[3] for n in night], [n[4] for n in night], [stamp(n[5]) for n in night], [stamp(n[6]) for n in night],
           [n[7] for n in night]])
    rows, when, sign, _ = crossings(moon_above, start, lat, lon)
    write("moonrise.csv", ["date", "lat_deg", "lon_deg", "event", "utc"],
          [[iso([dates[r]])[0][:10] for r in rows], lat[rows], lon[rows],
           ["rise" if s > 0 else "set" for s in sign], iso(when)])


def make_refraction_rate():
    """Apparent hour-angle rate and declination drift of refracted stars, from observed places 2 minutes apart."""
    own = np.random.default_rng(20260102)
    n = 1500
    days = own.uniform(7305, 14610, n)
    lat = np.round(own.uniform(-66, 66, n), 6)
    ra, dec = own.uniform(0, 2 * np.pi, n), np.arcsin(own.uniform(-0.98, 0.98, n))
    pressure, temperature = np.round(own.uniform(900, 1030, n), 1), np.round(own.uniform(-10, 25, n), 1)

    def seen(d, phpa):
        _, zd, ha, de, *_ = erfa.atco13(ra, dec, 0, 0, 0, 0, J, d, 0, 0, np.radians(lat), 0, 0, 0, phpa, temperature,
                                        0.5, 0.55)
        return zd, ha, de

    half = 60.0
    zd, ha, de = seen(days, 0.0)
    _, ha1, de1 = seen(days - half / 86400, pressure)
    _, ha2, de2 = seen(days + half / 86400, pressure)
    ratio = erfa.anpm(ha2 - ha1) / (2 * half * 7.292115e-5)
    up = np.nonzero(zd < np.radians(75))[0][:COUNT]
    write("refraction-rate.csv", ["lat_deg", "ha_deg", "dec_deg", "pressure_hpa", "temperature_c", "rate_ppm",
                                  "dec_arcsec_per_min"],
          [lat[up], np.degrees(ha)[up], np.degrees(de)[up], pressure[up], temperature[up], (ratio[up] - 1) * 1e6,
           np.degrees(de2 - de1)[up] * 3600 / 2])


if __name__ == "__main__":
    make_leap_seconds()
    make_time()
    make_precession()
    make_stars()
    make_sun_and_moon()
    make_nights()
    make_refraction_rate()
