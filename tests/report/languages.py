#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The papers in every language: the catalogues are whole and their holes agree, each customer is written to in their
own, numbers and days with it, no English stands on a paper of an invented language, and nothing runs out of its place."""
import configparser
import json
import os
import pathlib
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile

from papers import PAPERS, outside, overlaps, pages_of
from small_book import Book, Tap, alter_sheet

LANGUAGES = {"de": "German", "fr": "French", "es": "Spanish"}
# Words that two languages write alike, or that are no words.
ALIKE = {
    "de": "paper.name paper.consent.line invoice.part notice.day service.todo.item",
    "fr": "service.path.question paper.date paper.total estimate.minimum estimate.choice.minimum invoice.issued service.cause service.point "
          "choices.deck.class.hifi choices.deck.drive.direct choices.mark.kind.corrosion choices.consent.how.message "
          "choices.photo_measure.kind.angle",
    "es": "service.path.no paper.total paper.consent.line invoice.part notice.day service.answer.unsafe service.todo.item choices.deck.class.hifi "
          "choices.mark.zone.cable",
}
ALIKE_IN_ALL = "label.code service.remark service.numbers.first units.rpm"
# The columns whose words are the book's choices: what they print as is the catalogue's.
CHOICES = {"state", "kind", "drive", "wish", "zone", "condition", "old_part", "answer", "how", "confirmed", "phase",
           "grade", "aspect", "tier", "arrived", "confidence", "operation", "class", "priority", "route", "language"}


def read_words(path):
    parser = configparser.ConfigParser(interpolation=None, delimiters="=")
    parser.optionxform = str
    parser.read(path, encoding="utf-8")
    return {f"{group}.{key}": parser[group][key].replace("\n", " ") for group in parser.sections() for key in parser[group]}


def holes(text):
    return set(re.findall(r"\{\w+\}", text))


def catalogues(tap, source):
    english = read_words(source + "/data/words/papers.ini")
    for tag in LANGUAGES:
        path = f"{source}/data/words/papers.{tag}.ini"
        words = read_words(path)
        wanted = {name for name in english if not name.startswith("caution_words.")}
        tap.check(f"{tag} has every text and no other", sorted(wanted ^ set(words)))
        tap.check(f"{tag} fills in the same names", [name for name in words if not name.startswith("numbers.") and
                                                     holes(words[name]) != holes(english.get(name, ""))])
        alike = set((ALIKE[tag] + " " + ALIKE_IN_ALL).split())
        tap.check(f"{tag} leaves nothing in English", [
            name for name in words if words[name] == english.get(name) and name not in alike and not name.startswith("numbers.")])
        tap.check(f"{tag} has no line too long for its reader",
                  [line[:40] for line in open(path, "rb") if len(line) > 199])
        tap.check(f"{tag} has no text cut where its reader takes a remark to begin",
                  [line[:40] for line in open(path, encoding="utf-8") if " ;" in line and not line.startswith(";")])
        tap.check(f"{tag} has twelve months", "" if len(words["numbers.months"].split()) == 12 else words["numbers.months"])


def choices(tap, source):
    """Each word of a choice that a paper prints stands in the catalogue."""
    english = read_words(source + "/data/words/papers.ini")
    fields = {tuple(name.split(".")[1:3]) for name in english if name.startswith("choices.") and "deck.class" not in name}
    code = "".join(path.read_text(encoding="utf-8") for path in sorted(pathlib.Path(source, "src/book").rglob("*.[ch]")))
    defined = dict(re.findall(r'#define (DW_\w+_WORDS) +"([^"]+)"', code))
    for entity, field in sorted(fields):
        printed = {name.split(".", 3)[3] for name in english if name.startswith(f"choices.{entity}.{field}.")}
        lists = [re.sub(r'"\s*"', "", words.strip().strip('"')) for words in
                 re.findall(r'\{"%s",[^{}]*?\.choices =\s*((?:"[^"]*"\s*)+|DW_\w+)' % field, code)]
        lists = [set(defined.get(words, words).split("|")) - {"unknown", "none", "not said", "not tried"} for words in lists]
        tap.check(f"each word of {entity}.{field} can be printed", "" if printed in lists else (printed, lists))


def speak(program, folder):
    """A customer of each language, with a job and something to say of it."""
    for number, (tag, name) in enumerate(LANGUAGES.items()):
        book = Book(program, f"{folder}-{tag}")
        book.ok("customer", "show", "1", f"language={name}")
        book.ok("book", "settings", "money.labour_rate=1234.5", "money.tax_rate=7.5")
        book.ok("job", "add", "1", "intake", "words=hums", "ceiling=1234.5", "wish=report-only")
        book.ok("job", "show", "1", "next_due_on=2040-03-05")
        book.ok("register", "add", "bound", "make=Hollin", "model=B2", "key=speed.error", "low=-1.5", "high=1.5", "source=our sheet")
        book.ok("job", "note", "1", "speed.error", "-2.25 %", "as=left", "label=Speed error", "instrument=Gauge")
        for phase, force, scale in (("received", "1.54", "Scale 1"), ("left", "1.50", "Scale 2")):
            book.ok("job", "note", "1", "force.measured", f"{force} g", f"as={phase}", "label=Tracking force", f"instrument={scale}")
        yield tag, book


def spoken(tap, program, folder):
    wanted = {
        "de": ({"service": ["Servicebericht", "Auftrag 0001", "−2,25 %", "am 05.03.2040 fällig", "Außerhalb des Erlaubten: Drehzahl.",
                            "Bald fällig"],
                "receipt": ["Annahmebeleg", "1.234,50 EUR", "nur ein Bericht", "Riemen"], "transport": ["Riemen abgenommen"],
                "label": ["Plattenteller und Matte"], "proof": ["Messgerät: nicht gleich – Scale 1 bei Annahme, Scale 2 bei Abgabe."]}),
        "fr": ({"service": ["Rapport d’entretien", "Dossier 0001", "−2,25 %", "le 05/03/2040", "À prévoir"],
                "receipt": ["Bon de dépôt", "1 234,50 EUR", "rapport seulement", "courroie"],
                "transport": ["Courroie retirée"], "label": ["Plateau et couvre-plateau"],
                "proof": ["Différence – instrument : Scale 1 à la réception, Scale 2 à la remise."]}),
        "es": ({"service": ["Informe de servicio", "Orden 0001", "−2,25 %", "el 05/03/2040", "Atender pronto"],
                "receipt": ["Resguardo de depósito", "1.234,50 EUR", "solo un informe", "correa"],
                "transport": ["Correa quitada"], "label": ["Plato y alfombrilla"],
                "proof": ["No coincide – instrumento: Scale 1 al recibir, Scale 2 al entregar."]}),
    }
    for tag, book in speak(program, folder + "/spoken"):
        for paper, words in wanted[tag].items():
            text = book.paper(paper)
            tap.check(f"{paper} in {tag} says what it has to", [w for w in words if w not in " ".join(text.split())] and text)
            tap.check(f"{paper} in {tag} names its language",
                      "" if f"/Lang ({tag})".encode() in pathlib.Path(book.folder, "paper.pdf").read_bytes() else "no")


def woven(tap, program, folder):
    """Words that somebody typed in English stand by themselves, after a colon; answers are sentences; a reading goes by
    its name in the paper's language, on the proof too."""
    wanted = {
        "de": ("Arbeiten: Bearing oiled; arm set up.", "Nicht geprüft: Motor; cord;", "Ben war einverstanden, ",
               "Ben war bis 180,00 EUR einverstanden", "Ben hat abgelehnt: „Too dear“", "Abweichung der Drehzahl, %", "Zweifelhaft bei Abgabe: Abweichung der Drehzahl ("),
        "fr": ("Travaux : Bearing oiled; arm set up.", "Non contrôlé : Motor; cord;", "Ben a donné son accord, ",
               "Ben a donné son accord jusqu’à 180,00 EUR", "Ben a refusé : « Too dear »", "Écart de vitesse, %", "Douteux"),
        "es": ("Trabajos: Bearing oiled; arm set up.", "Sin comprobar: Motor; cord;", "Ben dio su conformidad, ",
               "Ben dio su conformidad hasta 180,00 EUR", "Ben no aceptó: «Too dear»", "Error de velocidad, %", "Dudoso"),
    }
    for tag, book in speak(program, folder + "/woven"):
        for name in ("Bearing oiled", "arm set up"):
            book.ok("job", "add", "1", "operation", f"name={name}", "actual_minutes=5")
        for name in ("Motor", "cord"):
            book.ok("job", "add", "1", "verdict", f"item={name}", "aspect=use", "grade=not-tested")
        book.ok("estimate", "draft", "1")
        book.ok("estimate", "line", "1", "name=Belt", "kind=part", "price=100")
        book.ok("estimate", "issue", "1")
        for more in (("answer=agreed", "amount=100"), ("answer=agreed-up-to", "amount=180"), ("answer=refused", "words=Too dear")):
            book.ok("job", "add", "1", "consent", "person=Ben", *more)
        alter_sheet(book, lambda sheet: sheet["readings"][0].update(flags=["clipped"]))
        text = " ".join(book.paper(paper) or "" for paper in ("service", "proof", "estimate"))
        tap.check(f"{tag}: nothing is woven of two languages", [words for words in wanted[tag] if words not in text])
        tap.check(f"{tag}: the reading's English name is gone", "" if "Speed error" not in text else text)


