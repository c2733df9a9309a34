#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Two branches of a shop, each with its book: customers and decks exported by one and taken by the other, both ways, again and again.
Nothing that either said is lost, nobody and nothing stands twice.

Usage: branches.py PROGRAM"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile

from support import Tap

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
KINDS = ("customer", "deck", "ownership", "deck_value", "arm", "cartridge", "stylus")


class Branch:
    def __init__(self, folder, name):
        self.folder, self.name, self.exports = pathlib.Path(folder), name, 0
        self.book = str(self.folder / name)
        self.call("book", "new")

    def call(self, *words, wanted=0):
        done = subprocess.run([PROGRAM, *words], capture_output=True, text=True, check=False,
                              env={**os.environ, "DECKWRIGHT_BOOK": self.book, "USER": "Tester"})
        return done.stdout if done.returncode == wanted else f"exit {done.returncode}: {done.stderr}{done.stdout}"

    def give(self):
        """An export, as the other branch is sent it."""
        self.exports += 1
        folder = str(self.folder / f"{self.name}-{self.exports}")
        self.call("book", "export", folder)
        return folder

    def take(self, other):
        return self.call("book", "import", other.give())

    def held(self):
        return json.loads((pathlib.Path(self.give()) / "export.json").read_text())

    def counts(self):
        held = self.held()
        return {kind: len(held[kind]) for kind in KINDS}


def fill_first(branch):
    branch.call("customer", "add", "name=Ann Example", "phone=0123 456-78", "email=ann@example.org", "note=Rings in the evening.", "keep_photos=yes")
    branch.call("customer", "add", "name=Bo Sample", "phone=0999 111111")
    branch.call("deck", "add", "make=Invented", "model=One", "serial=S-1", "drive=belt", "made_year=1979")
    branch.call("deck", "add", "make=Invented", "model=Two", "lesson=Hub sits tight.")      # without serial number
    branch.call("deck", "give", "1", "1")
    branch.call("deck", "give", "2", "2")
    branch.call("deck", "note", "1", "arm.effective_length=222mm")
    branch.call("book", "add", "arm", "deck_id=1", "make=Invented", "model=Arm", "serial=A-1", "effective_length_mm=222")
    branch.call("book", "add", "cartridge", "deck_id=1", "make=Invented", "model=Pick", "serial=C-1", "force_low_mn=15")
    branch.call("book", "add", "stylus", "cartridge_id=1", "model=Needle", "fitted_on=2025-02-01", "hours=200")
    branch.call("job", "open", "customer_id=1", "deck_id=1", "fault=slow")


def fill_second(branch):
    branch.call("customer", "add", "name=Cleo Third", "email=cleo@example.org")
    branch.call("customer", "add", "name=ann example", "phone=012345678", "address=1 Low Lane", "email=new@example.org")     # Ann, known here too
    branch.call("deck", "add", "make=INVENTED", "model=One", "serial=s-1", "motor=M7", "made_year=1980")
    branch.call("deck", "give", "1", "2")
    branch.call("deck", "note", "1", "arm.effective_length=223mm")


def one(held, kind, **wanted):
    found = [row for row in held[kind] if all(str(row[key]).lower() == str(value).lower() for key, value in wanted.items())]
    return found[0] if len(found) == 1 else {"found": len(found)}


def check(tap, good, name, said=""):
    tap.say(name, "" if good else str(said) or "it is not so")


def check_empty(tap, folder):
    first, empty = Branch(folder, "first"), Branch(folder, "empty")
    fill_first(first)
    said = empty.take(first)
    check(tap, "Customers: 2 new, 0 filled in, 0 known" in said and "Decks: 2 new, 0 filled in, 0 known" in said, "a new branch takes all", said)
    there, here = first.held(), empty.held()

    def plain(held, kind):
        return [{key: value for key, value in row.items() if key not in ("at", "who", "revision")} for row in held[kind]]

    for kind in ("customer", "deck", "ownership", "deck_value", "arm", "cartridge", "stylus"):
        check(tap, plain(there, kind) == plain(here, kind) and there[kind], f"each {kind} is there word for word",
              f"{plain(there, kind)} {plain(here, kind)}")
    check(tap, not here["job"] and there["job"], "jobs stay with their branch")
    before = empty.counts()
    said = empty.take(first)
    check(tap, empty.counts() == before and "2 known already" in said and "0 new, 0 filled" in said, "taken again nothing is new", said)
    journal = empty.call("book", "journal")
    empty.take(empty)
    check(tap, empty.call("book", "journal") == journal, "its own export changes nothing")
    check(tap, "exit" not in empty.call("book", "check"), "and the book is whole", empty.call("book", "check"))


