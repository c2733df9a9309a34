# SPDX-License-Identifier: MIT
"""The log of a trial that takes long: one line of JSON a case as it is done, with the seed (and what else) it was drawn by."""
import json

BEGINS = '{"seed": '


def read(path, drawn_by):
    """The rows at PATH of what was DRAWN_BY (a dict, `seed` first), without it; a line that breaks off does not count."""
    rows = []
    if not path or not path.exists():
        return rows
    for line in path.read_text(encoding="utf-8").splitlines():
        if line[:len(BEGINS)] != BEGINS[:len(line)]:
            raise ValueError("not a log of such a trial. Name another file.")
        try:
            row = json.loads(line)
        except ValueError:
            continue
        if {key: row.pop(key, None) for key in drawn_by} == drawn_by:
            rows.append(row)
    return rows


def add(path, drawn_by, row):
    """A line that broke off before it keeps a line of its own."""
    with open(path, "a+b") as log:
        if log.tell():
            log.seek(-1, 2)
            if log.read(1) != b"\n":
                log.write(b"\n")
        log.write(json.dumps({**drawn_by, **row}).encode() + b"\n")
