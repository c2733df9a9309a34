#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A sheet kept on a job takes from the book what the bench's forms take: class, drive, arm, record, chain. What is
typed stands before it, and the sheet says what came from the book."""
import configparser
import json
import os
import pathlib
import sqlite3
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap  # noqa: E402


def allowed(source, kind, key):
    """The limit of KEY for a class of deck, read from the data by another reader."""
    parser = configparser.ConfigParser(interpolation=None)
    parser.read(f"{source}/data/limits/{kind}.ini", encoding="utf-8")
    return tuple(float(end.split()[0]) for end in parser[key]["allowed"].split(".."))


def new_book(program, folder):
    book = Book(program, folder, deck=("make=Corvin", "model=Idler 4", "serial=5521", "drive=idler", "class=vintage",
                                       "rated_frequency_hz=50"))
    book.ok("deck", "note", "1", "drive.motor_poles=4", "drive.pulley_diameter=7.5mm", "drive.rim_diameter=268mm",
            "drive.idler_diameter=40mm")
    book.ok("register", "add", "chain", "name=Bench chain", "clock_error=120")
    book.play(folder + "/take.wav", "synth.length=14s", "fault.speed_error=1.4%")
    return book


def measure(book, *operands):
    done = book.call("speed", book.folder + "/take.wav", *operands, "--job", "1", "--as", "received", "--json")
    if done.returncode not in (0, 3):
        raise RuntimeError(done.stderr)
    return json.loads(done.stdout)


def reading(sheet, key):
    return next(row for row in sheet["readings"] if row["key"] == key)


def check_taken(tap, book, source):
    sheet = measure(book, "record.name=Disc A")
    given = {key: value["text"] for key, value in sheet["inputs"].items() if value["given"]}
    wanted = {"deck.class": "vintage", "drive.kind": "idler", "deck.mains": "50.00", "drive.motor_poles": "4",
              "drive.idler_diameter": "40.00", "chain.name": "Bench chain", "chain.clock_error": "120.0",
              "deck.name": "Corvin Idler 4 5521", "record.name": "Disc A"}
    tap.check("class, drive, mains and chain are the book's",
              {key: given.get(key) for key, text in wanted.items() if given.get(key) != text})
    error = reading(sheet, "speed.error")
    limit = error["limit"]
    tap.check("it is judged by the deck's class", "" if (limit["low"], limit["high"]) == allowed(source, "vintage", "speed.error")
              and (limit["low"], limit["high"]) != allowed(source, "hifi", "speed.error") else limit)
    said = [remark for remark in sheet["remarks"] if remark.startswith("From the job book: ")]
    tap.check("the sheet says what came from the book", "" if len(said) == 1 and "vintage" in said[0] and "idler" in said[0]
              and "Bench chain" in said[0] else sheet["remarks"])
    tap.check("by the name that each is typed by", "" if "drive.idler_diameter=40.00 mm" in said[0] and "deck.class=vintage" in said[0] else said)
    tap.check("and not what was typed", [remark for remark in said if "Disc A" in remark])
    with sqlite3.connect(book.folder + "/book.sqlite") as base:
        rows = base.execute("SELECT low, high FROM reading WHERE key = 'speed.error'").fetchall()
    tap.check("the book keeps those limits", "" if rows == [allowed(source, "vintage", "speed.error")] else rows)


def check_typed(tap, book, source):
    sheet = measure(book, "deck.class=broadcast", "chain.clock_error=0ppm", "drive.kind=belt", "record.name=Disc B")
    limit = reading(sheet, "speed.error")["limit"]
    tap.check("what is typed stands before the book",
              "" if (limit["low"], limit["high"]) == allowed(source, "broadcast", "speed.error") else limit)
    tap.check("the typed drive too", "" if sheet["inputs"]["drive.kind"]["text"] == "belt" else sheet["inputs"]["drive.kind"])
    said = " ".join(remark for remark in sheet["remarks"] if remark.startswith("From the job book: "))
    tap.check("the sheet does not call it the book's", "" if "broadcast" not in said and "idler," not in said + "," else said)


def check_conditions(tap, book):
    sheet = measure(book)
    tap.check("the record of the job's last sheet is taken",
              "" if sheet["inputs"]["record.name"]["text"] == "Disc B" else sheet["inputs"].get("record.name"))
    done = book.call("channels", book.folder + "/take.wav", "--job", "1", "--as", "received", "--json")
    inputs = json.loads(done.stdout)["inputs"] if done.returncode in (0, 3) else {"record.name": {"text": done.stderr}}
    tap.check("also by another procedure", "" if inputs.get("record.name", {}).get("text") == "Disc B" else inputs)


def check_deck_file(tap, book):
    path = pathlib.Path(book.folder, "own.deck")
    path.write_text("[deck]\nclass = portable\n", encoding="utf-8")
    sheet = measure(book, "--deck", str(path))
    tap.check("a deck file stands before the book", "" if sheet["inputs"]["deck.class"]["text"] == "portable" else sheet["inputs"])


def check_said_twice(tap, book):
    """An arm's length and overhang say one thing: what is typed, else what was noted as it stands."""
    book.ok("register", "add", "arm", "deck_id=1", "pivot_to_spindle_mm=214", "effective_length_mm=230")
    book.ok("job", "add", "1", "set_up", "phase=as-received", "key=arm.overhang", "value=14.5", "unit=mm")
    book.ok("job", "add", "1", "set_up", "phase=as-received", "key=arm.offset", "value=22.4", "unit=deg")
    for typed, key, text in ((), "arm.overhang", "14.5"), (("arm.effective_length=231mm",), "arm.effective_length", "231"):
        done = book.call("align", *typed, "--job", "1", "--as", "received", "--json")
        inputs = json.loads(done.stdout)["inputs"] if done.returncode in (0, 3) else {}
        tap.check(f"{key} {text} stands", "" if inputs.get(key, {}).get("text", "").startswith(text) and inputs[key]["given"]
                  else done.stderr or inputs)


def check_rounds(tap, book):
    """The job's last alignment is the round before of the next: what its move has gained is told."""
    first = book.call("align", "arm.pivot_to_spindle=222", "found.slip=1.5", "found.twist=1", "--job", "1", "--as", "during")
    tap.check("the first round has none before it", "" if first.returncode == 0 and "Before → after" not in first.stdout
              else first.stdout + first.stderr)
    second = book.call("align", "arm.pivot_to_spindle=222", "found.slip=0.2", "found.twist=0.1", "--job", "1", "--as", "left",
                       "--json")
    sheet = json.loads(second.stdout) if second.returncode in (0, 3) else {"remarks": [second.stderr], "readings": []}
    told = [line for line in sheet["remarks"] if line.startswith("Before → after: overhang")]
    gained = [each["value"] for each in sheet["readings"] if each["key"] == "found.gained"]
    tap.check("the second says before → after and what was gained", "" if told and gained and gained[0] > 0
              else f"{sheet['remarks']} {gained}")


def check_without(tap, book):
    done = book.call("speed", book.folder + "/take.wav", "--job", "9", "--as", "received")
    tap.check("a job that there is not is said before anything is measured",
              "" if (done.returncode, done.stdout) == (2, "") and "no job 0009" in done.stderr else done.stderr)


def main(program, source):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        book = new_book(os.path.abspath(program), folder + "/book")
        check_taken(tap, book, source)
        check_typed(tap, book, source)
        check_conditions(tap, book)
        check_deck_file(tap, book)
        check_rounds(tap, book)
        check_said_twice(tap, book)
        check_without(tap, book)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
