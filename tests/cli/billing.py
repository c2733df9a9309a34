#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What was fitted and worked comes onto the invoice, what does not is said, and no invoice is issued above what was
agreed to. Amounts by decimal arithmetic on what is typed here."""
import decimal
import os
import pathlib
import re
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap  # noqa: E402

RATE, TAX = decimal.Decimal("80"), decimal.Decimal("20")
PARTS = [("Flat belt 576 x 5", "18.50", "1"), ("Rubber foot", "4.25", "4"), ("Fuse 160 mA", "0.90", "2")]
MINUTES = [("main bearing cleaned and oiled", 45), ("speed set", 20)]


def totals(net):
    tax = (net * TAX / 100).quantize(decimal.Decimal("0.01"), decimal.ROUND_HALF_UP)
    return f"net {net:.2f}  tax {tax:.2f}  total {net + tax:.2f}"


def worked_net():
    net = sum(decimal.Decimal(price) * decimal.Decimal(count) for _, price, count in PARTS)
    return net + sum((RATE * minutes / 60).quantize(decimal.Decimal("0.01"), decimal.ROUND_HALF_UP) for _, minutes in MINUTES)


def new_book(program, folder):
    book = Book(program, folder)
    book.ok("book", "settings", f"money.tax_rate={TAX}", f"money.labour_rate={RATE}")
    return book


def do_work(book):
    for name, price, count in PARTS:
        book.ok("job", "add", "1", "part", f"name={name}", f"price={price}", f"quantity={count}")
    for name, minutes in MINUTES:
        book.ok("job", "add", "1", "operation", f"name={name}", f"actual_minutes={minutes}")
    book.ok("job", "add", "1", "operation", "name=only planned", "quoted_minutes=30")


def from_nothing(tap, program, folder):
    book = new_book(program, folder + "/nothing")
    do_work(book)
    drafted = book.ok("invoice", "draft", "1")
    tap.check("a draft from nothing takes what was fitted and worked", "" if totals(worked_net()) in drafted else drafted)
    shown = book.ok("invoice", "show", "1")
    tap.check("each with its line", [name for name, *_ in PARTS + MINUTES if name not in shown])
    tap.check("and what was only planned is not billed", "only planned" in shown)
    again = book.ok("invoice", "draft", "1")
    tap.check("a second draft does not bill it twice", "" if totals(decimal.Decimal(0)) in again else again)
    book.ok("job", "add", "1", "part", "name=Knob")
    shown = book.ok("invoice", "show", "2")
    tap.check("what has no price is said", "" if "Not billed yet" in shown and "  Knob, 1\n" in shown else shown)
    text = book.paper("invoice")
    tap.check("also on the paper of the draft", "" if "Not on this draft yet: Knob." in text else text)


def against_agreed(tap, program, folder):
    book = new_book(program, folder + "/agreed")
    book.ok("estimate", "draft", "1")
    book.ok("estimate", "line", "1", "name=Fit a flat belt, clean and oil the main bearing", "kind=labour", "minutes=60",
            "tier=minimum")
    book.ok("estimate", "line", "1", "name=Flat belt", "kind=part", "price=18.50", "tier=minimum")
    book.ok("estimate", "issue", "1")
    book.ok("job", "add", "1", "consent", "estimate_id=1", "tier=minimum", "answer=agreed", "person=Edda")
    do_work(book)
    drafted = book.ok("invoice", "draft", "1", "estimate=1", "tier=minimum")
    agreed = decimal.Decimal("98.50")
    tap.check("the agreed option's lines are taken over", "" if totals(agreed) in drafted else drafted)
    missing = re.findall(r"^  (.*), (?:\d+ min|[\d.]+)$", drafted.split("Not billed yet")[-1], re.M)
    tap.check("what it does not cover is said", "" if missing == ["speed set", "Rubber foot", "Fuse 160 mA"] else drafted)
    text = book.paper("invoice")
    tap.check("on the paper too", "" if "Not on this draft yet: speed set, 20 min; Rubber foot, 4 ×; Fuse 160 mA, 2 ×." in text
              else text)
    proposed = book.ok("invoice", "propose", "1")
    tap.check("it is added when asked for", "" if "3 lines added." in proposed and "Not billed" not in proposed else proposed)
    refused = book.call("invoice", "issue", "1")
    more = agreed + RATE * 20 / 60 + decimal.Decimal("17.00") + decimal.Decimal("1.80")
    gross = totals(more.quantize(decimal.Decimal("0.01"), decimal.ROUND_HALF_UP)).split()[-1]
    wanted = (f"deckwright: The job's invoices come to {gross}, and 118.20 was agreed to. Ask the owner, and write down the "
              "new answer first.\n")
    tap.check("more than agreed is not issued", "" if (refused.returncode, refused.stderr) == (2, wanted) else refused.stderr)
    tap.check("and has no number", "" if "Issued on" not in book.ok("invoice", "show", "1") else "numbered")
    book.ok("job", "add", "1", "consent", "answer=agreed-up-to", f"amount={gross}", "person=Edda", "how=telephone")
    tap.check("a new consent lets it go", book.call("invoice", "issue", "1").stderr)
    book.ok("invoice", "draft", "1")
    book.ok("invoice", "line", "2", "name=Carriage", "amount=1")
    tap.check("several invoices count together", "" if book.call("invoice", "issue", "2").returncode == 2 else "issued")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        from_nothing(tap, os.path.abspath(program), folder)
        against_agreed(tap, os.path.abspath(program), folder)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
