"""Holds the program's acoustics against general libraries of Python, through its command line.

    compare.py PROGRAM

Weighting curves, band levels of noise, Rw with C and Ctr, STC, and reverberation times of synthetic decays. Where a library and
the standard differ, the library's difference is counted and explained here, and a third computation in exact fractions
decides. Closes with one line that counts what passed and failed.
"""

import importlib.util
import json
import math
import pathlib
import subprocess
import sys
import tempfile
import types
from fractions import Fraction
from unittest.mock import MagicMock

import numpy as np
import scipy.io.wavfile

import compare_statistics

PROGRAM = sys.argv[1]
RATE_HZ = 48_000

THIRDS_HZ = [
    25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000,
    5000, 6300, 8000, 10000, 12500, 16000, 20000,
]
ISO_HZ = THIRDS_HZ[6:22]
ASTM_HZ = THIRDS_HZ[7:23]

checks = []


def check(name, passed, said=""):
    checks.append(passed)
    print(f"test {name} ... {'ok' if passed else 'FAILED'}{': ' + said if said else ''}", flush=True)


def toolbox():
    """The parts of acoustic-toolbox that are used, without the plotting and table libraries they import beside."""
    for name in ("matplotlib", "matplotlib.pyplot", "matplotlib.figure", "pandas", "tabulate", "six"):
        sys.modules.setdefault(name, MagicMock())
    sys.modules["pandas"].read_csv = table
    site = pathlib.Path(np.__file__).parents[1] / "acoustic_toolbox"
    spec = importlib.util.spec_from_file_location(
        "acoustic_toolbox", site / "__init__.py", submodule_search_locations=[str(site)]
    )
    sys.modules["acoustic_toolbox"] = importlib.util.module_from_spec(spec)
    import acoustic_toolbox.building
    import acoustic_toolbox.room

    return acoustic_toolbox.building, acoustic_toolbox.room


def table(source, sep, index_col):
    """The one use of a table library: columns of numbers by name."""
    rows = [line.split(sep) for line in source.read().decode().splitlines() if line.strip()]
    assert index_col == 0
    columns = {name: [float(row[place]) for row in rows[1:]] for place, name in enumerate(rows[0]) if place > 0}
    return types.SimpleNamespace(**columns)


def calc(name, inputs):
    """One output for each input."""
    lines = "".join(json.dumps(one) + "\n" for one in inputs)
    done = subprocess.run([PROGRAM, "calc", name], input=lines, capture_output=True, text=True, check=False)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(answers) == len(inputs), done.stderr
    return answers


def measure(samples, *arguments, peak=1.0):
    """What `measure` says of samples, written as 24 bits; levels are over a full-scale sine of 120 dB."""
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "recording.wav"
        scipy.io.wavfile.write(path, RATE_HZ, np.asarray(samples * peak, dtype=np.float32))
        words = [PROGRAM, "--json", "measure", str(path), "--full-scale", "120", *arguments]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)


# --- weighting -------------------------------------------------------------------------------------------------------


def weighting_curves():
    """The curves against scipy's response of the poles and zeros that IEC 61672-1 Annex E gives, made exactly 0 dB at 1 kHz."""
    import scipy.signal

    f1, f2, f3, f4 = (2 * math.pi * f for f in (20.598997, 107.652649, 737.862231, 12194.217148))
    poles = {"C": [-f1, -f1, -f4, -f4], "A": [-f1, -f1, -f2, -f3, -f4, -f4]}
    zeros = {"C": [0, 0], "A": [0, 0, 0, 0]}
    hz = np.geomspace(10, 20_000, 200)
    for curve in "AC":
        _, response = scipy.signal.freqs_zpk(zeros[curve], poles[curve], 1.0, 2 * math.pi * np.append(hz, 1000.0))
        expected = 20 * np.log10(np.abs(response))
        expected = expected[:-1] - expected[-1]
        got = np.array(calc("levels.weighting", [{"curve": curve, "frequencies": list(hz)}])[0]["values"])
        worst = np.max(np.abs(got - expected))
        check(f"weighting {curve} at 200 frequencies against scipy", worst < 0.001, f"worst {worst:.6f} dB")


