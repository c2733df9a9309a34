#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The truth matrix: every quantity of every procedure is changed by a known amount, and the readings have to follow.

truth_rows.txt is the table; model_*.py hold the formulas. A procedure that has no model, or a quantity of it that has no row, fails:
whoever adds one says here what it does, or why nothing may change. What a row does not name must not move.

Usage: truth_matrix.py PROGRAM [WORD ...]; words pick rows by procedure or quantity. Of procedures that take seconds each time
every third row is tried and those that are changed in one call, all of them with words or where DECKWRIGHT_TESTS=all.
"""
import fnmatch
import math
import os
import pathlib
import re
import sys

import model_drive
import model_electric
import model_music
import model_set_up
import model_sight
import model_sound
import model_speed
import program
from inputs import Inputs

TABLE = pathlib.Path(__file__).with_name("truth_rows.txt")
MODELS = {**model_set_up.MODELS, **model_electric.MODELS, **model_drive.MODELS, **model_speed.MODELS, **model_sound.MODELS,
          **model_music.MODELS, **model_sight.MODELS}
SLOW = {"held", "twin", "side", "pressing", "film", "pose", "belt"}
SHOWN = 8        # lines of what is wrong with a row
STILL = 1e-9     # of its own size: what does not hang on a quantity gives the same digits


class Row:
    """One line of the table: base | quantity | changed to | follows | why."""

    def __init__(self, number, cells):
        if len(cells) != 5:
            raise ValueError(f"line {number}: five cells wanted, {len(cells)} found")
        self.number = number
        self.base, self.quantity, self.changed, follows, self.why = cells
        self.procedure = self.base.split(":")[0]
        self.follows = [word for word in follows.split() if word[0] not in "?-="]
        self.free = [word[1:] for word in follows.split() if word[0] == "?"]
        self.refused = follows == "refused"
        self.nothing = follows == "-"
        self.same = follows == "="       # the same value in another unit: nothing at all changes
        if (self.nothing or self.free or self.refused) and not self.why:
            raise ValueError(f"line {number}: nothing follows, or is not worked out, and no reason is given")


def read_table():
    """Bases (operands by name) and rows."""
    bases, rows = {}, []
    for number, line in enumerate(TABLE.read_text(encoding="utf-8").splitlines(), 1):
        line = line.strip()
        if not line or line[0] == "#":
            continue
        if line[0] == "@":
            name, operands = line[1:].split("|", 1)
            bases[name.strip()] = Inputs.of(operands.split())
        else:
            rows.append(Row(number, [cell.strip() for cell in line.split("|")]))
    return bases, rows


def accepted(prog):
    """The quantities that each procedure takes, by its own help: those that print a sheet as JSON."""
    listed = {}
    for name in re.findall(r"^  deckwright (\S+)", prog.run("help").stdout, re.M):
        text = prog.run("help", name).stdout
        if "--json" in text.split("\n", 1)[0] and "[key=value" in text.split("\n", 1)[0]:
            listed[name] = re.findall(r"^  ([a-z_]+\.[a-z_0-9]+)\s", text, re.M)
    return listed


def defaults(prog):
    """Presets by the help, as 'preset unit' (the bench's own unit is the model's)."""
    found = {}
    for key, preset in re.findall(r"^  ([a-z_]+\.[a-z_0-9]+) .*\[([^\]]*)\]\s*$", prog.run("help", "quantities").stdout, re.M):
        found[key] = preset.replace(" ", "")
    return found


def together(rows):
    """Rows of one base that move nothing, each for the one reason: changed in one call, by the number of each row."""
    groups = {}
    for row in rows:
        if row.nothing:
            groups.setdefault((row.base, row.why), []).append(row)
    alike = [rows for rows in groups.values() if len(rows) > 1 and len({row.quantity for row in rows}) == len(rows)]
    return {row.number: rows for rows in alike for row in rows}


class Matrix:
    """Calls, kept by their operands, and what the sheet and the model say of them."""

    def __init__(self, prog):
        self.prog, self.kept, self.worked = prog, {}, {}

    def truth(self, procedure, inputs):
        key = (procedure, str(inputs.words))
        if key not in self.worked:
            self.worked[key] = MODELS[procedure].truth(inputs)
        return self.worked[key]

    def sheet(self, procedure, inputs):
        recordings, operands = MODELS[procedure].recordings(self.prog, inputs), inputs.operands()
        call = (procedure, *map(str, recordings), *operands)
        if call not in self.kept:
            self.kept[call] = self.prog.sheet(procedure, *recordings, *operands)
        return self.kept[call]

    def told(self, procedure, inputs):
        """What the sheet says, by key: readings, their ± as key±, and what the model reads off tables and curves."""
        sheet = self.sheet(procedure, inputs)
        said = {}
        for key, reading in sheet.readings.items():
            said[key] = reading["value"]
            said[key + "±"] = reading["uncertainty"]
        said.update(MODELS[procedure].more(sheet, inputs))
        return said, sheet


def near(told, truth):
    """Truth is a word, a number, or (number, tolerance)."""
    if isinstance(truth, str) or truth is None:
        return told == truth
    value, tolerance = truth if isinstance(truth, tuple) else (truth, 1e-6 * abs(truth) + 1e-9)
    return isinstance(told, (int, float)) and abs(told - value) <= tolerance


def moved(one, other):
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) > STILL * max(abs(one), abs(other)) + 1e-12
    return one != other


def against_model(told, truth, name, named):
    """All that the model knows; a ± only where the row names it, so that a doubtful ± fails its own rows alone."""
    return [f"{name}: {key} is {told.get(key)}, truth {value}" for key, value in truth.items()
            if (key in named or not key.endswith("±")) and not near(told.get(key), value)]


def clear_move(row, key, truth, after):
    """A row can only fail if the change it names is larger than the model's own tolerance."""
    value = lambda one: one[0] if isinstance(one, tuple) else one
    room = lambda one: one[1] if isinstance(one, tuple) else 0.0
    if key not in truth and key not in after:
        return [f"line {row.number}: the model knows no {key}"]
    one, other = truth.get(key), after.get(key)
    if isinstance(value(one), (int, float)) and isinstance(value(other), (int, float)):
        if abs(value(one) - value(other)) <= 2 * max(room(one), room(other)):
            return [f"line {row.number}: {key} moves from {one} to {other}, too little to be a check"]
    elif value(one) == value(other):
        return [f"line {row.number}: the model does not move {key}"]
    return []


