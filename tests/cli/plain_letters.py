#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What refuses a call says every word of it in the reader's language. The catalogue of this test has each text in
full-width letters, so that a word in plain ones was typed, is a key, or never went through the catalogue: a label or a
reason that was put into a sentence that did."""
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import odd_calls
from bracketed import bracketed, widened
from support import Tap

# A plan with everything wrong in it, and one whose levels, lengths and radii cannot be.
WRONG_PLAN = """[record]
speed = parsec
colour = red
[side 1]
a = 1
[band 1]
kind = tune
[band 3]
kind = sweep
from = 20 Hz
to = 20 Hz
length = 10 s
[band 4]
kind = tone
freq = 1 kHz
level = 5
[band 5]
length = 10 s
[band 6]
kind = steps
frequency = 300 Hz
level = 40 um
length = 10 s
[band 7]
kind = tone
frequency = 1 kHz
frequency = 2 kHz
level = 0 cm/s
length = 10 parsec
high = 2 dB
[band 8]
kind = two-tone
frequency = 4 kHz 400 Hz
level = 3 dB
length = 10 s
"""
ODD_PLAN = """[record]
speed = 33.33 rpm
[band 2]
kind = tone
frequency = 300 Hz
level = 900 cm/s
length = 2000 s
radius = 120 mm
[band 3]
kind = tone
frequency = 10 Hz
level = 5 cm/s
length = 1 s
radius = 121 mm
[band 4]
kind = steps
frequency = 1 kHz
level = 1 2 3 4 cm/s
length = 6 s
radius = 60 mm
"""
FILES = {"wrong.plan": WRONG_PLAN, "odd.plan": ODD_PLAN, "none.plan": "", "one.wav": "", "two.wav": "",
         "piece.music": "[instrument a]\npartials = x\n[part b]\nnotes = C4:1\n", "empty.music": "[part b]\nnotes = C4:1\n"}
MORE = ["plan check wrong.plan", "plan check odd.plan", "plan check none.plan", "speed", "speed one.wav two.wav", "reseat one.wav", "belt",
        "belt photo.png folder", "pose photo.png", "pose photo.png photo.png", "film", "film one.wav two.wav", "align arm.offset=999",
        "align arm.offset=3parsec", "align record.cartridge=1", "load preamp.resistance=47,000", "guide recheck colour",
        "strobe --chart nowhere/a.png", "strobe --chart folder", "report receipt 1 --out paper", "strobe --out paper",
        "synth a.wav synth.rate=8000 record.tone=5000Hz", "synth a.wav synth.music=piece.music", "synth a.wav synth.music=empty.music",
        "twin one.wav two.wav", "book restore stick --book stick", "book restore stick --book stick/sub", "customer list --book folder",
        "customer add name=Ada nickname=Bo", "job show 999", "deck show 99", "register show 9", "invoice cancel 9", "book change customer 9 name=Cy",
        "book merge customer 1 1", "book undo 1", "book remove job 1", "estimate agree 9", "job add 1 owl", "stock add number=B1 name=Belt",
        "deck add make=A made_year=old", "invoice line 1 name=x tax_rate=200", "invoice line 1 name=x minutes=1.5"]
# Files of the guide in which much is wrong: a line without a group, keys that are none, what stands twice, is missing, has
# no number, lies beyond its range, points to nothing, harms or hides the mains.
WRONG_GUIDE = {"faults.ini": """prior = 1
[a]
name = A
name = B
colour = red
area = drive
prior = 2
old = 99
drives = steam
has = wings
remedy = none
belt = 3
source = x
[bent]
prior = x
[a]
prior = 0.1
""", "symptoms.ini": """[slow]
ask = Is it slow?
leak = 2
by = a
by = nobody 0.5
by = bent 0.5
by = bent 0.5
alike = nothing
not_with = symptom.none
first = nothing
source = x
""", "findings.ini": """[long]
ask = Is it long?
test = nothing
measures = slow, quick
reading = speed
line = platter below 3
by = bent 0.5
leak = 0.1
source = x
""", "tests.ini": """[look]
name = Look
do = Boil the belt. Oil the belt.
minutes = 999
risk = some
mains = perhaps
against = nothing
source = x
[open]
name = Open
do = Open it.
minutes = 3
risk = high
mains = yes
source = x
""", "remedies.ini": """[mend]
name = Mend it
opens = everything
order = 99
minutes = soon
never = Always oil the belt.
source = x
"""}
# What a technician types and reads as it is: keys, choices, files, units, and words that are a name in every language.
LISTED = r"(?:\b[a-z][\w-]*, ){2,}[a-z]\w*"
KEY = (r"\[[^\]\n]*\]|\([a-z_]+\)|'[^'\n]*'|\"[^\"\n]*\"|[a-z0-9]*_[a-z_0-9]+|[a-z]+(?:\.[a-z_0-9]+)+"
       r"|\S*[/|=]\S*|\S+\.\w+|[a-z]+-[a-z-]+")
NAMES = {"hifi", "broadcast", "vintage", "portable", "deckwright", "mm", "Hz", "rpm", "deg", "rad"}
UNITS = {"s", "g", "h", "a", "V", "W"}
# Of a plan, which is typed in English everywhere.
NAMES |= {"kind", "channel", "frequency", "speed", "length", "level", "high", "tone", "sweep", "steps", "silence"}
# Reasons of the system and of the database, which have catalogues of their own.
OF_SYSTEM = re.compile(r"No such file or directory|Is a directory|file is not a database|UNIQUE constraint failed: [\w., ]+")


def words_left(said, typed):
    """Plain words of SAID that nobody typed."""
    said = re.sub(LISTED, " ", OF_SYSTEM.sub(" ", said))
    for word in sorted({*typed, *(part for word in typed for part in re.split("[=:]", word))}, key=len, reverse=True):
        said = said.replace(word, " ") if len(word) > 1 else said
    said = re.sub(KEY, " ", said)
    return [word for word in re.findall(r"(?<![^\W\d_])[A-Za-z][a-z]*(?![^\W\d_])", said) if word not in NAMES and word not in UNITS]


def refusal(program, folder, arguments, catalogues, **more):
    """What PROGRAM says of a call in the language of the catalogue, and its exit status."""
    env = {**os.environ, "LC_ALL": "C.UTF-8", "LANGUAGE": "xx", "DECKWRIGHT_WORDS": catalogues, **more}
    done = subprocess.run([os.path.abspath(program), *arguments], cwd=folder, env=env, stdin=subprocess.DEVNULL, capture_output=True,
                          timeout=300, check=False)
    return done.returncode, (done.stdout + done.stderr).decode(errors="replace")


def calls():
    for arguments, _ in odd_calls.REFUSED:
        yield [os.fsdecode(word) if isinstance(word, bytes) else word for word in arguments], arguments[0] != "strobe"
    yield from ((arguments, False) for arguments, _ in odd_calls.CONTRADICTED)
    procedures = ("align", "belt", "film", "load", "pose", "reseat", "speed", "strobe", "synth", "twin", "plan", "guide")
    yield from ((line.split(" "), line.split(" ")[0] not in procedures and "--book" not in line) for line in MORE)


def guide(program, folder, catalogues, tap):
    """What is wrong in the files of the guide is told in the reader's language, but what stands in them."""
    (folder / "data/guide").mkdir(parents=True)
    for name, text in WRONG_GUIDE.items():
        (folder / "data/guide" / name).write_text(text)
    status, said = refusal(program, folder, ["guide", "check"], catalogues, DECKWRIGHT_DATA=str(folder / "data"))
    typed = re.findall(r"[A-Za-z]{2,}", "\n".join(WRONG_GUIDE.values()))
    left = words_left(said, [*typed, "tools", "caution", "phrases", str(folder)])
    lines = said.count(".ini:")
    tap.say("guide check: every word is the reader's", f"{left}, exit {status}, {lines} lines in\n{said}" if left or status != 2 or lines < 25 else "")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name).resolve()
        odd_calls.prepare(program, folder)
        for path, text in FILES.items():
            (folder / path).write_text(text)
        catalogues = str(folder / "letters")
        os.mkdir(catalogues)
        bracketed(catalogues, widened)
        for arguments, of_book in calls():
            status, said = refusal(program, folder, [*arguments, *(odd_calls.BOOK if of_book else [])], catalogues)
            left = words_left(said, [*arguments, str(folder)])
            called = " ".join(arguments).encode("unicode_escape").decode()
            tap.say(f"{called}: every word is the reader's", f"{left} in\n{said}" if left else "" if status in (1, 2, 3) else f"exit {status}: {said}")
        guide(program, folder, catalogues, tap)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
