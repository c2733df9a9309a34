#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A few of the arms that scripts/arm-trial draws: a technician with imperfect eyes and hands sets them, two rounds each.

Rake and tracking force are set the same way. What is known to fail stands on the list WAITING and is left out until it is mended.
"""
import arm_run
import program

SEED, ARMS, OTHERS = "suite", 32, 20
# What the checks below are called by, and the kind of case.
WAITING = set()
# Of as many as there are; what holds in 95 of 100 fails this about once in a thousand.
LEAST = {"there": 0.84, "±": 0.82}


def tally(checks, what, good, cases, least):
    bad = [case for case, fine in zip(cases, good) if not fine]
    checks.that(sum(good) >= least * len(good), f"{what}: {sum(good)} of {len(good)}", "\n".join(str(case) for case in bad))


def by_body(one):
    return "by body" in one["case"]


def intervals(checks, name, done):
    keys = sorted({row[0] for one in done for row in one["readings"]})
    for key in keys:
        rows = [(one["number"], row) for one in done for row in one["readings"] if row[0] == key]
        tally(checks, f"{name}: the ± of {key} holds", [row[2] is not None and abs(row[1] - row[3]) <= row[2] for _, row in rows], rows, LEAST["±"])


def try_arms(prog, checks):
    done = [arm_run.try_align(prog.path, SEED, number) for number in range(ARMS)]
    straight = [one for one in done if not by_body(one) or "ends by body" not in WAITING]
    tally(checks, "there in two rounds", [not any("not there" in kind for kind, _ in one["wrong"]) for one in straight],
          [(one["number"], one["wrong"]) for one in straight], LEAST["there"])
    for one in done:
        wrong = "\n".join(f"{kind}: {words}" for kind, words in one["wrong"] if not kind.startswith("not there"))
        kind = one["case"] + (", " + one["spoil"] if one["spoil"] else "")
        checks.that(not wrong, f"arm {one['number']} ({kind}): named what is wrong, never for the worse", wrong + "\n" + one["words"])
    intervals(checks, "align", [one for one in done if one["spoil"] != "pivot"])


def run(prog, checks, names):
    try_arms(prog, checks)
    for name, trial in (("rake", arm_run.try_rake), ("force", arm_run.try_force)):
        done = [trial(prog.path, SEED, number) for number in range(OTHERS)]
        for one in done:
            checks.that(not one["wrong"], f"{name}, case {one['number']} ({one['case']})", f"{one['wrong']}\n{one['words']}")
        intervals(checks, name, done)


if __name__ == "__main__":
    program.main(run)
