"""Makes ratings.csv: random spectra and their ratings, by a second method.

Independent of the crate: exact fractions, every possible rating tried from high to low, 30-digit logarithms, and the
A-weighting from its analytic form. Leaves out reading, units and anything else the crate does. Run: python ratings.py
(Python 3.11 or later, numpy 2, mpmath 1.4).
"""
from fractions import Fraction as F
from math import floor

import numpy as np
from mpmath import log10, mp, mpf

mp.dps = 30
rng = np.random.default_rng(20240717)
HZ = [50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000]

# ISO 717-1:2020 Table 3 relative to 500 Hz; ASTM E413 contour relative to 500 Hz.
ISO = dict(zip(HZ[3:19], [-19, -16, -13, -10, -7, -4, -1, 0, 1, 2, 3, 4, 4, 4, 4, 4]))
ISO_OCT = {125: -16, 250: -7, 500: 0, 1000: 3, 2000: 4}
STC = dict(zip(HZ[4:20], [-16, -13, -10, -7, -4, -1, 0, 1, 2, 3, 4, 4, 4, 4, 4, 4]))
# ISO 717-1:2020 Table 4 and Annex B.
C_NARROW = dict(zip(HZ[:19], [-40, -36, -33, -29, -26, -23, -21, -19, -17, -15, -13, -12, -11, -10, -9, -9, -9, -9, -9]))
C_WIDE = dict(zip(HZ, [-41, -37, -34, -30, -27, -24, -22, -20, -18, -16, -14, -13, -12, -11] + [-10] * 7))
CTR = dict(zip(HZ, [-25, -23, -21, -20, -20, -18, -16, -15, -14, -13, -12, -11, -9, -8, -9, -10, -11, -13, -15, -16, -18]))
C_OCT = {125: -21, 250: -14, 500: -8, 1000: -5, 2000: -4}
CTR_OCT = {125: -14, 250: -10, 500: -7, 1000: -4, 2000: -6}
# Mean transport spectrum of ASTM E1332, from memory; its A-weighted sum is the standard's 100.13 dB.
SOURCE = dict(zip(HZ[2:20], [103, 102, 101, 98, 97, 95, 94, 93, 93, 91, 90, 89, 89, 88, 88, 87, 85, 84]))


def half_up(x, step=F(1)):
    return floor(F(x) / step + F(1, 2)) * step


def a_weighting(nominal):
    exact = 1000 * 10 ** (F(round(10 * np.log10(nominal / 1000))) / 10)
    def gain(f):
        f2 = mpf(f) ** 2
        low, high = mpf("20.598997") ** 2, mpf("12194.217") ** 2
        return high * f2**2 / ((f2 + low) * ((f2 + mpf("107.65265") ** 2) * (f2 + mpf("737.86223") ** 2)) ** mpf("0.5") * (f2 + high))
    return F(half_up(F(str(20 * log10(gain(exact) / gain(1000)))), F(1, 10)))


def fits(values, contour, rating, most, single):
    gaps = [max(F(0), rating + shape - values[hz]) for hz, shape in contour.items()]
    return sum(gaps) <= most and (single is None or max(gaps) <= single)


def best(values, contour, most, single=None, step=F(1)):
    rating = F(150)
    while not fits(values, contour, rating, most, single):
        rating -= step
    return rating


def term(values, spectrum, rating):
    total = sum(mpf(10) ** ((mpf(level) - mpf(values[hz].numerator) / values[hz].denominator) / 10) for hz, level in spectrum.items())
    return half_up(F(str(-10 * log10(total)))) - rating


def rate(text, octaves_text):
    given = {hz: F(t) for hz, t in zip(HZ, text)}
    tenths = {hz: half_up(v, F(1, 10)) for hz, v in given.items()}
    whole = {hz: half_up(v) for hz, v in given.items()}
    rw = best(tenths, ISO, 32)
    fine = best(tenths, ISO, 32, step=F(1, 10))
    within = lambda table, low, high: {hz: level for hz, level in table.items() if low <= hz <= high}
    terms = [term(tenths, within(table, low, high), rw) for table, low, high in (
        (C_NARROW, 100, 3150), (CTR, 100, 3150), (C_NARROW, 50, 3150), (C_WIDE, 50, 5000), (C_WIDE, 100, 5000),
        (CTR, 50, 3150), (CTR, 50, 5000), (CTR, 100, 5000))]
    deviations = sum(max(F(0), rw + shape - tenths[hz]) for hz, shape in ISO.items())
    stc, stc_sum = best(whole, STC, 32, 8), best(whole, STC, 32)
    stc_given = best(given, STC, 32, 8)
    weights = {hz: SOURCE[hz] + A[hz] for hz in SOURCE}
    power = lambda loss: sum(mpf(10) ** ((mpf(w.numerator) / w.denominator - mpf(loss[hz].numerator) / loss[hz].denominator) / 10) for hz, w in weights.items())
    oitc = 10 * log10(power({hz: F(0) for hz in weights})) - 10 * log10(power(given))
    octaves = {hz: half_up(F(t), F(1, 10)) for hz, t in zip(ISO_OCT, octaves_text)}
    rw_oct = best(octaves, ISO_OCT, 10)
    return [rw, *terms, f"{float(deviations):.1f}", f"{float(fine):.1f}", stc, stc_sum, stc_given, half_up(F(str(oitc))), mp.nstr(oitc, 10),
            rw_oct, term(octaves, C_OCT, rw_oct), term(octaves, CTR_OCT, rw_oct)]


def random_values(hz, decimals):
    start, slope = rng.uniform(5, 40), rng.uniform(-0.5, 2.5)
    values = start + slope * np.arange(len(hz)) + rng.normal(0, rng.uniform(0.5, 4), len(hz))
    if rng.random() < 0.5:
        values[rng.integers(len(hz))] -= rng.uniform(5, 20)
    return [f"{value:.{decimals}f}" for value in values]


A = {hz: a_weighting(hz) for hz in SOURCE}
names = ["rw", "c", "ctr", "c50_3150", "c50_5000", "c100_5000", "ctr50_3150", "ctr50_5000", "ctr100_5000", "sum", "rw_tenths",
         "stc", "stc_without_8", "stc_as_given", "oitc", "oitc_unrounded", "rw_octaves", "c_octaves", "ctr_octaves"]
with open("ratings.csv", "w", newline="\n") as out:
    print(",".join([*map(str, HZ), *(f"octave_{hz}" for hz in ISO_OCT), *names]), file=out)
    for row in range(200):
        decimals = row % 3
        thirds, octaves = random_values(HZ, decimals), random_values(list(ISO_OCT), decimals)
        print(",".join([*thirds, *octaves, *map(str, rate(thirds, octaves))]), file=out)
