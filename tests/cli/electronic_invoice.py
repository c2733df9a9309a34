#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Electronic invoices. Source (published): rules written from the standards (ubl_rules.py), which are themselves tried on altered ones,
and the month as a table, read by a reader of RFC 4180 of its own."""
import csv
import decimal
import io
import json
import os
import pathlib
import re
import stat
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap  # noqa: E402
import ubl_rules  # noqa: E402

D = decimal.Decimal
SETTINGS = ["money.tax_rate=19", "money.labour_rate=83.33", "shop.name=Quay Street <Deck> & Workshop", "shop.country=DE",
            "shop.tax_number=DE123456789", "shop.account=GB82 WEST 1234 5698 7654 32", "shop.address=Quay 1\nHarbourtown\nNorth",
            "money.exempt_reason=Postage passed on.", "shop.email=desk@shop.example"]
LINES = [("kind=labour", "name=Fit a belt", "minutes=47"), ("kind=part", "name=Belt \"flat\"", "price=18.50", "quantity=3"),
         ("kind=part", "name=Oil, 0.35 of a bottle", "price=9.99", "quantity=0.35", "tax=own-rate", "tax_rate=7"),
         ("kind=carriage", "name=Stamps", "amount=6.20", "tax=exempt"), ("kind=charge", "name=Booklet", "amount=4", "tax=zero-rated"),
         ("kind=credit", "name=Friend's price", "amount=-10")]


def new_book(program, folder):
    book = Book(program, folder)
    book.ok("book", "settings", *SETTINGS)
    book.ok("customer", "show", "1", "address=Mill Lane 3\nOtherton", "country=AT")
    return book


def issue(book, lines, *before):
    number = str(json.loads(book.ok("invoice", "draft", "1", "--json"))["id"])
    for line in lines:
        book.ok("invoice", "line", number, *line)
    for words in before:
        book.ok(*words)
    book.ok("invoice", "issue", number)
    return number


# What is altered, by a regular expression, and a rule that must notice it.
ALTERED = [
    (r"(<cbc:PayableAmount[^>]*>)[\d.]+", r"\g<1>1.00", "BR-CO-16"), (r"(<cbc:TaxInclusiveAmount[^>]*>)[\d.]+", r"\g<1>1.00", "BR-CO-15"),
    (r"(<cac:TaxTotal>\s*<cbc:TaxAmount[^>]*>)[\d.]+", r"\g<1>1.00", "BR-CO-14"),
    (r"(<cbc:TaxableAmount[^>]*>)[\d.]+", r"\g<1>1.00", "BR-S-08"), (r"<cbc:Percent>19<", "<cbc:Percent>18<", "BR-CO-17"),
    (r"<cbc:TaxExemptionReason>[^<]*</cbc:TaxExemptionReason>", "", "BR-E-10"),
    (r'unitCode="MIN">47<', 'unitCode="MIN">48<', "BT-131"), (r"<cbc:CompanyID>DE", "<cbc:CompanyID>12", "BR-CO-09"),
    (r"urn:cen.eu:en16931:2017", "urn:none", "BR-01"), (r"<cbc:DueDate>[^<]*</cbc:DueDate>", "", "BR-CO-25"),
    (r"<cbc:ID>2</cbc:ID>\n<cbc:Inv", "<cbc:ID>1</cbc:ID>\n<cbc:Inv", "BR-21"), (r'currencyID="EUR"', 'currencyID="GBP"', "BR-05"),
    (r"(<cbc:IssueDate>[^<]*</cbc:IssueDate>\n)(<cbc:DueDate>[^<]*</cbc:DueDate>\n)", r"\2\1", "Invoice:"),
    (r"<cbc:IdentificationCode>AT<", "<cbc:IdentificationCode>Austria<", "BR-11"),
]


def within(book, number, *words):
    """What is attached to the PDF of an invoice, by poppler: {name: text}; and what the program said."""
    path = book.folder + "/paper.pdf"
    said = book.ok("report", "invoice", "1", *([f"invoice={number}"] if number else []), "--out", path, *words)
    listed = subprocess.run(["pdfdetach", "-list", path], capture_output=True, text=True, check=True)
    files = {}
    for name in re.findall(r"^\d+: (.*)$", listed.stdout, re.M):
        subprocess.run(["pdfdetach", "-savefile", name, "-o", book.folder + "/" + name, path], capture_output=True, check=True)
        files[name] = pathlib.Path(book.folder, name).read_text(encoding="utf-8")
    return files, said + listed.stderr


def attached(tap, book, number, kind):
    """The electronic form goes within the PDF, the same to the letter, and the PDF is whole."""
    files, said = within(book, number)
    shown = json.loads(book.ok("invoice", "show", number, "--json"))["invoice"]
    name = f"{kind}-{shown['issued_on'][:4]}-{int(shown['number']):04d}.xml"
    tap.check(f"the {kind} goes with its paper", "" if files == {name: book.ok("invoice", "xml", number)} else (files.keys(), name))
    tap.check("which says so", "" if said.endswith("paper.pdf is written, with the electronic invoice in it.\n") else said)
    raw = pathlib.Path(book.folder, "paper.pdf").read_bytes()
    # Source (published): ISO 19005-3:2012, annex E: how the file stands to the document.
    tap.check("as the other form of the whole", "" if b"/AFRelationship /Alternative" in raw and re.search(rb"/AF \[ \d+ 0 R", raw) else "no")
    tap.check("nobody else reads it", stat.S_IMODE(os.stat(book.folder + "/paper.pdf").st_mode) != 0o600)
    text = subprocess.run(["pdftotext", book.folder + "/paper.pdf", "-"], capture_output=True, text=True, check=True)
    tap.check("and the paper is read as before", text.stderr or "" if "Total" in text.stdout else text.stdout)


def electronic(tap, book, folder):
    number = issue(book, LINES, ("invoice", "deposit", "1", "20", "method=cash"))
    book.ok("invoice", "pay", number, "amount=5")
    path = folder + "/invoice.xml"
    book.ok("invoice", "xml", number, "--out", path)
    xml = pathlib.Path(path).read_text(encoding="utf-8")
    tap.check("an invoice keeps the rules", ubl_rules.wrong(xml))
    tap.check("its file is the book's own", stat.S_IMODE(os.stat(path).st_mode) != 0o600)
    tap.check("the deposit is prepaid, a later payment is not", 'PrepaidAmount currencyID="EUR">20.00<' not in xml)
    tap.check("names are escaped", "Quay Street &lt;Deck&gt; &amp; Workshop" not in xml)
    for pattern, other, rule in ALTERED:
        altered = re.sub(pattern, other, xml, count=1)
        found = ubl_rules.wrong(altered)
        tap.check(f"the rules notice {rule}", altered == xml or not any(line.startswith(rule) for line in found))
    attached(tap, book, number, "invoice")
    note = re.search(r"id (\d+)", book.ok("invoice", "credit", number, "name=Scratch", "amount=10")).group(1)
    book.ok("invoice", "issue", note)
    xml = book.ok("invoice", "xml", note)
    attached(tap, book, note, "credit-note")
    tap.check("a credit note keeps them and names its invoice", ubl_rules.wrong(xml) or "-0001</cbc:ID>" not in xml)
    wrong = issue(book, LINES[:2])
    right = str(json.loads(book.ok("invoice", "draft", "1", "--json"))["id"])
    book.ok("invoice", "line", right, "name=Look", "amount=30")
    book.ok("book", "change", "invoice", right, f"corrects_id={wrong}")
    book.ok("invoice", "issue", right)
    xml = book.ok("invoice", "xml", right)
    tap.check("a corrected invoice keeps them", ubl_rules.wrong(xml) or ">384<" not in xml)


def refusals(tap, program, folder):
    book = Book(program, folder + "/bare")
    book.ok("book", "settings", "money.exempt_reason=")
    bare = str(json.loads(book.ok("invoice", "draft", "1", "--json"))["id"])
    book.ok("invoice", "line", bare, "name=Look", "amount=10")
    done = book.call("invoice", "issue", bare)
    tap.check("no tax without its reason is not issued", "" if done.returncode == 2 and "BR-E-10" in done.stderr else done.stderr)
    book.ok("book", "change", "invoice", bare, "exempt_reason=Small business.")
    book.ok("invoice", "issue", bare)
    given = str(json.loads(book.ok("invoice", "draft", "1", "--json"))["id"])
    book.ok("invoice", "line", given, "name=Warranty work", "amount=0")
    book.ok("invoice", "issue", given)
    tap.check("what costs nothing needs no reason", "")
    number = bare
    files, said = within(book, number)
    tap.check("nor does its paper hold what cannot be", "" if not files and said.endswith("is written.\n") else (files, said))
    for setting, rule in (("shop.name=Shop", "BR-06"), ("shop.country=DE", "BR-09"), ("shop.tax_number=12/345", "BR-S-02")):
        done = book.call("invoice", "xml", number)
        tap.check(f"without {setting} it is refused", "" if done.returncode == 2 and rule in done.stderr else done.stderr)
        book.ok("book", "settings", setting)
    book.ok("book", "settings", "money.exempt_reason=Small business.")
    second = issue(book, [("name=Look", "amount=10")])
    xml = book.ok("invoice", "xml", second)
    tap.check("a local tax number is no VAT number", ubl_rules.wrong(xml))
    drafted = str(json.loads(book.ok("invoice", "draft", "1", "--json"))["id"])
    tap.check("a draft's paper holds none", list(within(book, drafted)[0]))
    done = book.call("invoice", "xml", drafted)
    tap.check("a draft is refused", "" if done.returncode == 2 and "draft" in done.stderr else done.stderr)


def table(book, *words):
    raw = book.call("invoice", "month", *words)
    return list(csv.DictReader(io.StringIO(raw.stdout, newline=""))), raw


def month(tap, book):
    today = json.loads(book.ok("invoice", "show", "1", "--json"))["invoice"]["issued_on"]
    rows, raw = table(book, today[:7])
    binary = book.ok("invoice", "month", today[:7], "--out", book.folder + "/month.csv") and \
        pathlib.Path(book.folder + "/month.csv").read_bytes()
    tap.check("lines end as RFC 4180 has them", binary.count(b"\r\n") != len(rows) + 1 or binary.count(b"\n") != len(rows) + 1)
    gross = D(0)
    for invoice in json.loads(book.ok("invoice", "list", "--json")):
        shown = json.loads(book.ok("invoice", "show", str(invoice["id"]), "--json"))
        if invoice["state"] == "issued":
            gross += D(shown["gross"]) * (1 if invoice["kind"] == "invoice" else -1)
            if invoice["corrects_id"] and invoice["kind"] == "invoice":
                gross -= D(json.loads(book.ok("invoice", "show", str(invoice["corrects_id"]), "--json"))["gross"])
    tap.check("the column sums to what was turned over", "" if sum(D(row["gross"]) for row in rows) == gross else gross)
    tap.check("each row adds up", [row for row in rows if D(row["net"]) + D(row["tax"]) != D(row["gross"])])
    kinds = {row["kind"] for row in rows}
    tap.check("each kind of paper stands there", {"invoice", "credit note", "corrected invoice", "taken back"} - kinds)
    paid, _ = table(book, today[:7], "payments")
    tap.check("payments too", "" if sorted((row["kind"], row["amount"]) for row in paid) ==
              [("deposit", "20.00"), ("payment", "5.00")] else paid)
    empty, raw = table(book, "1999-01")
    tap.check("a month without any has its heading", bool(empty) or "number,issued_on" not in raw.stdout)
    for word in ("2026-13", "2026", "2026-1", "x"):
        done = book.call("invoice", "month", word)
        tap.check(f"{word} is no month", "" if done.returncode == 2 and "is no month" in done.stderr else done.stderr)


def main(program):
    program = os.path.abspath(program)
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        book = new_book(program, folder + "/book")
        electronic(tap, book, folder)
        month(tap, book)
        refusals(tap, program, folder)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
