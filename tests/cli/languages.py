#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The command line in the language of whoever is at the terminal: German, French and Spanish say as much as English,
numbers have that language's mark, JSON and files for programs stay as they are; and with a catalogue that puts each
text into brackets nothing stands without them but what is typed or is data."""
import array
import json
import math
import os
import pathlib
import re
import struct
import subprocess
import sys
import tempfile

from bracketed import bracketed
from support import Tap

LANGUAGES = ["de", "fr", "es"]
# Calls of every kind; the book is the demonstration shop's.
CALLS = """help
help job
help align
help hum
help customer
help arm.offset
board
book kinds
book check
book find ed
book find zzz
book fields deck
book settings
book due
customer list
deck show 1
job show 1
job show 3
job compare 4
job visit 3
job abandoned
job fields
estimate show 1
invoice list
invoice show 1
stock list
stock belts length=590
stock belts length=5000
model fields
register list stylus
report edits 3
report sentences
bench list
guide list tests
guide symptom.wow=yes drive.kind=belt
align arm.pivot_to_spindle=215mm
force force.reading=1.8g force.target=1.75g
drive drive.kind=belt
riaa
strobe
foo
aline
align arm.offst=2
align arm.offset=x
align arm.offset=999
speed nowhere.wav
speed
plan check nowhere.plan
plan
job show 999
job show x
job move 1 nowhere
invoice pay 999 amount=1
book restore nowhere
guide list nothing
guide confirm
help nothing-of-the-kind""".split("\n")
# What refuses and what helps: nothing of it is typed by anybody.
ONLY_WORDS = ["help", "help hum", "book kinds", "book check", "book find zzz", "book due", "job abandoned", "stock belts length=5000",
              "report edits 3", "bench list", "foo", "aline", "align arm.offst=2", "align arm.offset=x", "align arm.offset=999",
              "speed nowhere.wav", "speed", "plan check nowhere.plan", "plan", "job show 999", "job show x", "guide list nothing",
              "guide confirm", "help nothing-of-the-kind", "book restore nowhere"]
# Keys, names of commands and files, values with a unit, lists of what can be typed.
DATA = re.compile(r"[\W\d_]*|[\W\d]*[a-z_0-9]+(\.[a-z_]+)+[\W\d]*|\W*[a-z_-]+\W*|[\W\d]*(mm|deg|rpm|Hz|g|%)[\W\d]*|\S*[./|=]\S*")


class Program:
    def __init__(self, program, folder):
        self.program, self.folder = os.path.abspath(program), folder

    def call(self, words, language, catalogues=None):
        """Exit status, stdout and stderr."""
        env = {**os.environ, "LC_ALL": "C.UTF-8", "LANGUAGE": language, "DECKWRIGHT_BOOK": self.folder + "/shop"}
        env.pop("DECKWRIGHT_WORDS", None)
        if catalogues:
            env["DECKWRIGHT_WORDS"] = catalogues
        done = subprocess.run([self.program, *words.split()], cwd=self.folder, env=env, stdin=subprocess.DEVNULL,
                              capture_output=True, timeout=600, check=False)
        return done.returncode, done.stdout.decode(), done.stderr.decode()


def escaped(text):
    """Lines of TEXT with something outside brackets that is no data."""
    while (inner := re.sub(r"⟦[^⟦⟧]*⟧", " ", text)) != text:  # words within words
        text = inner
    return [line for line in text.split("\n") if not all(DATA.fullmatch(part) for part in re.split(r"\s{2,}|[,;:]\s|\s(?=\[)", line.strip()))]


def same_shape(english, other):
    """What OTHER lacks of ENGLISH: the status, a stream, or half of its words."""
    if english[0] != other[0]:
        return f"exit {english[0]} in English, {other[0]} here"
    for name, one, two in (("stdout", english[1], other[1]), ("stderr", english[2], other[2])):
        if len(two.split()) * 2 < len(one.split()) or bool(one.strip()) != bool(two.strip()):
            return f"{name}:\n{two}"
    return ""


def is_english(english, other):
    return other == english and re.search(r"[A-Za-z]{3,} [a-z]{3,} [a-z]{3,}", english[1] + english[2])


def helps(program, tap):
    """No line of a command's help stands as it is in English but what is typed."""
    names = re.findall(r"^  deckwright ([a-z-]+) ", program.call("help", "C")[1], re.M)
    english = {name: set(program.call("help " + name, "C")[1].split("\n")) for name in names}
    for language in LANGUAGES:
        left = [f"{name}: {line}" for name in names for line in program.call("help " + name, language)[1].split("\n")
                if line in english[name] and re.search(r"[A-Za-z]{2,} [a-z]{2,} [a-z]{2,}", line) and not re.match(r" *deckwright |  [a-z]+\.[a-z_]+ .*\[", line)]
        tap.say(f"{language}: nothing of any command's help is left in English", "\n".join(left))
    said = program.call("help stock", "de")[1]
    tap.say("de: what a field takes is said", "" if "ein Geldbetrag" in said else said)


