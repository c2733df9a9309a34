#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What is no band of a test record is not measured as one, and hum is read whatever it is a multiple of.

Whistles in noise, notes of an instrument, hum alone; silent grooves with hum of 45 to 66 Hz, with harmonics and without. All
made here with numpy; the hum's level is the sum of the sines put in.
"""
import math

import numpy as np

import program
import waves

RATE, SECONDS = 44100, 16
SHARES = (1, 0.3, 0.4, 0.1, 0.15)


def time():
    return np.arange(RATE * SECONDS) / RATE


def tone(hz, level, wow=0.0):
    return level * np.sin(2 * np.pi * hz * (time() + wow / (2 * np.pi * 0.55) * np.sin(2 * np.pi * 0.55 * time())))


def refused(prog, procedure, left, right, words):
    path = waves.write(prog.recording("no_band.wav"), left, right, rate=RATE)
    done = prog.run(procedure, path)
    good = done.returncode == 2 and not done.stdout and words in done.stderr
    return "" if good else f"exit {done.returncode}: {done.stderr or done.stdout[:300]}"


def whistle(prog, over_db):
    """A steady tone OVER_DB over white noise."""
    sine = tone(740, 0.02 * math.sqrt(2) * 10 ** (over_db / 20))
    return refused(prog, "channels", sine + waves.noise(sine.size, 0.02, 1), sine + waves.noise(sine.size, 0.02, 2), "no band of a test record")


def notes(prog):
    """Four seconds of each note, an octave above it half as loud."""
    out = np.zeros(RATE * SECONDS)
    for number, hz in enumerate((262, 330, 392, 523)):
        held = (time() >= 4 * number) & (time() < 4 * number + 4)
        out[held] = (tone(hz, 0.2) + tone(2 * hz, 0.1))[held]
    return refused(prog, "channels", out, 0.8 * out + waves.noise(out.size, 1e-3, 3), "as an instrument's has")


def plain(prog, hz):
    """A band of both channels tells no azimuth."""
    both = tone(hz, 0.2, 0.001)
    return refused(prog, "azimuth", both + waves.noise(both.size, 1e-4, 4), both + waves.noise(both.size, 1e-4, 5), "channel alone was not found")


def band(prog):
    """A real band, with wow, 26 dB over its noise, is measured without a word of doubt."""
    both = tone(1000, 0.05, 0.0015)
    path = waves.write(prog.recording("band.wav"), both + waves.noise(both.size, 1.7e-3, 6), 0.9 * both + waves.noise(both.size, 1.7e-3, 7), rate=RATE)
    sheet = prog.sheet("channels", path)
    off = sheet.value("channels.balance") - 20 * math.log10(0.9)
    return "; ".join([f"balance off by {off:.3f} dB"] * (abs(off) > 0.03) + sheet.raw["cautions"])


def mains_tone(prog):
    """Hum taken for a band carries a caution."""
    both = tone(300, 0.01) + tone(100, 0.005)
    path = waves.write(prog.recording("hum.wav"), both + waves.noise(both.size, 1e-4, 8), both + waves.noise(both.size, 1e-4, 9), rate=RATE)
    cautions = prog.sheet("channels", path).raw["cautions"]
    return "" if any("it may be hum" in line for line in cautions) else f"cautions: {cautions}"


def red(seed):
    """Rumbling groove: noise that falls as the frequency from some 5 Hz on."""
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(RATE * SECONDS))
    hz = np.fft.rfftfreq(RATE * SECONDS, 1 / RATE)
    out = np.fft.irfft(spectrum / np.sqrt(25 + hz ** 2), RATE * SECONDS)
    return 3e-3 * out / out.std()


def inverter(prog, hz, shares, level_db):
    """Hum of HZ is read: what it is of, and how loud under 10 cm/s."""
    level, reference_db = 10 ** (level_db / 20), -10
    hum = sum(tone(hz * number, level * share) for number, share in enumerate(shares, 1))
    left, right = (hum + red(seed) + waves.noise(hum.size, 3e-5, seed + 10) for seed in (11, 12))
    path = waves.write(prog.recording("groove.wav"), left, right, rate=RATE)
    sheet = prog.sheet("noise", path, noise__reference_level=f"{reference_db}dB", noise__reference_velocity="10cm/s")
    wrong = []
    if not sheet.has("noise.mains") or abs(sheet.value("noise.mains") - hz) > 0.05:
        wrong.append(f"mains {sheet.readings.get('noise.mains', {}).get('value')}, truth {hz}")
    truth = reference_db - 10 * math.log10(level ** 2 * sum(share ** 2 for share in shares))
    if abs(sheet.value("noise.hum") - truth) > 0.3:
        wrong.append(f"hum {sheet.value('noise.hum')}, truth {truth:.2f}")
    own = bool(sheet.said("neither 50 nor 60"))
    if own != (abs(hz - 50) > 1 and abs(hz - 60) > 1):
        wrong.append(f"said of an inverter: {own}")
    return "; ".join(wrong)


def hidden(prog, hz):
    """Of hum that hides in the rumble only what can hide is told, and it is no less than what is there."""
    level = 10 ** (-72 / 20)
    hum = sum(tone(hz * number, level * share) for number, share in enumerate(SHARES, 1))
    left, right = (hum + red(seed) + waves.noise(hum.size, 3e-5, seed + 10) for seed in (11, 12))
    path = waves.write(prog.recording("groove.wav"), left, right, rate=RATE)
    sheet = prog.sheet("noise", path, noise__reference_level="-10dB", noise__reference_velocity="10cm/s")
    truth = -10 - 10 * math.log10(level ** 2 * sum(share ** 2 for share in SHARES))
    told = sheet.readings["noise.hum"]
    good = told["value"] <= truth + 0.3 and (told["flags"] or abs(told["value"] - truth) < 1)
    return "" if good else f"hum {told['value']} {told['flags']}, truth {truth:.2f}"


def run(prog, checks, names):
    for over_db in (0, 10):
        checks.attempt(f"a whistle {over_db} dB over noise is no band", whistle, prog, over_db)
    checks.attempt("notes of an instrument are no bands", notes, prog)
    for hz in (1000, 3150):
        checks.attempt(f"{hz} Hz in both channels tells no azimuth", plain, prog, hz)
    checks.attempt("a band in noise is one", band, prog)
    checks.attempt("hum alone carries a caution", mains_tone, prog)
    for hz, level_db in ((57, -50), (57, -58), (60, -50), (50, -50), (66, -50), (45, -58), (53, -50)):
        checks.attempt(f"hum of {hz} Hz at {level_db} dB", inverter, prog, hz, SHARES, level_db)
    for hz in (57, 63):
        checks.attempt(f"{hz} Hz alone", inverter, prog, hz, (1,), -50)
    for hz in (50, 60):
        checks.attempt(f"hum of {hz} Hz that hides", hidden, prog, hz)


if __name__ == "__main__":
    program.main(run)
