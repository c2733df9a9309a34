#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Several decks on one visit: jobs of one customer that came in together have one receipt, one notice that they are
ready, and bills together or apart; what is agreed to, billed and paid stays each job's own."""
import datetime
import json
import pathlib
import re
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap  # noqa: E402


def refusal(done, words):
    return "" if done.returncode == 2 and words in done.stderr else f"{done.returncode} {done.stdout}{done.stderr}"


def three_jobs(book):
    """Jobs 1 to 3 of one customer and 4 of another; each with a deck."""
    for name in ("Dara", "Lark"):
        book.ok("deck", "add", f"make={name}", "model=One", "drive=direct", f"serial={name[0]}-77")
    book.ok("customer", "add", "name=Otis Brant")
    book.ok("job", "open", "customer_id=1", "deck_id=2")
    book.ok("job", "open", "customer_id=1", "deck_id=3")
    book.ok("job", "open", "customer_id=2")


def together(tap, book):
    tap.check("a visit is of one customer", refusal(book.call("job", "visit", "4", "1"), "another customer"))
    tap.check("nobody comes with himself", refusal(book.call("job", "visit", "1", "1"), "with itself"))
    listed = book.ok("job", "visit", "2", "1")
    tap.check("two came in together", "" if re.findall(r"^\d{4}", listed, re.M) == ["0001", "0002"] else listed)
    tap.check("the first is named", refusal(book.call("job", "visit", "3", "2"), "Name that one"))
    tap.check("who came with the first is not moved away under it", refusal(book.call("job", "visit", "1", "3"), "Other jobs came in"))
    book.ok("job", "visit", "3", "1")
    tap.check("three did", "" if len(re.findall(r"^\d{4}", book.ok("job", "visit", "2"), re.M)) == 3 else book.ok("job", "visit", "2"))


def one_receipt(tap, book):
    book.ok("job", "add", "1", "intake", "words=It growls.", "list_correct=yes", "terms_accepted=yes")
    alone = book.paper("receipt")
    tap.check("who is not taken in is on no receipt", "" if "Taken in together" not in alone and "Dara" not in alone else alone)
    book.ok("job", "add", "2", "intake", "words=It whistles.", "list_correct=yes", "terms_accepted=yes", "stylus_damaged=yes")
    text = book.paper("receipt")
    wrong = [part for part in ("It growls.", "It whistles.", "Taken in together with it, and on this receipt: 0002 Dara One.", "D-77") if part not in text]
    tap.check("one receipt is of both", wrong or (text.count("Signed") > 2) and text)
    book.job = "2"
    text = book.paper("receipt")
    book.job = "1"
    tap.check("whichever of them it is asked of", [part for part in ("It growls.", "It whistles.", "0001 Hollin B2") if part not in text])


def undo_added(book, kind, number):
    lines = book.ok("book", "journal", kind, number).splitlines()
    book.ok("book", "undo", next(line.split()[0] for line in lines if line.endswith('-> "added"')))


def one_notice(tap, book):
    book.ok("job", "move", "1", "ready", "--sure")
    text = book.paper("notice", "--notice", "ready") or book.paper("notice")
    tap.check("what is not ready is said", "" if "Not ready yet: 0002 Dara One." in text and "Ready as well" not in text else text)
    book.ok("job", "move", "2", "ready", "--sure")
    text = book.paper("notice")
    tap.check("one notice names both", "" if "Ready as well: 0002 Dara One." in text and "Not ready yet" not in text else text)
    today = datetime.date.today().isoformat()
    book.ok("job", "add", "1", "notice", "kind=ready", f"sent_on={today}")
    notices = json.loads(book.ok("book", "list", "notice", "--json"))
    told = sorted((notice["job_id"] if isinstance(notice["job_id"], int) else int(notice["job_id"])) for notice in notices)
    tap.check("and is noted on both, not on what is not ready", "" if told == [1, 2] else notices)
    for act, way in (("removed", lambda number: book.ok("book", "remove", "notice", number)), ("undone", lambda number: undo_added(book, "notice", number))):
        newest = str(json.loads(book.ok("book", "list", "notice", "--json"))[-1]["id"])
        way(newest)
        left = json.loads(book.ok("book", "list", "notice", "--json"))
        tap.check(f"{act} on one, the letter is noted on neither", left)
        book.ok("job", "add", "2", "notice", "kind=ready", f"sent_on={today}")


def bills(tap, book):
    book.ok("book", "settings", "money.tax_rate=20", "money.labour_rate=60")
    for job, name, price in (("1", "Belt", "10"), ("2", "Spindle oil", "7")):
        book.ok("job", "add", job, "part", f"name={name}", "quantity=1", "condition=used", f"price={price}")
    for job, most in (("1", "12"), ("2", "8")):
        book.ok("job", "add", job, "consent", "answer=agreed up to", f"amount={most}", "person=Edda")
    book.ok("invoice", "deposit", "2", "2")
    number = str(json.loads(book.ok("invoice", "draft", "1", "--json"))["id"])
    tap.check("apart: one job's alone", "" if "Spindle" not in book.ok("invoice", "show", number) else book.ok("invoice", "show", number))
    shown = book.ok("invoice", "visit", number)
    tap.check("together: both", "" if "net 17.00  tax 3.40  total 20.40" in shown else shown)
    tap.check("each keeps to what was agreed to for it", refusal(book.call("invoice", "issue", number), "come to 8.40, and 8.00 was agreed"))
    book.ok("job", "add", "2", "consent", "answer=agreed up to", "amount=9", "person=Edda")
    issued = book.ok("invoice", "issue", number)
    tap.check("the deposits of both are taken", "" if "paid 2.00  left to pay 18.40" in issued else issued)
    text = book.paper("invoice")
    wrong = [part for part in ("Also bills: 0002 Dara One.", "0002: Spindle oil", "Spindle oil: used", "18.40") if part not in text]
    tap.check("the paper says which is of which", wrong and f"{wrong} {text}")
    book.ok("book", "change", "deck", "2", "make=Renamed")
    tap.check("as it was issued", "" if "0002 Dara One" in book.paper("invoice") else book.paper("invoice"))
    second = json.loads(book.ok("invoice", "draft", "2", "--json"))["id"]
    tap.check("nothing is billed twice", "" if "Spindle" not in book.ok("invoice", "show", str(second)) else book.ok("invoice", "show", str(second)))
    tap.check("and no job is billed with what it did not come with",
              refusal(book.call("invoice", "line", str(second), "name=Odd", "amount=1", "job_id=4"), "came in together"))


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        book = Book(program, folder + "/book")
        three_jobs(book)
        for part in (together, one_receipt, one_notice, bills):
            part(tap, book)
        tap.check("the book is sound", "" if "sound" in book.ok("book", "check") else "it is not")
    return tap.end()


sys.exit(main(*sys.argv[1:]))
