#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Each measurement on the proof has its own uncertainty, verdict, flags and limit, and what was
measured last as left is what stands as left."""
import os
import sys
import tempfile

from small_book import Book, Tap, alter_sheet


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


def main(program, _source=None):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        for trial in (both, never_nothing, newest, other_key, flags):
            trial(tap, os.path.abspath(program), folder)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
