#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""`twin` finds the speed of short recordings whose music tells it poorly: long notes of a choir, a trio, whose levels rise and fall alike at ratios up to
3 % wrong. They are one groove, and no other performance; what comes twice a turn tells the platter's rate where nothing comes once.

The truth is the drawn decks' own: tests/oracle/music_deck.py.
"""
import numpy as np

import music_run
import program

SEED, SECONDS = 224, 24.0
PAIRS = {7: "a trio, nothing once a turn, played 1.5 % apart", 22: "a choir of long notes"}
SPEED, TURN = 1.5e-3, 0.005        # %, for what 15 s tell; % peak


def twice(truth):
    first, second = (sum(percent * np.exp(1j * np.radians(degrees)) for times, percent, degrees in lines if times == 2) for lines in truth["lines"])
    return abs(first - second)


def judge(sheet, truth):
    rows = (("twin.speed", truth["speed"], SPEED), ("twin.revolution", truth["revolution"], TURN), ("twin.second", twice(truth), TURN))
    return "; ".join(f"{key} {sheet.value(key):.4f} for {true:.4f} %" for key, true, most in rows if abs(sheet.value(key) - true) > most)


def run(prog, checks, names):
    for number, name in PAIRS.items():
        case = music_run.Twin(SEED, number, None, SECONDS)
        for chain in case.chains:
            chain.codec = None
        files = case.record([prog.recording(f"slow-{number}-{which}.wav") for which in ("first", "second")])
        checks.attempt(name, lambda case=case, files=files:
                       judge(prog.sheet("twin", *[file.name for file in files], f"deck.speed={case.rpm:.6f}rpm"), case.truth()))


if __name__ == "__main__":
    program.main(run)
