#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Amounts of invoices. Source (published): the rules of EN 16931-1:2017, 6.4, each named beside its check: BR-CO-10 (sum of lines), BR-CO-13
(without tax), BR-CO-14 (tax is the sum of its shares), BR-CO-15 (with tax), BR-CO-16 (due), BR-CO-17 (a share is its amount
times its rate, rounded to two decimals), BR-S-08 and -09, BR-Z-08 and -09, BR-E-08 and -09 (amount and tax of each category).
The figures of the table TABLE are worked out by hand from those rules, on paper; the rest by decimal arithmetic here."""
import datetime
import decimal
import json
import os
import pathlib
import re
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap  # noqa: E402

D = decimal.Decimal
# Lines (amount without tax, how it is taxed), then the totals without tax, of tax, with tax. Own working: the first has
# three lines that would come to 0.01 more were tax rounded by line (3 x 0.033 = 0.10, not 3 x 0.03 = 0.09).
TABLE = [
    ("tax is rounded once, on the sum of its lines", [("0.33", "own-rate 10"), ("0.33", "own-rate 10"), ("0.33", "own-rate 10")],
     ("0.99", "0.10", "1.09")),
    ("each rate apart, halves away from zero", [("10.50", "own-rate 19"), ("4.50", "own-rate 19"), ("12.50", "own-rate 7")],
     ("27.50", "3.73", "31.23")),  # 15.00 x 19 % = 2.85; 12.50 x 7 % = 0.875, which is 0.88
    ("zero rated and exempt bear none", [("100.00", "as-the-bill"), ("50.00", "zero-rated"), ("30.00", "exempt")],
     ("180.00", "20.00", "200.00")),  # 100.00 x 20 %
    ("a credit line lowers its own rate's share", [("100.00", "own-rate 19"), ("-25.25", "own-rate 19"), ("10.00", "own-rate 7")],
     ("84.75", "14.90", "99.65")),  # 74.75 x 19 % = 14.2025; 10.00 x 7 % = 0.70
    ("a rate with decimals", [("33.33", "own-rate 5.5")], ("33.33", "1.83", "35.16")),  # 1.83315
]


def invoice(book, lines):
    """A draft with LINES; its id."""
    number = json.loads(book.ok("invoice", "draft", "1", "--json"))["id"]
    for amount, tax in lines:
        kind, _, rate = tax.partition(" ")
        words = [f"tax={kind}"] + ([f"tax_rate={rate}"] if rate else [])
        book.ok("invoice", "line", str(number), "name=Line", f"amount={amount}", "kind=charge" if amount[0] != "-" else "kind=credit",
                *words)
    return str(number)


def totals(book, number):
    found = re.search(r"net (\S+)  tax (\S+)  total (\S+)", book.ok("invoice", "show", number))
    return found.groups()


def refusal(done, words):
    """What is wrong with a call that is to be refused with WORDS."""
    return "" if (done.returncode, done.stdout) == (2, "") and words in done.stderr else f"{done.returncode} {done.stdout}{done.stderr}"


def by_table(tap, book):
    for name, lines, wanted in TABLE:
        got = totals(book, invoice(book, lines))
        tap.check(name, "" if got == wanted else f"{got}, not {wanted}")
    number = invoice(book, TABLE[2][1])
    shown = book.ok("invoice", "show", number)
    parts = ["tax at 20 % on 100.00: 20.00", "taxed at 0 %: 50.00", "exempt from tax: 30.00"]
    tap.check("each share is shown (BR-S-08, BR-Z-08, BR-E-08)", [part for part in parts if part not in shown])


def payments(tap, book):
    book.ok("invoice", "deposit", "1", "40", "method=cash")
    number = invoice(book, [("100.00", "as-the-bill")])  # 120.00 with tax
    shown = book.ok("invoice", "show", number)
    tap.check("a draft knows the deposit", "" if "paid 40.00  left to pay 80.00" in shown else shown)
    issued = book.ok("invoice", "issue", number)
    tap.check("the deposit goes with the invoice (BR-CO-16)", "" if "paid 40.00  left to pay 80.00" in issued else issued)
    tap.check("more than is left is refused", refusal(book.call("invoice", "pay", number, "amount=80.01"), "No more than 80.00"))
    part = book.ok("invoice", "pay", number, "amount=30", "method=card", "reference=A1")
    tap.check("a part payment leaves the rest", "" if "left to pay 50.00" in part else part)
    tap.check("it is not paid yet", "Paid on" in book.ok("invoice", "show", number))
    text = book.paper("invoice")
    tap.check("the paper says what was paid and what is left", "" if "Paid −70.00" in text and "Left to pay 50.00" in text else text)
    book.ok("invoice", "pay", number)
    shown = book.ok("invoice", "show", number)
    tap.check("the rest settles it", "" if "Paid on" in shown and "left to pay 0.00" in shown else shown)
    tap.check("nothing is paid twice", refusal(book.call("invoice", "pay", number), "Nothing is left to pay"))
    tap.check("no more goes back than came", refusal(book.call("invoice", "refund", number, "120.01"), "No more than 120.00"))
    back = book.ok("invoice", "refund", number, "20", "method=card")
    tap.check("a refund opens it again", "" if "left to pay 20.00" in back else back)
    tap.check("a payment to come is refused", refusal(book.call("invoice", "pay", number, "2999-01-01"), "still to come"))
    tap.check("a payment without an invoice is a deposit", refusal(book.call("invoice", "pay", "77"), "no invoice number 77"))


def corrections(tap, book):
    number = invoice(book, [("100.00", "as-the-bill"), ("50.00", "exempt")])
    tap.check("a draft is not credited", refusal(book.call("invoice", "credit", number), "Change the draft itself"))
    book.ok("invoice", "issue", number)
    first = json.loads(book.ok("invoice", "show", number, "--json"))["invoice"]
    label = f"{first['year']}-{first['number']:04d}"
    draft = book.ok("invoice", "credit", label, "name=Scratch on the lid", "amount=25")
    note = re.search(r"id (\d+)", draft).group(1)
    book.ok("invoice", "issue", note)
    shown = book.ok("invoice", "show", label)
    tap.check("a credit note comes off what is due", "" if "credited 30.00" in shown and "left to pay 140.00" in shown else shown)
    text = book.paper("invoice")
    tap.check("its paper names the invoice", "" if "Credit note" in text and f"{label} of {datetime.date.today().day} " in text.replace("\u00a0", " ") else text)
    more = book.ok("invoice", "credit", label, "name=Too much", "amount=200")
    over = re.search(r"id (\d+)", more).group(1)
    tap.check("no more is credited than was asked", refusal(book.call("invoice", "issue", over), "at most 140.00"))
    book.ok("book", "remove", "invoice", over)
    second = invoice(book, [("10.00", "exempt")])
    book.ok("invoice", "issue", second)
    cancelled = book.ok("invoice", "cancel", second, "Written to the wrong person")
    tap.check("a cancellation leaves nothing to pay", "" if "left to pay 0.00" in cancelled else cancelled)
    tap.check("nothing is cancelled twice", book.call("invoice", "cancel", second, "Again").returncode != 2)
    rows = [(row["year"], row["number"]) for row in json.loads(book.ok("invoice", "list", "--json")) if row["state"] == "issued"]
    tap.check("numbers have no gaps within the year", "" if sorted(rows) == [(rows[0][0], i + 1) for i in range(len(rows))] else rows)
    third = invoice(book, [("60.00", "exempt")])
    book.ok("book", "change", "invoice", third, f"corrects_id={first['id']}")
    tap.check("what was credited is not replaced", refusal(book.call("invoice", "issue", third), "credited in part"))
    rest = book.ok("invoice", "cancel", label, "Wrong person")
    tap.check("what was credited in part is cancelled for the rest", "" if "left to pay 0.00" in rest else rest)
    tap.check("and then wholly", refusal(book.call("invoice", "cancel", label, "Again"), "credited wholly"))
    # 5 % of 0.20 is 0.01, and so is 5 % of each half: what is rounded twice is no hindrance.
    halves = invoice(book, [("0.20", "own-rate 5")])
    book.ok("invoice", "issue", halves)
    half = re.search(r"id (\d+)", book.ok("invoice", "credit", halves, "name=Half", "amount=0.10")).group(1)
    book.ok("invoice", "issue", half)
    rest = book.ok("invoice", "cancel", halves, "Wrong person")
    tap.check("whatever its tax was rounded to", "" if "left to pay 0.00" in rest else rest)
    fourth = invoice(book, [("70.00", "exempt")])
    book.ok("invoice", "issue", fourth)
    book.ok("invoice", "pay", fourth, "amount=20")
    book.ok("book", "change", "invoice", third, f"corrects_id={fourth}")
    issued = book.ok("invoice", "issue", third)
    tap.check("the payments go to the invoice in its place", "" if "paid 20.00  left to pay 40.00" in issued else issued)
    tap.check("the replaced one asks for nothing", "" if "left to pay 0.00" in book.ok("invoice", "show", fourth) else "asks")
    checked = book.call("book", "check")
    tap.check("the book is sound", "" if "The book is sound." in checked.stdout else checked.stdout)


def agreed(tap, book):
    """What was credited may be billed again, and no more than that."""
    book.ok("job", "add", "1", "consent", "answer=agreed-up-to", "amount=100", "person=Edda")
    number = invoice(book, [("100.00", "exempt")])
    book.ok("invoice", "issue", number)
    note = re.search(r"id (\d+)", book.ok("invoice", "credit", number, "name=Scratch", "amount=40")).group(1)
    # The line of a credit note is taxed as the lines of its invoice, which are exempt: 40.00 come off.
    book.ok("invoice", "issue", note)
    more = invoice(book, [("40.01", "exempt")])
    tap.check("above what was agreed, less what was credited, is refused",
              refusal(book.call("invoice", "issue", more), "come to 100.01, and 100.00 was agreed"))
    line = json.loads(book.ok("invoice", "show", more, "--json"))["lines"][0]["id"]
    book.ok("book", "change", "invoice_line", str(line), "amount=40")
    tap.check("up to it is not", book.call("invoice", "issue", more).stderr)


def too_much(tap, book):
    number = invoice(book, [])
    for words in (["price=9999999999", "quantity=1000000"], ["kind=labour", "minutes=100000", "price=9999999999"],
                  ["price=1", "quantity=1e300"]):
        done = book.call("invoice", "line", number, "name=Much", *words)
        tap.check("refused: " + " ".join(words), refusal(done, "more than the book can bill"))
    book.ok("invoice", "line", number, "name=Most", "amount=4000000000")
    tap.check("and so is the sum", refusal(book.call("invoice", "line", number, "name=More", "amount=4000000000"), "more than the book"))
    tap.check("the rest stands", "" if "total 4800000000.00" in book.ok("invoice", "show", number) else "lost")
    tap.check("a credit has a minus sign", refusal(book.call("invoice", "line", number, "name=x", "kind=credit", "amount=5"),
                                                   "minus sign"))
    tap.check("an own rate is above 0", refusal(book.call("invoice", "line", number, "name=x", "amount=5", "tax=own-rate"),
                                                "above 0"))


def estimate(book, *answers, told=True):
    """A job of its own whose estimate of three options got ANSWERS; its number."""
    job = re.search(r"Job (\d+)", book.ok("job", "open", "customer_id=1", "deck_id=1")).group(1)
    book.ok("job", "add", job, "intake", f"estimate_charge_told={'yes' if told else 'no'}")
    number = str(json.loads(book.ok("estimate", "draft", job, "--json"))["id"])
    for tier, amount in (("minimum", 10), ("recommended", 20), ("full", 40)):
        book.ok("estimate", "line", number, "name=Line", "kind=charge", f"amount={amount}", f"tier={tier}")
    book.ok("estimate", "issue", number)
    for answer, tier in answers:
        book.ok("job", "add", job, "consent", f"estimate_id={number}", f"answer={answer}", f"tier={tier}", "person=Edda")
    return job, number


def refused_estimates(tap, book):
    book.ok("book", "settings", "money.estimate_charge=25")
    job, number = estimate(book, ("refused", "full"))
    done = book.call("job", "add", job, "consent", f"estimate_id={number}", "answer=agreed", "tier=full", "person=Edda")
    tap.check("a refused option is closed", refusal(done, "refused before"))
    done = book.call("job", "add", job, "consent", f"estimate_id={number}", "answer=agreed", "tier=minimum", "person=Edda")
    tap.check("one refusal closes one option", done.stderr)
    drafted = book.ok("invoice", "draft", job)
    tap.check("no charge while an option stands", "Charge for the estimate" in drafted)
    job, _ = estimate(book, ("refused", "minimum"), ("refused", "recommended"), ("refused", "full"))
    drafted = book.ok("invoice", "draft", job)
    tap.check("its charge is asked for when all are refused", "" if "net 25.00" in drafted else drafted)
    again = book.ok("invoice", "draft", job)
    tap.check("and asked for once", "net 25.00" in again)
    job, _ = estimate(book, ("refused", "all"))
    tap.check("all can be refused at once", "" if "net 25.00" in book.ok("invoice", "draft", job) else "not asked")
    job, _ = estimate(book, ("refused", "all"), told=False)
    drafted = book.ok("invoice", "draft", job)
    tap.check("a charge that nobody was told is not asked for, and that is said",
              "" if "net 0.00" in drafted and "nobody was told" in drafted else drafted)
    job, number = estimate(book, ("agreed", "recommended"), ("refused", "recommended"))
    book.ok("invoice", "draft", job)
    done = book.ok("job", "add", job, "consent", f"estimate_id={number}", "answer=agreed", "tier=minimum", "person=Edda")
    tap.check("a refusal takes an agreement back, and another option may follow", "" if "12.00" in done else done)


def currencies(tap, program, folder):
    """Minor units. Source (published): ISO 4217's own list (tests/vectors/currencies.csv)."""
    root = pathlib.Path(__file__).resolve().parents[2]
    book = Book(program, folder + "/currency")
    rows = (root / "tests/vectors/currencies.csv").read_text(encoding="utf-8").splitlines()[2:]
    wanted = {code: int(digits) for code, digits in (row.split(",") for row in rows)}
    source = (root / "src/book/shop/currency.c").read_text(encoding="utf-8")
    listed = {code: int(digits) for digits, codes in re.findall(r'\{(\d), ((?:"[^"]*"\s*)+)\}', source)
              for code in re.findall(r"[A-Z]{3}", codes)}
    tap.check("each currency has its decimals", {code for code in wanted if listed.get(code) != wanted[code]})
    # The guilder of Curacao and Sint Maarten took the place of ANG after that list.
    tap.check("there are no others", set(listed) - set(wanted) - {"XCG"})
    for code, amount, bad in (("JPY", "1200", "12.5"), ("KWD", "1.250", "1.2505"), ("EUR", "1.25", "1.255")):
        book.ok("book", "settings", f"money.currency={code}")
        set_to = book.call("book", "settings", f"money.labour_rate={amount}")
        tap.check(f"{code} takes {amount}", set_to.stderr)
        tap.check(f"{code} refuses {bad}", refusal(book.call("book", "settings", f"money.labour_rate={bad}"), "is not an amount"))
    for much in ("9" * 17, "9" * 40, "9" * 40 + ".00"):
        tap.check(f"{much[:24]} is told to be too much", refusal(book.call("book", "settings", f"money.labour_rate={much}"), "more than the book can bill"))
    tap.check("what is no currency is refused", refusal(book.call("book", "settings", "money.currency=ABC"), "no currency ABC"))
    tap.check("decimals follow the currency", refusal(book.call("book", "settings", "money.digits=3"), "2 decimals by ISO 4217"))
    number = invoice(book, [("10.00", "exempt")])
    book.ok("invoice", "issue", number)
    tap.check("amounts do not change their currency", refusal(book.call("book", "settings", "money.currency=GBP"), "new book for GBP"))
    for account, fits in (("GB82 WEST 1234 5698 7654 32", True), ("GB82 WEST 1234 5698 7654 33", False), ("12-34-56 99999999", True)):
        done = book.call("book", "settings", f"shop.account={account}")  # Source (published): the example of ISO 13616
        tap.check(f"{account} is {'taken' if fits else 'refused'}", (done.returncode == 0) != fits)


def main(program):
    program = os.path.abspath(program)
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        for number, part in enumerate((by_table, payments, corrections, agreed, too_much, refused_estimates)):
            book = Book(program, f"{folder}/{number}")
            book.ok("book", "settings", "money.tax_rate=20", "money.exempt_reason=Small business, no tax is charged.")
            part(tap, book)
        currencies(tap, program, folder)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
