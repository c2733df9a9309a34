#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What a person types: days that cannot be, warranties of somebody else's job, people and decks twice, decks that nobody
fetches, jobs taken up again, words that are looked for with slips of the pen."""
import datetime
import json
import os
import pathlib
import re
import sqlite3
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap  # noqa: E402

TODAY = datetime.date.today()


def day(distance):
    return str(TODAY + datetime.timedelta(days=distance))


def refusal(done, words):
    return "" if (done.returncode, done.stdout) == (2, "") and words in done.stderr else f"{done.returncode} {done.stdout}{done.stderr}"


def days(tap, book):
    over, ahead = "is over already", "is still to come"
    book.ok("register", "add", "cartridge", "deck_id=1", "make=Plain")
    for words, line in (
            (["job", "show", "1", f"promised_on={day(-2)}"], over), (["job", "show", "1", "promised_on=0000-01-01"], "is not a day"),
            (["job", "show", "1", f"next_due_on={day(-30)}"], over), (["job", "open", "customer_id=1", f"promised_on={day(-1)}"], over),
            (["job", "add", "1", "intake", f"at={day(5)}T10:00:00Z"], ahead), (["job", "add", "1", "intake", "ceiling=-5"], "below 0"),
            (["job", "add", "1", "operation", "name=x", f"done_at={day(9)}T10:00:00Z"], ahead),
            (["job", "add", "1", "notice", "kind=ready", f"sent_on={day(4)}"], ahead),
            (["register", "add", "stylus", "cartridge_id=1", f"fitted_on={day(-5)}", f"removed_on={day(-6)}"], "is before"),
            (["register", "add", "test_record", "name=T", f"bought_on={day(3)}"], ahead),
            (["customer", "show", "1", "country=Germany"], "no country's code"),
            *((["customer", "add", f"name={unseen}"], "has no Name") for unseen in ("\u00a0", "\u200b\u2060", "\u3000 \ufeff", "\u202e\u2066"))):
        tap.check("refused: " + " ".join(words), refusal(book.call(*words), line))
    book.ok("job", "show", "1", f"promised_on={day(0)}")
    with sqlite3.connect(book.folder + "/book.sqlite") as base:  # days pass
        base.execute("UPDATE job SET promised_on = ?", (day(-40),))
    done = book.call("job", "show", "1", "place=shelf 2")
    tap.check("what has passed since does not stand in the way", done.stderr)
    for typed in ("2026-01-05T10:00Z", "2026-01-05T10:00:00Z"):
        done = book.call("job", "add", "1", "operation", f"name={typed}", f"done_at={typed}")
        tap.check(f"{typed} is a moment", done.stderr or ("" if "2026-01-05" in done.stdout else done.stdout))
    for typed in ("2026-01-05T10:0Z", "2026-01-05T25:00Z", "2026-01-05 10:00Z"):
        tap.check(f"{typed} is none", refusal(book.call("job", "add", "1", "operation", "name=y", f"done_at={typed}"),
                                              "is not a date and time such as 2026-11-25T14:16Z"))


def reopened(tap, book):
    tap.check("what the page asks about is asked about here", refusal(book.call("job", "move", "1", "handed-over"), "Nobody signed for it at hand-over. The job was not moved. With --sure"))
    tap.check("and it has not moved", "" if json.loads(book.ok("job", "show", "1", "--json"))["job"]["state"] == "booked" else "it has")
    tap.check("where nothing speaks against it nothing is asked", book.call("job", "move", "1", "booked").stderr)
    book.ok("job", "move", "1", "handed-over", "--sure")
    tap.check("a deck that left is not ready", refusal(book.call("job", "move", "1", "ready"), "not here to be ready"))
    said = book.ok("job", "move", "1", "received", "--sure")
    tap.check("taken up again it is said to be reopened", "" if said.startswith("Job 0001 is reopened, and received.\n") else said)
    tap.check("else it is not", "reopened" in book.ok("job", "move", "1", "measuring", "--sure"))


def warranty(tap, book):
    book.ok("customer", "add", "name=Other One")
    book.ok("deck", "add", "make=Second")
    deck = ("customer_id=1", "deck_id=1")
    tap.check("no invoice, no warranty", refusal(book.call("job", "open", *deck, "warranty_of_id=1"), "no invoice that gives"))
    book.ok("invoice", "draft", "1")
    book.ok("invoice", "line", "1", "name=Look", "amount=10")
    book.ok("invoice", "issue", "1")
    tap.check("another deck", refusal(book.call("job", "open", "customer_id=1", "deck_id=2", "warranty_of_id=1"), "another deck"))
    tap.check("another owner", refusal(book.call("job", "open", "customer_id=2", "deck_id=1", "warranty_of_id=1"), "another customer"))
    done = book.call("job", "open", *deck, "warranty_of_id=0001", "kind=warranty")
    tap.check("its own deck and owner in time", done.stderr)
    shown = book.ok("job", "show", "2")
    tap.check("it is named by its number", "" if re.search(r"Warranty return of job +0001\n", shown) else shown)
    with sqlite3.connect(book.folder + "/book.sqlite") as base:  # a year on
        base.execute("DROP TRIGGER invoice_unchanged")
        base.execute("UPDATE invoice SET warranty_until = ?", (day(-1),))
    tap.check("after its end", refusal(book.call("job", "open", *deck, "warranty_of_id=1"), f"ended on {day(-1)}"))


def twins(tap, book):
    book.ok("customer", "show", "1", "phone=0123 45678", "email=edda@post.example", "marketing=no")
    book.ok("deck", "show", "1", "serial=S-77")
    for words, same in ((["name=edda MARLOW"], True), (["name=E.M.", "phone=(0123)-45678"], True), (["name=E.", "email=EDDA@post.example"], True),
                        (["name=Ed Marlow", "phone=0123 45679"], False)):
        said = book.ok("customer", "add", *words)
        tap.check(f"{words} is {'noticed' if same else 'another'}", ("Is it the same as Edda Marlow, id 1?" in said) != same)
    said = book.ok("deck", "add", "make=HOLLIN", "serial=s-77", "motor=synchronous", "lesson=Rests on felt")
    tap.check("a deck by its serial", "" if "merge deck 2 1" in said else said)
    tap.check("not without one", "Is it the same" in book.ok("deck", "add", "make=Hollin"))
    book.ok("customer", "show", "2", "address=Mill Lane 3", "marketing=yes")
    book.ok("job", "open", "customer_id=2", "deck_id=2")
    book.ok("deck", "give", "2", "2")
    book.ok("deck", "note", "2", "deck.speed=45rpm")
    book.ok("deck", "give", "1", "1")
    tap.check("decks of two owners stay two", refusal(book.call("book", "merge", "deck", "2", "1"), "two owners"))
    tap.check("nobody is merged with himself", refusal(book.call("book", "merge", "customer", "2", "2"), "same customer twice"))
    tap.check("nothing else is merged", refusal(book.call("book", "merge", "job", "1", "2"), "Customers and decks"))
    book.ok("book", "merge", "customer", "2", "1")
    book.ok("book", "merge", "deck", "2", "1")
    one = json.loads(book.ok("customer", "show", "1", "--json"))
    tap.check("what was missing is filled, what was agreed is not", "" if (one["address"], one["name"], one["marketing"]) ==
              ("Mill Lane 3", "Edda Marlow", False) else one)
    deck = json.loads(book.ok("deck", "show", "1", "--json"))
    tap.check("the deck too", "" if (deck["lesson"], deck["motor"], deck["make"]) == ("Rests on felt", "synchronous", "Hollin") else deck)
    job = json.loads(book.ok("job", "show", "2", "--json"))["job"]
    tap.check("the jobs go with them", "" if (job["customer_id"], job["deck_id"]) == (1, 1) else job)
    tap.check("and what was noted", "" if "deck.speed = 45rpm" in book.ok("deck", "note", "1") else "lost")
    tap.check("the other is gone", book.call("customer", "show", "2").returncode != 2)
    journal = book.ok("book", "journal", "customer", "2")
    tap.check("the journal says so", "" if "merged into id 1" in journal else journal)
    tap.check("the book is sound", "" if "The book is sound." in book.call("book", "check").stdout else book.call("book", "check").stdout)


def set_long_ago(book):
    """The settings stood before any deck came: the journal, which nothing else changes, says so."""
    with sqlite3.connect(book.folder + "/book.sqlite") as base:
        guard, = base.execute("SELECT sql FROM sqlite_master WHERE name = 'journal_unchanged'").fetchone()
        base.execute("DROP TRIGGER journal_unchanged")
        base.execute("UPDATE journal SET at = ? WHERE entity = 'setting'", (day(-300) + "T10:00:00Z",))
        base.execute(guard)


def last_words(tap, book):
    """The owner is shown what will become of the deck: on the receipt, which is signed, and on the last notice."""
    for paper, more in (("receipt", ()), ("notice", ("kind=last-notice",))):
        book.ok("report", paper, "1", "--out", f"{book.folder}-{paper}.pdf", *more)
        text = subprocess.run(["pdftotext", f"{book.folder}-{paper}.pdf", "-"], capture_output=True, text=True, check=True).stdout
        tap.check(f"the {paper} says them as they were", "" if "Two letters, thirty days." in text and "burnt" not in text else text)


def merged(tap, book):
    """Whatever the record that goes said stands afterwards."""
    for words in (("name=Jo Ash", "phone=0111 1", "note=NOTE A", "publish_photos=no", "route=letter", "country=DE"),
                  ("name=jo ash", "phone=0222 2", "note=NOTE B", "publish_photos=yes", "route=email", "country=FR")):
        book.ok("customer", "add", *words)
    first, second = (row["id"] for row in json.loads(book.ok("book", "list", "customer", "--json")) if row["name"].lower() == "jo ash")
    book.ok("deck", "add", "make=Hollin", "serial=Z-9", "motor=induction", "lesson=Oil it")
    deck = str(json.loads(book.ok("book", "list", "deck", "--json"))[-1]["id"])
    book.ok("deck", "add", "make=HOLLIN", "serial=z-9", "motor=synchronous", "lesson=Do not", "plug=flat")
    twin = str(json.loads(book.ok("book", "list", "deck", "--json"))[-1]["id"])
    book.ok("deck", "note", deck, "deck.speed=33rpm")
    book.ok("deck", "note", twin, "deck.speed=45rpm")
    book.ok("deck", "give", twin, str(first))
    book.ok("book", "merge", "customer", str(first), str(second))
    book.ok("book", "merge", "deck", twin, deck)
    stays = json.loads(book.ok("customer", "show", str(second), "--json"))
    lost = [value for value in ("Jo Ash", "0111 1", "0222 2", "NOTE A", "NOTE B", "letter", "email", "DE", "FR") if value not in json.dumps(stays)]
    tap.check("nothing that either customer's record said is lost", lost)
    tap.check("a no to publishing stays a no", "" if stays["publish_photos"] is False else stays)
    kept = json.loads(book.ok("deck", "show", deck, "--json"))
    lost = [value for value in ("Hollin", "Z-9", "induction", "synchronous", "Oil it", "Do not", "flat", "45rpm") if value not in json.dumps(kept)]
    tap.check("nor that either deck's said", lost)
    tap.check("who share nothing are not made one", refusal(book.call("book", "merge", "customer", str(second), "1"), "share neither"))
    tap.check("nor are two decks", refusal(book.call("book", "merge", "deck", deck, "1"), "same make and serial"))


def without(rows, *keys):
    """ROWS of a table without what any change moves on."""
    return [{key: value for key, value in row.items() if key not in keys} for row in rows]


def tables(book):
    """Every row of the book but the journal and what is worked out of the rest, each table by the ids."""
    with sqlite3.connect(book.folder + "/book.sqlite") as base:
        base.row_factory = sqlite3.Row
        names = [row[0] for row in base.execute("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'search%' AND name NOT IN ('journal', 'seal')")]
        return {name: without(map(dict, base.execute(f'SELECT * FROM "{name}" ORDER BY 1')), "revision") for name in names}


def two_and_two(book):
    """Two customers that are one and two decks that are one, with all that can hang on both."""
    for words in (("name=Jo Ash", "phone=0111 1", "note=NOTE A", "publish_photos=no", "route=letter", "country=DE"),
                  ("name=jo ash", "email=jo@example", "note=NOTE B", "publish_photos=yes", "route=email", "country=FR")):
        book.ok("customer", "add", *words)
    first, second = (row["id"] for row in json.loads(book.ok("book", "list", "customer", "--json")) if row["name"].lower() == "jo ash")
    for words in (("make=HOLLIN", "serial=z-9", "motor=synchronous", "lesson=Do not", "plug=flat"), ("make=Hollin", "serial=Z-9", "motor=induction", "lesson=Oil it")):
        book.ok("deck", "add", *words)
    twin, deck = (row["id"] for row in json.loads(book.ok("book", "list", "deck", "--json"))[-2:])
    for number, speed in ((twin, "45rpm"), (deck, "33rpm")):
        book.ok("deck", "note", str(number), f"deck.speed={speed}")
    book.ok("deck", "note", str(twin), "drive.belt_length=480mm")
    book.ok("deck", "give", str(twin), str(first))
    book.ok("deck", "give", str(deck), str(first))
    for number in (twin, deck):
        book.ok("job", "open", f"customer_id={first}", f"deck_id={number}", "fault=Hum")
    book.ok("book", "change", "customer", str(first), "phone=0111 2")
    return str(first), str(second), str(twin), str(deck)


def taken_apart(tap, book):
    """A merging is undone whole: every row of every table is again as it was, what went under its own number."""
    first, second, twin, deck = two_and_two(book)
    for kind, goes, stays in (("customer", first, second), ("deck", twin, deck)):
        before = tables(book)
        said = book.ok("book", "merge", kind, goes, stays)
        tap.check(f"two of a {kind} are one", "" if book.call(kind, "show", goes).returncode == 2 else "it is there")
        with sqlite3.connect(book.folder + "/book.sqlite") as base:
            lines = base.execute("SELECT id, field FROM journal WHERE entity = ? AND row_id = ? ORDER BY id", (kind, goes)).fetchall()
            begun = base.execute("SELECT max(id) FROM journal WHERE field = 'merged'").fetchone()[0]
        away = [line for line, field in lines if line > begun]
        tap.check("what it did is not undone alone", refusal(book.call("book", "undo", str(away[0])), "Undo that first: it is line"))
        book.ok(*re.search(r"deckwright (book undo \d+)'", said).group(1).split())
        after = tables(book)
        tap.check(f"the {kind} and all that hung on it is as it was",
                  [f"{name}: {before[name]} {after[name]}" for name in before if before[name] != after[name]])
        tap.check("it is not undone twice", refusal(book.call("book", "undo", str(away[-1])), "stands in the book again"))
        tap.check("the book is sound", "" if "The book is sound." in book.ok("book", "check") else "it is not")


def parted_later(tap, book):
    """What came since stays with the one that stayed, a second merging is undone first, and nobody comes back from an erasure."""
    first, second, _, _ = two_and_two(book)
    undo = re.search(r"deckwright (book undo \d+)'", book.ok("book", "merge", "customer", first, second)).group(1).split()
    book.ok("book", "change", "customer", second, "phone=0333 3")
    book.ok("job", "open", f"customer_id={second}", "fault=Came later")
    book.ok("customer", "add", "name=Jo Ash", "phone=0999")
    third = str(json.loads(book.ok("book", "list", "customer", "--json"))[-1]["id"])
    again = re.search(r"deckwright (book undo \d+)'", book.ok("book", "merge", "customer", second, third)).group(1).split()
    tap.check("the later merging is undone first", refusal(book.call(*undo), "went too since. Undo that first."))
    book.ok(*again)
    book.ok(*undo)
    kept = {row["id"]: row for row in json.loads(book.ok("book", "list", "customer", "--json"))}
    tap.check("who went is back", "" if kept[int(first)]["phone"] == "0111 2" and kept[int(first)]["note"] == "NOTE A" else kept)
    tap.check("what was changed since stays", "" if kept[int(second)]["phone"] == "0333 3" and kept[int(second)]["note"] == "NOTE B" else kept)
    owners = {row["fault"]: str(row["customer_id"]) for row in json.loads(book.ok("book", "list", "job", "--json"))}
    tap.check("so does what came since", "" if owners.get("Came later") == second and owners.get("Hum") == first else owners)


def parted_and_erased(tap, book):
    """Two people taken for one: what the one said leaves the other's card and the journal when they are parted, though the
    note was written on meanwhile; what stays is told; and an erasure tells where the person still stands."""
    book.ok("customer", "add", "name=Lou Sedge", "phone=0444 111111", "email=own@lou.example")
    first = str(json.loads(book.ok("book", "list", "customer", "--json"))[-1]["id"])
    book.ok("customer", "add", "name=Lou Sedge", "phone=0444 222222", "email=secret@other.example", "address=9 Hidden Lane\nPort Example", "note=Has a dog.\nBites.")
    second = str(int(first) + 1)
    undo = re.search(r"deckwright (book undo \d+)'", book.ok("book", "merge", "customer", second, first)).group(1).split()
    note = json.loads(book.ok("customer", "show", first, "--json"))["note"]
    book.ok("book", "change", "customer", first, "note=Ring first.\n" + note + "\nRings in the morning.", "phone=0444 333333")
    book.ok("job", "open", f"customer_id={first}", "fault=Came between")
    said = book.ok(*undo)
    tap.check("what stays with the one that stayed is told", "" if f"Id {first} keeps what was added or changed since: 1 job, Telephone, Note." in said else said)
    rows = {row["id"]: row for row in json.loads(book.ok("book", "list", "customer", "--json"))}
    tap.check("the note keeps what was added, and nothing of the other's", "" if rows[int(first)]["note"] == "Ring first.\nRings in the morning." else rows[int(first)])
    tap.check("who went has all again", "" if (rows[int(second)]["email"], rows[int(second)]["note"]) == ("secret@other.example", "Has a dog.\nBites.") else rows[int(second)])
    with sqlite3.connect(book.folder + "/book.sqlite") as base:
        left = [row for row in base.execute("SELECT * FROM journal WHERE entity = 'customer' AND row_id = ?", (first,)) if "secret@" in str(row) or "Hidden Lane" in str(row)]
        own = base.execute("SELECT count(*) FROM journal WHERE entity = 'customer' AND row_id = ? AND new_value = '0444 333333'", (first,)).fetchone()[0]
    tap.check("nor does the journal about the one", left)
    tap.check("which keeps what is the one's own", "" if own else "gone")
    book.ok("book", "change", "customer", first, "note=Writes for Lou too: SECRET@other.example", "may_collect=0444 222222")
    book.ok("job", "open", f"customer_id={first}", "fault=Ask secret@other.example")
    number = json.loads(book.ok("book", "list", "job", "--json"))[-1]["id"]
    said = book.ok("book", "erase", second)
    tap.check("an erasure tells where the person still stands", [words for words in (
        f"customer, id {first}: Note held the erased Email, which is erased there too.", f"customer, id {first}: May also collect held the erased Telephone, ",
        f"job, id {number}: Fault still holds the erased Email.") if words not in said] and said)
    row = next(row for row in json.loads(book.ok("book", "list", "customer", "--json")) if row["id"] == int(first))
    tap.check("and takes it off the other's card", "" if row["note"] == "Writes for Lou too: (erased)" and row["may_collect"] == "(erased)" and row["phone"] == "0444 333333" and row["name"] == "Lou Sedge" else row)
    with sqlite3.connect(book.folder + "/book.sqlite") as base:
        left = [row for row in base.execute("SELECT * FROM journal WHERE entity = 'customer'") if "secret@other" in str(row).lower()]
    tap.check("and the journal of people forgets it", left)


def erased_after(tap, book):
    """An erasure takes what the other said too, out of the journal and out of an older backup."""
    first, second, twin, deck = two_and_two(book)
    backup = book.folder + "-backup"
    for number in (json.loads(book.ok("book", "list", "job", "--json"))):
        book.ok("job", "move", str(number["number"]), "handed-over", "--sure")
    book.ok("book", "backup", backup)
    undo = re.search(r"deckwright (book undo \d+)'", book.ok("book", "merge", "customer", first, second)).group(1).split()
    book.ok("book", "erase", second)
    with sqlite3.connect(book.folder + "/book.sqlite") as base:
        left = [row for row in base.execute("SELECT * FROM journal") if any(word in str(row) for word in ("0111 1", "0111 2", "NOTE A", "Jo Ash", "jo@example"))]
    tap.check("nothing of either is left in the journal", left)
    tap.check("and they are not taken apart", refusal(book.call(*undo), "erased with the person"))
    book.ok("book", "restore", backup)
    shown = [row for row in json.loads(book.ok("book", "list", "customer", "--json")) if row["id"] in (int(first), int(second))]
    tap.check("a backup from before brings neither back", "" if all(row["name"] == "(erased)" for row in shown) else shown)


def disposal(tap, book):
    missing = "What is missing: "
    book.ok("job", "add", "1", "intake", "terms_accepted=yes", f"at={day(-200)}T10:00:00Z")
    tap.check("a letter that calls for it is asked about", refusal(book.call("job", "add", "1", "notice", "kind=ready"),
              "The job is neither ready nor declined: there is no deck to be fetched. Nothing was added. With --sure"))
    tap.check("a deck on the bench is not let go", refusal(book.call("job", "dispose", "1", "how=sold"), "does not wait"))
    book.ok("job", "move", "1", "ready", "--sure")
    tap.check("no terms, no disposal", refusal(book.call("job", "dispose", "1", "how=sold"), missing + "the shop's terms"))
    book.ok("book", "settings", "storage.notices=2", "storage.wait_days=30", "storage.terms=Two letters, thirty days.")
    tap.check("terms that came after the deck do not count", refusal(book.call("job", "dispose", "1", "how=sold"),
              missing + f"terms for decks left behind that its owner saw: the shop had none when it was taken in, on {day(-200)}"))
    set_long_ago(book)
    tap.check("notices are counted", refusal(book.call("job", "dispose", "1", "how=sold"), missing + "notices: 0 of 2"))
    with sqlite3.connect(book.folder + "/book.sqlite") as base:  # it has stood there for long
        base.execute("UPDATE job SET state_since = ?", (day(-100) + "T10:00:00Z",))
    ready = ("job", "add", "1", "notice", "kind=ready", f"sent_on={day(-90)}")
    book.ok(*ready)
    tap.check("a second of one day is asked about", refusal(book.call(*ready), "Such a notice is noted for that day already. Nothing was added. With --sure"))
    tap.check("in every way", refusal(book.call("book", "add", "notice", "job_id=1", *ready[4:]), "noted for that day already"))
    book.ok(*ready, "--sure")
    tap.check("two of one day are one", refusal(book.call("job", "dispose", "1", "how=sold"), missing + "notices: 1 of 2"))
    book.ok("job", "add", "1", "notice", "kind=reminder", f"sent_on={day(-60)}")
    tap.check("the last notice is asked for", refusal(book.call("job", "dispose", "1", "how=sold"), missing + "the last notice"))
    book.ok("job", "add", "1", "notice", "kind=last-notice", f"sent_on={day(-29)}")
    tap.check("and the time after it", refusal(book.call("job", "dispose", "1", "how=sold"), missing + f"time: until {day(1)}"))
    book.ok("book", "settings", "storage.notices=1", "storage.wait_days=10", "storage.terms=It is burnt.")
    tap.check("what is made easier later does not count", refusal(book.call("job", "dispose", "1", "how=sold"), missing + f"time: until {day(1)}"))
    last_words(tap, book)
    listed = book.ok("job", "abandoned")
    tap.check("the list says what is missing", "" if f"notices sent 3, the last on {day(-29)}. Missing: time" in listed else listed)
    book.ok("book", "settings", "storage.wait_days=20", "storage.terms=Two letters, thirty days.")
    with sqlite3.connect(book.folder + "/book.sqlite") as base:  # ten days pass
        base.execute("UPDATE notice SET sent_on = ? WHERE kind = 'last notice'", (day(-40),))
    tap.check("not before its day", refusal(book.call("job", "dispose", "1", "how=sold", f"disposed_on={day(-20)}"), "let it go from"))
    tap.check("by moving alone it does not go", refusal(book.call("job", "move", "1", "disposed-of"), "Write down what became"))
    done = book.call("job", "dispose", "1", "how=sold", "amount=40", "witness=Ines", "words=At the spring sale")
    tap.check("then it is let go, with the terms of that day", "" if "Two letters, thirty days." in done.stdout else done.stderr)
    tap.check("it is off the board", "" if book.ok("board") == "No deck is in the shop.\n" else "on the board")
    tap.check("and stays gone", refusal(book.call("job", "move", "1", "received"), "not here any more"))
    tap.check("its record stays", refusal(book.call("book", "remove", "disposal", "1"), "stays in the book"))


def undone(tap, book):
    book.ok("job", "add", "1", "finding", "symptom=hums", "cause=earth", "action=none")
    said = book.ok("book", "change", "finding", "1", "cause=loop", "action=one earth")
    words = re.search(r"deckwright (book undo \d+ \d+)'", said).group(1).split()
    book.ok(*words)
    shown = json.loads(book.ok("book", "show", "finding", "1", "--json"))
    tap.check("a change of several fields is taken back at once", "" if (shown["cause"], shown["action"]) == ("earth", "none") else shown)
    said = book.ok("book", "remove", "finding", "1")
    book.ok(*re.search(r"deckwright (book undo \d+)'", said).group(1).split())
    shown = json.loads(book.ok("book", "list", "finding", "--json"))
    tap.check("what was taken out is put back", "" if [row["cause"] for row in shown] == ["earth"] else shown)
    number = json.loads(book.ok("invoice", "draft", "1", "--json"))["id"]
    book.ok("invoice", "line", str(number), "name=Look", "amount=10")
    book.ok("invoice", "issue", str(number))
    book.ok("invoice", "pay", str(number))
    said = book.ok("book", "remove", "payment", "1")
    tap.check("a payment taken out opens the invoice", "" if json.loads(book.ok("invoice", "show", "1", "--json"))["due"] == "10.00" else said)
    again = book.call(*re.search(r"deckwright (book undo \d+)'", said).group(1).split())
    tap.check("what somebody wrote of it went for good", refusal(again, "Enter it anew"))
    book.ok("invoice", "pay", str(number))
    shown = json.loads(book.ok("invoice", "show", "1", "--json"))
    tap.check("paid again it is settled", "" if (shown["due"], shown["invoice"]["paid_on"]) == ("0.00", str(TODAY)) else shown)
    shown = json.loads(book.ok("job", "show", "1", "--json"))
    tap.check("all of a job is one object", "" if shown["customer"]["name"] == "Edda Marlow" and len(shown["payment"]) == 1 else shown)


def as_told(tap, book):
    """What an owner was told when the deck came stays so on every paper and bill, whatever the shop asks for later."""
    book.ok("book", "settings", "money.estimate_charge=25", "storage.daily_charge=2", "storage.free_days=14", "shop.terms=Old terms hold.")
    set_long_ago(book)
    book.ok("job", "add", "1", "intake", f"at={day(-100)}T10:00:00Z", "terms_accepted=yes", "estimate_charge_told=yes", "storage_charge_told=yes")
    book.ok("job", "move", "1", "ready", "--sure")
    book.ok("job", "add", "1", "notice", "kind=ready", f"sent_on={day(-20)}")
    book.ok("estimate", "draft", "1")
    book.ok("estimate", "line", "1", "name=Belt", "kind=part", "price=50")
    book.ok("estimate", "issue", "1")
    papers = (("receipt", ()), ("estimate", ()), ("notice", ("kind=storage-charge",)))

    def texts():
        said = {}
        for paper, more in papers:
            book.ok("report", paper, "1", "--out", book.folder + "/said.pdf", *more)
            said[paper] = subprocess.run(["pdftotext", book.folder + "/said.pdf", "-"], capture_output=True, text=True, check=True).stdout
        return said

    before = texts()
    # By hand: told 20 days ago, 14 of them free, 6 at 2.00.
    tap.check("the papers say what was told", "" if "25.00" in before["receipt"] and "Old terms hold." in before["receipt"] and "25.00" in before["estimate"]
              and "2.00 EUR a day" in before["notice"] and "12.00" in before["notice"] else before)
    book.ok("book", "settings", "money.estimate_charge=40", "storage.daily_charge=9", "storage.free_days=1", "shop.terms=New terms bite.")
    after = texts()
    tap.check("and go on saying it", [paper for paper in before if before[paper] != after[paper]])
    book.ok("job", "add", "1", "consent", "person=Ben", "answer=refused", "tier=all", "estimate_id=1")
    draft = json.loads(book.ok("invoice", "draft", "1", "--json"))["id"]
    lines = json.loads(book.ok("invoice", "show", str(draft), "--json"))["lines"]
    tap.check("so is it billed", "" if [line["amount"] for line in lines] == ["25.00"] else lines)
    book.ok("job", "open", "customer_id=1", "deck_id=1")
    book.ok("job", "add", "2", "intake", "terms_accepted=yes", "estimate_charge_told=yes")
    book.ok("report", "receipt", "2", "--out", book.folder + "/said.pdf")
    said = subprocess.run(["pdftotext", book.folder + "/said.pdf", "-"], capture_output=True, text=True, check=True).stdout
    tap.check("whoever comes now is told what stands now", "" if "40.00" in said and "New terms bite." in said and "Old terms" not in said else said)


def twice(tap, book):
    """The same sum on the same day is asked about: a second tap books no second deposit."""
    deposit = ("invoice", "deposit", "1", "50", "method=cash")
    book.ok(*deposit)
    tap.check("a deposit", refusal(book.call(*deposit), "The same amount is noted for that day already. Nothing was added. With --sure"))
    book.ok("invoice", "deposit", "1", "51")
    book.ok("invoice", "deposit", "1", "50", f"paid_on={day(-1)}")
    book.ok(*deposit, "--sure")
    book.ok("invoice", "draft", "1")
    book.ok("invoice", "line", "1", "name=Look", "amount=1000")
    book.ok("invoice", "issue", "1")
    book.ok("invoice", "pay", "1", "amount=10")
    tap.check("a payment", refusal(book.call("invoice", "pay", "1", "amount=10"), "noted for that day already"))
    book.ok("invoice", "pay", "1", "amount=10", "--sure")
    shown = json.loads(book.ok("invoice", "show", "1", "--json"))
    tap.check("whoever is sure books it", "" if shown["paid"] == "221.00" else shown)
    tap.check("no other verb takes the word", refusal(book.call("job", "tell", "1", "Hello", "--sure"), "--sure is not an option"))


def search(tap, book):
    book.ok("job", "show", "1", "advice=Keep it away from the radiator", "not_done=Hinges left alone")
    book.ok("job", "add", "1", "intake", "words=It rumbles like a tractor uphill")
    book.ok("job", "add", "1", "finding", "symptom=flutter on piano", "cause=glazed idler")
    for words in ("tractor", "radiator", "hinges", "glazed idler", "piano"):
        found = book.ok("book", "search", words)
        tap.check(f"'{words}' is found as written", "" if re.match(r"job +id 1 +0001", found) else found)
    for slip, meant in (("tracktor", "tractor"), ("marlwo", "marlow"), ("radiatro", "radiator"), ("hollim", "hollin"), ("glased idlr", "glazed idler")):
        found = book.ok("book", "search", slip)
        tap.check(f"'{slip}' is taken for '{meant}'", "" if f'Found by "{meant}"' in found and "id 1" in found else found)
    tap.check("what is like nothing is not found", "" if "Nothing in the book" in book.ok("book", "search", "xylophone") else "found")
    tap.check("short words are taken as typed", "" if "Nothing in the book" in book.ok("book", "search", "bq") else "found")
    tap.check("a job is found once", book.ok("book", "search", "it").count("0001") > 1)
    book.ok("job", "move", "1", "handed-over", "--sure")
    book.ok("book", "erase", "1")
    tap.check("the owner's words go with the owner", "" if "Nothing" in book.ok("book", "search", "tractor") else "found")


def told(tap, book):
    """What a list or a refusal says is enough to act on."""
    book.ok("job", "add", "1", "verdict", "item=Cord", "aspect=use", "grade=unsafe")
    for amount in ("10", "20"):
        draft = json.loads(book.ok("invoice", "draft", "1", "--json"))["id"]
        book.ok("invoice", "line", str(draft), "name=Look", f"amount={amount}")
        if amount == "10":
            book.ok("invoice", "issue", str(draft))
            book.ok("invoice", "pay", str(draft), f"paid_on={TODAY}")
    for _ in range(2):
        book.ok("estimate", "draft", "1")
        book.ok("estimate", "line", "1", "name=Belt", "kind=part", "price=5")
    book.ok("job", "add", "1", "consent", "person=Ben", "answer=agreed", "tier=minimum", "amount=5")
    shown = book.ok("job", "show", "1")
    for words in ("Cord, unsafe  (verdict", f"{TODAY}, 10.00  (payment", "agreed Ben, minimum, 5.00  (consent", "  draft  (invoice"):
        tap.check(f"the job says: {words}", "" if words in shown else shown)
    listed = book.ok("book", "list", "invoice")
    tap.check("invoices are told apart", "" if f"{TODAY.year}-0001, job 0001, {TODAY}" in listed and "draft, job 0001" in listed else listed)
    tap.check("so are estimates", "" if "version 1, job 0001" in book.ok("book", "list", "estimate") else book.ok("book", "list", "estimate"))
    tap.check("who has a job stays, and is said to", refusal(book.call("book", "remove", "deck", "1"), "Another entry of the book refers to the deck, id 1"))
    tap.check("an invoice", refusal(book.call("book", "change", "invoice", "1", "colour=red"), "An invoice has no \"colour\""))
    os.chmod(book.folder, 0o755)
    done = book.call("book", "check")
    tap.check("rights are no matter for a backup", "" if done.returncode == 1 and "chmod -R go= " in done.stderr and "mend" not in done.stderr else done.stderr)
    os.chmod(book.folder, 0)
    done = book.call("board")
    if os.getuid():
        tap.check("a folder that is not open to one is not an empty one", "" if "cannot be looked into" in done.stderr else done.stderr)
    os.chmod(book.folder, 0o700)


def main(program):
    program = os.path.abspath(program)
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        for part in (days, reopened, warranty, twins, merged, taken_apart, parted_later, parted_and_erased, erased_after, disposal, undone, as_told, twice, search, told):
            part(tap, Book(program, f"{folder}/{part.__name__}"))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
