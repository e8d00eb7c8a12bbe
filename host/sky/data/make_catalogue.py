#!/usr/bin/env python3
"""Rebuilds stars.bin, star-names.csv and deep-sky.csv.gz beside this script, and checks them.

Run:  npm pack d3-celestial@0.7.35 && tar xf d3-celestial-0.7.35.tgz
      apt-get install python3-astropy python3-erfa
      python3 host/sky/data/make_catalogue.py package/data [old-bright-stars.csv]
The optional table (columns name, ra_deg, dec_deg, mag) is compared with the result.
stars.bin is a gzip stream: "HHS1", the count as a 32-bit integer, then columns in order of Hipparcos number, all little
endian, first all low bytes of a column, then all second bytes and so on: number less the one before (u8, 255: the number
is in the last column), right ascension less the one before (i16, -32768: likewise), declination (i32), V magnitude (i16,
0.01), B-V (i16, 0.01, -32768 unknown), and the exceptions (i32). Angles are 0.0001 degrees.
"""
import csv
import gzip
import json
import pathlib
import struct
import sys
import warnings

import astropy.units as u
import erfa
import numpy as np
from astropy.coordinates import SkyCoord, get_constellation

HERE = pathlib.Path(__file__).parent
LIMIT_BYTES = 1_000_000
# The package holds 6000 galaxies known by this number only; the faint ones would double the table.
FAINTEST_PGC = 13.0
KINDS = {"gg": "galaxy cluster", "g": "galaxy", "s": "galaxy", "s0": "galaxy", "sd": "galaxy", "i": "galaxy",
         "e": "galaxy", "oc": "open cluster", "gc": "globular cluster", "dn": "dark nebula", "bn": "nebula",
         "sfr": "nebula", "rn": "nebula", "en": "nebula", "pn": "planetary nebula", "snr": "supernova remnant",
         "pos": "star group"}
# Hipparcos: right ascension, declination (ICRS, epoch 1991.25), proper motion (mas a year), parallax (mas).
# Published values (ESA SP-1200, 1997), from memory: each must agree with the package, or one of both is wrong.
WELL_KNOWN = {
    "Barnard's star": (87937, 269.45402305, 4.66828815, -797.84, 10326.93, 549.01),
    "Sirius": (32349, 101.28854105, -16.71314306, -546.01, -1223.08, 379.21),
    "Vega": (91262, 279.23410832, 38.78299311, 201.02, 287.46, 128.93),
    "Polaris": (11767, 37.94614689, 89.26413805, 44.22, -11.74, 7.56),
    "Arcturus": (69673, 213.91811403, 19.18726997, -1093.45, -1999.40, 88.85),
    "Procyon": (37279, 114.82724194, 5.22750767, -716.57, -1034.58, 285.93),
    "Rigel": (24436, 78.63446353, -8.20163919, 1.87, -0.56, 4.22),
    "Altair": (97649, 297.69450863, 8.86738491, 536.82, 385.54, 194.44),
    "Pollux": (37826, 116.33068263, 28.02631031, -625.69, -45.95, 96.74),
    "61 Cygni A": (104214, 316.71181207, 38.74149446, 4155.10, 3258.90, 287.13),
}


def write_gzip(path, data):
    path.write_bytes(gzip.compress(data, 9, mtime=0))


def read_stars(source):
    features = sorted(json.load(open(source / "stars.14.json"))["features"], key=lambda f: f["id"])
    hip = np.array([f["id"] for f in features])
    place = np.array([f["geometry"]["coordinates"] for f in features])
    mag = np.array([float(f["properties"]["mag"]) for f in features])
    colour = [f["properties"]["bv"] for f in features]
    bv = np.array([-32768 if c == "" else round(float(c) * 100) for c in colour])
    return hip, np.rint(place[:, 0] % 360 * 1e4).astype(int) % 3600000, np.rint(place[:, 1] * 1e4).astype(int), mag, bv


