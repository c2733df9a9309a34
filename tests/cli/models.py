#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The library of models from the command line: it is offered with the next deck, goes into measuring where the deck says
nothing, and passes from one shop to another."""
import html
import json
import os
import pathlib
import re
import sqlite3
import subprocess
import sys
import tempfile

for room in ("report", "web"):
    sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / room))
from bench import Bench, Device  # noqa: E402
from small_book import Book, Tap  # noqa: E402


def new_book(program, folder, serial="S-1"):
    os.makedirs(folder)
    return Book(program, folder, deck=("make=Corvin", "model=Belt 2", f"serial={serial}", "drive=belt"))


def fill(book):
    for number, (pulley, poles) in enumerate((("12.1mm", 24), ("12.2mm", 24), ("12.6mm", 24)), 1):
        if number > 1:
            book.ok("deck", "add", "make=Corvin", "model=Belt 2", f"serial=S-{number}", "drive=belt")
        book.ok("deck", "note", str(number), f"drive.pulley_diameter={pulley}", f"drive.motor_poles={poles}",
                "drive.motor_kind=synchronous", "drive.rim_diameter=160mm")
    book.ok("model", "add", "make=Corvin", "name=Belt 2", "class=hifi")
    book.ok("model", "note", "1", "drive.belt_thickness=0.8mm", "source=service manual")
    book.ok("register", "add", "bound", "make=Corvin", "model=Belt 2", "key=wow.weighted", "high=0.15", "source=manual")
    book.ok("model", "fault", "1", "fault=Belt slack", "remedy=New belt, 490 mm", "seen=2")


def sheet_of(book, job, *operands):
    done = book.call("drive", "deck.speed=33.333rpm", *operands, "--job", str(job), "--as", "received", "--json")
    if done.returncode not in (0, 3):
        raise RuntimeError(done.stderr)
    return json.loads(done.stdout)


def given(sheet):
    return {key: value["text"] for key, value in sheet["inputs"].items() if value["given"]}


def check_next_deck(tap, book):
    offer = book.ok("deck", "add", "make=CORVIN", "model=belt 2", "serial=S-4")
    tap.check("the next deck is told of its model", [words for words in (
        "The library knows Corvin Belt 2", "12.2 mm (median of 3 decks, 12.1 to 12.6 mm)", "0.8mm (service manual)",
        "Belt slack: New belt, 490 mm (2 decks)",
        "wow.weighted to 0.15 (manual)") if words not in offer])
    book.ok("job", "open", "customer_id=1", "deck_id=4")
    sheet = sheet_of(book, 2)
    wanted = {"deck.class": "hifi", "drive.kind": "belt", "drive.pulley_diameter": "12.200", "drive.motor_poles": "24",
              "drive.belt_thickness": "0.80"}
    tap.check("measuring takes what the deck does not say",
              {key: given(sheet).get(key) for key, text in wanted.items() if given(sheet).get(key) != text})
    said = [remark for remark in sheet["remarks"] if remark.startswith("As the library has it for CORVIN belt 2")]
    endings = ["drive.pulley_diameter=12.200 mm (median of 3 decks, 12.1 to 12.6 mm).", "drive.belt_thickness=0.80 mm (service manual).",
               "(the same on 3 decks)."]
    tap.check("the sheet says where it came from, each origin once", "" if all(sum(one.endswith(end) for one in said) == 1 for end in endings)
              else said)
    tap.check("once", [remark for remark in sheet["remarks"] if remark.startswith("From the job book") and "drive.pulley_diameter" in remark])
    book.ok("register", "add", "bound", "class=hifi", "key=drive.error", "low=-77", "high=77", "source=of the class")
    error = next(row for row in sheet_of(book, 2)["readings"] if row["key"] == "drive.error")
    tap.check("the shop's limits for the model's class hold", "" if error["limit"]["high"] == 77 else error)
    tap.check("a kept sheet is no deck that was measured", "" if "3 decks" in book.ok("model", "show", "1")
              else book.ok("model", "show", "1"))


def page_of(bench, sheet):
    return " ".join(html.unescape(re.sub(r"<[^>]+>", "", Device(bench).get(f"/sheet/{sheet}").text)).split())


def check_language(tap, program, book):
    """The kept sheet in the language of whoever reads it. What is looked for is German as po/de.po has it, numbers with
    its comma; the same remark as it was kept before, all in one list, stays readable."""
    env = {**os.environ, "LANGUAGE": "de", "LC_ALL": "C.UTF-8"}
    done = subprocess.run([program, "drive", "deck.speed=33.333rpm", "--job", "2", "--as", "received", "--chart", book.folder + "/drive.pdf",
                           "--book", book.folder], capture_output=True, text=True, check=False, env=env)
    tap.check("the terminal says it in German", [words for words in ("(Median von 3 Geräten, 12,1 bis 12,6 mm)", "(gleich bei 3 Geräten)")
                                                 if words not in " ".join(done.stdout.split())])
    drawn = subprocess.run(["pdftotext", "-layout", book.folder + "/drive.pdf", "-"], capture_output=True, text=True, check=True).stdout
    tap.check("so does the paper", [words for words in ("Median von 3 Geräten", "gleich bei 3 Geräten") if words not in " ".join(drawn.split())])
    with sqlite3.connect(book.folder + "/book.sqlite") as database:
        number, kept = database.execute("SELECT id, sheet FROM measurement ORDER BY id DESC LIMIT 1").fetchone()
    with Bench(program, book.folder, env=env) as bench:
        page = page_of(bench, number)
        tap.check("so does its page", [words for words in ("(Median von 3 Geräten, 12,1 bis 12,6 mm)", "(gleich bei 3 Geräten)") if words not in page]
                  + [words for words in ("median of", "the same on") if words in page])
    whole = json.loads(kept)
    at = next(i for i, one in enumerate(whole["remarks"]) if "median of 3 decks" in one)
    pattern = "As the library has it for %s %s, not found on this deck: %s."
    parts = ["CORVIN", "belt 2", "drive.pulley_diameter=12.200 mm (median of 3 decks, 12.1 to 12.6 mm); drive.motor_poles=24 (the same on 3 decks)"]
    whole["remarks"][at] = pattern % tuple(parts)
    whole["sayings"]["remarks"][at] = {"pattern": pattern, "parts": parts}
    with sqlite3.connect(book.folder + "/book.sqlite") as database:
        columns = [row[1] for row in database.execute("PRAGMA table_info(measurement)") if row[1] != "id"]
        taken = ", ".join("?" if column == "sheet" else column for column in columns)
        older = database.execute(f"INSERT INTO measurement ({', '.join(columns)}) SELECT {taken} FROM measurement WHERE id = ?",
                                 (json.dumps(whole, ensure_ascii=False), number)).lastrowid
    with Bench(program, book.folder, env=env) as bench:
        page = page_of(bench, older)
        tap.check("an older sheet stays readable", "" if "Wie die Bibliothek es für CORVIN belt 2 hat" in page
                  and "(median of 3 decks, 12.1 to 12.6 mm)" in page else page[-900:])


def check_own_word(tap, book):
    book.ok("deck", "note", "4", "drive.motor_speed=1425rpm", "drive.pulley_diameter=7mm")
    sheet = sheet_of(book, 2, "drive.belt_width=5mm")
    tap.check("what the deck says stands, and nothing of another motor or belt beside it", "" if
              given(sheet).get("drive.pulley_diameter") == "7.000" and "drive.motor_poles" not in given(sheet)
              and "drive.belt_thickness" not in given(sheet) and given(sheet).get("drive.rim_diameter") == "160.00"
              else given(sheet))
    sheet = sheet_of(book, 2, "drive.kind=direct")
    tap.check("a deck driven otherwise takes none of the model's drive",
              [key for key in given(sheet) if key in ("drive.rim_diameter", "drive.motor_kind", "drive.belt_thickness")])
    said = [remark for remark in sheet["remarks"] if remark.startswith("As the library") and "Pulley" in remark]
    tap.check("its own pulley is not called the library's", said)


def check_sharing(tap, book, other):
    path = book.folder + "/../corvin.ini"
    book.ok("model", "export", "1", path)
    again = book.call("model", "export", "1", path)
    tap.check("a file that is there is not written over", "" if again.returncode == 2 else again.stdout)
    inside = book.call("model", "export", "1", book.folder + "/book.sqlite")
    tap.check("nor is anything put into a job book", "" if inside.returncode == 2 and "belongs to a job book" in inside.stderr
              else (inside.returncode, inside.stderr))
    told = other.ok("model", "import", path)
    tap.check("another shop takes it in", "" if "is new in the library" in told and "1 fault, 1 limit" in told else told)
    offer = other.ok("deck", "add", "make=Corvin", "model=Belt 2", "serial=Z-9")
    tap.check("and is offered it", "" if "median of 4 decks, 7 to 12.6 mm, shared by" in offer else offer)
    other.ok("job", "open", "customer_id=1", "deck_id=2")
    said = [remark for remark in sheet_of(other, 2, "drive.motor_speed=250rpm")["remarks"] if remark.startswith("As the library has it")]
    tap.check("its sheet says who shared it", "" if any("(median of 4 decks, 7 to 12.6 mm, shared by " in one for one in said)
              and any("(service manual, shared by " in one for one in said) else said)
    shown = json.loads(other.ok("model", "show", "1", "--json"))
    pulley = [row for row in shown["known"] if row["key"] == "drive.pulley_diameter"]
    tap.check("as JSON too", "" if len(pulley) == 1 and pulley[0]["origin"] == "shared" and pulley[0]["decks"] == 4
              and pulley[0]["low"] == 7 and pulley[0]["high"] == 12.6 else pulley)
    with open(path, encoding="utf-8") as file:
        text = file.read()
    tap.check("no customer, serial or job is in the file", [word for word in ("S-1", "S-2", "Edda", "0001") if word in text])


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        book, other = new_book(program, folder + "/one"), new_book(program, folder + "/two", "Y-1")
        fill(book)
        check_next_deck(tap, book)
        check_language(tap, program, book)
        check_own_word(tap, book)
        check_sharing(tap, book, other)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
