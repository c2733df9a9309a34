#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Difference-frequency distortion of drawn pairs through drawn bends, with wow, a speed that is off, noise and hum.

The pair passes y = x + a x² + b x³ + c x⁴; what stands at f2 − f1, 2 f1 − f2 and 2 f2 − f1 is a naive sum over a period that the pair
and all its products share. Source (published): IEC 60268-3 (from memory), each over the sum of both tones; the total is the root of
the squares at f2 − f1 and 2 f1 − f2. The tones lie as records and amplifiers have them: 8 and 11.95 kHz, 13 and 14 kHz, and lower.
"""
import math
import random

import numpy as np

import program
import waves

RATE, SECONDS = 48000, 8
PAIRS = ((8000, 11950), (13000, 14000), (5000, 5080), (1000, 1400), (3000, 3170))


def bend(x, a, b, c):
    return x + a * x ** 2 + b * x ** 3 + c * x ** 4


def lines(low, high, one, two, coefficients):
    """Amplitudes of the pair and of its products: a sum over a fifth of a second, in which all of them turn whole."""
    count = 1 << 16
    time = np.arange(count) / count * 0.2
    y = bend(one * np.sin(2 * np.pi * low * time) + two * np.sin(2 * np.pi * high * time + 1), *coefficients)
    at = lambda hz: 2 * abs(np.mean(y * np.exp(-2j * np.pi * hz * time)))
    return at(low), at(high), at(high - low), at(2 * low - high), at(2 * high - low)


def one_pair(prog, draw, low, high):
    one, two = draw.uniform(0.1, 0.3), draw.uniform(0.1, 0.3)
    coefficients = draw.uniform(-0.2, 0.2), draw.uniform(-0.3, 0.3), draw.uniform(-0.1, 0.1)
    speed = 1 + draw.uniform(-0.4, 0.4) * min(high / low - 1, 0.03)
    time = np.arange(RATE * SECONDS) / RATE
    groove = speed * (time + 0.0008 / (2 * np.pi * 0.56) * np.sin(2 * np.pi * 0.56 * time))
    pair = one * np.sin(2 * np.pi * low * groove) + two * np.sin(2 * np.pi * high * groove + 1)
    hum = 1e-3 * np.sin(2 * np.pi * 50 * time) + 3e-4 * np.sin(2 * np.pi * 150 * time)
    sound = [bend(pair, *coefficients) * waves.fade(time.size, RATE) + hum, pair * waves.fade(time.size, RATE) + hum]
    path = waves.write(prog.recording("pair.wav"), *(part + waves.noise(time.size, 1e-4, draw.randrange(1 << 30)) for part in sound), rate=RATE)
    sheet = prog.sheet("intermod", path, intermod__low=f"{low}Hz", intermod__high=f"{high}Hz")
    f1, f2, second, below, above = lines(low, high, one, two, coefficients)
    truth = {"second": second, "third": below + above, "total": math.hypot(second, below)}
    wrong = []
    for name, size in truth.items():
        percent = 100 * size / (f1 + f2)
        for channel, wanted in (("left", percent), ("right", 0.0)):
            told = sheet.value(f"intermod.difference_{name}_{channel}")
            if abs(told - wanted) > 0.03 + 0.01 * wanted:
                wrong.append(f"{name}, {channel}: {told:.3f} %, truth {wanted:.3f}")
    return "; ".join(wrong)


def planned(prog, low, high, high_db):
    """The pair as a band of a side: found by its plan and read from it."""
    one, coefficients = 0.15, (0.1, 0.2, 0.0)
    two = one * 10 ** (high_db / 20)
    pieces, gap = [np.zeros((2, 2 * RATE))], np.zeros((2, 2 * RATE))
    for left, right in ((1.0, 0.01), (0.01, 1.0), (1.0, 1.0)):
        tone = waves.sine(1000, 6, RATE, 0.2) * waves.fade(6 * RATE, RATE)
        pieces += [np.stack([left * tone, right * tone]), gap]
    time = np.arange(8 * RATE) / RATE
    pair = bend(one * np.sin(2 * np.pi * low * time) + two * np.sin(2 * np.pi * high * time + 1), *coefficients) * waves.fade(time.size, RATE)
    sound = np.concatenate(pieces + [np.stack([pair, pair]), gap, gap], axis=1)
    path = waves.write(prog.recording("side.wav"), *(part + waves.noise(part.size, 1e-4, seed) for seed, part in enumerate(sound)), rate=RATE)
    words = ["[record]", "reference = 5 cm/s", "lead_in = 2 s", "gap = 2 s"]
    for number, channel in enumerate(("left", "right", "lateral"), 1):
        words += [f"[band {number}]", "kind = tone", f"channel = {channel}", "frequency = 1 kHz", "level = 0 dB", "length = 6 s"]
    words += ["[band 4]", "kind = two-tone", "channel = lateral", f"frequency = {low} Hz {high} Hz", f"high = {high_db} dB", "level = -3 dB", "length = 8 s"]
    plan = prog.recording("side.plan")
    plan.write_text("\n".join(words) + "\n", encoding="utf-8")
    sheet = prog.sheet("side", path, record__plan=plan, response__riaa="none")
    f1, f2, second, below, _ = lines(low, high, one, two, coefficients)
    told, truth = sheet.value("intermod.difference_total_left"), 100 * math.hypot(second, below) / (f1 + f2)
    return "" if abs(told - truth) < 0.03 else f"total {told:.3f} %, truth {truth:.3f}"


def run(prog, checks, names):
    for low, high, high_db in ((8000, 11950, 0), (5000, 6000, 0), (8000, 11950, -12)):
        checks.attempt(f"{low} with {high} Hz, {high_db} dB, by a plan", planned, prog, low, high, high_db)
    for number, (low, high) in enumerate(PAIRS):
        for turn in range(2):
            checks.attempt(f"{low} with {high} Hz, no. {turn + 1}", one_pair, prog, random.Random(f"pair {number} {turn}"), low, high)


if __name__ == "__main__":
    program.main(run)
