# SPDX-License-Identifier: MIT
"""Runs the program as its users do and reads its sheets; counts checks in TAP.

The models beside this file share no formula, preset or simulator with the program: it is called
through its command line and only its JSON is read.
"""
import json
import os
import pathlib
import random
import subprocess
import sys
import tempfile


class Refused(Exception):
    """The program answered with a line instead of a sheet."""


class Sheet:
    """One sheet as JSON, asked by key."""

    def __init__(self, call, raw, complaint, code=None):
        self.call, self.raw, self.complaint, self.code = call, raw, complaint, code     # the exit's
        self.readings = {reading["key"]: reading for reading in raw["readings"]}
        self.inputs = raw["inputs"]
        self.remarks = raw["remarks"]
        self.not_measured = {row["key"]: row["reason"] for row in raw["not_measured"]}

    def has(self, key):
        return key in self.readings and self.readings[key]["value"] is not None

    def value(self, key):
        if key not in self.readings:
            raise KeyError(f"no reading {key} ({self.not_measured.get(key, 'and no reason why')})")
        return self.readings[key]["value"]

    def label(self, key):
        return self.readings[key]["label"]

    def table(self, key):
        """Rows of a table as dictionaries."""
        for table in self.raw["tables"]:
            if table["key"] == key:
                names = [column["key"] for column in table["columns"]]
                return [dict(zip(names, row)) for row in table["rows"]]
        raise KeyError(f"no table {key}")

    def curve(self, key):
        for curve in self.raw["curves"]:
            if curve["key"] == key:
                return curve["x"]["values"], curve["y"]["values"]
        raise KeyError(f"no curve {key}")

    def raster(self, key):
        for raster in self.raw.get("rasters", []):
            if raster["key"] == key:
                return raster
        raise KeyError(f"no raster {key}")

    def words(self):
        """All that the sheet says in words: labels of readings, remarks, reasons, cautions."""
        lines = [f"{reading['label']}: {reading['value']}" for reading in self.raw["readings"]]
        return "\n".join(lines + self.remarks + self.raw["cautions"] + list(self.not_measured.values()))

    def said(self, *parts):
        """The remarks that hold one of these words, whatever their case."""
        return [line for line in self.remarks if any(part.lower() in line.lower() for part in parts)]


def unwound(procedure):
    """The environment in which a sanitized program names its leaks by whole stacks, where it reads films: what the
    decoders' libraries keep is told from what it loses itself by nothing else (tests/support/lsan.supp)."""
    return {"ASAN_OPTIONS": os.environ.get("ASAN_OPTIONS", "") + ":fast_unwind_on_malloc=0"} if procedure == "film" else {}


class Program:
    """The command line, with a folder of its own for recordings."""

    def __init__(self, path):
        self.path = str(pathlib.Path(path).resolve())
        self.folder = tempfile.TemporaryDirectory(prefix="oracle-")
        self.calls = 0

    def recording(self, name):
        return pathlib.Path(self.folder.name) / name

    def run(self, *words):
        self.calls += 1
        return subprocess.run([self.path, *[str(word) for word in words]], capture_output=True, text=True,
                              cwd=self.folder.name, check=False, env=os.environ | unwound(words[0]))

    def sheet(self, procedure, *words, **operands):
        """A sheet; operands as words, or as keywords with __ for the dot (lists repeat)."""
        call = [procedure, *words]
        for key, value in operands.items():
            for each in value if isinstance(value, list) else [value]:
                call.append(f"{key.replace('__', '.')}={each}")
        done = self.run(*call, "--json")
        shown = " ".join(str(word) for word in call).replace(self.folder.name + "/", "")
        if done.returncode not in (0, 3):
            raise Refused(f"{shown}: exit {done.returncode}: {done.stderr.strip()[:300]}")
        return Sheet(shown, json.loads(done.stdout), done.stderr.strip(), done.returncode)


class Checks:
    """TAP: one line a check, the plan at the end."""

    def __init__(self):
        self.count = self.failed = 0

    def that(self, good, what, why=""):
        self.count += 1
        self.failed += not good
        what = what.replace("#", "no.")
        print(f"{'ok' if good else 'not ok'} {self.count} - {what}", flush=True)
        if not good:
            for line in str(why).splitlines():
                print(f"# {line}", flush=True)
        return good

    def attempt(self, what, function, *arguments):
        """A check that is a function: it returns what is wrong, or nothing."""
        try:
            wrong = function(*arguments)
        except (Refused, KeyError, ValueError, TypeError, IndexError) as trouble:
            wrong = f"{type(trouble).__name__}: {trouble}"
        return self.that(not wrong, what, wrong or "")

    def end(self):
        """What failed stands in the lines; the exit says only that the trial went through."""
        print(f"1..{self.count}", flush=True)
        return 0


def draws(name, count):
    """Seeded generators, one for each drawn case of a check of this name."""
    return [random.Random(f"{name} {number}") for number in range(count)]


def main(run):
    """Called by each trial: the path of the program is the one argument; more name the checks to run."""
    program, checks = Program(sys.argv[1]), Checks()
    run(program, checks, sys.argv[2:])
    sys.exit(checks.end())