def weighted_noise():
    """A- and C-weighted levels of noise through the program's filters, PyOctaveBand's, and the curve itself on the spectrum.

    A digital filter droops or rises near half the rate; the curve of the standard, put on the transform of the whole, does not.
    It decides between the two.
    """
    import pyoctaveband

    rng = np.random.default_rng(61672)
    f1, f2, f3, f4 = 20.598997, 107.652649, 737.862231, 12194.217148
    for name, colour in (("white", 0.0), ("pink", 0.5)):
        noise = coloured(rng, 20 * RATE_HZ, colour)
        said = measure(noise)["levels"]
        spectrum = np.fft.rfft(noise)
        hz = np.fft.rfftfreq(len(noise), 1 / RATE_HZ)
        c_curve = f4**2 * hz**2 / ((hz**2 + f1**2) * (hz**2 + f4**2)) * 10 ** (0.0619 / 20)
        a_curve = (
            f4**2 * hz**4 / ((hz**2 + f1**2) * np.sqrt((hz**2 + f2**2) * (hz**2 + f3**2)) * (hz**2 + f4**2))
        ) * 10 ** (1.9997 / 20)
        # A full-scale sine has an rms of 1/sqrt 2, so a signal of rms 1 has 3.01 dB more.
        rms_one = 120 + 10 * math.log10(2)
        for curve, shape in (("A", a_curve), ("C", c_curve)):
            exact = rms_one + 10 * math.log10(2 * np.sum(np.abs(spectrum * shape) ** 2) / len(noise) ** 2)
            filtered = pyoctaveband.weighting_filter(noise, RATE_HZ, curve=curve)
            theirs = rms_one + 10 * math.log10(np.mean(filtered**2))
            ours = said[f"L{curve}eq"]
            passed = abs(ours - exact) < 0.02 and abs(ours - theirs) < 0.3
            said_of_it = f"{ours - exact:+.3f} dB off the curve, PyOctaveBand {theirs - exact:+.3f} dB"
            check(f"{name} noise, L{curve}eq", passed, said_of_it)


