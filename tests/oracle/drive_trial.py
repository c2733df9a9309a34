#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A few of the decks that scripts/trace-trial draws, one for each drive and fault, and a few starts and seatings.

The trial tells how often; these few have to be right. What is known to fail is on the list WAITING, by the check and the
fault, and is left out until it is mended; numbers as further words try other decks.
"""
import drive_course
import drive_judge
import drive_run
import program
import start_shapes

SEED = "suite"
# CHECK or CHECK FAULT, as the checks below are called.
WAITING = set()
# Drives of one stage that were once told wrong: seed and number, counted in drive_course.plain.
TRIED = [(1, 56), (1, 124), (1, 165), (1, 180), (1, 236), (2, 0), (2, 183)]
# The same of all drives.
TRIED_OF_ALL = [(150015, 83), (150015, 98), (150015, 101), (150015, 163), (150015, 195), (150015, 291), (150015, 545)]
CHECKS = {"named": drive_judge.guilty_first, "verdict": drive_judge.verdicts, "alone": drive_judge.innocents, "said": drive_judge.in_words,
          "steady": drive_judge.in_one_piece}
WIDEST = 0.009                 # s, of the middle ±: 95 of 100 starts of known beginning are read within 0.006 s
SEATINGS, HOLD = 16, 13        # of 32 intervals of 95 % that hold independently, 26 or more do in 99.9 of 100 trials


def waits(check, case):
    return check in WAITING or f"{check} {case}" in WAITING


def try_deck(prog, checks, number, seed=SEED, longest=60, choices=None):
    deck = drive_run.deck_of(seed, number, longest, choices)
    wanted = {name: judge for name, judge in CHECKS.items() if not waits(name, deck.case)}
    if not wanted:
        return
    sheet, _ = drive_run.measure(prog, deck, f"deck{number}.wav")
    for name, judge in wanted.items():
        wrong = "\n".join(f"{kind}: {words}" for kind, words in judge(deck, sheet))
        checks.that(not wrong, f"{name}: {deck.case}, {deck.drive.kind}, {deck.drive.motor} (deck {seed} {number})", wrong)
    prog.recording(f"deck{number}.wav").unlink()


def try_starts(prog, checks):
    widths = []
    for number in range(9):
        done = drive_run.try_start(prog.path, SEED, number)
        widths += [half for key, _, half, _, _ in done["readings"] if key == "startup.time"]
        if waits("start", done["case"]):
            continue
        far = [f"{key}: {value:.3f} ± {half:.3f}, truth {true:.3f}" for key, value, half, true, _ in done["readings"]
               if abs(value - true) > max(half, 0.02)]
        wrong = "\n".join([f"{kind}: {words}" for kind, words in done["wrong"]] + far)
        checks.that(not wrong, f"start: {done['case']} (start {number})", wrong)
    for number in range(len(start_shapes.KINDS)):
        done = drive_run.try_shape(prog.path, SEED, number)
        far = [f"{key}: {value:.3f} ± {half:.3f}, truth {true:.3f}" for key, value, half, true, _ in done["readings"]
               if key != "startup.overshoot" and abs(value - true) > 1.5 * half]
        wrong = "\n".join([f"{kind}: {words}" for kind, words in done["wrong"]] + far)
        checks.that(not wrong, f"start by a formula: {done['case']} (start {number})", wrong)
    widths.sort()
    checks.that(widths[len(widths) // 2] <= WIDEST, "starts: the time's ± is as narrow as the tone is followed", f"{widths}")


def try_seatings(prog, checks):
    if waits("seatings", ""):
        return
    for key in ("reseat.deck", "reseat.record"):
        rows = [(number, row) for number in range(SEATINGS) for row in drive_run.try_seating(prog.path, SEED, number)["readings"]
                if row[0] == key]
        off = [f"seating {number}: {row[1]:.4f} ± {row[2]:.4f}, truth {row[3]:.4f}" for number, row in rows if abs(row[1] - row[3]) > row[2]]
        checks.that(len(rows) - len(off) >= HOLD, f"seatings: the ± of {key} holds in {HOLD} of {SEATINGS} at least", "\n".join(off))


def run(prog, checks, names):
    for number in [int(name) for name in names] or range(len(drive_course.menu())):
        try_deck(prog, checks, number)
    if not names:
        for seed, number in TRIED:
            try_deck(prog, checks, number, seed, 120, drive_course.plain())
        for seed, number in TRIED_OF_ALL:
            try_deck(prog, checks, number, seed, 120)
        try_starts(prog, checks)
        try_seatings(prog, checks)


if __name__ == "__main__":
    program.main(run)
