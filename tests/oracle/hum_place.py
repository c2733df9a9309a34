#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Hum with the arm in two places: a field falls off, a loop's current does not; and a buzz is told from the mains alone.

Lines of the mains over a groove's noise, behind the replay curve written here. Source (published): IEC 60098, 3180, 318 and 75 microseconds.
"""
import random

import numpy as np

import program
import waves

RATE, SECONDS = 24000, 16


def replay(hz):
    s = 2j * np.pi * hz
    return abs((1 + s * 318e-6) / ((1 + s * 3180e-6) * (1 + s * 75e-6)))


def take(prog, name, lines, mains, seed, right=0.9):
    """LINES: amplitude of each harmonic before the replay curve; RIGHT: what the right channel has of the left's."""
    time = np.arange(RATE * SECONDS) / RATE
    hum = sum(level * replay(mains * n) * np.sin(2 * np.pi * mains * n * time + n * n) for n, level in lines.items())
    return waves.write(prog.recording(name), hum + waves.noise(time.size, 2e-5, seed), right * hum + waves.noise(time.size, 2e-5, seed + 1), rate=RATE)


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


CAUSES = "earth loop", "motor's field", "field of motor", "open return", "that channel's return", "magnetic field reaches"


def pair(prog, change, falls_db, right=0.3):
    lines = {1: 4e-2, 3: 6e-2, 5: 5e-2}
    one = take(prog, "one.wav", lines, 50.0, 1, right)
    two = take(prog, "two.wav", {n: level * 10 ** (-falls_db / 20) for n, level in lines.items()}, 50.0, 5, right)
    return prog.sheet("noise", one, two, noise__compare=change, record__start="0s", record__end=f"{SECONDS}s")


def earths(prog):
    """Whoever is sent to look for a second earth path is told that a mains earth stays."""
    wrong = []
    for change, falls_db in [("earth", 14), ("earth", 0), ("earth", -14), ("earth", 3), ("position", 0), ("position", 2)]:
        sheet = pair(prog, change, falls_db)
        if not any("never" in line.lower() and "mains earth" in line for line in sheet.raw["cautions"]):
            wrong.append(f"{change}, {falls_db} dB less: no caution of a mains earth")
    return "\n".join(wrong)


def one_cause(prog):
    """Two recordings tell where hum comes from: what one alone would make likely is not said beside it."""
    wrong = []
    for change, falls_db, named in [("position", 14, {"magnetic field reaches"}), ("motor", 14, set()), ("motor", 0, set()), ("arm", 0, set())]:
        said = {cause for cause in CAUSES if cause in " ".join(pair(prog, change, falls_db).remarks).replace("no earth loop", "")}
        if said != named:
            wrong.append(f"{change}, {falls_db} dB less: {sorted(said)}")
    return "\n".join(wrong)


def one_channel(prog):
    """Hum is in one channel alone where the other has next to none, not where it has a third of it."""
    wrong = []
    for right, alone in [(0.3, False), (0.2, False), (0.03, True), (0.0, True), (0.9, False)]:
        path = take(prog, "one.wav", {1: 4e-2, 3: 1e-2}, 50.0, 9, right)
        sheet = prog.sheet("noise", path, record__start="0s", record__end=f"{SECONDS}s")
        if bool(sheet.said("channel alone")) != alone:
            wrong.append(f"the right has {right} of the left's hum: {sheet.said('channel')}")
    return "\n".join(wrong)


def no_rumble(prog):
    """Hum alike in both channels, or in opposite phase, is no lateral or vertical rumble, and what rumbles beside it is told apart."""
    wrong, time = [], np.arange(RATE * SECONDS) / RATE
    for mains, way, rumble in [(60.0, 1, 0), (50.0, 1, 0), (50.0, -1, 0), (60.0, 1, -1), (50.0, -1, 1)]:
        hum, low = 4e-3 * np.sin(2 * np.pi * mains * time), 2e-3 * np.sin(2 * np.pi * 27 * time) * abs(rumble)
        path = waves.write(prog.recording("h.wav"), hum + low + waves.noise(time.size, 1e-4, 3),
                           way * hum + rumble * low + waves.noise(time.size, 1e-4, 4), rate=RATE)
        sheet = prog.sheet("noise", path, record__start="0s", record__end=f"{SECONDS}s")
        said = {word for word in ("mostly lateral", "mostly vertical") if sheet.said(word)}
        if said != {-1: {"mostly vertical"}, 0: set(), 1: {"mostly lateral"}}[rumble]:
            wrong.append(f"{mains} Hz, way {way}, rumble {rumble}: {said}")
    return "\n".join(wrong)


def run(prog, checks, names):
    checks.attempt("seeking a second earth path, a mains earth is never parted", earths, prog)
    checks.attempt("a pair of recordings names one cause of hum", one_cause, prog)
    checks.attempt("hum in one channel alone is that", one_channel, prog)
    checks.attempt("hum is no rumble", no_rumble, prog)
    for number, (falls_db, buzz) in enumerate([(12, False), (-8, True), (0.2, True), (-0.3, False), (2, True)]):
        checks.attempt(f"hum in two places, {falls_db} dB less, {'buzz' if buzz else 'mains alone'}", one_case, prog,
                       random.Random(f"hum place {number}"), falls_db, buzz)


if __name__ == "__main__":
    program.main(run)