def numbers(program, tap):
    sheet = "align arm.pivot_to_spindle=215mm arm.offset=23.5deg"
    plain = program.call(sheet + " --json", "C")[1]
    for language in LANGUAGES:
        text = program.call(sheet, language)[1]
        overhang = re.search(r"17([.,])\d{2,3} +mm", text)
        tap.say(f"{language}: numbers have a comma", "" if overhang and overhang.group(1) == "," else text[:400])
        tap.say(f"{language}: JSON is as in English", "" if program.call(sheet + " --json", language)[1] == plain else "it differs")
    json.loads(plain)
    typed = [program.call("align arm.pivot_to_spindle=" + size, "de")[1] for size in ("215,5mm", "215.5mm")]
    tap.say("a number is typed with a comma or a point", "" if typed[0] == typed[1] and typed[0] else typed[0])


def records(program, tap):
    """Choices and amounts of an entry; what refuses a move in words of the book."""
    job = re.search(r"\d{4}", program.call("job open customer_id=1 deck_id=1", "C")[1]).group()
    for language, words in {"de": ("Rechnung", "ausgestellt", "Netto|netto"), "fr": ("facture", "émise", "HT"), "es": ("factura", "emitida", "neto")}.items():
        shown = program.call("invoice show 1", language)[1]
        tap.say(f"{language}: an invoice's choices are said", "\n".join(word for word in words if not re.search(word, shown)))
        tap.say(f"{language}: its amounts have a comma", "\n".join(re.findall(r".*\b\d+\.\d\d\b.*", shown)))
        moved = program.call(f"job move {job} measuring", language)
        tap.say(f"{language}: what speaks against a move is said", moved[2] if moved[0] != 2 or re.search(r"\b(The|not|yet|With)\b", moved[2]) else "")


# A word of its drawing in each language, and what was given as the drawing writes it.
DRAWN = {"de": ("Vorsicht", "12,0"), "fr": ("Attention", "12,0"), "es": ("Cuidado", "12,0")}


# Papers that are true to scale: all that is read on them is the reader's, but what is typed.
PAPERS = ["template template.kind=arc arm.pivot_to_spindle=215mm", "template template.kind=grid", "strobe",
          "template template.kind=grid arm.kind=linear", "template template.kind=overhang arm.pivot_to_spindle=215mm",
          "template template.kind=strip arm.pivot_to_spindle=215mm", "template template.kind=disc", "template template.kind=card"]


# What a recording that was cut off, and a sheet that took from the book, say in each language.
TOLD = {"de": ("endet vorzeitig: 10,0 von 20,0 Sekunden", "Aus dem Auftragsbuch: ", "Zu Auftrag {} abgelegt"),
        "fr": ("s’arrête trop tôt : 10,0 des 20,0 secondes", "Tiré du livre : ", "Conservé au travail {}"),
        "es": ("termina antes de tiempo: 10,0 de 20,0 segundos", "Del libro de trabajos: ", "Guardado en el trabajo {}")}


