#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Each measurement on the proof has its own uncertainty, verdict, flags and limit, and what was
measured last as left is what stands as left."""
import datetime
import os
import pathlib
import subprocess
import sys
import tempfile

from sentence_books import picture
from small_book import Book, Tap, alter_sheet, flat


def note(book, key, value, phase, doubt, instrument="Gauge", label="Wobble"):
    book.ok("job", "note", "1", key, value, f"as={phase}", f"label={label}", f"uncertainty={doubt}",
            f"instrument={instrument}")


def both(tap, program, folder):
    """Two readings of one thing, with everything of theirs different."""
    book = Book(program, folder + "/both")
    book.ok("register", "add", "bound", "class=hifi", "key=shop.wobble", "high=0.1", "source=the shop's first sheet")
    note(book, "shop.wobble", "0.2273 %", "received", "0.0632")
    book.ok("register", "add", "bound", "class=hifi", "make=Hollin", "model=B2", "key=shop.wobble", "high=0.5",
            "source=the model's sheet")
    note(book, "shop.wobble", "0.0209 %", "left", "0.0001")
    text = book.paper("proof", layout=True)
    tap.check("as received has its own uncertainty", "" if "0.227 ± 0.064" in text else text)
    tap.check("as left has its own uncertainty", "" if "0.0209 ± 0.0001" in text else text)
    row = text.split("Read by hand")[-1].split("Allowed ranges")[0]
    tap.check("each has its own verdict", "" if "Attention soon" in row and "Good" in row else row)
    tap.check("each has its own limit", "" if "up to 0.1" in row and "up to 0.5" in row else row)
    tap.check("both sources are named", "" if "first sheet" in text and "model's sheet" in text else text)


def never_nothing(tap, program, folder):
    """An uncertainty never prints as nothing, and a value has as many places as its uncertainty."""
    for doubt, shown in (("0.00001", "1.54 ± 0.01"), ("0.3", "1.54 ± 0.30"), ("0.034", "1.54 ± 0.04"), ("12", "2 ± 12")):
        book = Book(program, f"{folder}/nothing-{doubt}")
        note(book, "shop.weight", "1.54 g", "left", doubt, label="Weight")
        text = book.paper("proof", layout=True)
        tap.check(f"1.54 with {doubt} is {shown}", "" if f" {shown} " in text else text.split("Read by hand")[-1][:200])


def newest(tap, program, folder):
    """The newest reading as left stands, also where an older one could be compared."""
    book = Book(program, folder + "/newest")
    for value, phase, instrument in (("1.54 g", "received", "Scale 1"), ("1.52 g", "left", "Scale 1"),
                                     ("1.50 g", "left", "Scale 2")):
        note(book, "force.tracking_g", value, phase, "0.02", instrument, "Tracking force")
    page = book.paper("service", layout=True).split("What was done")[0]
    tap.check("the newest as left is on page one", "" if "1.50 g" in page and "1.52" not in page else page)


def other_key(tap, program, folder):
    """The same thing under another key, or noted as a setting, is as left all the same."""
    book = Book(program, folder + "/key")
    note(book, "force.tracking_g", "1.54 g", "received", "0.02", label="Tracking force")
    note(book, "force.reading", "1.50 g", "left", "0.02", label="Scale reading")
    page = book.paper("service", layout=True).split("What was done")[0]
    tap.check("another key of the same thing is as left", "" if "1.50 g as left" in page else page)
    book = Book(program, folder + "/setting")
    note(book, "force.tracking_g", "1.54 g", "received", "0.02", label="Tracking force")
    book.ok("job", "add", "1", "set_up", "phase=as-left", "key=force.reading", "value=1.50", "unit=g")
    page = book.paper("service", layout=True).split("What was done")[0]
    tap.check("a setting noted as left is as left", "" if "1.50 g as left" in page else page)


def other_force(tap, program, folder):
    """Skating worked out for the wanted force is not printed as that of the force it came with."""
    said = {"English": "at the wanted force", "German": "bei der gewünschten Auflagekraft", "French": "à la force voulue",
            "Spanish": "con la fuerza deseada"}
    book = Book(program, folder + "/force")
    arm = ("arm.pivot_to_spindle=222", "arm.effective_length=239.3", "force.target=1.8", "--job", "1", "--as")
    book.ok("force", *arm, "received")
    book.ok("force", "force.reading=2.4", *arm, "left")
    for language, words in said.items():
        book.ok("customer", "show", "1", f"language={language}")
        text = flat(book.paper("proof"))
        tap.check(f"{language}: what is for the wanted force is called so", "" if words in text else text[-2500:])


def flags(tap, program, folder):
    """What is doubtful about one measurement is said of that one."""
    book = Book(program, folder + "/flags")
    note(book, "shop.wobble", "0.22 %", "received", "0.03")
    note(book, "shop.wobble", "0.02 %", "left", "0.01")
    alter_sheet(book, lambda sheet: sheet["readings"][0].update(flags=["clipped"]))
    text = book.paper("proof", layout=True)
    tap.check("a doubt is said of the reading as received alone",
              "" if "Wobble as received is doubtful: the recording was overdriven" in text and "as left is doubtful" not in text
              else text.split("Read by hand")[-1][:500])


def bounded(book, key, low, high):
    book.ok("register", "add", "bound", "make=Hollin", "model=B2", f"key={key}", f"low={low}", f"high={high}",
            "source=our sheet")


def judged(book):
    for aspect in ("use", "records", "performance"):
        book.ok("job", "add", "1", "verdict", f"item={aspect} part", f"aspect={aspect}", "grade=good", "phase=as-left")


def beyond_the_limit(tap, program, folder):
    """A reading that stands beyond its limit answers page one's question, and is something to do."""
    def left(book):
        note(book, "shop.wobble", "9 %", "left", "0.01")

    def force(book):
        note(book, "force.tracking_g", "9 g", "left", "0.02", label="Tracking force")

    def received(book):
        note(book, "shop.wobble", "9 %", "received", "0.01")

    def mended(book):
        received(book)
        note(book, "shop.wobble", "2 %", "left", "0.01")

    def worked(book):
        received(book)
        book.ok("job", "add", "1", "operation", "name=belt fitted", "actual_minutes=5")

    def reset(book):
        note(book, "force.tracking_g", "9 g", "received", "0.02", label="Tracking force")
        book.ok("job", "add", "1", "set_up", "phase=as-left", "key=force.reading", "value=2", "unit=g")

    def one_of_two(book):
        left(book)
        note(book, "shop.drift", "2 %", "left", "0.01", label="Drift")

    for make, question, thing in ((left, "performs", "Wobble"), (force, "records", "Pressure of the stylus"),
                                  (received, "performs", "Wobble"), (mended, None, ""), (worked, None, ""),
                                  (reset, None, ""), (one_of_two, "performs", "Wobble")):
        book = Book(program, f"{folder}/beyond-{make.__name__}")
        bounded(book, "shop.wobble", 0, 5)
        bounded(book, "shop.drift", 0, 5)
        bounded(book, "force.tracking_g", 1, 5)
        judged(book)
        make(book)
        text = book.paper("service")
        answers = text.split("Safe to use?")[1].split("What to do")[0]
        tap.check(f"{make.__name__}: page one answers by {thing or 'no reading'}",
                  "" if (f"outside what is allowed: {thing}." in answers) == bool(thing) and
                  answers.count("Yes.") == (2 if thing else 3) else answers)
        tap.check(f"{make.__name__}: what to do says it", "" if ("Ask us what can be done" in text) == bool(thing) and
                  ("Nothing needs doing" in text) != bool(thing) else text)