def pack_stars(hip, ra, dec, mag, bv):
    steps, turns, exceptions = np.diff(hip, prepend=0), np.diff(ra, prepend=0), []
    for i in range(len(hip)):
        if steps[i] > 254:
            exceptions.append(int(hip[i]))
            steps[i] = 255
        if abs(turns[i]) > 32767:
            exceptions.append(int(ra[i]))
            turns[i] = -32768
    data = b"HHS1" + struct.pack("<I", len(hip))
    for column, kind in ((steps, "u1"), (turns, "<i2"), (dec, "<i4"), (np.rint(mag * 100), "<i2"), (bv, "<i2"),
                         (np.array(exceptions), "<i4")):
        plain = np.frombuffer(column.astype(kind).tobytes(), "u1")
        data += plain.reshape(-1, np.dtype(kind).itemsize).T.tobytes()
    write_gzip(HERE / "stars.bin", data)


def star_names(source, hip, mag):
    names = json.load(open(source / "starnames.json"))
    greek = dict(zip("αβγδεζηθικλμνξοπρστυφχψω",
                     "alpha beta gamma delta epsilon zeta eta theta iota kappa lambda mu nu xi omicron pi rho sigma tau "
                     "upsilon phi chi psi omega".split()))
    order = {int(h): m for h, m in zip(hip, mag)}
    rows = []
    for number, entry in names.items():
        bayer, flamsteed = entry.get("bayer", "").strip(), entry.get("flam", "").strip()
        spelt = "".join(greek.get(c, c) for c in bayer)
        for mark, digit in zip("¹²³⁴⁵⁶⁷⁸⁹", "123456789"):
            spelt = spelt.replace(mark, digit)
        designation = spelt or flamsteed
        if int(number) not in order or "c" not in entry or not (entry.get("name") or designation):
            continue
        rows.append((order[int(number)], int(number), entry.get("name", "").strip(),
                     f"{designation} {entry['c']}" if designation else "", entry["c"]))
    rows.sort()
    with open(HERE / "star-names.csv", "w", newline="\n") as f:
        f.write("# Brightest first; source and licence: README.md here.\nhip,name,designation,constellation\n")
        csv.writer(f, lineterminator="\n").writerows(r[1:] for r in rows)
    return rows


def size(text):
    parts = [float(p) for p in str(text).replace("×", "x").split("x") if p.strip()]
    return (max(parts), min(parts)) if parts else (0, 0)


def deep_sky(source):
    plain = {f["id"]: f for f in json.load(open(source / "dsos.14.json"))["features"]}
    faint = {f["id"]: f for f in json.load(open(source / "dsos.20.json"))["features"]}
    names = dict(list(csv.reader((HERE / "deep-sky-names.csv").read_text().splitlines()[1:]))[1:])
    by_other = {f["properties"]["desig"].replace(" ", ""): f for f in plain.values()}
    rows, taken = [], set()

    def add(identity, other, feature, kind=None):
        p = feature["properties"]
        major, minor = size(p["dim"])
        magnitude = float(p["mag"]) if str(p["mag"]) not in ("", "999") else 999
        ra, dec = feature["geometry"]["coordinates"]
        rows.append([identity, other, names.pop(identity, ""), KINDS[kind or p["type"]], "", f"{ra % 360:.4f}", f"{dec:.4f}",
                     "" if magnitude > 90 else f"{magnitude:g}", f"{major:g}", f"{minor:g}"])

    for f in json.load(open(source / "messier.json"))["features"]:
        designation = f["properties"]["desig"].split("/")[0]
        # dsos.14.json has the better places; messier.json is wrong by a quarter of a degree for M41 and M67.
        better = plain.get(designation) or by_other.get(f["id"])
        taken.add(better["id"] if better else "")
        add(f["id"], better["id"] if better and better["id"].replace(" ", "") != f["id"] else designation, better or f,
            f["properties"]["type"])
    for f in plain.values():
        if abs(f["geometry"]["coordinates"][1]) > 90:
            print("  left out, declination impossible:", f["id"], f["geometry"]["coordinates"])
        elif f["id"].startswith("PGC") and f["id"] not in names and float(f["properties"]["mag"]) > FAINTEST_PGC:
            continue
        elif f["id"] not in taken and f["id"] not in ("M 45", "M 8"):
            other = f["properties"]["desig"]
            add(f["id"].replace(",", "+"), other.replace(",", "+") if other != f["id"] else "", f)
    for identity in list(names):
        if identity in faint:
            add(identity, "", faint[identity])
    if names:
        raise SystemExit(f"names without an object: {names}")
    where = SkyCoord([float(r[5]) for r in rows] * u.deg, [float(r[6]) for r in rows] * u.deg)
    for row, constellation in zip(rows, get_constellation(where, short_name=True)):
        row[4] = str(constellation)
    text = "id,other,names,kind,constellation,ra_deg,dec_deg,mag,major_arcmin,minor_arcmin\n"
    text += "".join(",".join(row) + "\n" for row in rows)
    write_gzip(HERE / "deep-sky.csv.gz", text.encode())
    return rows