def own_words(tap, program, folder):
    """The shop's own words stand in its language alone; in another those of the file beside it do."""
    book = Book(program, folder + "/own")
    own = pathlib.Path(folder, "own.ini")
    own.write_text("[service]\ntitle = Bench report\n", encoding="utf-8")
    book.ok("book", "settings", f"paper.words={own}")
    tap.check("the shop's words in the shop's language", "" if "Bench report" in book.paper("service") else "missing")
    book.ok("report", "edit", "1", "service", "service.remark", "It sings.")
    tap.check("an edit in the shop's language", "" if "It sings." in book.paper("service") else "missing")
    book.ok("customer", "show", "1", "language=German")
    text = book.paper("service")
    tap.check("neither stands on a German paper", "" if "Servicebericht" in text and "It sings" not in text else text)
    pathlib.Path(folder, "own.de.ini").write_text("[service]\ntitle = Werkbericht\n", encoding="utf-8")
    tap.check("the German file beside it does", "" if "Werkbericht" in book.paper("service") else "missing")
    book.ok("customer", "show", "1", "language=English")
    tap.check("and not on an English one", "" if "Bench report" in book.paper("service") else "missing")
    book.ok("customer", "show", "1", "language=as the shop")
    for tag, title in (("de-AT", "Servicebericht"), ("xx", "Bench report"), ("fr", "Rapport d’entretien")):
        book.ok("book", "settings", "paper.words=" + (str(own) if tag == "xx" else ""), f"paper.language={tag}")
        tap.check(f"the shop's language {tag}", "" if title in book.paper("service") else book.paper("service")[:200])


