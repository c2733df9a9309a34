#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Ticks in a silent groove: the noise is that of the groove without them, and what they add is told.

A groove's noise (white at the pickup, with rumble below) and ticks (impulses at the pickup) both pass the replay curve,
made here with scipy's bilinear transform. Source (published): IEC 60098, 3180, 318 and 75 microseconds. The same noise without
one tick is measured too: it is the truth. The tick count is what was drawn.
"""
import numpy as np
from scipy import signal

import program
import waves

RATE, SECONDS = 48000, 32


def replayed(velocity):
    """Behind the replay curve, 0 dB at 1 kHz."""
    t1, t2, t3 = 3180e-6, 318e-6, 75e-6
    b, a = signal.bilinear([t2, 1], np.polymul([t1, 1], [t3, 1]), RATE)
    _, at_1k = signal.freqz(b, a, worN=[1000], fs=RATE)
    return signal.lfilter(b / abs(at_1k[0]), a, velocity)


def groove(seed, hiss, rumble):
    """Two channels of noise at the pickup: white, and rumble around 20 Hz, mostly sideways."""
    draw = np.random.default_rng(seed)
    white = draw.standard_normal((2, RATE * SECONDS)) * hiss
    sos = signal.butter(2, [12, 40], "bandpass", fs=RATE, output="sos")
    side, up = (signal.sosfilt(sos, draw.standard_normal(RATE * SECONDS)) * level for level in (rumble, 0.3 * rumble))
    return white + np.stack([side + up, side - up])


def ticks(seed, count, loudest):
    """COUNT impulses of a fraction of a millisecond, at least 30 ms apart, of drawn strength and wall."""
    draw = np.random.default_rng(seed)
    out, places = np.zeros((2, RATE * SECONDS)), []
    while len(places) < count:
        place = int(draw.integers(RATE // 2, RATE * SECONDS - RATE // 2))
        if all(abs(place - other) > 0.03 * RATE for other in places):
            places.append(place)
    for place in places:
        width = int(draw.integers(2, 12))
        shape = np.hanning(width + 2)[1:-1] * loudest * draw.uniform(0.3, 1) * draw.choice([-1, 1])
        for wall, share in enumerate(draw.uniform(0.4, 1, 2)):
            out[wall, place:place + width] += shape * share
    return out


def one_case(prog, draw):
    seed, count = draw.randrange(1 << 30), draw.choice([3, 12, 25, 60])
    # A lateral kilohertz of -12 dBFS peak in each channel for 10 cm/s; the noise some 60 dB under it.
    clean = groove(seed, 10 ** (draw.uniform(-78, -66) / 20), 10 ** (draw.uniform(-62, -52) / 20))
    dirty = clean + ticks(seed + 1, count, draw.uniform(0.05, 0.5))
    sheets = []
    for name, velocity in (("clean", clean), ("dirty", dirty)):
        left, right = (replayed(channel) for channel in velocity)
        path = waves.write(prog.recording(f"{name}.wav"), left, right, RATE)
        sheets.append(prog.sheet("noise", path, noise__reference_level="-12dB", noise__reference_velocity="10cm/s",
                                 record__start="0s", record__end=f"{SECONDS}s"))
    truth, sheet = sheets
    wrong = []
    for key, within in (("noise.rumble_unweighted", 0.3), ("noise.rumble_weighted", 0.3), ("noise.hiss", 0.3),
                        ("noise.rumble_lateral", 0.3), ("noise.rumble_vertical", 0.4)):
        if abs(sheet.value(key) - truth.value(key)) > within:
            wrong.append(f"{key}: {sheet.value(key):.2f} dB with {count} ticks, {truth.value(key):.2f} without")
    heard, per_minute = sheet.value("noise.ticks") * SECONDS / 60, count
    if abs(heard - per_minute) > max(1, 0.12 * count):
        wrong.append(f"noise.ticks: {heard:.1f} of {count}")
    if sheet.has("noise.with_ticks.hiss") is False or sheet.value("noise.with_ticks.hiss") > sheet.value("noise.hiss"):
        wrong.append("what the ticks add to the hiss is not told")
    if truth.value("noise.ticks") > 0:
        wrong.append(f"{truth.value('noise.ticks')} ticks a minute in a groove without one")
    return "\n".join(wrong)


def run(prog, checks, names):
    for number, draw in enumerate(program.draws("silent groove", 8), 1):
        checks.attempt(f"ticks are counted and cut out, drawn case {number}", one_case, prog, draw)


if __name__ == "__main__":
    program.main(run)