def told_and_done(tap, program, folder):
    """A deck that was declined and of which somebody was told something: nobody says that nothing was done."""
    for told in (False, True):
        book = Book(program, f"{folder}/told-{told}")
        book.ok("job", "add", "1", "verdict", "item=Cord", "aspect=use", "grade=" + ("unsafe" if told else "replace"))
        if told:
            book.ok("job", "acknowledge", "1", "Edda", "its plug is cut off")
        book.ok("job", "move", "1", "declined", "--sure")
        text = book.paper("service")
        book.ok("job", "add", "1", "operation", "name=plug cut off", "actual_minutes=5")
        left = book.paper("service")
        tap.check(f"told {told}: no warranty of what was declined", "" if "Warranty" not in left and "Plug cut off" in left else left)
        tap.check(f"told {told}: what is said to be done", "" if ("No work was done on the deck." in text) != told else text)


def lost_pictures(tap, program, folder):
    """No paper speaks of a picture that is gone, and the shop is told which it is."""
    book = Book(program, folder + "/lost")
    book.ok("job", "add", "1", "intake", "words=hums")
    for name in ("worn tip", "torn cable"):
        picture(book, name, "as-received")
    files = sorted(pathlib.Path(book.folder, "attachments").rglob("*"), key=lambda path: path.is_dir())
    files = [path for path in files if path.is_file()]
    tap.check("two are kept", "" if "2 photographs were taken" in book.paper("receipt") else "not said")
    for path in files:
        path.unlink()
    for paper, said in (("receipt", "kept with this job"), ("proof", "Photographs")):
        out = f"{folder}/lost-{paper}.pdf"
        done = book.call("report", paper, "1", "--out", out)
        text = flat(subprocess.run(["pdftotext", out, "-"], capture_output=True, text=True, check=True).stdout)
        tap.check(f"{paper} says nothing of them", "" if said not in text and "Worn tip" not in text and "worn tip" not in text and
                  "cannot be shown" not in text else text)
        tap.check(f"{paper} tells the shop", "" if done.returncode == 3 and "worn tip (id 1), torn cable (id 2)" in done.stderr
                  else f"{done.returncode} {done.stderr}")


def charges_before_tax(tap, program, folder):
    """What an invoice adds tax to is told as what it is, in each language."""
    said = {"English": "before tax", "German": "vor Steuern", "French": "hors taxes", "Spanish": "sin impuestos"}
    book = Book(program, folder + "/charges")
    book.ok("book", "settings", "money.estimate_charge=25", "storage.daily_charge=2", "storage.free_days=0", "money.tax_rate=20")
    book.ok("job", "add", "1", "intake", "estimate_charge_told=yes", "storage_charge_told=yes")
    book.ok("estimate", "draft", "1")
    book.ok("estimate", "line", "1", "name=Belt", "kind=part", "price=10")
    book.ok("estimate", "issue", "1")
    book.ok("job", "move", "1", "ready", "--sure")
    for days, kind in ((5, "ready"), (1, "storage-charge"), (0, "last-notice")):
        book.ok("job", "add", "1", "notice", f"kind={kind}", f"sent_on={datetime.date.today() - datetime.timedelta(days=days)}")
    for language, words in said.items():
        book.ok("customer", "show", "1", f"language={language}")
        for paper, more, count in (("receipt", (), 2), ("estimate", (), 1), ("notice", ("kind=storage-charge",), 1),
                                   ("notice", ("kind=last-notice",), 1)):
            text = book.paper(paper, *more)
            tap.check(f"{language} {paper} {more} says it", "" if text.count(words) == count else text)


def main(program, _source=None):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        for trial in (both, never_nothing, newest, other_key, other_force, flags, beyond_the_limit, told_and_done, lost_pictures,
                      charges_before_tax):
            trial(tap, os.path.abspath(program), folder)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