def coloured(rng, count, power):
    """Noise whose amplitude falls with frequency to the `power`, from 20 Hz to 20 kHz, rms 0.1."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    hz = np.fft.rfftfreq(count, 1 / RATE_HZ)
    shape = np.where((hz > 15) & (hz < 21_500), 1 / np.maximum(hz, 1) ** power, 0)
    noise = np.fft.irfft(spectrum * shape, count)
    return 0.1 * noise / np.sqrt(np.mean(noise**2))


# --- bands -----------------------------------------------------------------------------------------------------------


def bands_of_noise():
    """Third octaves of noise that swells and fades, as a street does, against PyOctaveBand's sixth-order filters.

    Filters of four pole pairs let 0.112 dB more of noise through than an ideal band, those of six 0.050 dB: (pi/2N)/sin(pi/2N).
    Both meet class 1; the difference belongs between them.
    """
    import pyoctaveband

    bias = 10 * math.log10((math.pi / 8) / math.sin(math.pi / 8)) - 10 * math.log10((math.pi / 12) / math.sin(math.pi / 12))
    rng = np.random.default_rng(61260)
    count = 30 * RATE_HZ
    swell = 0.6 + 0.4 * np.sin(2 * math.pi * 0.21 * np.arange(count) / RATE_HZ)
    for name, colour in (("white", 0.0), ("pink", 0.5)):
        noise = coloured(rng, count, colour) * swell
        said = {row["band"]: row["level"] for row in measure(noise)["third_octaves"]}
        levels, hz = pyoctaveband.octavefilter(noise, RATE_HZ, fraction=3, order=6, limits=[22, 18_000], dbfs=True)
        worst, where = 0.0, None
        for level, centre in zip(levels, hz):
            label = min(THIRDS_HZ, key=lambda label: abs(math.log(label / centre)))
            if label in (25, 31.5, 40, 16000, 20000):
                continue  # the noise ends within or beside these
            # Its 0 dBFS is an rms of 1, which is 3.01 dB over a full-scale sine.
            error = said[label] - (120 + 10 * math.log10(2) + level) - bias
            if abs(error) > abs(worst):
                worst, where = error, label
        check(f"{name} noise in 24 third octaves against PyOctaveBand", abs(worst) < 0.1, f"worst {worst:+.3f} dB at {where} Hz")
        total = 10 * math.log10(sum(10 ** (level / 10) for level in said.values()))
        error = total - measure(noise)["levels"]["LZeq"]
        check(f"{name} noise, sum of bands against the whole", abs(error) < 0.2, f"{error:+.3f} dB")


# --- ratings ---------------------------------------------------------------------------------------------------------

REFERENCE_DB = [33, 36, 39, 42, 45, 48, 51, 52, 53, 54, 55, 56, 56, 56, 56, 56]
CONTOUR_DB = [-16, -13, -10, -7, -4, -1, 0, 1, 2, 3, 4, 4, 4, 4, 4, 4]


def exact_rw(tenths):
    """Rw by trial from above, in fractions."""
    for rating in range(120, -60, -1):
        short = [max(Fraction(0), Fraction(ref + rating - 52) - Fraction(t, 10)) for ref, t in zip(REFERENCE_DB, tenths)]
        if sum(short) <= 32:
            return rating, sum(short)
    raise AssertionError


def exact_stc(whole):
    """STC by trial from above, with the rule of 8 dB, and without it."""
    by_sum = None
    for rating in range(120, -60, -1):
        short = [max(0, off + rating - value) for off, value in zip(CONTOUR_DB, whole)]
        if sum(short) <= 32:
            by_sum = rating if by_sum is None else by_sum
            if max(short) <= 8:
                return rating, by_sum
    raise AssertionError


def ratings(building):
    rng = np.random.default_rng(717)
    slope = np.linspace(0, 26, 16)
    spectra = []
    for index in range(200):
        values = 18 + slope * rng.uniform(0.4, 1.3) + rng.normal(0, rng.uniform(0.5, 6), 16)
        spectra.append([int(round(v)) * 10 if index % 2 else int(round(v * 10)) for v in values])  # tenths
    inputs = [{"quantity": "R", "bands": "third", "frequencies": ISO_HZ, "values": [t / 10 for t in s]} for s in spectra]
    got = calc("ratings.iso717", inputs)
    wrong, at_limit, terms, unexplained = 0, 0, 0, 0
    for spectrum, ours in zip(spectra, got):
        rating, total = exact_rw(spectrum)
        wrong += ours["rating"] != rating
        values = np.array([t / 10 for t in spectrum])
        theirs = int(building.rw(values))
        if theirs != ours["rating"]:
            # ISO 717-1 clause 4.4 allows a sum of 32.0 dB; the library stops short of it.
            at_limit += total == 32 and theirs == rating - 1
            unexplained += not (total == 32 and theirs == rating - 1)
            continue
        # Its terms are whole sums, C = Rw + C less Rw.
        c, ctr = int(round(float(building.rw_c(values)))) - theirs, int(round(float(building.rw_ctr(values)))) - theirs
        terms += (c, ctr) != (ours["C"], ours["Ctr"])
    check("Rw of 200 random spectra against fractions", wrong == 0, f"{wrong} differ")
    said = f"{at_limit} differ where the sum is exactly 32.0, which the standard allows and the library does not"
    check("Rw of 200 random spectra against acoustic-toolbox", unexplained == 0, said)
    check("C and Ctr of the same against acoustic-toolbox", terms == 0, f"{terms} differ")

    whole = [[int(math.floor(t / 10 + 0.5)) for t in s] for s in spectra]
    got = calc("ratings.stc", [{"frequencies": ASTM_HZ, "values": s} for s in whole])
    wrong, eight, unexplained = 0, 0, 0
    for spectrum, ours in zip(whole, got):
        rating, by_sum = exact_stc(spectrum)
        wrong += ours["stc"] != rating
        theirs = int(building.stc(np.array(spectrum, dtype=float)))
        if theirs != ours["stc"]:
            # ASTM E413 allows no deficiency over 8 dB; the library looks at the sum alone.
            eight += theirs == by_sum
            unexplained += theirs != by_sum
    check("STC of 200 random spectra against fractions", wrong == 0, f"{wrong} differ")
    said = f"{eight} differ where one band is over 8 dB short, which the standard forbids and the library does not"
    check("STC of 200 random spectra against acoustic-toolbox", unexplained == 0, said)


# --- reverberation ---------------------------------------------------------------------------------------------------


def decays(room):
    """T30 of exponential decays of noise, made here, against the known time and against acoustic-toolbox."""
    rng = np.random.default_rng(3382)
    bands = [500, 1000, 2000]
    for time_s in (0.4, 0.8, 1.6):
        t = np.arange(int(RATE_HZ * (2 * time_s + 0.5))) / RATE_HZ
        decay = 0.3 * rng.standard_normal(len(t)) * 10 ** (-3 * t / time_s)
        samples = np.concatenate([np.zeros(RATE_HZ // 4), decay])
        rows = {row["band"]: row for row in measure(samples, "--reverberation", "clap", "--octaves")["reverberation"]}
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "decay.wav"
            scipy.io.wavfile.write(path, RATE_HZ, np.asarray(samples, dtype=np.float32))
            theirs = room.t60_impulse(str(path), np.array(bands, dtype=float), rt="t30")
        for band, their_s in zip(bands, theirs):
            ours_s = rows[band]["T30"]
            # A decay of noise scatters like T itself: 0.55 T sqrt(2.52/(B T)) for one decay (ISO 3382-2 Annex A).
            spread = 3 * 0.55 * math.sqrt(2.52 / (0.7046 * band * time_s))
            known = abs(ours_s / time_s - 1) < spread
            # The same noise in the same octaves on both sides: only filters, onset and noise treatment differ.
            same = abs(ours_s / float(their_s) - 1) < 0.04
            said = f"{ours_s:.3f} s, made {time_s} s, acoustic-toolbox {float(their_s):.3f} s"
            check(f"T30 of a decay of {time_s} s at {band} Hz", known and same, said)


def main():
    building, room = toolbox()
    weighting_curves()
    weighted_noise()
    bands_of_noise()
    ratings(building)
    decays(room)
    checks.extend(compare_statistics.compare(PROGRAM))
    failed = checks.count(False)
    word = "FAILED" if failed else "ok"
    print(f"\ntest result: {word}. {checks.count(True)} passed; {failed} failed; 0 ignored; 0 measured; 0 filtered out")
    sys.exit(1 if failed else 0)


main()