def scripts(tap, program, folder):
    """A name in any script has its letters, and no boxes with numbers in (which are drawn in a typewriter's face)."""
    book = Book(program, folder + "/scripts")
    book.ok("job", "add", "1", "intake", "words=hums 😀🎶")
    for name in ("دانا شريف", "דנה לוי", "दीपा शर्मा", "山田花子", "김하늘", "Ειρήνη", "Жанна", "Łucja Šímová", "李小龙"):
        book.ok("customer", "show", "1", f"name={name}")
        text = book.paper("receipt")
        fonts = subprocess.run(["pdffonts", book.folder + "/paper.pdf"], capture_output=True, text=True, check=True).stdout
        tap.check(f"{name} is drawn with its letters", "" if text and "Mono" not in fonts else fonts)


# Every word with a vowel gets marks that no English word has.
MARKED = str.maketrans("aeiouyAEIOUY", "äéîöûÿÄÉÎÖÛŸ")


def mark(text):
    return "".join(part if part.startswith("{") else part.translate(MARKED) for part in re.split(r"(\{\w+\})", text))


def invented_data(source, folder):
    """A data folder with a language of marked English."""
    data = folder + "/data"
    shutil.copytree(source + "/data", data)
    english = read_words(source + "/data/words/papers.ini")
    lines, group = [], None
    for name, text in english.items():
        own, key = name.split(".", 1)
        if own == "caution_words":
            continue
        if own != group:
            lines.append(f"[{own}]")
            group = own
        kept = name in ("label.code", "service.numbers.first", "numbers.mark", "numbers.thousands")
        words = (text if kept else mark(text)).split(" ")
        lines.append(f"{key} = {words[0]}")
        lines += ["  " + word for word in words[1:]]
    pathlib.Path(data, "words/papers.zz.ini").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return data


def typed_words(book):
    """All words that somebody typed into BOOK, and of its sheets the names of the shop's own readings."""
    said = set()
    with sqlite3.connect(book.folder + "/book.sqlite") as base:
        for (table,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'search%' "
                                     "AND name NOT IN ('journal', 'reading')").fetchall():
            rows = base.execute(f"SELECT * FROM {table}")
            columns = [column[0] for column in rows.description]
            for row in rows:
                for column, value in zip(columns, row):
                    if column == "sheet":
                        for reading in json.loads(value)["readings"]:
                            said |= {reading["label"]} if reading["key"].startswith("shop.") else set()
                    elif isinstance(value, str) and column not in CHOICES:
                        said.add(value)
    # A word that is broken at its hyphen is read back without it.
    return {word.lower() for text in said for word in re.findall(r"[A-Za-z]+", text + " " + text.replace("-", ""))}