def check_row(matrix, bases, row, group=None):
    """What is wrong with one row, or nothing; with a GROUP all that its rows change is changed at once."""
    if row.base not in bases:
        return f"line {row.number}: no base {row.base}"
    base = bases[row.base]
    changed = base
    for other in group or [row]:
        changed = changed.changed(other.quantity, other.changed)
    before, _ = matrix.told(row.procedure, base)
    if row.refused:
        try:
            matrix.told(row.procedure, changed)
        except program.Refused:
            return ""
        return f"{row.quantity}={row.changed} was taken; {row.why}"
    after, sheet = matrix.told(row.procedure, changed)
    truth, truth_after = matrix.truth(row.procedure, base), matrix.truth(row.procedure, changed)
    wrong = against_model(before, truth, "before", row.follows) + against_model(after, truth_after, "after", row.follows)
    for key in row.follows:
        wrong += clear_move(row, key, truth, truth_after)
        if not moved(before.get(key), after.get(key)):
            wrong.append(f"{key} stays at {before.get(key)}; truth {truth_after.get(key)}")
    for key in sorted(set(before) | set(after)):
        named = key in row.follows or any(fnmatch.fnmatchcase(key, pattern) for pattern in row.free)
        if not named and moved(before.get(key), after.get(key)):
            wrong.append(f"{key} goes from {before.get(key)} to {after.get(key)}, which the row does not name")
    if len(wrong) > SHOWN:
        wrong = wrong[:SHOWN] + [f"and {len(wrong) - SHOWN} more"]
    return "\n".join([f"line {row.number}: {sheet.call}"] + wrong) if wrong else ""


def check_alike(matrix, bases, row, group):
    """A row of a group: with the rest of it, and alone where something moves or all at once are refused."""
    try:
        if not check_row(matrix, bases, row, group):
            return ""
    except program.Refused:
        pass
    return check_row(matrix, bases, row)


def run(prog, checks, names):
    bases, rows = read_table()
    alike = together(rows)
    listed, matrix = accepted(prog), Matrix(prog)
    Inputs.presets = defaults(prog)
    picked = lambda *words: not names or any(name in word for name in names for word in words)
    entered = {(row.procedure, row.quantity) for row in rows}
    for procedure, quantities in listed.items():
        if picked(procedure):
            checks.that(procedure in MODELS, f"{procedure} has a model")
        for quantity in quantities:
            if picked(procedure, quantity):
                checks.that((procedure, quantity) in entered, f"{procedure}: {quantity} has a row")
    for place, row in enumerate(rows):
        tried = names or row.procedure not in SLOW or place % 3 == 0 or row.number in alike or os.environ.get("DECKWRIGHT_TESTS") == "all"
        if tried and picked(row.procedure, row.quantity, row.base):
            if row.quantity not in listed.get(row.procedure, []):
                checks.that(False, f"line {row.number}: {row.procedure} takes {row.quantity}",
                            "the help does not list it any more")
                continue
            name = f"{row.base}: {row.quantity} to {row.changed}"
            if row.number in alike:
                checks.attempt(name, check_alike, matrix, bases, row, alike[row.number])
            else:
                checks.attempt(name + (" (the same)" if row.same else ""), check_row, matrix, bases, row)


if __name__ == "__main__":
    sys.exit(program.main(run))
