# SPDX-License-Identifier: MIT
"""The log of a long trial: one line of JSON a case as it is done, so that what broke off goes on where it stopped.

A line holds the TRIAL it belongs to (what was asked: procedure, seed …) and what was found; lines of other trials may stand
in the same file. A line that breaks off does not count, and keeps to itself.
"""
import json


def read(path, trial):
    """What was found of TRIAL, by number."""
    done = {}
    if not path or not path.exists():
        return done
    for line in path.read_text(encoding="utf-8").splitlines():
        try:
            row = json.loads(line)
        except ValueError:
            continue
        if isinstance(row, dict) and row.get("trial") == trial:
            done[row["found"]["number"]] = row["found"]
    return done


def add(path, trial, found):
    with open(path, "a+b") as log:
        if log.tell():
            log.seek(-1, 2)
            if log.read(1) != b"\n":
                log.write(b"\n")
        log.write(json.dumps({"trial": trial, "found": found}).encode() + b"\n")
