#!/usr/bin/python3
"""Apparent (refracted) hour-angle rate over the true one, made with ERFA alone, for SkyRateTests.

The hour angle is taken about the refracted pole: the one that an axis aimed by eye or by drift points at.
Run: /usr/bin/python3 make_refraction_rate.py > refraction_rate.csv
Made with pyerfa 2.0.0.1 (ERFA: hd2ae, ae2hd, refco). Air: 1010 hPa, 10 degC, dry, 0.55 um, sea level.
ERFA's dZ = A tan Z + B tan^3 Z takes the observed Z, so Z is found by iteration from the true one.
The rate is the central difference of the refracted hour angle over 120 s of sidereal motion.
"""
import math

import erfa

A, B = erfa.refco(1010.0, 10.0, 0.0, 0.55)
STEP = 7.292115e-5 * 60  # rad


def seen_latitude(lat):
    true_z = math.pi / 2 - abs(lat)
    seen_z = true_z
    for _ in range(20):
        t = math.tan(seen_z)
        seen_z = true_z - (A * t + B * t**3)
    return math.copysign(math.pi / 2 - seen_z, lat)


def refracted_hour_angle(ha, dec, lat):
    az, el = erfa.hd2ae(ha, dec, lat)
    true_z = math.pi / 2 - el
    seen_z = true_z
    for _ in range(20):
        t = math.tan(seen_z)
        seen_z = true_z - (A * t + B * t**3)
    return float(erfa.ae2hd(az, math.pi / 2 - seen_z, seen_latitude(lat))[0])


print("# made by make_refraction_rate.py, pyerfa", erfa.__version__)
print("latitude_deg,declination_deg,hour_angle_deg,altitude_deg,rate_factor")
for lat in (-35, 30, 45, 52, 60):
    for dec in (89, 75, 60, 45, 20, 0, -15):
        d = dec if lat > 0 else -dec
        for ha in (-75, -45, -20, 0, 20, 45, 75, 120, 179):
            f, p, h = math.radians(lat), math.radians(d), math.radians(ha)
            alt = math.degrees(erfa.hd2ae(h, p, f)[1])
            if alt < 20 or alt > 88:
                continue
            gap = refracted_hour_angle(h + STEP, p, f) - refracted_hour_angle(h - STEP, p, f)
            gap = math.remainder(gap, 2 * math.pi)
            print(f"{lat},{d},{ha},{alt:.3f},{gap / (2 * STEP):.9f}")
