#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Several takes of one side: what a copy has of its own is parted from what a deck has.

The sides are side_model.py's; copies differ by the levels and the crosstalk of their one-sided bands and by how unevenly their sweeps are cut, decks by
their channels' gains and by their treble. Every copy's and deck's share of the truth is the model's own.
"""
import copy
import os
import random

import numpy as np

import planned_side
import program
import side_model
import side_truth
import waves


def base(number):
    """A side with everything that is parted, whole and wired right."""
    for attempt in range(200):
        side = side_model.Side(random.Random(f"pressing {number} {attempt}"), wiring="correct", grooves="clean")
        kinds = {(band.kind, band.channel) for band in side.bands}
        if {("tone", "left"), ("tone", "right"), ("sweep", "left"), ("sweep", "right")} <= kinds and not side.missing and not side.repeated:
            side.stuck = set()
            return side
    raise ValueError("no such side was drawn")


def cut(side, draw):
    """A copy: balance [dB] of its bands, and its sweeps."""
    made = copy.deepcopy(side)
    balance = draw.uniform(-0.8, 0.8)
    for band in made.bands:
        band.error = 10 ** (balance / 20) if (band.kind, band.channel) == ("tone", "right") else 1.0
        if band.kind == "sweep" and band.end_hz > 1000:
            band.uneven = np.array([draw.gauss(0, 0.4) for _ in range(12)])
    made.cut_leak = draw.uniform(-0.01, 0.01), draw.uniform(-0.01, 0.01)
    return made, balance


def played(side, deck, seed):
    take = copy.deepcopy(side)
    take.seed, take.unequal_db, take.treble = seed, deck["balance"], deck["treble"]
    take.gains = np.array([1.0, 10 ** (deck["balance"] / 20)])
    take.draw = random.Random(seed)
    return take


def table_of(sheet, whose):
    return sheet.table({"copy": "pressing.copies", "deck": "pressing.decks", "common": "pressing.whose"}[whose])


def share(sheet, names, reading, whose, name):
    """Of a copy or a deck, by its place among NAMES in the order that they were first given."""
    row = next(row for row in table_of(sheet, whose) if row["reading"].startswith(reading))
    return row[f"{whose}_{names.index(name) + 1}"], row["uncertainty"]


def whose(sheet, reading):
    return next(row["whose"] for row in sheet.table("pressing.whose") if row["reading"].startswith(reading))


def uneven_db(side, hz):
    """What a copy's left sweep adds at HZ over 1 kHz."""
    band = next(band for band in side.bands if (band.kind, band.channel) == ("sweep", "left") and band.end_hz > 1000)
    return float(band.unevenness(hz / side.speed) - band.unevenness(1000.0 / side.speed))


def said_whose(sheet):
    """Copies and decks differ in balance; the speed was one, and a copy's treble says nothing of a deck."""
    wrong = []
    if whose(sheet, "Channel balance") != "copies and decks":
        wrong.append(f"balance: {whose(sheet, 'Channel balance')}")
    if whose(sheet, "Speed error") != "no difference shows":
        wrong.append(f"speed: {whose(sheet, 'Speed error')}")
    for kind in ("Of the copies of the record", "Of the decks or their cartridges"):
        if not any("Channel balance" in line for line in sheet.said(kind)):
            wrong.append(f"nothing said of balance {kind[:13].lower()}")
    if len(sheet.table("pressing.whose")) > 12:
        wrong.append("too many rows to read")
    return wrong


def takes(prog, number):
    draw = random.Random(f"pressing takes {number}")
    side = base(number)
    copies = {name: cut(side, draw) for name in ("A", "B")}
    decks = {name: {"balance": draw.uniform(-1.5, 1.5), "treble": [(draw.uniform(13000, 22000), draw.uniform(0.7, 1.3)) for _ in range(2)]}
             for name in ("one", "two")}
    plan = prog.recording("side.plan")
    plan.write_text(side.plan(), encoding="utf-8")
    order = [("A", "one"), ("B", "one"), ("A", "two"), ("B", "two"), ("A", "one")]
    paths = [prog.recording(f"take{index}.wav") for index in range(len(order))]
    for index, (path, (which, deck)) in enumerate(zip(paths, order)):
        played(copies[which][0], decks[deck], 1000 * number + index).record(path)
    sheet = prog.sheet("pressing", *paths, record__plan=plan, pressing__copies=",".join(one for one, _ in order),
                       pressing__decks=",".join(two for _, two in order))
    wrong, names = [], {"copy": list(copies), "deck": list(decks)}
    for kind, truths in (("copy", {name: made[1] for name, made in copies.items()}),
                          ("deck", {name: deck["balance"] for name, deck in decks.items()})):
        middle = sum(truths.values()) / 2
        for name, truth in truths.items():
            value, _ = share(sheet, names[kind], "Channel balance", kind, name)
            if abs(value - (truth - middle)) > 0.02:
                wrong.append(f"balance of {kind} {name}: {value:.3f}, truth {truth - middle:.3f}")
    for driven, leaks in (("left", 0), ("right", 1)):
        truth = 100 * (copies["A"][0].cut_leak[leaks] - copies["B"][0].cut_leak[leaks]) / 2
        value, _ = share(sheet, names["copy"], f"Leak, {driven}", "copy", "A")
        if abs(value - truth) > 0.06:
            wrong.append(f"leak of copy A, {driven} driven: {value:.3f}, truth {truth:.3f}")
        if whose(sheet, f"Leak, {driven}") != "the copies":
            wrong.append(f"leak, {driven} driven: {whose(sheet, f'Leak, {driven}')}")
    wrong += said_whose(sheet)
    curve = dict(zip(*sheet.curve("pressing.left_copy_1")))
    for hz in (200.0, 500.0, 4000.0, 8000.0):
        truth = (uneven_db(copies["A"][0], hz) - uneven_db(copies["B"][0], hz)) / 2
        if abs(curve[hz] - truth) > 0.05:
            wrong.append(f"copy A at {hz:.0f} Hz: {curve[hz]:.3f}, truth {truth:.3f}")
    return "\n".join(wrong)


