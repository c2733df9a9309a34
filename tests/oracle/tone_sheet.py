# SPDX-License-Identifier: MIT
"""Running `deckwright speed` on what tone_model.py plays, and looking at the sheet it prints."""
import json
import os
import pathlib
import subprocess

import tone_model as model
import tone_truth


class Sheet:
    """What the program said of one recording."""

    def __init__(self, done, course=None, parts=None):
        self.code, self.err = done.returncode, done.stderr
        self.course, self.parts = course, parts
        try:
            self.json = json.loads(done.stdout)
        except ValueError:
            self.json = {}
        self.readings = {row["key"]: row for row in self.json.get("readings", [])}
        self.tables = {table["key"]: table for table in self.json.get("tables", [])}

    @property
    def refused(self):
        """Whether it was turned away in words: nothing measured, exit status 1 or 2, one line that says why."""
        return self.code in (1, 2) and bool(self.err.strip()) and not any(key.startswith("flutter.") for key in self.readings)

    def value(self, key):
        value = self.readings.get(key, {}).get("value")
        return value if isinstance(value, (int, float)) else None

    def half(self, key):
        """Half-width of the 95 % interval, or None."""
        return self.readings.get(key, {}).get("uncertainty")

    def flagged(self, key, flag=None):
        flags = self.readings.get(key, {}).get("flags", [])
        return flag in flags if flag else bool(flags)

    def rows(self, key):
        """Rows of a table as dictionaries."""
        table = self.tables.get(key)
        if not table:
            return []
        return [dict(zip([column["key"] for column in table["columns"]], row)) for row in table["rows"]]

    def curve(self, key):
        """The points of a curve, x and y."""
        for curve in self.json.get("curves", []):
            if curve["key"] == key:
                return curve["x"]["values"], curve["y"]["values"]
        return [], []

    def words(self):
        """All that it says in sentences."""
        missing = [row["reason"] for row in self.json.get("not_measured", [])]
        return "\n".join([*self.json.get("remarks", []), *self.json.get("cautions", []), *missing, self.err])

    def truth(self, ever=True, quasi=True):
        """Readings of a perfect instrument over the stretch that was measured: key -> (take, deck); see tone_truth.truth."""
        begin, length = self.value("tone.start"), self.value("tone.length")
        if begin is None or length is None or length < 2:
            return {}
        return tone_truth.truth(*self.parts, self.course, begin, begin + length, ever, quasi)

    def shown(self, key):
        value, half = self.value(key), self.half(key)
        if value is None:
            return f"{key} -"
        return f"{key} {value:.5g}" + (f" ± {half:.2g}" if half is not None else "")


class Bench:
    """A folder in which recordings are made, measured and thrown away."""

    def __init__(self, program, folder):
        self.program, self.folder = os.path.abspath(program), pathlib.Path(folder)

    def run(self, *arguments):
        return subprocess.run([self.program, *map(str, arguments)], cwd=self.folder, stdin=subprocess.DEVNULL,
                              capture_output=True, text=True, check=False)

    def measure(self, deck, record, take, *operands, name="take.wav"):
        """The sheet of a recording; the tone is stated where an operand says so, the speed always."""
        course = model.record_to(self.folder / name, deck, record, take)
        try:
            return self.sheet(name, f"deck.speed={deck.rpm:.6f}rpm", *operands, course=course, parts=(deck, record, take))
        finally:
            (self.folder / name).unlink()

    def sheet(self, name, *operands, course=None, parts=None):
        """The sheet of a file that is there; of an operand given twice the last counts."""
        last = {operand.partition("=")[0]: operand for operand in operands}
        return Sheet(self.run("speed", name, *last.values(), "--json"), course, parts)

    def of(self, procedure, name, *operands):
        """The sheet that another procedure makes of a file that is there."""
        return Sheet(self.run(procedure, name, *operands, "--json"))