def invented_shop(program, folder):
    """A copy of the invented shop, which is made once, beside FOLDER."""
    made = pathlib.Path(folder).parent / "demo-shop"
    if not made.exists():
        subprocess.run([program, "demo-shop", made], check=True, capture_output=True)
    return Book(program, folder, str(made))


def no_english(tap, program, source, folder):
    os.environ["DECKWRIGHT_DATA"] = invented_data(source, folder)
    book = invented_shop(program, folder + "/invented")
    book.ok("book", "settings", "paper.language=zz")
    for job in range(1, 14):
        book.job = str(job)
        known = typed_words(book)
        for paper in PAPERS:
            if paper == "proof":
                continue  # what a reading is called in a table of the proof is the bench's word for it
            text = book.paper(paper)
            if text is None:
                continue
            loose = [word for word in re.findall(r"(?<![\w.@])[A-Za-z]{3,}(?![\w@])", text)
                     if word.lower() not in known | {"min"} and re.search("[aeiouyAEIOUY]", word)]
            tap.check(f"{paper} of job {job} has no English of the program's", loose)
    del os.environ["DECKWRIGHT_DATA"]


def sources(tap, program, source, folder):
    """Where an allowed range comes from is said in the customer's language, of every range that the program has."""
    stated = set()
    for path in pathlib.Path(source, "data/limits").glob("*.ini"):
        stated |= set(re.findall(r"^source = (.*)$", path.read_text(encoding="utf-8"), re.M))
    for path in pathlib.Path(source, "src/procedure").rglob("*.c"):
        for call in re.findall(r'dw_reading_set_limit\((?:[^;"]|"[^"]*")*;', path.read_text(encoding="utf-8")):
            stated |= set(re.findall(r'"([^"]* [^"]*)"\);$', call))
    english = read_words(source + "/data/words/papers.ini")
    said = {text for name, text in english.items() if name.startswith("sources.")}
    tap.check("every source of a range can be said", sorted(stated ^ said))
    book = invented_shop(program, folder + "/sources")
    for tag in LANGUAGES:
        book.ok("book", "settings", f"paper.language={tag}")
        words = read_words(f"{source}/data/words/papers.{tag}.ini")
        text = book.paper("proof")
        tap.check(f"a proof in {tag} names the parts of lines",
                  "" if f"{words['charts.part.platter']} {words['charts.part.or']} {words['charts.part.record']}" in (text or "") else text)
        tap.check(f"a proof in {tag} says its ranges' sources", [name for name in ("sources.mean_speed", "sources.alignment")
                                                                if " ".join(words[name].split()) not in " ".join((text or "").split())])


def places(tap, program, folder):
    """Every paper of the invented shop in every language keeps within its margins and off itself."""
    book = invented_shop(program, folder + "/shop")
    for tag in LANGUAGES:
        book.ok("book", "settings", f"paper.language={tag}")
        for job in (1, 2, 9, 12, 13):
            for paper in PAPERS:
                size = "letter" if job == 13 or paper == "label" else "a4"
                path = f"{folder}/{paper}.pdf"
                done = book.call("report", paper, str(job), "--out", path, "--paper", size)
                if done.returncode:
                    continue
                pages, complaint = pages_of(path)
                # What is too narrow for a word of its head breaks it, with a hyphen that nobody typed.
                cut = [word[4] for page in pages for word in page if "…" in word[4] or word[4].endswith("\u2010")]
                tap.check(f"{paper} of job {job} in {tag} keeps to its place",
                          complaint or outside(pages, size) or overlaps(pages) or cut)
                if paper == "service":
                    tap.check(f"the service report of job {job} in {tag} is two pages at most", len(pages) if len(pages) > 2 else "")


def main(program, source):
    tap, program = Tap(), os.path.abspath(program)
    catalogues(tap, source)
    choices(tap, source)
    with tempfile.TemporaryDirectory() as folder:
        spoken(tap, program, folder)
        woven(tap, program, folder)
        own_words(tap, program, folder)
        scripts(tap, program, folder)
        no_english(tap, program, os.path.abspath(source), folder)
        sources(tap, program, source, folder)
        places(tap, program, folder)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
