#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""noise under wrong statements and two hums at once: what the recording holds counts, and where it contradicts what is stated, that is said.

A reference tone, then groove with lines of known size; leads swapped or reversed. Truth is the root of the sum of the lines' squares
under the tone's level, by the replay curve where the tone is not at 1 kHz (it is). Source (published): IEC 60098's curve.
"""
import math

import numpy as np

import program
import waves

RATE, TONE_HZ, LEVEL, NOISE = 16000, 1000.0, 0.1, 1e-4
TONE_S, GAP_S, GROOVE_S = 8, 1, 24
TURN = 5 / 10       # stated 5 cm/s, referred to 10 cm/s


def lines(parts, count):
    time = np.arange(count) / RATE
    return sum(size * np.sin(2 * np.pi * hz * time + k) for k, (hz, size) in enumerate(parts))


def record(prog, draw, direction, parts, wired="correct"):
    """The reference cut in DIRECTION, and PARTS lateral and all the time; played with leads WIRED so."""
    tone = LEVEL * waves.sine(TONE_HZ, TONE_S, RATE) * waves.fade(TONE_S * RATE, RATE)
    leak = 10 ** (draw.uniform(-35, -20) / 20)
    one = {"left": (1, leak), "right": (leak, 1), "lateral": (1, 1), "vertical": (1, -1)}[direction]
    groove = lines(parts, (TONE_S + GAP_S + GROOVE_S) * RATE)
    channels = [groove + np.concatenate([share * tone, np.zeros((GAP_S + GROOVE_S) * RATE)]) for share in one]
    channels = [part + waves.noise(part.size, NOISE, draw.randrange(1 << 30)) for part in waves.played(channels, wired)]
    return waves.write(prog.recording("n.wav"), *channels, rate=RATE)


def under(parts, one_channel):
    """dB of PARTS under 10 cm/s lateral, by a tone stated as 5 cm/s: of one channel, or lateral."""
    datum = LEVEL / TURN / (math.sqrt(2) if one_channel else 1)
    return -10 * math.log10(sum(size * size for _, size in parts) / datum ** 2)


def call(prog, path, **inputs):
    return prog.sheet("noise", path, noise__reference_velocity="5cm/s", noise__reference="1s:7s", **inputs)


def close(sheet, key, truth, most=0.3):
    return "" if abs(sheet.value(key) - truth) <= most else f"{key} {sheet.value(key):.2f}, truth {truth:.2f}"


def stated(prog, draw, direction, wired, words):
    parts = [(25, 10 ** (draw.uniform(-60, -50) / 20)), (12.5, 10 ** (draw.uniform(-60, -50) / 20))]
    sheet = call(prog, record(prog, draw, direction, parts, wired), noise__reference_direction=direction)
    wrong = [close(sheet, "noise.rumble_unweighted", under(parts, direction in ("left", "right")))]
    if direction in ("lateral", "vertical"):
        wrong.append(close(sheet, "noise.rumble_lateral", under(parts, False)))
        if sheet.said("mostly vertical") or not sheet.said("mostly lateral"):
            wrong.append(f"the rumble is lateral, said {sheet.said('mostly')}")
    said = sheet.said("is stated to be")
    if bool(said) != bool(words) or (words and not sheet.said(words)):
        wrong.append(f"{direction}, {wired}: said {said}")
    return "; ".join(line for line in wrong if line)


def refused(prog, draw, cut, told):
    try:
        sheet = call(prog, record(prog, draw, cut, [(25, 1e-3)]), noise__reference_direction=told)
    except program.Refused as complaint:
        return "" if "noise.reference_direction" in str(complaint) else f"refused without the cause: {complaint}"
    return f"cut {cut}, stated {told}: {sheet.value('noise.rumble_unweighted'):.1f} dB and not a word"


def hums(prog, draw, parts, first, second):
    sheet = call(prog, record(prog, draw, "lateral", parts))
    wrong = [close(sheet, "noise.hum", under(parts, False)), close(sheet, "noise.mains", first, 0.1)]
    if second and not sheet.said(f"second hum, of {second:.2f}"):
        wrong.append(f"a second hum of {second} Hz, said {sheet.said('second hum')}")
    if not second and sheet.said("second hum"):
        wrong.append(f"no second hum is there, said {sheet.said('second hum')}")
    if sheet.said("mostly lateral", "mostly vertical"):
        wrong.append(f"hum is no rumble, said {sheet.said('mostly')}")
    if sheet.value("noise.ticks"):
        wrong.append(f"ticks counted where none are: {sheet.value('noise.ticks')}")
    return "; ".join(line for line in wrong if line)


def run(prog, checks, names):
    draw = program.random.Random(77)
    for direction, wired, words in (("left", "correct", ""), ("left", "swapped", "it is in the right one"),
                                    ("right", "swapped", "it is in the left one"), ("lateral", "correct", ""),
                                    ("lateral", "reversed_right", "come in opposite phase"), ("vertical", "correct", ""),
                                    ("vertical", "reversed_left", "come in phase")):
        checks.attempt(f"{direction} stated, leads {wired}", stated, prog, draw, direction, wired, words)
    for cut, told in (("lateral", "left"), ("vertical", "right"), ("left", "lateral"), ("right", "vertical")):
        checks.attempt(f"cut {cut}, stated {told}", refused, prog, draw, cut, told)
    small, large = 1e-3, 3e-3
    for name, parts, first, second in (
            ("50 Hz", [(50, large), (100, small)], 50, None), ("60 Hz, its third multiple the strongest", [(60, small), (180, large)], 60, None),
            ("50 Hz, its third multiple alike", [(50, small), (150, small)], 50, None), ("57.3 Hz", [(57.3, large), (114.6, small)], 57.3, None),
            ("50 Hz under 57.3 Hz", [(50, small), (150, small), (57.3, large), (114.6, small)], 57.3, 50),
            ("57.3 Hz under 50 Hz", [(50, large), (150, small), (57.3, small), (114.6, small)], 50, 57.3),
            ("50 Hz beside a slip", [(50, large), (48.6, small / 2), (51.4, small / 2), (97.2, small / 3), (102.8, small / 3)], 50, None)):
        if "slip" in name:  # the slip's lines are rumble: no hum
            checks.attempt(name, lambda: "; ".join(call(prog, record(prog, draw, "lateral", parts)).said("second hum")))
        else:
            checks.attempt(name, hums, prog, draw, parts, first, second)


if __name__ == "__main__":
    program.main(run)