def check_both_ways(tap, folder):
    first, second = Branch(folder, "north"), Branch(folder, "south")
    fill_first(first)
    fill_second(second)
    said = second.take(first)
    check(tap, "Customers: 1 new, 1 filled in, 0 known" in said and "Decks: 1 new, 1 filled in" in said, "who is known is filled in", said)
    held = second.held()
    ann, deck = one(held, "customer", name="ann example"), one(held, "deck", serial="s-1")
    check(tap, ann.get("phone") == "012345678" and ann.get("address") == "1 Low Lane" and ann.get("email") == "new@example.org",
          "what this book says stands", ann)
    check(tap, "Rings in the evening." in ann.get("note", "") and "Email: ann@example.org" in ann.get("note", ""), "what the other says is noted", ann)
    check(tap, ann.get("keep_photos") is False, "a no stays a no", ann)
    check(tap, deck.get("drive") == "belt" and deck.get("motor") == "M7" and deck.get("made_year") == 1980 and "Year made: 1979" in deck.get("lesson", ""),
          "a deck is filled in as well", deck)
    check(tap, "arm.effective_length: 222" in deck.get("lesson", ""), "and what is noted of it otherwise", deck)
    back = first.take(second)
    check(tap, "Customers: 1 new, 1 filled in, 1 known" in back and "Decks: 0 new, 1 filled in, 1 known" in back, "and back", back)
    north = one(first.held(), "customer", name="ann example")
    check(tap, north["phone"] == "0123 456-78" and north["address"] == "1 Low Lane" and "Email: new@example.org" in north["note"]
          and "Email: ann@example.org" not in north["note"] and north["note"].count("Rings in the evening.") == 1, "the first book has both sides' words once", north)
    counts = first.counts(), second.counts()
    for _ in range(2):
        second.take(first)
        first.take(second)
    check(tap, (first.counts(), second.counts()) == counts, "there and back again nobody stands twice", f"{counts} {first.counts()} {second.counts()}")
    notes = [row["note"] for branch in (first, second) for row in branch.held()["customer"]]
    second.take(first)
    first.take(second)
    check(tap, notes == [row["note"] for branch in (first, second) for row in branch.held()["customer"]], "and notes do not grow", notes)
    names = sorted(row["name"].lower() for row in second.held()["customer"])
    check(tap, names == ["ann example", "bo sample", "cleo third"] == sorted(row["name"].lower() for row in first.held()["customer"]),
          "both know everybody", names)


def check_doubt(tap, folder):
    first, second = Branch(folder, "east"), Branch(folder, "west")
    first.call("customer", "add", "name=Ann Example", "phone=0123 456 78")
    second.call("customer", "add", "name=Ann Example", "phone=0777 777 777")
    said = second.take(first)
    check(tap, "Customers: 1 new" in said and "book merge customer 2 1" in said, "two people of one name stay two, and it is said", said)
    first.call("customer", "add", "name=Dee", "phone=0111 222 333")
    second.call("customer", "add", "name=Eve", "phone=0444 555 666")
    first.call("deck", "add", "make=Plain", "model=Deck", "serial=9")
    second.call("deck", "add", "make=Plain", "model=Deck", "serial=9")
    first.call("deck", "give", "1", "2")
    second.call("deck", "give", "1", "3")
    said = second.take(first)
    open_now = [row for row in second.held()["ownership"] if row["until"] is None]
    check(tap, len(open_now) == 1 and len(second.held()["ownership"]) == 2 and "had another owner" in said, "a deck has one owner, the other had it before", said)
    first.call("book", "erase", "1")
    before = second.counts()
    check(tap, "exit" not in second.take(first) and second.counts() == before, "who was erased there does not come as a nobody")
    odd = pathlib.Path(folder) / "odd"
    odd.mkdir()
    for text, words in (("", "holds no export"), ("[1, 2]", "holds no export"), ('{"customer": 7}', "holds no export"),
                        ('{"customer": [{"id": 1}]}', "no Name"), ('{"customer": [{"id": 1, "name": "X"}, {"id": 2, "name": 5, "route": "by owl"}]}', "owl"),
                        ('{"customer": [7, null, "x"]}', "no Name"), ('{"deck": [{"id": 3, "make": "M", "made_year": 99999}]}', "made")):
        (odd / "export.json").write_text(text)
        said = second.call("book", "import", str(odd))
        check(tap, "exit 2" in said and words in said and second.counts() == before, f"refused whole: {text[:40]}", said)
    check(tap, "exit 2" in second.call("book", "import", str(odd / "none")), "a folder that is not there is refused")


def main():
    tap = Tap()
    for part in (check_empty, check_both_ways, check_doubt):
        with tempfile.TemporaryDirectory() as folder:
            part(tap, folder)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main())
