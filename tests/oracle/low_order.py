#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Sweeps through the arm's resonance without the side about them: which is lateral is told by what was stated, or not at all.

In a reversed channel a lateral sweep comes as a vertical one would; no sweep shows that. The arm is x²/(1 − x² + jx/Q) of the groove's
velocity, worked on the spectrum of the whole sweep. Source (worked apart): the second-order system of any textbook of vibrations, by numpy.
"""
import numpy as np
from scipy import signal

import program
import waves

RATE, SECONDS = 12000, 20
LATERAL, VERTICAL = (10.5, 4.0), (8.2, 3.0)     # Hz and Q
NEAR_HZ = 0.12


def swept(arm):
    """One channel of a sweep from 25 to 4 Hz through ARM, with a second of silence about it."""
    seconds = np.arange(SECONDS * RATE) / RATE
    groove = np.concatenate([np.zeros(RATE), signal.chirp(seconds, 25, SECONDS, 4, method="logarithmic"), np.zeros(RATE)])
    hz, q = arm
    x = np.fft.rfftfreq(len(groove), 1 / RATE) / hz
    return 0.03 * np.fft.irfft(np.fft.rfft(groove) * x * x / (1 - x * x + 1j * x / q), len(groove))


def played(draw, channels=(1, 1), order=("lateral", "vertical"), kept=("lateral", "vertical")):
    """Left and right of the record's sweeps in their ORDER, of which KEPT were recorded, each channel times its own of CHANNELS."""
    sides = {"lateral": (swept(LATERAL), 1), "vertical": (swept(VERTICAL), -1)}
    left = np.concatenate([sides[name][0] for name in order if name in kept])
    right = np.concatenate([sides[name][0] * sides[name][1] for name in order if name in kept])
    return [times * side + waves.noise(len(side), 3e-5, draw.randrange(1 << 30)) for times, side in zip(channels, (left, right))]


def ask(prog, tracks, **stated):
    return prog.sheet("lowsweep", waves.write(prog.recording("low.wav"), *tracks, rate=RATE), response__riaa="none", **stated)


def off(sheet, **truths):
    """What SHEET says otherwise than TRUTHS, keys of lowsweep and hertz, which is also all that it may say."""
    wrong = []
    for name in ("lateral", "vertical", "either", "in_phase", "opposite_phase"):
        key = "lowsweep." + name
        if sheet.has(key) != (name in truths):
            wrong.append(f"{key}: {'told' if sheet.has(key) else 'not told'}")
        elif name in truths and abs(sheet.value(key) - truths[name]) > NEAR_HZ:
            wrong.append(f"{key}: {sheet.value(key):.2f} Hz, not {truths[name]:.2f}")
    return wrong


def judged(sheet):
    return [key for key, reading in sheet.readings.items() if reading["verdict"]]


def nothing_stated(prog, draw):
    wrong = []
    for channels in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        turned = channels[0] != channels[1]
        sheet = ask(prog, played(draw, channels))
        wrong += off(sheet, in_phase=VERTICAL[0] if turned else LATERAL[0], opposite_phase=LATERAL[0] if turned else VERTICAL[0])
        wrong += [f"{key} is judged" for key in judged(sheet)]
        wrong += [] if sheet.said("reversed") else ["nothing is said of a reversed channel"]
    return "\n".join(wrong)


def order_stated(prog, draw):
    """What the label says holds, whichever channel is reversed; where the channels come otherwise that is said, and nothing is judged."""
    wrong = []
    for first, second in (("lateral", "vertical"), ("vertical", "lateral")):
        for channels in ((1, 1), (1, -1)):
            sheet = ask(prog, played(draw, channels, (first, second)), lowsweep__order=first + "_first")
            wrong += off(sheet, lateral=LATERAL[0], vertical=VERTICAL[0])
            turned = channels[1] < 0
            wrong += [] if bool(sheet.said("reversed")) == turned else [f"{first} first, {channels}: {sheet.remarks}"]
            wrong += [] if bool(judged(sheet)) != turned else [f"{first} first, {channels}: judged {judged(sheet)}"]
    return "\n".join(wrong)


def one_sweep(prog, draw):
    """One sweep alone is cut as stated, in two channels, in one, and where the other channel is dead."""
    wrong = []
    for name, arm in (("lateral", LATERAL), ("vertical", VERTICAL)):
        for channels in ((1, 1), (1, -1), (1, 0), (0, 1)):
            sheet = ask(prog, played(draw, channels, kept=(name,)), lowsweep__order=name + "_first")
            wrong += [f"{channels}: {line}" for line in off(sheet, **{name: arm[0]})]
        sheet = ask(prog, played(draw, kept=(name,))[:1], lowsweep__order=name + "_first")
        wrong += off(sheet, **{name: arm[0]})
    return "\n".join(wrong)


def dead_channel(prog, draw):
    """One living channel is of either direction, as a recording of one channel is, and no reason to find no sweep."""
    wrong = []
    for channels in ((1, 0), (0, 1)):
        wrong += off(ask(prog, played(draw, channels, kept=("lateral",))), either=LATERAL[0])
    return "\n".join(wrong)


def run(prog, checks, _):
    for check in (nothing_stated, order_stated, one_sweep, dead_channel):
        checks.attempt(check.__name__.replace("_", " "), check, prog, program.draws("low order", 1)[0])


if __name__ == "__main__":
    program.main(run)
