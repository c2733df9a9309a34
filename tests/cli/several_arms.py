#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Two arms and a wand on one deck: each has its own dimensions, cartridge, set-up rounds and template by its name, and
nothing of one reaches a form, a comparison or a paper of another."""
import json
import math
import os
import pathlib
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap, flat  # noqa: E402

OWN = {"arm.pivot_to_spindle": 222.0, "arm.effective_length": 239.3}
REAR = {"arm.pivot_to_spindle": 295.6, "arm.effective_length": 308.9}


def new_book(program, folder):
    book = Book(program, folder)
    book.ok("register", "add", "arm", "deck_id=1", "make=Hollin", "model=A9", "pivot_to_spindle_mm=222", "effective_length_mm=239.3")
    book.ok("register", "add", "arm", "deck_id=1", "make=Hollin", "model=rear", "pivot_to_spindle_mm=295.6", "effective_length_mm=308.9")
    book.ok("register", "add", "cartridge", "deck_id=1", "make=Quill", "model=MM-1", "force_low_mn=15", "force_high_mn=20")
    book.ok("register", "add", "cartridge", "deck_id=1", "make=Quill", "model=MC-7", "force_low_mn=22", "force_high_mn=27")
    book.ok("deck", "note", "1", "arm.effective_mass=9g", "cartridge.name=MM-1", "cartridge.mass=5g", "cartridge.compliance=20um/mN")
    book.ok("deck", "note", "1", "arm.name=rear", "arm.effective_mass=16g", "cartridge.name=MC-7", "cartridge.mass=9g")
    return book


def sheet(book, name, *operands, as_="received", keep=True):
    words = [name, *operands, *(["--job", "1", "--as", as_] if keep else []), "--json"]
    return json.loads(book.ok(*words))


def given(made):
    return {key: value["value"] for key, value in made["inputs"].items()
            if isinstance(value, dict) and value.get("given") and value.get("value") is not None}


def wrong_in(made, wanted, never=()):
    have = given(made)
    bad = {key: have.get(key) for key, value in wanted.items() if have.get(key) is None or abs(have[key] - value) > 1e-6}
    return {**bad, **{key: have[key] for key in never if key in have}}


def check_values(tap, book):
    tap.check("without a name the deck's own arm is meant", wrong_in(sheet(book, "align"), OWN))
    tap.check("by its name the other one's record is", wrong_in(sheet(book, "align", "arm.name=rear"), REAR))
    tap.check("and its letters' case says nothing", wrong_in(sheet(book, "align", "arm.name=REAR"), REAR))
    own, rear = (sheet(book, "resonance", "cartridge.hardware_mass=1g", *words) for words in ((), ("arm.name=rear", "cartridge.compliance=9um/mN")))
    tap.check("masses and compliance are each arm's", {**wrong_in(own, {"arm.effective_mass": 9, "cartridge.mass": 5, "cartridge.compliance": 20}),
                                                       **wrong_in(rear, {"arm.effective_mass": 16, "cartridge.mass": 9, "cartridge.compliance": 9})})
    done = book.call("resonance", "arm.name=rear", "--job", "1", "--as", "received")
    tap.check("what is not known of it is asked for, not lent", "" if done.returncode == 2 and "compliance" in done.stderr else done.stderr + done.stdout)
    force = [given(sheet(book, "force", "force.reading=1.9g", *words)) for words in ((), ("arm.name=rear",))]
    tap.check("the range of force is its own cartridge's", "" if [round(one["force.low"] * 9.80665) for one in force] == [15, 22]
              or [round(one["force.low"]) for one in force] == [15, 22] else force)
    nobody = sheet(book, "align", "arm.name=reer", "arm.pivot_to_spindle=230mm", keep=True)
    tap.check("a name that stands nowhere takes nothing", wrong_in(nobody, {"arm.pivot_to_spindle": 230}, ("arm.effective_length",)))


def check_words(tap, book):
    said = " ".join(sheet(book, "align", "arm.name=raer", "arm.pivot_to_spindle=230mm", as_="during")["remarks"])
    done = book.call("align", "arm.name=raer", "arm.pivot_to_spindle=230mm", "--job", "1", "--as", "during")
    tap.check("the title names the arm", "" if "(raer)" in done.stdout.split("\n")[0] else done.stdout[:200])
    for words, why in ((("drive.belt_length@rear=600mm",), "is the deck's"), (("arm.offset@the rear one=23deg",), "cannot be an arm's name"),
                       (("arm.name=rear",), "says which arm"), (("arm.ofset@rear=23deg",), "not a known quantity"),
                       (("arm.offset@rear=23kg",), "unit"), (("arm.name=a b", "arm.offset=23deg"), "cannot be an arm's name")):
        done = book.call("deck", "note", "1", *words)
        tap.check(f"refused with one line: {' '.join(words)}", "" if done.returncode == 2 and why in done.stderr and done.stderr.count("\n") == 1 else (done.returncode, done.stderr))
    return said


def check_name(tap, book):
    done = book.call("template", "arm.name=the rear one", "arm.pivot_to_spindle=222mm", "--job", "1", "--as", "left", "--out", book.folder + "/p.pdf")
    tap.check("a name that the book could not keep is refused at once", "" if done.returncode == 2 and "cannot be an arm's name" in done.stderr else done.stderr)


def readings(distance, length, offset):
    """What an arm of those measures reads: by the triangle pivot, spindle, stylus the tracking error is its angle less the offset."""
    errors = {radius: math.degrees(math.asin((radius**2 + length**2 - distance**2) / (2 * radius * length))) - offset for radius in (65, 100, 135)}
    return [f"found.error_at={radius}mm:{error:.2f}deg" for radius, error in errors.items()] + [f"found.overhang={length - distance:.2f}mm"]


def check_rounds(tap, book):
    read = {"own": readings(222, 240.3, 23.4), "rear": ("arm.name=rear", *readings(295.6, 308.1, 17.2))}
    first = {arm: sheet(book, "align", *words) for arm, words in read.items()}
    found = {arm: next(row["value"] for row in made["readings"] if row["key"] == "found.overhang") for arm, made in first.items()}
    second = {arm: given(sheet(book, "align", *words, as_="left")) for arm, words in read.items()}
    off = {arm: second[arm].get("found.overhang_before") for arm in read if abs((second[arm].get("found.overhang_before") or 99) - found[arm]) > 1e-6}
    tap.check("each round is held against the last of its own arm", off and (off, found))
    wand = sheet(book, "align", "arm.name=wand-2", "arm.pivot_to_spindle=222mm", *read["own"][:2])
    tap.check("a wand's first round has none before it", wrong_in(wand, {}, ("found.overhang_before", "found.overhang_expected")))


def check_settings(tap, book):
    for key, value in (("arm.overhang", "17.2 mm"), ("arm.overhang@rear", "13.3 mm"), ("arm.overhang@wand-2", "17.9 mm"), ("setup.azimuth@wand-2", "0.4 deg")):
        label = ("label=Azimuth (wand-2)",) if key.startswith("setup") else ()
        book.ok("job", "add", "1", "set_up", "phase=as left", f"key={key}", f"value={value}", *label)
    own, rear = (sheet(book, "align", *words, as_="left") for words in ((), ("arm.name=rear",)))
    tap.check("a setting is its arm's", {**wrong_in(own, {"arm.overhang": 17.2}, ("arm.effective_length",)), **wrong_in(rear, {"arm.overhang": 13.3})})
    text = book.paper("proof") or ""
    tap.check("the report names each setting's arm", [words for words in ("Overhang – 17.2 mm", "Overhang (rear) – 13.3 mm", "Azimuth (wand-2)", "Arm: rear.") if words not in text])
    tap.check("own and rear have tables of their own", "" if text.count("Alignment of arm and cartridge (rear)") == 1 else text[:200])


def check_report(tap, book):
    text = book.paper("service") or ""
    tap.check("what is out of range says on which arm", "" if "Pressure of the stylus (rear)" in text and "Pressure of the stylus." not in text else text[:600])
    tap.check("all arms and cartridges stand in the head", [words for words in ("Hollin rear; Hollin A9", "Quill MC-7; Quill MM-1") if words not in text])


def check_template(tap, book):
    path = book.folder + "/paper.pdf"
    texts = []
    for words in ((), ("arm.name=rear",)):
        book.ok("template", *words, "--job", "1", "--as", "left", "--out", path)
        texts.append(flat(subprocess.run(["pdftotext", path, "-"], capture_output=True, text=True, check=True).stdout))
    tap.check("each template says and draws its own arm", "" if "295.60 mm" in texts[1] and "(rear)" in texts[1] and "222.00 mm" in texts[0]
              and "rear" not in texts[0] and "222.00" not in texts[1] else [text[:300] for text in texts])


def main():
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        book = new_book(os.path.abspath(sys.argv[1]), folder + "/book")
        for check in (check_values, check_words, check_name, check_rounds, check_settings, check_report, check_template):
            try:
                check(tap, book)
            except Exception as trouble:  # pylint: disable=broad-except
                tap.check(check.__name__, repr(trouble))
    sys.exit(tap.end())


if __name__ == "__main__":
    main()
