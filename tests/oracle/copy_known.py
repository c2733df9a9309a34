#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What several takes told of a copy of a test record is used when that copy is measured again: its own balance is taken off and the
± is the smaller one, of a copy that nobody compared neither; a comparison that was withdrawn is used no more.

Two copies whose right bands are cut 0.5 dB apart, on two decks; the tones are made here. Truth: of 0.5 dB half is each copy's, one up and
one down; two copies know the mean of both better by the root of two than one is known, 0.28 dB.
"""
import json
import math
import pathlib
import sys
import tempfile

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
import waves  # noqa: E402
from small_book import Book, Tap  # noqa: E402

RATE, APART_DB, DECK_DB = 24000, 0.5, 0.8
PLAN = "[record]\nreference = 5 cm/s\nlead_in = 2 s\ngap = 2 s\n" + "".join(
    f"[band {number}]\nkind = tone\nchannel = {channel}\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 5 s\n"
    for number, channel in enumerate(("left", "right", "lateral"), 1))


def take(path, copy_db, deck_db, seed):
    """The right band COPY_DB over the left one, and a right channel DECK_DB over the left one."""
    tone, gap = waves.sine(1000, 5, RATE, 0.2) * waves.fade(5 * RATE, RATE), np.zeros(2 * RATE)
    walls = [(1.0, 0.01), (0.01, 10 ** (copy_db / 20)), (1.0, 1.0)]
    sound = [np.concatenate([part for pair in walls for part in (gap, pair[channel] * tone)] + [gap]) for channel in (0, 1)]
    right = sound[1] * 10 ** (deck_db / 20)
    return waves.write(path, sound[0] + waves.noise(right.size, 1e-4, seed), right + waves.noise(right.size, 1e-4, seed + 1), rate=RATE)


def balance(book, path, *operands):
    done = book.call("channels", path, *operands, "--json")
    if done.returncode not in (0, 3):
        raise RuntimeError(done.stderr)
    sheet = json.loads(done.stdout)
    row = next(row for row in sheet["readings"] if row["key"] == "channels.balance")
    return row["value"], row["uncertainty"], " ".join(sheet["remarks"])


def check(tap, book):
    folder = pathlib.Path(book.folder)
    (folder / "side.plan").write_text(PLAN, encoding="utf-8")
    order = [("Copy A", "one"), ("Copy B", "one"), ("Copy A", "two"), ("Copy B", "two"), ("Copy A", "one")]
    copies, decks = {"Copy A": APART_DB / 2, "Copy B": -APART_DB / 2}, {"one": 0.0, "two": DECK_DB}
    paths = [take(folder / f"take{number}.wav", copies[copy], decks[deck], 10 * number) for number, (copy, deck) in enumerate(order)]
    on_job = ("--job", "1", "--as", "received")
    before, wide, _ = balance(book, paths[0], "record.name=Copy A", *on_job)
    tap.check("a copy that nobody compared is as it reads", "" if abs(before - APART_DB / 2) < 0.01 and abs(wide - 0.277) < 0.005 else (before, wide))
    done = book.call("pressing", *paths, f"record.plan={folder}/side.plan", "pressing.copies=" + ",".join(copy for copy, _ in order),
                     "pressing.decks=" + ",".join(deck for _, deck in order), *on_job)
    tap.check("the comparison is kept", "" if done.returncode in (0, 3) else done.stderr)
    for path, copy in ((paths[0], "Copy A"), (paths[1], "Copy B")):
        value, off, said = balance(book, path, f"record.name={copy}", *on_job)
        good = abs(value) < 0.01 and abs(off - 0.277 / math.sqrt(2)) < 0.01 and "From the job book" in said
        tap.check(f"what is {copy}'s own is taken off", "" if good else (value, off, said))
    value, off, _ = balance(book, paths[2], "record.name=Copy A", *on_job)
    tap.check("what is the deck's own stays", "" if abs(value - DECK_DB) < 0.01 else value)
    value, off, _ = balance(book, paths[0], "record.name=Copy C", *on_job)
    tap.check("another copy is as it reads", "" if abs(value - APART_DB / 2) < 0.01 and abs(off - wide) < 1e-6 else (value, off))
    value, _, _ = balance(book, paths[0], "record.name=Copy A", "record.balance=0dB", *on_job)
    tap.check("what is typed stands before it", "" if abs(value - APART_DB / 2) < 0.01 else value)


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        check(tap, Book(program, folder))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
