#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The plan of a job's work: what was agreed to is put on the bench in the guide's order, ticked off, taken back, left
out with its reason; what was agreed to and not done stands on the report."""
import json
import pathlib
import re
import sqlite3
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap  # noqa: E402


def remedies(data):
    """Names and orders of the guide's remedies, by a reader of its own."""
    found, name = [], None
    for line in (pathlib.Path(data) / "guide/remedies.ini").read_text(encoding="utf-8").splitlines():
        key, _, value = (part.strip() for part in line.partition("="))
        if key == "name":
            name = value
        elif key == "order" and name:
            found.append((name, float(value)))
            name = None
    return found


def refusal(done, words):
    return "" if done.returncode == 2 and words in done.stderr else f"{done.returncode} {done.stdout}{done.stderr}"


def agreed(book, names, more):
    number = str(json.loads(book.ok("estimate", "draft", "1", "--json"))["id"])
    for name in names:
        book.ok("estimate", "line", number, "tier=minimum", f"name={name}", "kind=labour", "minutes=20", "price=60")
    book.ok("estimate", "line", number, "tier=minimum", "name=Belt 480", "kind=part", "amount=12")
    book.ok("estimate", "line", number, "tier=full", f"name={more}", "kind=labour", "minutes=30", "price=60")
    book.ok("estimate", "issue", number)
    book.ok("job", "add", "1", "consent", "answer=agreed", f"estimate_id={number}", "tier=minimum", "person=Edda")


def steps(book):
    return json.loads(book.ok("job", "plan", "1", "--json"))


def main(program, data):
    tap = Tap()
    known = sorted(remedies(data), key=lambda row: row[1])
    first, last = known[0][0], known[-1][0]
    with tempfile.TemporaryDirectory() as folder:
        book = Book(program, folder + "/book")
        tap.check("without an agreement or a cause there is no plan", refusal(book.call("job", "plan", "1"), "no work to plan"))
        agreed(book, [last, "Something of our own", first], "Not agreed to")
        plan = steps(book)
        tap.check("the labour agreed to, in the guide's order, what it does not know last",
                  "" if [step["name"] for step in plan] == [first, last, "Something of our own"] else plan)
        tap.check("with minutes, places and what is to be heeded", "" if [step["place"] for step in plan] == [1, 2, 3]
                  and plan[0]["quoted_minutes"] == 20 and plan[0]["care"] else plan)
        tap.check("nothing is put there twice", "" if len(steps(book)) == 3 else steps(book))
        text = book.paper("service")
        tap.check("nothing done: all of it stands on the report", "" if f"Agreed to and not done: {first}" in text else text[-900:])
        ticked = book.ok("job", "tick", "1", "1", "minutes=25")
        tap.check("a tick is shown", "" if re.search(r"\[x\]  1  ", ticked) and "[ ]  2" in ticked else ticked)
        tap.check("a step that is not there", refusal(book.call("job", "tick", "1", "9"), "no step 9"))
        tap.check("why it is left out is to be said", refusal(book.call("job", "leave-out", "1", "2", ""), "Say why"))
        book.ok("job", "leave-out", "1", "2", "the part did not come")
        tap.check("what is done is not left out", refusal(book.call("job", "leave-out", "1", "1", "no"), "is done"))
        text = book.paper("service")
        wanted = f"Agreed to and not done: {last} (the part did not come) and Something of our own."
        tap.check("the report says what is not done, and why", "" if wanted in text and "Not agreed to" not in text else text[-900:])
        book.ok("job", "untick", "1", "1")
        tap.check("a tick is taken away", "" if not steps(book)[0]["done_at"] and steps(book)[0]["actual_minutes"] == 0 else steps(book)[0])
        with sqlite3.connect(book.folder + "/book.sqlite") as base:
            line = base.execute("SELECT max(id) FROM journal WHERE entity = 'operation' AND field = 'done_at'").fetchone()[0]
        book.ok("book", "undo", str(line))
        tap.check("and the journal brings it back", "" if steps(book)[0]["done_at"] else steps(book)[0])
        for step in ("2", "3"):
            book.ok("job", "tick", "1", step)
        text = book.paper("service")
        tap.check("once all is done nothing is left", "" if "Agreed to and not done" not in text and last in text else text[-900:])
        book.ok("job", "add", "1", "consent", "answer=refused", "person=Edda")
        book.ok("job", "untick", "1", "3")
        text = book.paper("service")
        tap.check("what was taken back again is not owed", "" if "Agreed to and not done" not in text else text[-900:])
    return tap.end()


sys.exit(main(*sys.argv[1:]))
