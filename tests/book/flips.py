#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Single bits of the database turned over, as a tired disk or memory does: `book check` must notice each, unless nothing
that is kept depends on it. Whether that is so, SQLite itself says here: every row of every table, the marks of the file and
what the search finds are the same as before. The bits are drawn over the whole file.

    flips.py PROGRAM COUNT [SEED]
"""
import hashlib
import pathlib
import random
import sqlite3
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from support import Tap, alike  # noqa: E402

WORDS = ("ada", "sample", "hum", "belt", "deck", "platter")


def contents(path):
    """A digest of all that can be read of the database at PATH; None when that fails."""
    digest = hashlib.sha256()
    try:
        database = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        database.text_factory = bytes
        for question in ("PRAGMA user_version", "PRAGMA application_id", "PRAGMA encoding", "SELECT type, name, tbl_name, sql FROM sqlite_schema"):
            digest.update(repr(database.execute(question).fetchall()).encode())
        for (table,) in database.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name").fetchall():
            if not table.startswith(b"search_"):  # the search's own: what it finds counts
                digest.update(repr(database.execute(f'SELECT * FROM "{table.decode()}"').fetchall()).encode())
        for word in WORDS:
            digest.update(repr(database.execute("SELECT rowid FROM search WHERE search MATCH ? ORDER BY rowid", (word + "*",)).fetchall()).encode())
        database.close()
    except (sqlite3.Error, UnicodeDecodeError, ValueError):
        return None
    return digest.hexdigest()


def make_shop(program, folder):
    done = subprocess.run([program, "demo-shop", folder], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    with sqlite3.connect(folder / "book.sqlite") as database:
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    database.close()


def check(program, folder):
    try:
        done = subprocess.run([program, "book", "check", "--book", folder], capture_output=True, text=True, timeout=600, check=False, errors="replace")
    except subprocess.TimeoutExpired:
        return "hangs", ""
    if done.returncode == 0 and "The book is sound." in done.stdout:
        return "sound", ""
    return ("noticed" if done.returncode in (1, 2) else f"ended with {done.returncode}"), done.stdout + done.stderr


def main(program, count="60", seed="1"):
    tap, draw = Tap(), random.Random(int(seed))
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name) / "shop"
        make_shop(program, folder)
        path = folder / "book.sqlite"
        kept, names = path.read_bytes(), {entry.name for entry in folder.iterdir()}
        tap.say("the book is sound before", "" if check(program, folder)[0] == "sound" else check(program, folder)[1])
        kept = path.read_bytes()
        before = contents(path)
        found = {"noticed": 0, "harmless": 0}
        missed = []
        tries = alike(int(count), int(count) // 4)
        for _ in range(tries):
            place, bit = draw.randrange(len(kept)), draw.randrange(8)
            turned = bytearray(kept)
            turned[place] ^= 1 << bit
            path.write_bytes(turned)
            after = contents(path)
            verdict, said = check(program, folder)
            if verdict == "sound" and after == before:
                verdict = "harmless"
            if verdict in found:
                found[verdict] += 1
            else:
                missed.append(f"byte {place} (page {place // 4096 + 1}, {place % 4096}) bit {bit}: {verdict} {said}")
            for entry in folder.iterdir():
                if entry.name not in names:
                    entry.unlink()
            path.write_bytes(kept)
        print(f"# {tries} bits turned over in {len(kept)} bytes: {found['noticed']} noticed, {found['harmless']} harmless (nothing that "
              f"can be read had changed), {len(missed)} missed")
        tap.say("every bit that counts is noticed", "\n".join(missed))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