def write_cut_off(path):
    """Ten seconds of 3150 Hz under a header that promises twenty."""
    rate, length = 16000, 10
    samples = array.array("h", (round(12000 * math.sin(2 * math.pi * 3150 * i / rate)) for i in range(rate * length)))
    promised = 2 * 2 * rate * length
    head = struct.pack("<4sI8sIHHIIHH4sI", b"RIFF", 36 + promised, b"WAVEfmt ", 16, 1, 1, rate, 2 * rate, 2, 16, b"data", promised)
    pathlib.Path(path).write_bytes(head + samples.tobytes())


def remarks(program, tap):
    write_cut_off(program.folder + "/cut.wav")
    job = re.search(r"\d{4}", program.call("job open customer_id=1 deck_id=1", "C")[1]).group()
    for language, words in TOLD.items():
        done = program.call(f"speed cut.wav record.tone=3150Hz --job {job} --as received", language)
        said = re.sub(r"\s+", " ", done[1])
        tap.say(f"{language}: what the recording and the book have to say is said", "\n".join(word for word in words if word.format(job) not in said)
                and (words, said[-900:], done[2]))


def papers(program, tap):
    for language in LANGUAGES:
        for paper in PAPERS:
            program.call(paper + " --out paper.pdf", language)
            text = subprocess.run(["pdftotext", "-layout", "paper.pdf", "-"], cwd=program.folder, capture_output=True, check=True).stdout.decode()
            wrong = re.findall(r".*\b(?:the|of|with|is|must|short)\b.*", text) or ("" if len(text.split()) > 20 else [text])
            tap.say(f"{language}: {paper}: nothing that is printed is in English", "\n".join(wrong))
            os.remove(program.folder + "/paper.pdf")


def drawings(program, tap):
    for language, words in DRAWN.items():
        program.call("resonance arm.effective_mass=12g cartridge.mass=6g cartridge.compliance=15 --chart drawn.pdf", language)
        text = subprocess.run(["pdftotext", "-layout", "drawn.pdf", "-"], cwd=program.folder, capture_output=True, check=True).stdout.decode()
        tap.say(f"{language}: a drawing speaks it, no word broken", "\n".join(word for word in words if word not in text))
        tap.say(f"{language}: nothing of a drawing is in English", "\n".join(re.findall(r".*\b(?:the|of|with|Caution|Limit)\b.*", text)))


def main(program, folder):
    tap = Tap()
    program = Program(program, folder)
    made = program.call("demo-shop shop", "de")
    tap.say("the demonstration shop is made in German", "" if made[0] == 0 and "Werkstatt" in made[1] else made)
    english = {call: program.call(call, "C") for call in CALLS}
    for call, said in english.items():
        tap.say(f"{call}: ends by itself", "" if said[0] in (0, 1, 2, 3) else said)
    for language in LANGUAGES:
        said = {call: program.call(call, language) for call in CALLS}
        for call in CALLS:
            tap.say(f"{language}: {call}: says as much as in English", same_shape(english[call], said[call]))
        left = [call for call in ONLY_WORDS if is_english(english[call], said[call])]
        tap.say(f"{language}: nothing is left in English", "\n".join(left))
    catalogues = folder + "/brackets"
    os.mkdir(catalogues)
    bracketed(catalogues)
    for call in ONLY_WORDS:
        _, out, err = program.call(call, "xx", catalogues)
        tap.say(f"{call}: says nothing that is not in the catalogue", "\n".join(escaped(out + err)))
    helps(program, tap)
    numbers(program, tap)
    drawings(program, tap)
    papers(program, tap)
    remarks(program, tap)
    records(program, tap)
    return tap.end()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made_here:
        sys.exit(main(sys.argv[1], str(pathlib.Path(made_here).resolve())))
