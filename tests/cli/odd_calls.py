#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Odd calls: values that cannot be, words of nobody, files that are none, and places that are the book's own.
Each is refused with one line, and the book and every file stay as they were."""
import hashlib
import os
import pathlib
import sys
import tempfile

from support import Tap, png, run

BOOK = ["--book", "book"]
SET_UP = [["book", "new"], ["customer", "add", "name=Ada"], ["customer", "add", "name=Bo"],
          ["deck", "add", "make=A", "model=B"], ["job", "open", "customer_id=1", "deck_id=1"],
          ["job", "open", "customer_id=2"], ["job", "attach", "1", "photo.png"], ["register", "add", "cartridge", "make=C"],
          ["register", "add", "stylus", "cartridge_id=1", "rated_hours=500"], ["stock", "add", "number=B1", "name=Belt"],
          ["job", "add", "1", "verdict", "item=cord", "aspect=use", "grade=unsafe", "phase=as-received"],
          ["estimate", "draft", "1"], ["estimate", "line", "1", "name=belt", "price=18.50"], ["estimate", "issue", "1"],
          ["invoice", "draft", "1"], ["invoice", "line", "1", "name=belt", "amount=1"],
          ["book", "change", "invoice", "1", "exempt_reason=Small business."], ["invoice", "issue", "1"],
          ["book", "backup", "stick"]]

OWN = "belongs to a job book and is not written over. Choose another place."
RANGE = "can be from {} to {}."
NO_CURRENCY = "is not a currency's sign or word of at most 8 letters, such as EUR."
# Arguments and the whole complaint. Nothing of the book or beside it may change.
REFUSED = [
    # Places that are the book's own, by whatever name.
    (["report", "receipt", "1", "--out", "book/book.sqlite"],
     "A paper is written as .pdf; “book/book.sqlite” does not end in it."),
    (["report", "receipt", "1", "--out", "paper"], "A paper is written as .pdf; “paper” does not end in it."),
    (["report", "receipt", "1", "--out", "book/attachments/new.pdf"], f"--out book/attachments/new.pdf {OWN}"),
    (["report", "receipt", "1", "--out", "link/attachments/new.pdf"], f"--out link/attachments/new.pdf {OWN}"),
    (["report", "receipt", "1", "--out", "stick/attachments/new.pdf"], f"--out stick/attachments/new.pdf {OWN}"),
    (["report", "receipt", "1", "--out", "book/book.sqlite.pdf"], f"--out book/book.sqlite.pdf {OWN}"),
    (["strobe", "--chart", "book/attachments/a.png"], f"--chart book/attachments/a.png {OWN}"),
    (["strobe", "--out", "stick/attachments/a.pdf"], f"--out stick/attachments/a.pdf {OWN}"),
    # Files that are none, or empty.
    (["job", "attach", "1", "/dev/null"], "/dev/null is no ordinary file. Give the file of a picture or document."),
    (["job", "attach", "1", "pipe"], "pipe is no ordinary file. Give the file of a picture or document."),
    (["job", "attach", "1", "folder"], "folder is no ordinary file. Give the file of a picture or document."),
    (["job", "attach", "1", "name.deck"], "name.deck is no picture, recording or PDF that this program knows. Nothing was kept. "
     "With kind=document it is kept as it is, and shown nowhere."),
    *((["job", "attach", "1", name, *kind], f"{name} cannot be shown: it is damaged, cut off or too large. Nothing was kept. Copy it again from where it "
       "comes from; with kind=document it is kept as it is, and shown nowhere.")
      for name in ("cut.png", "head.png") for kind in ((), ("kind=stylus-image",), ("kind=signature",))),
    (["job", "attach", "1", "photo.png", "kind=recording"],
     "photo.png is a PNG file. Nothing was kept. Leave kind= out, or give kind=document."),
    (["job", "attach", "1", "empty.png"], "empty.png is empty (0 bytes). Copy it again from where it comes from."),
    # A backup that would go with the book, and a restore over what is none.
    (["book", "backup", "book/stick"], "book/stick lies in the book's own folder and would be lost with it. Choose "
     "another folder for the backup, best on another disk."),
    # Words of nobody.
    (["job", "acknowledge", "1", "", ""], "The acknowledgement has no Told to (person). Give it and save again."),
    (["job", "acknowledge", "1", "Ada", " "], "The acknowledgement has no Words (words). Give it and save again."),
    (["job", "tell", "1", ""], "The contact with the owner has no Words (words). Give it and save again."),
    (["customer", "add", "name=  "], "The customer has no Name (name). Give it and save again."),
    # Text that is none.
    (["customer", "add", b"name=\xff\xfe"], "Name: this is no text in UTF-8. Type it again."),
    (["customer", "add", "name=be\x07ll"], "Name: a control character stands in it. Type it again."),
    # Another job's estimate.
    (["invoice", "draft", "2", "estimate=1"], "That estimate belongs to another job."),
    (["invoice", "draft", "2", "estimate=99"], "There is no estimate number 99 in the book."),
    # Numbers and days that cannot be.
    (["invoice", "line", "1", "name=x", "minutes=-1", "price=60"], "Minutes: -1 is out of range. It " +
     RANGE.format(0, 100000)),
    (["estimate", "draft", "1", "ceiling=-5"], "Ceiling: an amount here is not below 0."),
    (["job", "add", "1", "consent", "person=Ada", "answer=agreed-up-to", "amount=-5"],
     "Amount: an amount here is not below 0."),
    (["job", "add", "1", "operation", "name=oil", "actual_minutes=-30"], "Minutes taken: -30 is out of range. It " +
     RANGE.format(0, 100000)),
    (["stock", "add", "number=B2", "name=Belt", "price=-5"], "Price: an amount here is not below 0."),
    (["stock", "add", "number=B2", "name=Belt", "width_mm=-5"], "Width: -5 is out of range. It " + RANGE.format(0, "10000 mm")),
    (["register", "play", "1", "1e10"], "\"1e10\" is no number of hours."),
    (["deck", "add", "make=A", "made_year=3000"], "Year made: 3000 is out of range. It " + RANGE.format(1870, 2100)),
    (["deck", "add", "make=A", "rated_voltage_v=-230"], "Rated voltage: -230 is out of range. It " + RANGE.format(0, "1000 V")),
    (["deck", "add", "make=A", "class=nonsense"],
     "Class: \"nonsense\" is none of: hifi broadcast vintage portable."),
    (["job", "show", "1", "promised_on=1800-01-01"], "Promised: \"1800-01-01\" is not a day such as 2026-11-25."),
    (["invoice", "pay", "1", "1500-01-01"], 'Paid on: "1500-01-01" is not a day such as 2026-11-25.'),
    (["invoice", "pay", "1", "2999-01-01"], "2999-01-01 is still to come. Note a payment on the day that it is made."),
    *[(["book", "settings", f"{key}={value}"], complaint) for key, value, complaint in [
        ("warranty.days", "-1", "Warranty in days: -1 is out of range. It " + RANGE.format(0, 36500)),
        ("warranty.days", "99999999999", "Warranty in days: 99999999999 is out of range. It " + RANGE.format(0, 36500)),
        ("estimate.valid_days", "-3", "An estimate holds for days: -3 is out of range. It " + RANGE.format(0, 36500)),
        ("storage.free_days", "-1", "Storage free for days: -1 is out of range. It " + RANGE.format(0, 36500)),
        ("service.months", "-1", "Next service after months: -1 is out of range. It " + RANGE.format(0, 1200)),
        ("retention.customer_years", "-1", "Customers' data kept for years: -1 is out of range. It " + RANGE.format(0, 100)),
        ("retention.invoice_years", "-1", "Invoices kept for years: -1 is out of range. It " + RANGE.format(0, 100)),
        ("retention.photo_months", "-1", "Photographs kept for months: -1 is out of range. It " + RANGE.format(0, 1200)),
        ("money.labour_rate", "-5", "Labour for an hour: an amount here is not below 0."),
        ("money.minimum_charge", "-5", "Minimum charge: an amount here is not below 0."),
        ("money.estimate_charge", "-5", "Charge for an estimate: an amount here is not below 0."),
        ("storage.daily_charge", "-1", "Storage for a day: an amount here is not below 0."),
        ("shop.colour", "red", 'Colour: "red" is not a colour such as #1f5a7a.'),
        ("shop.colour", "#12345", 'Colour: "#12345" is not a colour such as #1f5a7a.'),
        ("shop.colour", "#1234567", 'Colour: "#1234567" is not a colour such as #1f5a7a.'),
        ("shop.colour", "#12345g", 'Colour: "#12345g" is not a colour such as #1f5a7a.'),
        ("shop.logo", "empty.png", "Logo: empty.png is no PNG or JPEG file that can be read."),
        ("shop.logo", "name.deck", "Logo: name.deck is no PNG or JPEG file that can be read."),
        ("shop.logo", "pipe", "Logo: pipe is no PNG or JPEG file that can be read."),
        ("shop.logo", "/dev/zero", "Logo: /dev/zero is no PNG or JPEG file that can be read."),
        ("shop.logo", "nowhere.png", "Logo: nowhere.png is no PNG or JPEG file that can be read."),
        ("shop.logo", "attachments/none.png", "Logo: attachments/none.png is no PNG or JPEG file that can be read."),
        ("money.currency", "16 EUR", f'Currency: "16 EUR" {NO_CURRENCY}'),
        ("money.currency", " ", f'Currency: " " {NO_CURRENCY}'),
        ("money.currency", "<b>", f'Currency: "<b>" {NO_CURRENCY}'),
        ("money.currency", "ninesigns", f'Currency: "ninesigns" {NO_CURRENCY}'),
        ("paper.language", "English (GB)", 'Language: "English (GB)" is not a language such as en or en-GB.'),
        ("paper.language", "e", 'Language: "e" is not a language such as en or en-GB.'),
        ("paper.language", "xx", 'Language: the papers have no words in "xx", but in en, de, es, fr. For another language set paper.words '
                                 "first, to a file of the shop's own words."),
        ("paper.language", "en--GB", 'Language: "en--GB" is not a language such as en or en-GB.'),
        ("paper.words", "pipe", "Words of the papers: pipe is no ordinary file that can be read."),
        ("paper.words", "nowhere.ini", "Words of the papers: nowhere.ini is no ordinary file that can be read.")]],
    (["book", "journal", "nonsense"], "There is no kind of entry called \"nonsense\". The journal has: "),
]


# Settings that are right, and that nothing takes back.
TAKEN = [("shop.colour", ["#1F5a7A", ""]), ("shop.logo", ["photo.png", ""]), ("money.currency", ["€", "kr", "Fr.", "zł", "", "EUR"]),
         ("paper.language", ["de", "en_GB", "fr-CA", "", "en"]), ("paper.words", ["name.deck", ""])]


BELT = ["drive", "drive.kind=belt", "drive.pulley_diameter=19mm", "drive.rim_diameter=150mm"]
FORCE = ["force", "force.target=1.8g"]
ALIGN = ["align", "arm.pivot_to_spindle=222mm"]
POLES = "a motor's poles come in pairs. Count them again."
# Statements that contradict each other or cannot be: refused, with the whole complaint.
CONTRADICTED = [
    ([*BELT, "drive.motor_poles=3"], f"drive.motor_poles=3: {POLES}"),
    (["drive", "drive.kind=direct", "drive.poles=7"], f"drive.poles=7: {POLES}"),
    ([*BELT, "drive.motor_kind=synchronous", "drive.motor_poles=24", "drive.motor_slip=5%"],
     "drive.motor_slip: a synchronous motor has none. Leave it out, or give drive.motor_kind=induction."),
    # 120 x 50 Hz over 24 poles is 250 rpm.
    ([*BELT, "drive.motor_kind=synchronous", "drive.motor_poles=24", "drive.motor_speed=1000rpm"],
     "drive.motor_speed=1000 rpm contradicts drive.motor_poles=24: on 50 Hz such a motor turns 250 rpm. Leave out the one "
     "you trust least, or check deck.mains."),
    ([*BELT, "drive.motor_kind=induction", "drive.motor_poles=4", "drive.motor_speed=1600rpm"],
     "drive.motor_speed=1600 rpm contradicts drive.motor_poles=4: on 50 Hz such a motor turns a little less than 1500 rpm. "
     "Leave out the one you trust least, or check deck.mains."),
]
NO_TEXT = "this is no text in UTF-8. Type it again."
CONTRADICTED += [
    (["speed", "take.wav", os.fsdecode(b"deck.name=\xff\xfe")], f"deck.name: {NO_TEXT}"),
    (["speed", "take.wav", "--deck", "name.deck"], f"name.deck: line 2: deck.name: {NO_TEXT}"),
]
UNUSED = "Not used, as the drive is stated to be"
OWN_NULLS = "are not used: the alignment is"
# Arguments, what the sheet must say, and what it must not (None: nothing more is asked).
SAID = [
    ([*BELT, "drive.motor_kind=induction", "drive.motor_poles=4", "drive.motor_speed=1430rpm"], "drive.centre_distance",
     "needs drive.rim_diameter, drive.pulley_diameter and"),
    (["drive", "drive.kind=idler", "drive.rim_diameter=270mm", "drive.belt_length=500mm"],
     f"{UNUSED} an idler drive: drive.belt_length.", None),
    (["drive", "drive.kind=direct", "drive.poles=12", "drive.pulley_diameter=6mm"],
     f"{UNUSED} a direct drive: drive.pulley_diameter.", None),
    ([*BELT, "drive.idler_diameter=40mm"], f"{UNUSED} a belt drive: drive.idler_diameter.", None),
    (BELT, "What turns how often", UNUSED),
    ([*ALIGN, "align.null_inner=66mm", "align.null_outer=110mm"], OWN_NULLS, None),
    ([*ALIGN, "align.null_inner=66mm", "align.null_outer=110mm", "align.method=own"], "110.00", OWN_NULLS),
    ([*ALIGN, "align.null_inner=66mm", "align.null_outer=110mm", "align.compare=own"], "110.00", OWN_NULLS),
    (ALIGN, "Inner null", OWN_NULLS),
    ([*FORCE, "force.reading=2g"], "The force is above what was asked for.", "do not tell whether"),
    ([*FORCE, "force.reading=1.5g"], "The force is below what was asked for.", "do not tell whether"),
    ([*FORCE, "force.reading=2g", "force.reading=1g", "force.reading=30g"], "do not tell whether", "The force is above"),
    ([*FORCE, "force.reading=1.2g", "force.reading=1.7g", "force.reading=2.1g"], "do not tell whether",
     "The force is below"),
]


def check_said(program, folder, arguments, wanted, unwanted):
    status, out, err = run(program, arguments, folder)
    text = " ".join(out.split())
    if status or wanted not in text or unwanted and unwanted in text:
        return f"exit {status}: {out}{err}"
    return ""


def everything(folder):
    """What every file holds; the book as its own export says it."""
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in folder.rglob("*") if path.is_file() and not path.name.startswith(("book.sqlite-", "lock"))}


def call(program, folder, arguments):
    words = [os.fsdecode(word) if isinstance(word, bytes) else word for word in arguments]
    own = arguments[0] != "strobe"
    return run(program, [*words, *(BOOK if own else [])], folder)


def check_refused(program, folder, arguments, complaint):
    before = everything(folder)
    status, out, err = call(program, folder, arguments)
    trouble = [] if status == 2 else [f"exit {status}"]
    if not (err == f"deckwright: {complaint}\n" or complaint.endswith(": ") and err.startswith(f"deckwright: {complaint}")):
        trouble.append(f"complaint {err!r}, not {complaint!r}")
    if out:
        trouble.append(f"printed {out!r}")
    if everything(folder) != before:
        trouble.append("something was written")
    return "\n".join(trouble)


def restored(program, folder, arguments):
    status, out, err = run(program, ["book", "restore", *arguments], folder)
    left = [path.name for path in folder.rglob("*") if path.name.endswith("restoring")]
    return status, out, err, left


def check_restore(program, folder, tap):
    """A slash behind a name is nothing; a damaged backup leaves nothing behind; other folders are left alone."""
    status, _, err, left = restored(program, folder, ["stick/", "--book", "book/"])
    customers = run(program, ["customer", "list", *BOOK], folder)[1]
    tap.say("restore with a slash behind the names", status or left or "Ada" not in customers and (status, err, left))
    (folder / "broken").mkdir()
    (folder / "broken" / "backup.sqlite").write_bytes(os.urandom(9000))
    status, _, err, left = restored(program, folder, ["broken", *BOOK])
    tap.say("a damaged backup is refused and leaves nothing behind", (status == 0 or left) and (status, err, left))
    photo = next((folder / "book" / "attachments").iterdir())
    kept = photo.read_bytes()
    photo.unlink()
    err = run(program, ["book", "check", *BOOK], folder)[2]
    tap.say("one problem is one", "The book has 1 problem. Keep it" not in err and err)
    photo.write_bytes(kept)
    status, _, err, left = restored(program, folder, ["stick", *BOOK])
    tap.say("the next restore goes through", status and (status, err))
    for target, complaint in [("folder", "folder holds other things and no book. Give a new folder, or the book's."),
                              ("stick", "stick is the backup itself. Give another folder for the book."),
                              ("stick/sub", "stick/sub lies in the backup. Give another folder for the book.")]:
        before = everything(folder)
        status, _, err, left = restored(program, folder, ["stick", "--book", target])
        wrong = status != 2 or err != f"deckwright: {complaint}\n" or left or everything(folder) != before
        tap.say(f"restore over {target}", wrong and (status, err, left))


def prepare(program, folder):
    """The book and the files that the calls are about."""
    (folder / "photo.png").write_bytes(png())
    (folder / "cut.png").write_bytes(png(200)[:100])
    (folder / "head.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100))
    (folder / "empty.png").touch()
    (folder / "folder").mkdir()
    (folder / "folder" / "letter.txt").write_text("mine")
    os.mkfifo(folder / "pipe")
    (folder / "link").symlink_to("book")
    (folder / "name.deck").write_bytes(b"[deck]\nname = \xff\xfe\n")
    for arguments in SET_UP:
        status, _, err = call(program, folder, arguments)
        if status:
            raise SystemExit(f"Bail out! {arguments}: {err}")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        prepare(program, folder)
        for arguments, complaint in REFUSED:
            words = [repr(word) if isinstance(word, bytes) else word for word in arguments]
            tap.say(" ".join(words).encode("unicode_escape").decode(), check_refused(program, folder, arguments, complaint))
        run(program, ["book", "new", "--book", "unbilled"], folder)
        for key, values in TAKEN:
            # A currency is chosen before the first invoice.
            book = ["--book", "unbilled"] if key == "money.currency" else BOOK
            wrong = [value for value in values if run(program, ["book", "settings", f"{key}={value}", *book], folder)[0]]
            tap.say(f"{key} takes what is right", wrong)
        run(program, ["customer", "add", "name=two\nlines", *BOOK], folder)
        listed = run(program, ["customer", "list", *BOOK], folder)[1].splitlines()
        tap.say("a record is one line of a list", len(listed) != 3 and listed)
        check_restore(program, folder, tap)
        for arguments, complaint in CONTRADICTED:
            got = run(program, arguments, folder)
            tap.say(" ".join(arguments).encode("unicode_escape").decode(), got != (2, "", f"deckwright: {complaint}\n") and got)
        for arguments, wanted, unwanted in SAID:
            tap.say(" ".join(arguments), check_said(program, folder, arguments, wanted, unwanted))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
