#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A few of the sides that scripts/side-trial draws, one for each wiring named: bands, wiring, advice, and the figures of the take.

The trial tells how often; these few have to be right. WIRING:NUMBER as further words tries others. Tolerances are what docs/methods/side.md says it reaches.
"""
import random

import program
import side_judge
import side_model
import side_truth

# The wiring and the number that the side is drawn by.
SIDES = [("correct", 1), ("swapped", 11), ("exchanged_plan", 3), ("reversed_left", 4), ("reversed_right", 5), ("strapped", 12),
         ("open_ground", 21), ("open_ground", 23), ("open_ground", 53), ("weak", 31), ("dead_right", 27), ("dead_right", 28),
         ("dead_right", 38), ("correct", 33), ("correct", 34), ("correct", 35), ("reversed_left", 37), ("reversed_left", 150), ("reversed_left", 889)]
# Sides of scripts/side-trial that were once read wrong: its seed and number.
TRIED = ["3 17", "3 21", "3 31", "5 10", "5 13", "5 26", "6 39", "93001 12", "93001 16", "93001 66", "77041 7", "77041 19",
         "88213 48", "88213 49", "88213 52", "88213 66", "88213 76", "88213 98", "88213 100", "88213 148", "88213 172", "88213 180",
         "30114 1", "30114 62", "30114 117", "30114 136", "30114 149", "30114 198", "30114 201", "30114 215", "30114 258",
         "150014 25", "150014 52", "150014 57", "150014 75", "150014 128", "150014 142", "150014 252", "150014 272",
         "150114 45", "150214 154"]
# Others once read wrong: the wiring and the words that they are drawn by.
WIRED = [("strapped", "hard 41 21"), ("dead_right", "hard 41 24"), ("dead_left", "hard 41 27"),
         ("open_ground", "hard 42 20"), ("dead_left", "hard 42 32")]
# A side of the trial, read by another side's plan: it ends in words, whatever fits or does not.
OTHER_PLAN = ["502 28", "502 15"]
WITHIN = {"channels.balance": 0.03, "channels.separation_left": 0.2, "channels.separation_right": 0.2, "azimuth.rotation": 0.05,
          "lowsweep.lateral": 0.1, "lowsweep.vertical": 0.1, "tracking.passed_left": 0.0, "tracking.passed_right": 0.0,
          "noise.hiss": 0.3, "noise.ticks": 10, "response.equalisation 75 us": 6}
WEAK_WITHIN_DB = 0.05      # of the hiss, whose scatter in twelve seconds is a hundredth of a decibel


def figures(side, sheet):
    """Readings farther from the take than the page on side allows."""
    wrong = []
    for key, value, _, _, take, _ in side_truth.readings(side, sheet):
        if key not in WITHIN:
            continue
        share = {"channels.separation": 0.01, "noise.ticks": 0.35}.get(key.removesuffix("_left").removesuffix("_right"), 0)
        allowed = max(WITHIN[key], share * abs(take))
        if value is None or abs(value - take) > allowed:
            wrong.append(f"{key}: {value}, truth {take:.4g}")
    return wrong


def drawn(prog, wiring, number):
    return wired(prog, wiring, f"drawn side {number}")


def wired(prog, wiring, words):
    return one_side(prog, side_model.Side(random.Random(words), wiring=wiring))


def tried(prog, which):
    return one_side(prog, side_model.Side(random.Random(f"side {which}")))


def weak_channel(prog):
    """A weak channel, which is raised to be read, counts in the reference as it does in the hiss under it."""
    side = side_model.Side(random.Random("drawn side 9"), wiring="weak", grooves="clean")
    side.taus = side_model.TAUS
    path, plan = prog.recording("side.wav"), prog.recording("side.plan")
    side.record(path)
    plan.write_text(side.plan(), encoding="utf-8")
    sheet = prog.sheet("side", path, record__plan=plan, deck__mains=f"{round(side.mains)}Hz")
    rows = [row for row in side_truth.readings(side, sheet) if row[0].startswith("noise.hiss")]
    return "" if rows and abs(rows[0][1] - rows[0][4]) < WEAK_WITHIN_DB else f"hiss {rows}"


def by_other_plan(prog, which, other):
    path, plan = prog.recording("side.wav"), prog.recording("side.plan")
    side_model.Side(random.Random(f"side {which}")).record(path)
    plan.write_text(side_model.Side(random.Random(f"side {other}")).plan(), encoding="utf-8")
    done = prog.run("side", path, f"record.plan={plan}")
    return "" if done.returncode in (2, 3) and (done.stdout or done.stderr) else f"exit {done.returncode}: {done.stderr}"


def own_plan_beside(prog, which, other):
    """A side by another side's plan, with its own beside that one: its own is named."""
    path, plan, own = prog.recording("side.wav"), prog.recording("side.plan"), prog.recording("own.plan")
    side = side_model.Side(random.Random(f"side {which}"))
    side.record(path)
    own.write_text(side.plan(), encoding="utf-8")
    plan.write_text(side_model.Side(random.Random(f"side {other}")).plan(), encoding="utf-8")
    done = prog.run("side", path, f"record.plan={plan}")
    own.unlink()
    named = f"record.plan={own}" in " ".join((done.stdout + done.stderr).split())
    return "" if named and done.returncode in (2, 3) else f"exit {done.returncode}: {done.stderr or done.stdout}"


def one_side(prog, side):
    path, plan = prog.recording("side.wav"), prog.recording("side.plan")
    side.record(path)
    plan.write_text(side.plan(), encoding="utf-8")
    sheet = prog.sheet("side", path, record__plan=plan, deck__mains=f"{round(side.mains)}Hz")
    return "\n".join([f"{kind}: {words}" for kind, words in side_judge.all_of(side, sheet)] + figures(side, sheet))


def run(prog, checks, names):
    for wiring, number in [(name, int(number)) for name, number in (word.split(":") for word in names)] or SIDES:
        checks.attempt(f"a drawn side, {wiring.replace('_', ' ')}, no. {number}", drawn, prog, wiring, number)
    for which in TRIED if not names else []:
        checks.attempt(f"a side of the trial, {which}", tried, prog, which)
    for wiring, words in WIRED if not names else []:
        checks.attempt(f"a drawn side, {wiring.replace('_', ' ')}, {words}", wired, prog, wiring, words)
    if not names:
        checks.attempt("the hiss under a weak channel", weak_channel, prog)
        checks.attempt("a side by another side's plan", by_other_plan, prog, *OTHER_PLAN)
        checks.attempt("a side by another side's plan, its own beside it", own_plan_beside, prog, *OTHER_PLAN)


if __name__ == "__main__":
    program.main(run)
