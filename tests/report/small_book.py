# SPDX-License-Identifier: MIT
"""A small book of one job, its papers as text, and TAP: what the tests of the papers share."""
import json
import os
import re
import shutil
import sqlite3
import subprocess


class Tap:
    def __init__(self):
        self.count, self.failed = 0, False

    def check(self, name, wrong):
        self.count += 1
        self.failed = self.failed or bool(wrong)
        print(f"{'not ok' if wrong else 'ok'} {self.count} - {name}{': ' + str(wrong)[:400] if wrong else ''}", flush=True)

    def end(self):
        print(f"1..{self.count}")
        return self.failed


class Book:
    """The book in FOLDER; without a template (a book to begin from, or that is there) a new one with a
    customer, a deck and job 1."""

    def __init__(self, program, folder, template=None, deck=("make=Hollin", "model=B2", "drive=belt", "class=hifi")):
        self.program, self.folder, self.job = program, folder, "1"
        if template:
            if template != folder:
                shutil.copytree(template, folder)
            return
        self.ok("book", "new")
        self.ok("book", "settings", "money.exempt_reason=No tax is charged here.")
        self.ok("customer", "add", "name=Edda Marlow")
        self.ok("deck", "add", *deck)
        self.ok("job", "open", "customer_id=1", "deck_id=1")

    def call(self, *words):
        return subprocess.run([self.program, *words, "--book", self.folder], capture_output=True, text=True, check=False,
                              env=dict(os.environ, USER="tester"))

    def ok(self, *words):
        done = self.call(*words)
        if done.returncode not in (0, 3):
            raise RuntimeError(f"{' '.join(words)}: {done.returncode} {done.stderr}")
        return done.stdout

    def play(self, path, *operands):
        """A recording of the synthesiser's deck."""
        subprocess.run([self.program, "synth", path, *operands], capture_output=True, check=True)

    def paper(self, name, *words, layout=False):
        """The text of a paper of the job, blanks as one; None when the program refuses it."""
        path = os.path.join(self.folder, "paper.pdf")
        done = self.call("report", name, self.job, "--out", path, *words)
        if done.returncode:
            return None
        text = subprocess.run(["pdftotext", *(["-layout"] if layout else []), path, "-"], capture_output=True, text=True,
                              check=True).stdout
        return flat(text)


def flat(text):
    return re.sub(r"\s+", " ", text.replace("\u202f", " ").replace("\u00a0", " ")).strip()


def alter_sheet(book, change, measurement=1):
    """What the program itself never writes: CHANGE of a kept sheet, under the book's guards."""
    with sqlite3.connect(book.folder + "/book.sqlite") as base:
        (sheet,) = base.execute("SELECT sheet FROM measurement WHERE id = ?", (measurement,)).fetchone()
        sheet = json.loads(sheet)
        change(sheet)
        for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'measurement' "
                                    "AND sql LIKE '%UPDATE%'").fetchall():
            base.execute(f"DROP TRIGGER {name}")
        base.execute("UPDATE measurement SET sheet = ? WHERE id = ?", (json.dumps(sheet), measurement))
