#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Hum with the arm in two places: a field falls off, a loop's current does not; and a buzz is told from the mains alone.

Lines of the mains over a groove's noise, behind the replay curve (IEC 60098: 3180, 318 and 75 microseconds), written here.
"""
import random

import numpy as np

import program
import waves

RATE, SECONDS = 24000, 16


def replay(hz):
    s = 2j * np.pi * hz
    return abs((1 + s * 318e-6) / ((1 + s * 3180e-6) * (1 + s * 75e-6)))


def take(prog, name, lines, mains, seed):
    """LINES: amplitude of each harmonic before the replay curve."""
    time = np.arange(RATE * SECONDS) / RATE
    hum = sum(level * replay(mains * n) * np.sin(2 * np.pi * mains * n * time + n * n) for n, level in lines.items())
    return waves.write(prog.recording(name), hum + waves.noise(time.size, 2e-5, seed), 0.9 * hum + waves.noise(time.size, 2e-5, seed + 1), rate=RATE)


def one_case(prog, draw, falls_db, buzz):
    mains, size = draw.choice([50.0, 60.0]), 10 ** (draw.uniform(-62, -52) / 20)
    lines = {n: size * draw.uniform(0.8, 1.2) / (1 if n == 1 else 1.3 if buzz else 40 * n) for n in range(1, 16)}
    seed = draw.randrange(1 << 30)
    one = take(prog, "one.wav", lines, mains, seed)
    two = take(prog, "two.wav", {n: level * 10 ** (-falls_db / 20) for n, level in lines.items()}, mains, seed + 7)
    sheet = prog.sheet("noise", one, two, noise__compare="position", noise__reference_level="-20", record__start="0s", record__end=f"{SECONDS}s")
    wrong = []
    field, loop, part = (bool(sheet.said(words)) for words in ("magnetic field reaches", "same wherever the arm", "a field has a part"))
    if (field, loop, part) != (abs(falls_db) > 3, abs(falls_db) < 1, 1 <= abs(falls_db) <= 3):
        wrong.append(f"{falls_db:.1f} dB less in the other place: field {field}, loop {loop}, part {part}")
    if bool(sheet.said("rich in harmonics")) != buzz or bool(sheet.said("nearly the mains alone")) == buzz:
        wrong.append(f"a buzz is {buzz}, said otherwise")
    return "\n".join(wrong)


def run(prog, checks, names):
    for number, (falls_db, buzz) in enumerate([(12, False), (-8, True), (0.2, True), (-0.3, False), (2, True)]):
        checks.attempt(f"hum in two places, {falls_db} dB less, {'buzz' if buzz else 'mains alone'}", one_case, prog,
                       random.Random(f"hum place {number}"), falls_db, buzz)


if __name__ == "__main__":
    program.main(run)
