"""How fast a recording is measured: the program beside scipy doing the same, one core each.

    meter_speed.py PROGRAM [SECONDS]

Both read a WAV file of 24 bits at 48 kHz and give LAeq, LCeq, LZeq, the highest Fast and Slow levels, L10, L50 and L90, and third octaves
from 25 Hz to 20 kHz. scipy filters every band at the full rate with the same order (four pole pairs); that is how it is mostly done.
The program gives octaves, a history by the second and the checks for clipping as well. Memory is that of the whole process.
"""

import json
import os
import pathlib
import resource
import subprocess
import sys
import tempfile
import threading
import time

import numpy as np
import scipy.io.wavfile
import scipy.signal

RATE_HZ = 48_000


def write(path, seconds):
    """Pink-like noise of 24 bits, made second by second so that making it takes no memory either."""
    import wave

    rng = np.random.default_rng(1)
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(3)
        out.setframerate(RATE_HZ)
        state = np.zeros(1)
        for _ in range(seconds):
            noise, state = scipy.signal.lfilter([0.05], [1, -0.97], rng.standard_normal(RATE_HZ), zi=state)
            whole = (np.clip(noise, -0.99, 0.99) * 8_388_607).astype("<i4")
            out.writeframes(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def scipy_measure(path):
    """Levels, percentiles and thirds of a file, with scipy."""
    rate_hz, whole = scipy.io.wavfile.read(path)
    x = whole / 2.0**31
    x -= x.mean()
    out = {}
    f1, f2, f3, f4 = (2 * np.pi * f for f in (20.598997, 107.652649, 737.862231, 12194.217148))
    curves = {"A": ([0] * 4, [-f1, -f1, -f2, -f3, -f4, -f4]), "C": ([0] * 2, [-f1, -f1, -f4, -f4])}
    for curve in "ACZ":
        y = x
        if curve in curves:
            zeros, poles, gain = scipy.signal.bilinear_zpk(*curves[curve], 1.0, rate_hz)
            sos = scipy.signal.zpk2sos(zeros, poles, gain)
            _, at_1_khz = scipy.signal.sosfreqz(sos, [1000], fs=rate_hz)
            y = scipy.signal.sosfilt(sos, x) / abs(at_1_khz[0])
        squares = y * y
        out[f"L{curve}eq"] = 120 + 3.0103 + 10 * np.log10(squares.mean())
        for name, tau_s in (("F", 0.125), ("S", 1.0)):
            a = np.exp(-1 / (tau_s * rate_hz))
            level = scipy.signal.lfilter([1 - a], [1, -a], squares)
            out[f"L{curve}{name}max"] = 120 + 3.0103 + 10 * np.log10(level.max())
            if curve == "A" and name == "F":
                history = level[:: rate_hz // 20]
                for percent in (10, 50, 90):
                    out[f"LA{percent}"] = 120 + 3.0103 + 10 * np.log10(np.percentile(history, 100 - percent))
    thirds = {}
    for index in range(-16, 14):
        centre = 1000 * 10 ** (index / 10)
        edges = [centre * 10**-0.05, centre * 10**0.05]
        sos = scipy.signal.butter(4, edges, "bandpass", fs=rate_hz, output="sos")
        band = scipy.signal.sosfilt(sos, x)
        thirds[index] = 120 + 3.0103 + 10 * np.log10(np.mean(band * band))
    out["thirds"] = [thirds[index] for index in sorted(thirds)]
    return out


def run(words):
    """Answer, seconds by the clock, seconds on the core and the most memory in MB of a process.

    Memory is what the kernel says of the process itself: the maximum that waiting for it tells counts the parent before `exec`.
    """
    start = time.perf_counter()
    child = subprocess.Popen(words, stdout=subprocess.PIPE)
    highest_kb = 0
    lines = []
    reader = threading.Thread(target=lambda: lines.append(child.stdout.read()))
    reader.start()
    while reader.is_alive():
        try:
            status = pathlib.Path(f"/proc/{child.pid}/status").read_text()
            highest_kb = max([highest_kb] + [int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM")])
        except OSError:
            pass
        reader.join(0.01)
    _, status, usage = os.wait4(child.pid, 0)
    took_s = time.perf_counter() - start
    assert status == 0, words
    return json.loads(lines[0]), took_s, usage.ru_utime + usage.ru_stime, highest_kb / 1024


def main():
    if sys.argv[1] == "--scipy":
        print(json.dumps(scipy_measure(sys.argv[2])))
        return
    program, seconds = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 600
    os.sched_setaffinity(0, {sorted(os.sched_getaffinity(0))[0]})
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as folder:
        rows = []
        for length in (seconds, 4 * seconds):
            path = pathlib.Path(folder) / f"{length}.wav"
            write(path, length)
            words = [program, "--json", "measure", str(path), "--full-scale", "120"]
            best = min((run(words) for _ in range(3)), key=lambda one: one[2])
            rows.append((length, best))
            print(
                f"storypole  {length:5d} s of sound in {best[2]:7.2f} s on a core ({best[1]:.2f} s by the clock): "
                f"{length / best[2]:6.0f} times real time, {best[3]:6.1f} MB",
                flush=True,
            )
        path = pathlib.Path(folder) / f"{seconds}.wav"
        words = [sys.executable, __file__, "--scipy", str(path)]
        theirs = min((run(words) for _ in range(2)), key=lambda one: one[2])
        print(
            f"scipy      {seconds:5d} s of sound in {theirs[2]:7.2f} s on a core ({theirs[1]:.2f} s by the clock): "
            f"{seconds / theirs[2]:6.0f} times real time, {theirs[3]:6.1f} MB"
        )
        ours = rows[0][1]
        print(f"\nstorypole is {theirs[2] / ours[2]:.1f} times as fast as scipy (aim 10), {seconds / ours[2]:.0f} times real time (aim 300)")
        print(f"memory for four times the sound: {rows[1][1][3] / ours[3]:.2f} times as much, {rows[1][1][3] - ours[3]:+.1f} MB of history")
        gaps = [abs(a["level"] - b) for a, b in zip([r for r in ours[0]["third_octaves"] if r["band"] >= 25], theirs[0]["thirds"])]
        print(f"thirds lie within {max(gaps):.3f} dB of one another, LAeq within {abs(ours[0]['levels']['LAeq'] - theirs[0]['LAeq']):.3f} dB")


main()