def check_well_known(hip, ra, dec):
    worst = 0
    for name, (number, ra0, dec0, east, north, parallax) in WELL_KNOWN.items():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", erfa.ErfaWarning)
            to = erfa.starpm(np.radians(ra0), np.radians(dec0), np.radians(east / 3.6e6) / np.cos(np.radians(dec0)),
                             np.radians(north / 3.6e6), parallax / 1000, 0, 2448349.0625, 0, 2451545.0, 0)
        i = int(np.searchsorted(hip, number))
        off = np.hypot((np.degrees(to[0]) - ra[i] / 1e4) * np.cos(to[1]), np.degrees(to[1]) - dec[i] / 1e4) * 3600
        worst = max(worst, off)
        print(f"  {name}: {off:.2f} arcsec")
    # 0.0001 degrees rounds by up to 0.25 arcsec over both coordinates.
    if worst > 0.3:
        raise SystemExit("a well-known star is not where its proper motion takes it by J2000")


def check_table(path, ra, dec, mag):
    lines = [x for x in path.read_text().splitlines() if not x.startswith("#")]
    offs = []
    for row in csv.DictReader(lines):
        east = (ra / 1e4 - float(row["ra_deg"]) + 180) % 360 - 180
        off = np.hypot(east * np.cos(np.radians(float(row["dec_deg"]))), dec / 1e4 - float(row["dec_deg"])) * 3600
        near = int(np.argmin(off + 3 * np.abs(mag - float(row["mag"]))))
        offs.append(off[near])
        if off[near] > 2 or abs(mag[near] - float(row["mag"])) > 0.4:
            print(f"  {row['name'] or 'unnamed'} {row['ra_deg']} {row['dec_deg']}: {off[near]:.1f} arcsec, "
                  f"magnitude {mag[near]} against {row['mag']}")
    print(f"table: {len(offs)} stars, {sum(o <= 2 for o in offs)} within 2 arcsec, median {np.median(offs):.2f}")


def main(source, table=None):
    stars = read_stars(pathlib.Path(source))
    pack_stars(*stars)
    names = star_names(pathlib.Path(source), stars[0], stars[3])
    rows = deep_sky(pathlib.Path(source))
    check_well_known(*stars[:3])
    if table:
        check_table(pathlib.Path(table), *stars[1:4])
    files = [HERE / f for f in ("stars.bin", "deep-sky.csv.gz", "star-names.csv")]
    print(f"{len(stars[0])} stars, {len(names)} with names, {len(rows)} deep-sky objects,",
          ", ".join(f"{f.name} {f.stat().st_size}" for f in files))
    if sum(f.stat().st_size for f in files) > LIMIT_BYTES:
        raise SystemExit("the tables have become too large")


if __name__ == "__main__":
    main(*sys.argv[1:])
