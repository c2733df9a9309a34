#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What `channels` says of wiring in words, each sentence where it is true, where it is false and where nothing tells.

Bands of a pickup that is a matrix (wiring_faults.py) with fixed leaks. Of each recording the whole set of sentences is known, so
that one which should not stand is found as well.
"""
import random

import program
import waves
from wiring_faults import RATE, heard, joined

SENTENCES = {
    "nothing rules one out": "No fault shows, but it takes the left, the right and the band of both to rule one out",
    "left dead": "The left channel is dead", "right dead": "The right channel is dead",
    "left weak": "The left channel is 9.0 dB weaker than the other", "right weak": "The right channel is 9.0 dB weaker than the other",
    "weak": "dB weaker than the other", "left breaks": "The left channel comes and goes", "right breaks": "The right channel comes and goes",
    "open": "Both channels carry the same in opposite phase", "vertical alone": "A record of vertical bands alone would sound the same",
    "strapped": "Both channels carry the same: the cartridge is strapped for mono", "swapped": "Left and right are swapped somewhere",
    "or the order": "or it is the order of the bands (channels.order)", "or the names": "or it is the bands that were named the wrong way round",
    "reversed": "One channel is reversed", "by content": "Bands were told by their content",
    "return": "its return is open", "noisy": "is far noisier than the other"}
LEAKS = (0.05, -0.04)                   # −26 and −28 dB
DOWN = 10 ** (-9 / 20)
NAMES = {"left": "channels__left", "right": "channels__right", "lateral": "channels__both", "vertical": "channels__vertical"}


def bands(directions, gains=(1, 1), change=lambda left, right: (left, right)):
    return [change(*heard(direction, gains, LEAKS)) for direction in directions]


def named(*directions):
    """The seconds of each band: five, with one of noise behind."""
    return {NAMES[direction]: f"{6 * place + 0.5}s:{6 * place + 4.5}s" for place, direction in enumerate(directions)}


def gaps(signals, sides, starts, down=0.01, length=0.7):
    """The channels of SIDES fall for LENGTH seconds from each of STARTS on."""
    channels = [signal.copy() for signal in signals]
    for start in starts:
        for side in sides:
            channels[side][int(start * RATE):int((start + length) * RATE)] *= down
    return channels


def one(prog, signals, wanted, operands):
    sheet = prog.sheet("channels", waves.write(prog.recording("c.wav"), *signals, rate=RATE), **operands)
    words = "\n".join([*sheet.remarks, *sheet.not_measured.values()])
    said = {name for name, text in SENTENCES.items() if text in words}
    wrong = [] if said == wanted else [f"said though not so: {sorted(said - wanted)}; not said: {sorted(wanted - said)}"]
    unknown = "nothing rules one out" in wanted
    if unknown != ("channels.fault" not in sheet.readings):
        wrong.append(f"channels.fault is {sheet.readings.get('channels.fault', {}).get('value')}")
    elif not unknown and (sheet.value("channels.fault") == "none") != (not wanted):
        wrong.append(f"channels.fault is {sheet.value('channels.fault')}")
    return "\n".join(wrong)


ALL, SIDES = ("left", "right", "lateral"), ("left", "right")
UNKNOWN, CONTENT = {"nothing rules one out"}, {"by content"}


def half_apart(left, right):
    return (left - right) / 2, (right - left) / 2


def mean(left, right):
    return (left + right) / 2, (left + right) / 2


def swap(left, right):
    return right, left


def reverse(left, right):
    return left, -right


CASES = [
    ("no fault", lambda d: joined(bands(ALL), d), set(), {}),
    ("no fault, named", lambda d: joined(bands(ALL), d), set(), named(*ALL)),
    ("no fault, without the band of both", lambda d: joined(bands(SIDES), d), UNKNOWN, {}),
    ("no fault, the band of both alone", lambda d: joined(bands(["lateral"]), d), UNKNOWN, {}),
    ("no fault, the right one alone, named", lambda d: joined(bands(["right"]), d), UNKNOWN, named("right")),
    ("right 9 dB down", lambda d: joined(bands(ALL, (1, DOWN)), d), CONTENT | {"right weak", "weak"}, {}),
    ("left 9 dB down", lambda d: joined(bands(ALL, (DOWN, 1)), d), CONTENT | {"left weak", "weak"}, {}),
    ("left 9 dB down, named", lambda d: joined(bands(ALL, (DOWN, 1)), d), {"left weak", "weak"}, named(*ALL)),
    ("right 5.5 dB down is balance", lambda d: joined(bands(ALL, (1, 10 ** (-5.5 / 20))), d), set(), {}),
    ("right 18 dB down is weak, not dead", lambda d: joined(bands(ALL, (1, 10 ** (-18 / 20))), d), CONTENT | {"weak"}, {}),
    ("left dead", lambda d: joined(bands(ALL, change=lambda left, right: (0.01 * right, right)), d), CONTENT | {"left dead"}, {}),
    ("right dead, named", lambda d: joined(bands(ALL, change=lambda left, right: (left, 0.01 * left)), d), {"right dead"}, named(*ALL)),
    ("swapped", lambda d: joined(bands(ALL, change=swap), d), CONTENT | {"swapped", "or the order"}, {}),
    ("swapped, named", lambda d: joined(bands(ALL, change=swap), d), {"swapped", "or the names"}, named(*ALL)),
    ("right first, as stated", lambda d: joined(bands(("right", "left", "lateral")), d), set(), {"channels__order": "right_first"}),
    ("reversed", lambda d: joined(bands(ALL, change=reverse), d), CONTENT | {"reversed"}, {}),
    ("reversed, named", lambda d: joined(bands(ALL, change=reverse), d), {"reversed"}, named(*ALL)),
    ("reversed, without a band of both nobody can tell", lambda d: joined(bands(SIDES, change=reverse), d), UNKNOWN, {}),
    ("strapped", lambda d: joined(bands(ALL, change=mean), d), CONTENT | {"strapped"}, {}),
    ("strapped, named", lambda d: joined(bands(ALL, change=mean), d), {"strapped"}, named(*ALL)),
    ("the shared return open", lambda d: joined(bands(ALL, change=half_apart), d), CONTENT | {"open", "vertical alone"}, {}),
    ("the shared return open, named", lambda d: joined(bands(ALL, change=half_apart), d), {"open"}, named(*ALL)),
    ("left comes and goes", lambda d: gaps(joined(bands(ALL), d), [0], [1, 2.5, 13, 14.6]), CONTENT | {"left breaks"}, {}),
    ("right comes and goes", lambda d: gaps(joined(bands(ALL), d), [1], [7, 8.5, 13, 14.6]), CONTENT | {"right breaks"}, {}),
    ("both fall at once: the groove", lambda d: gaps(joined(bands(ALL), d), [0, 1], [1.5, 7.5, 13, 14.6]), set(), {}),
    ("left falls once", lambda d: gaps(joined(bands(ALL), d), [0], [13]), set(), {}),
]


def run(prog, checks, names):
    for case in CASES:
        if not names or any(name in case[0] for name in names):
            checks.attempt(case[0], lambda case=case: one(prog, case[1](random.Random(case[0])), *case[2:]))


if __name__ == "__main__":
    program.main(run)
