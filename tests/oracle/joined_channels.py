#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Channels joined to one, however they are joined: before or after a preamplifier whose gains differ, through a strap that leaves a little
of each channel, with the noise of two preamplifiers, on sides whose rising steps are far louder than their tones of the same frequency.

Controls of the same sides: a sound pickup, and one with a dead channel, are not called joined.
"""
import numpy as np

import program
import waves

RATE, GAP_S, SCALE = 24000, 2.0, 8e-3       # full scale per cm/s
STEPS_UM = (50, 60, 70, 80)


def drawn_side(draw):
    """(kind, channel, seconds, level or steps) in the order of the record."""
    one = draw.choice([2.5, 3.54])
    bands = [("tone", "left", 4.0, one), ("tone", "right", 4.0, one), ("tone", "lateral", 4.0, one * 2 ** 0.5), ("steps", "lateral", 12.0, STEPS_UM)]
    if draw.random() < 0.5:
        bands.append(("tone", "vertical", 4.0, one * 2 ** 0.5))
    draw.shuffle(bands)
    return bands


def plan(bands, hz):
    lines = ["[record]", "name = Joined", "number = invented", "speed = 33 1/3 rpm", "reference = 5 cm/s", f"lead_in = {GAP_S} s", f"gap = {GAP_S} s"]
    for number, (kind, channel, seconds, level) in enumerate(bands, 1):
        said = " ".join(map(str, level)) + " um" if kind == "steps" else f"{level:.4f} cm/s"
        lines += ["", f"[band {number}]", f"kind = {kind}", f"length = {seconds} s", f"channel = {channel}", f"frequency = {hz:g} Hz", f"level = {said}"]
    return "\n".join(lines) + "\n"


def pickup(bands, hz, leak):
    """Left and right at the pickup [cm/s]."""
    gap = np.zeros((2, int(GAP_S * RATE)))
    pieces = [gap]
    for kind, channel, seconds, level in bands:
        time = np.arange(int(seconds * RATE)) / RATE
        peak = level
        if kind == "steps":
            peak = 2 * np.pi * hz * 1e-4 * np.repeat(level, time.size // len(level))
        pieces += [waves.groove(channel, peak * np.sin(2 * np.pi * hz * time) * waves.fade(time.size, RATE)), gap]
    moved = np.concatenate(pieces, axis=1)
    left, right = waves.A_LEFT @ moved, waves.A_RIGHT @ moved
    return left + leak * right, right + leak * left


def amplified(draw, left, right, gain_db):
    """Through two preamplifiers, each with its own noise."""
    right, hiss = right * 10 ** (gain_db / 20), draw.choice([3e-5, 3e-4])
    return [SCALE * one + waves.noise(one.size, hiss, draw.randrange(1 << 30)) for one in (left, right)]


def joined(draw, left, right):
    """What a strap leaves of two channels, some of each where it is not without resistance."""
    rest = draw.choice([0.0, 0.0, draw.uniform(0, 0.08)])
    both = (left + right) / 2
    return [both + rest * (one - both) for one in (left, right)]


def before(draw, left, right):
    return amplified(draw, *joined(draw, left, right), draw.uniform(-4, 4))


def after(draw, left, right):
    return joined(draw, *amplified(draw, left, right, draw.uniform(-5, 5)))


def sound(draw, left, right):
    return amplified(draw, left, right, draw.uniform(-4, 4))


def dead(draw, left, right):
    return amplified(draw, left, 0.02 * left, draw.uniform(-4, 4))


WANTED = {before: "strapped", after: "strapped", sound: "none", dead: "right dead"}


def tried(prog, draw, how, whole):
    bands, hz = drawn_side(draw), draw.choice([315.0, 1000.0])
    if not whole:       # of tones alone, left first: the order that tells them
        bands = [("tone", channel, 4.0, 3.54 if channel != "lateral" else 5.0) for channel in ("left", "right", "lateral")]
    elif hz == 1000.0:
        bands = [(kind, channel, seconds, tuple(um * 0.3 for um in level) if kind == "steps" else level) for kind, channel, seconds, level in bands]
    channels = how(draw, *pickup(bands, hz, draw.choice([-1, 1]) * draw.uniform(0, 0.06)))
    path = waves.write(prog.recording("side.wav"), *channels, rate=RATE)
    prog.recording("joined.plan").write_text(plan(bands, hz), encoding="utf-8")
    words = ["side", path, "record.plan=joined.plan"] if whole else ["channels", path]
    sheet = prog.sheet(*words, "response.riaa=none") if whole else prog.sheet(*words)
    told = sheet.value("channels.fault") if sheet.has("channels.fault") else None
    return "" if told == WANTED[how] else f"{how.__name__} {'a side' if whole else 'tones alone'}: {WANTED[how]}, told {told}; {bands} at {hz} Hz"


def run(prog, checks, names):
    draw = program.random.Random(77)
    for how, times in ((before, 8), (after, 4), (sound, 3), (dead, 3)):
        for number in range(times):
            checks.attempt(f"{how.__name__}, {number + 1}", tried, prog, draw, how, number % 4 != 3)


if __name__ == "__main__":
    program.main(run)
