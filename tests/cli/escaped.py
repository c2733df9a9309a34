#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""No text escapes the catalogue: with one that lengthens every word and puts accents on its vowels, a word with plain
vowels comes from elsewhere. Asked are every command's help, sheets of two procedures in three with their drawings, and the papers
of five jobs; values, names and numbers excepted, and what is typed as it is in every language."""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import textwrap

from bracketed import bracketed, escaped, lengthened, typed
from support import Tap

# A side in two minutes that has a band of every kind.
PLAN = """[record]
name = Quay side
number = 7
speed = 33 1/3 rpm
reference = 5 cm/s
lead_in = 2 s
gap = 2 s
""" + "".join(f"[band {number}]\n{lines}\nradius = {144 - 4 * number} mm\n" for number, lines in enumerate((
    "kind = tone\nchannel = lateral\nfrequency = 3150 Hz\nlevel = 0 dB\nlength = 20 s",
    "kind = tone\nchannel = left\nfrequency = 1 kHz\nlevel = 3.54 cm/s\nlength = 10 s",
    "kind = tone\nchannel = right\nfrequency = 1 kHz\nlevel = 3.54 cm/s\nlength = 10 s",
    "kind = tone\nchannel = lateral\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 10 s",
    "kind = tone\nchannel = vertical\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 10 s",
    "kind = sweep\nchannel = lateral\nfrom = 25 Hz\nto = 4 Hz\nlevel = 1 cm/s\ncut = velocity\nlength = 20 s",
    "kind = sweep\nchannel = left\nfrom = 20 Hz\nto = 20 kHz\nlevel = -10 dB\nlength = 20 s",
    "kind = steps\nchannel = lateral\nfrequency = 300 Hz\nlevel = 40 50 60 70 um\nlength = 16 s",
    "kind = two-tone\nchannel = lateral\nfrequency = 400 Hz 4 kHz\nlevel = 0 dB\nlength = 10 s",
    "kind = silence\nlength = 10 s"), 1))
MADE = """side.wav record.plan=side.plan fault.speed_error=1.2% fault.wow=0.3%
one.wav synth.length=20s fault.wow=0.3% fault.speed_error=1.2%
start.wav synth.length=20s fault.startup=3s
music.wav synth.music=evening synth.length=20s
disc.mov synth.length=2s synth.picture_width=640
card.jpg synth.scene=belt synth.picture_width=1600""".split("\n")
BELT = ("drive.kind=belt drive.motor_kind=synchronous drive.motor_poles=16 drive.pulley_diameter=12.6mm drive.rim_diameter=150mm "
        "drive.centre_distance=110mm")
# Sheets of procedures, of some with more to say another.
SHEETS = f"""speed one.wav record.tone=3150Hz
speed one.wav record.tone=3150Hz {BELT}
startup start.wav record.tone=3150Hz
held music.wav
film disc.mov
belt card.jpg
channels side.wav
azimuth side.wav
tracking side.wav
align arm.pivot_to_spindle=215mm arm.offset=23.5deg
align arm.pivot_to_spindle=215mm found.null_inner=64mm found.null_outer=122mm
template arm.pivot_to_spindle=215mm
force force.reading=1.8g force.target=1.75g force.low=1.5g force.high=2g
rake rake.measured=90deg rake.target=92deg arm.effective_length=230mm
resonance arm.effective_mass=12g cartridge.mass=6g cartridge.compliance=15
resonance arm.effective_mass=12g cartridge.mass=6g resonance.found=9.5Hz
load cartridge.inductance=500mH cartridge.resistance=700ohm cable.capacitance=150pF preamp.capacitance=100pF
riaa
riaa riaa.measured=100Hz:13.5 riaa.measured=10kHz:-14
drive {BELT}
drive drive.kind=idler drive.motor_kind=induction drive.motor_poles=4 drive.rim_diameter=260mm
drive drive.kind=direct drive.poles=20 drive.slots=15
ratio ratio.first=33.4rpm ratio.second=45.2rpm
strobe"""
# How a command is called, what names a row of a list, and words in brackets: typed as they are.
USAGE = re.compile(r"deckwright (?!needs)[a-z][^\n⟧']*|(?m:^ +[a-z]+(?:[-_][a-z]+)*(?= {2,}|$))|\[[^\]\n]*\]")
# Choices of a key, parted by blanks or bars, and the kinds of entries that are listed in a line.
CHOICES = re.compile(r"(?<=⟧): [a-z0-9][\w.|-]*(?:[ |][a-z0-9A-Z][\w.|-]*)*")
VERBS = ["customer", "deck", "job", "model", "register", "pose", "belt", "quantities"]


ROOT = pathlib.Path(__file__).resolve().parents[2]
# Papers that are true to scale, and those of a job.
TRUE_TO_SCALE = ["template template.kind=arc arm.pivot_to_spindle=215mm", "template template.kind=grid", "strobe",
                 "template template.kind=overhang arm.pivot_to_spindle=215mm", "template template.kind=strip arm.pivot_to_spindle=215mm",
                 "template template.kind=disc", "template template.kind=card"]
OF_JOBS = ["receipt", "estimate", "service", "proof", "invoice", "label", "transport", "notice"]


def speak(source, target):
    """The words of the papers at SOURCE lengthened at TARGET, but how numbers are written."""
    group, made = "", []
    for line in re.sub(r"\n +", " ", source.read_text(encoding="utf-8")).split("\n"):
        group = line if line.startswith("[") else group
        key, sign, text = line.partition(" = ")
        spoken = sign and (group != "[numbers]" or key == "months") and not line.startswith(";")
        text = " ".join(lengthened(month).strip("⟦⟧") for month in text.split()) if key == "months" else text
        made += textwrap.wrap(key + sign + (text if key == "months" else lengthened(text)), 90, subsequent_indent="  ", break_on_hyphens=False) if spoken else [line]
    target.write_text("\n".join(made), encoding="utf-8")


class Program:
    """The program in a language of lengthened texts, with data whose papers speak it."""

    def __init__(self, program, folder):
        self.program, self.folder = os.path.abspath(program), pathlib.Path(folder)
        os.mkdir(self.folder / "words")
        bracketed(self.folder / "words", lengthened)
        shutil.copytree(ROOT / "data", self.folder / "data")
        speak(ROOT / "data/words/papers.ini", self.folder / "data/words/papers.xx.ini")
        self.env = {**os.environ, "DECKWRIGHT_DATA": str(self.folder / "data"), "LC_ALL": "C.UTF-8", "LANGUAGE": "xx", "DECKWRIGHT_WORDS": str(self.folder / "words"),
                    "DECKWRIGHT_BOOK": str(self.folder / "shop")}

    def call(self, words, **more):
        """Exit status, and what it said."""
        done = subprocess.run([self.program, *words.split()], cwd=self.folder, env={**self.env, **more}, stdin=subprocess.DEVNULL,
                              capture_output=True, timeout=900, check=False)
        return done.returncode, (done.stdout + done.stderr).decode()

    def printed(self, name, *how):
        """What stands in the PDF called NAME."""
        return subprocess.run(["pdftotext", *how, name, "-"], cwd=self.folder, capture_output=True, check=True).stdout.decode()


def helps(program, tap):
    names = re.findall(r"^  deckwright ([a-z-]+) ", program.call("help", LANGUAGE="C")[1], re.M)
    tap.say(f"{len(names)} commands are asked for their help", "" if len(names) > 40 else names)
    for name in ["", *names, "quantities"]:
        status, said = program.call("help " + name)
        left = escaped(CHOICES.sub(" ", USAGE.sub(" ", said)), typed([], names))
        tap.say(f"help {name}: every word is in the catalogue", f"{left}, exit {status} in\n{said}" if left or status else "")


def sheets(program, tap):
    (program.folder / "side.plan").write_text(PLAN)
    for line in MADE:
        status, said = program.call("synth " + line)
        tap.say(f"{line.split()[0]} is made", said if status else "")
    untyped = typed(["Quay side"], ["evening"])
    for line in SHEETS.split("\n"):
        (program.folder / "drawn.pdf").unlink(missing_ok=True)
        status, said = program.call(line + " --chart drawn.pdf")
        left = escaped(said, untyped)
        tap.say(f"{line}: every word of its sheet is in the catalogue", f"{left}, exit {status} in\n{said}" if left or status not in (0, 3) else "")
        if (program.folder / "drawn.pdf").exists():
            left = escaped(program.printed("drawn.pdf"), untyped)
            tap.say(f"{line}: every word of its drawing", left)


def papers(program, tap):
    for line in TRUE_TO_SCALE:
        status, said = program.call(line + " --out paper.pdf")
        left = escaped(program.printed("paper.pdf")) if not status else said
        tap.say(f"{line}: every word of its paper is in the catalogue", left)
    program.call("demo-shop shop")
    program.call("book settings paper.language=xx")
    text = re.sub(r"\n +", " ", "\n".join((ROOT / "data" / file).read_text(encoding="utf-8") for file in ("demo/shop.ini", "operations.ini")))
    values = [value.strip() for value in re.findall(r"(?m)^\w[\w.]* *=(.*)", text)]
    untyped = typed([*values, *(part.strip() for value in values for part in re.split("[;|,]", value))], ["captive", "movingmagnet"])
    # A cell of a table that has no room for all of what was typed has it in several lines, between other cells.
    words = {word.lower() for value in values if " " in value for word in re.findall(r"[^\W\d_]+", value)} - {"the", "with", "not", "was"}
    printed = 0
    for name in OF_JOBS:
        for job in (1, 2, 6, 12, 13):
            if program.call(f"report {name} {job} --out paper.pdf")[0] == 0:
                printed += 1
                left = [word for word in escaped(program.printed("paper.pdf"), untyped) if word.lower() not in words]
                tap.say(f"{name} of job {job}: every word is the reader's", left)
    tap.say(f"{printed} papers are printed", printed < 20 and "these are few")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        program = Program(program, pathlib.Path(folder).resolve())
        helps(program, tap)
        sheets(program, tap)
        papers(program, tap)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
