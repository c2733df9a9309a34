#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Where tracking fails: the step, its height in microns and cm/s, and which tops of the wave are flattened, all the time or in bursts.

The groove's displacement is made here, its tops bent over beyond what the wall holds; the pickup hears its velocity, and the replay curve
is applied to the spectrum. Truth is what was bent. Source (published): the curve of IEC 60098, 3180, 318 and 75 microseconds.
"""
import numpy as np

import program
import waves

RATE, HZ, STEP_S, GAP_S = 48000, 300.0, 3.0, 1.0
LIMIT = 0.05        # tracking.limit's preset
STEPS = (40, 50, 60, 70, 80)


def replayed(velocity):
    spectrum = np.fft.rfft(velocity)
    hz = np.fft.rfftfreq(velocity.size, 1 / RATE)
    def curve(f):
        s = 2j * np.pi * f
        return (1 + s * 318e-6) / ((1 + s * 3180e-6) * (1 + s * 75e-6))
    return np.fft.irfft(spectrum * curve(hz) / abs(curve(1000.0)), velocity.size)


def distortion(um, hold_um, tops):
    """Harmonics 2 to 5 over the tone as recorded, while the tops give way."""
    turn = 2 * np.pi * np.arange(4096) / 4096
    lines = np.fft.rfft(bend(um * np.sin(turn), hold_um, tops))[1:6] * np.arange(1, 6)
    s = 2j * np.pi * HZ * np.arange(1, 6)
    heard = abs(lines * (1 + s * 318e-6) / ((1 + s * 3180e-6) * (1 + s * 75e-6)))
    return np.sqrt(np.sum(heard[1:] ** 2)) / heard[0]


def bend(place, hold_um, tops):
    bent = place
    if tops in ("upper", "both"):
        bent = np.minimum(bent, hold_um + 0.2 * (bent - hold_um))
    if tops in ("lower", "both"):
        bent = np.maximum(bent, -hold_um + 0.2 * (bent + hold_um))
    return bent


def channel(hold_um, tops, bursts, sign):
    """Steps whose UPPER, LOWER or BOTH tops give way beyond HOLD_UM, for the whole or for a third of each turn."""
    pieces = []
    for um in STEPS:
        time = np.arange(int(STEP_S * RATE)) / RATE
        place = um * np.sin(2 * np.pi * HZ * time)
        bent = bend(place, hold_um, tops)
        gives = ((time % 1.8) < 0.6) if bursts else np.ones(time.size, bool)
        pieces += [np.where(gives, bent, place) * waves.fade(time.size, RATE), np.zeros(int(GAP_S * RATE))]
    groove = np.concatenate(pieces)
    return replayed(sign * np.gradient(groove) * RATE * 1e-4) * 7e-3


def one_case(prog, left, right, bursts, sign):
    """LEFT, RIGHT: (what the wall holds, which tops give way)."""
    sound = [channel(*one, bursts, sign) for one in (left, right)]
    path = waves.write(prog.recording("steps.wav"), *(part + waves.noise(part.size, 1e-4, seed) for seed, part in enumerate(sound)), rate=RATE)
    levels = [f"tracking.level={um}um" for um in STEPS]
    done = prog.run("tracking", path, "record.tone=300Hz", *levels, "--json")
    sheet = program.Sheet("tracking", program.json.loads(done.stdout), done.stderr)
    wrong = []
    for name, (hold, tops) in (("left", left), ("right", right)):
        heard = tops if sign > 0 or tops == "both" else {"upper": "lower", "lower": "upper"}[tops]
        line = " ".join(line for line in sheet.remarks if f", {name}:" in line and "tops" in line)
        words = {"upper": "the upper tops", "lower": "the lower tops", "both": "both tops"}[heard]
        if words not in line:
            wrong.append(f"{name}: {heard} tops give way, said: {line}")
        failed = next(um for um in STEPS if distortion(um, hold, tops) > LIMIT)
        speed = 2 * np.pi * HZ * failed * 1e-4
        if f"{failed:g} µm ({speed:.1f} cm/s" not in line:
            wrong.append(f"{name}: fails at {failed} µm, {speed:.1f} cm/s, said: {line}")
    return "; ".join(wrong)


def run(prog, checks, names):
    cases = [((55, "upper"), (65, "lower")), ((65, "lower"), (55, "both")), ((45, "both"), (45, "upper"))]
    for left, right in cases:
        for bursts in (False, True):
            for sign in (1, -1):
                name = f"left {left[1]} beyond {left[0]}, right {right[1]} beyond {right[0]} µm{', in bursts' if bursts else ''}{', reversed' if sign < 0 else ''}"
                checks.attempt(name, one_case, prog, left, right, bursts, sign)


if __name__ == "__main__":
    program.main(run)