def refused(prog):
    """Tried on the short side of planned_side.py: what is refused depends on the takes' names and on what is the same."""
    plan = prog.recording("side.plan")
    plan.write_text(planned_side.plan(), encoding="utf-8")
    side = planned_side.play()
    paths = [waves.write(prog.recording(f"take{seed}.wav"), *(one + waves.noise(one.size, 1e-5, seed) for one in side), rate=planned_side.RATE)
             for seed in range(2)]
    copied = prog.recording("copied.wav")
    copied.write_bytes(paths[0].read_bytes())
    wrong = []
    for twice in (paths[0], copied):
        done = prog.run("pressing", paths[0], twice, f"record.plan={plan}", "pressing.copies=A,B")
        if done.returncode != 2 or "one and the same" not in done.stderr:
            wrong.append(f"one recording given twice: exit {done.returncode}: {done.stderr}")
    for words, said in ((("pressing.copies=A,B", "pressing.decks=one,two"), "on a deck of its own"), (("pressing.copies=A,B,A",), "names 3")):
        done = prog.run("pressing", *paths, f"record.plan={plan}", *words)
        if done.returncode != 2 or said not in done.stderr:
            wrong.append(f"{words}: exit {done.returncode}: {done.stderr}")
    return "\n".join(wrong)


def at_fault(prog):
    """A fault of a take's channels is named, is nobody's share where it spoils the readings, and no ± is smaller than the takes'."""
    side, wrong = base(3), []
    plan = prog.recording("side.plan")
    plan.write_text(side.plan(), encoding="utf-8")
    paths = [prog.recording(f"take{index}.wav") for index in range(3)]
    for seed, (path, wiring) in enumerate(zip(paths, ("correct", "swapped", "dead_right"))):
        take = copy.deepcopy(side)
        take.seed, take.draw, take.wiring = seed, random.Random(seed), wiring
        take.record(path)
    sheet = prog.sheet("pressing", *paths, record__plan=plan, pressing__copies="A,A,A", pressing__decks="one,two,three")
    faults = sheet.readings.get("pressing.faults", {})
    if faults.get("value") != "take 2: swapped; take 3: right dead" or faults.get("verdict") != "attention soon":
        wrong.append(f"faults: {faults}")
    if spoilt := [row["reading"] for row in sheet.table("pressing.decks") if row["deck_3"] is not None and not row["reading"].startswith("Speed")]:
        wrong.append(f"shared out of the dead take: {spoilt}")
    sheet = prog.sheet("pressing", *paths[:2], record__plan=plan, pressing__copies="A,A", pressing__decks="one,two")
    takes = [prog.sheet("side", path, record__plan=plan).readings for path in paths[:2]]
    for row in sheet.table("pressing.whose"):
        for reading in (reading for take in takes for reading in take.values() if reading["label"] == row["reading"]):
            if (row["uncertainty"] or 9e9) < (reading["uncertainty"] or 0) - 1e-9:
                wrong.append(f"{row['reading']}: ± {row['uncertainty']}, a take's ± {reading['uncertainty']}")
    wrong += [f"{row['reading']}: ± of zero" for kind in ("deck", "common") for row in table_of(sheet, kind) if row["uncertainty"] == 0]
    return "\n".join(wrong)


def run(prog, checks, names):
    for number in map(int, names or ((1, 2) if os.environ.get("DECKWRIGHT_TESTS") == "all" else (1,))):
        checks.attempt(f"copies are parted from decks, drawn record {number}", takes, prog, number)
    checks.attempt("takes that part nothing are refused, and one given twice", refused, prog)
    checks.attempt("takes with a fault of the channels", at_fault, prog)


if __name__ == "__main__":
    program.main(run)
