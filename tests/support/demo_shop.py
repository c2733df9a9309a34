#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""demo_shop.py PROGRAM FOLDER: makes the demonstration shop in FOLDER, as `demo-shop` does.
demo_shop.py --keep PROGRAM KEPT: makes one that is copied from then on, beside the file KEPT that says of what it is.

To make it takes seven seconds of a processor, for decks that are played and measured; some fifty tests begin with it.
The build keeps one, which DECKWRIGHT_DEMO_SHOP names. Its days are counted from the day on which it was made: it is
copied on that day alone, and only while the program and its data are those that made it. Nothing of it but the random
names of its pictures' files differs from one making to the next."""
import datetime
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile


def made_of(program):
    """The program's files, its data and the day, in a line."""
    program = pathlib.Path(program).absolute()
    files = [path for path in program.parent.parent.glob("*/deckwright*") if path.is_file()]
    files += (path for path in (program.parent.parent.parent / "share/deckwright/").resolve().rglob("*") if path.is_file())
    newest = max(path.stat().st_mtime_ns for path in files)
    days = f"{datetime.date.today()} {datetime.datetime.now(datetime.timezone.utc).date()}"
    return f"{days} {len(files)} {newest} {program.stat().st_mtime_ns} {program.stat().st_size}\n"


def is_of(program, kept):
    return kept.is_file() and kept.read_text() == made_of(program)


def keep(program, kept):
    """Puts a new one beside KEPT unless it is of today's program and day. Where it cannot be made nothing is kept:
    the tests then make their own, and say what is wrong."""
    if is_of(program, kept):
        return
    of, place = made_of(program), kept.with_suffix("")
    kept.write_text("")
    with tempfile.TemporaryDirectory(dir=kept.parent) as folder:
        done = subprocess.run([program, "demo-shop", folder + "/shop"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
        if done.returncode == 0 and made_of(program) == of:
            shutil.rmtree(place, ignore_errors=True)
            os.rename(folder + "/shop", place)
            kept.write_text(of)


def make(program, folder):
    """The demonstration shop in FOLDER, which may be there and must be empty."""
    kept = os.environ.get("DECKWRIGHT_DEMO_SHOP")
    if kept and is_of(program, pathlib.Path(kept)):
        shutil.copytree(pathlib.Path(kept).with_suffix(""), folder, dirs_exist_ok=True)
    else:
        subprocess.run([program, "demo-shop", folder], check=True, stdout=subprocess.DEVNULL)


if __name__ == "__main__":
    if sys.argv[1] == "--keep":
        keep(sys.argv[2], pathlib.Path(sys.argv[3]))
    else:
        make(*sys.argv[1:])
