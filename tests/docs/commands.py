#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every command that README and docs name is run in a scratch folder with an invented shop; every file that they name is
there; README's samples are what scripts/demo's calls print, figures and all.

Usage: commands.py PROGRAM ROOT [--write]; with --write README's samples and the demo's picture are made anew instead."""
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from support import Tap  # noqa: E402

# What stands for a thing of the reader's own.
STANDS_FOR = {"COMMAND": "speed", "JOB": "1", "NUMBER": "1", "PLAN": "data/plans/twenty-band-side.plan", "DECKFILE": "data/demo/worn-belt-deck.deck",
              "RECORDING": "demo/worn-belt.wav", "FILE.pdf": "paper.pdf", "OUT.wav": "out.wav", "OUT.mov": "out.mov", "OUT.jpg": "out.jpg", "FOLDER": "folder"}
# A notice goes to an owner who is waited for.
WAITS = "12"
# What the invented shop rightly answers to what it has not.
HAS_NOT = {("bench", "revoke", "1"): "There is no screen number 1 in the book."}
SHEET = ["speed", "demo/worn-belt.wav", "record.tone=3150Hz", "deck.speed=33.33rpm", "record.radius=100mm"]
NAMED = re.compile(r"^(?:scripts|tests|data|docs|src|po)/[\w./*-]+$")
GIVEN = "a password of the shop\n"
# What is made of its usual length or size does the same of a short or small one: the music is the piece that comes with the program.
SHORT = {"OUT.mov": ["synth.length=1s"], "OUT.jpg": ["synth.picture_width=800"], "synth.music=evening": ["synth.length=3s"]}
PICTURES = (".jpg", ".png", ".mov", ".mkv")
SERVES = "http"  # what a bench's first line names


def texts(root):
    return [*sorted(root.glob("[A-Z]*.md")), *sorted((root / "docs").rglob("*.md"))]


def spans(text):
    """Code within a line or over two, and lines of fenced or indented code."""
    plain = re.sub(r"^```.*?^```$", "", text, flags=re.M | re.S)
    yield from (" ".join(found.split()) for found in re.findall(r"`([^`]+)`", plain))
    yield from (line.split("  #")[0].strip() for line in re.findall(r"^    +(\S.*)$", plain, re.M))
    for block in re.findall(r"^```\n(.*?)^```$", text, re.M | re.S):
        yield from (line.split("  #")[0].strip() for line in block.splitlines())


def variants(span):
    """The calls that a line stands for: one of each word parted by bars, without what is in brackets."""
    words = re.sub(r"\[[^]]*\]|…", "", span).removeprefix("build/src/cli/").split()
    several = next((word for word in words if "|" in word), None)
    for choice in several.split("|") if several else [None]:
        asked = {**STANDS_FOR, "JOB": WAITS if choice == "notice" else STANDS_FOR["JOB"]}
        call = [choice if word == several else asked.get(word, word) for word in words[1:]]
        yield call + [more for word in words[1:] for more in SHORT.get(word, [])]


class Scratch:
    """A folder that has what the texts speak of."""

    def __init__(self, folder, program, root):
        self.folder, self.program = pathlib.Path(folder), str(pathlib.Path(program).resolve())
        (self.folder / "data").symlink_to(root / "data")
        (self.folder / "demo").mkdir()
        self.environment = {**os.environ, "DECKWRIGHT_BOOK": str(self.folder / "demo/shop"), "HOME": str(self.folder)}
        self.begun = {tuple(words): self.call(words) for words in (
            ["synth", "data/demo/worn-belt-deck.deck", "demo/worn-belt.wav"], ["demo-shop", "demo/shop"], ["job", "open", "customer_id=1", "deck_id=1"])}
        subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "30", "-subj", "/CN=bench.example",
                        "-addext", "subjectAltName=DNS:bench.example", "-keyout", "shop.key", "-out", "shop.pem"],
                       cwd=folder, check=False, capture_output=True)
        (self.folder / "shop.key").chmod(0o600)

    def call(self, words):
        # What GStreamer itself keeps of pictures is told from a leak by whole stacks alone, which are slow: tests/sight
        # looks for leaks there.
        pictures = words[0] == "synth" and any(word.endswith(PICTURES) for word in words)
        leaks = {"ASAN_OPTIONS": os.environ.get("ASAN_OPTIONS", "") + ":detect_leaks=0"} if pictures else {}
        return subprocess.run([self.program, *words], cwd=self.folder, env=self.environment | leaks, input=GIVEN,
                              capture_output=True, text=True, check=False)

    def serve(self, words):
        """Starts a bench, on a free port, and ends it when it listens."""
        words = [word for word in words if not word.startswith("port=")] + ["port=0"]
        bench = subprocess.Popen([self.program, *words], cwd=self.folder, env=self.environment, text=True,
                                 stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        line = bench.stdout.readline()
        bench.terminate()
        _, errors = bench.communicate()
        return "" if SERVES in line and bench.returncode == 0 else line + errors

    def trouble(self, words):
        """What is wrong with a call. A flagged reading (3) is none."""
        if words[:1] == ["bench"] and not words[1:2] or words[:1] == ["bench"] and ("=" in words[1] or words[1].startswith("--")):
            return self.serve(words)
        done = self.begun.pop(tuple(words), None) or self.call(words)  # what the folder began with is not made again
        if done.returncode in (0, 3) or HAS_NOT.get(tuple(words), done.stderr + "!") in done.stderr:
            return ""
        # A command's bare name in a sentence is not a call.
        if len(words) == 1 and self.call(["help", *words]).returncode == 0:
            return ""
        return done.stderr or f"ended with {done.returncode}"


def of_deck(printed):
    """The suspects: their table and what is said of them."""
    lines, kept = printed[printed.index("Suspects\n"):].splitlines(), []
    for line in lines:
        if line.startswith("- ") and not line.startswith("- Suspected"):
            break
        kept.append(line)
    return "\n".join(kept).rstrip() + "\n"


def samples(scratch):
    yield "scripts/demo prints this", scratch.call([*SHEET, "--chart", "demo/worn-belt.png"]).stdout
    yield "the same with --deck, its suspects", of_deck(scratch.call([*SHEET, "--deck", "data/demo/worn-belt-deck.deck"]).stdout)


def sample(name):
    return re.compile(r"(<!-- sample: " + re.escape(name) + r" -->\n```\n)(.*?)(^```$)", re.M | re.S)


def write(scratch, root):
    readme = root / "README.md"
    text = readme.read_text(encoding="utf-8")
    for name, printed in samples(scratch):
        text, count = sample(name).subn(lambda found, printed=printed: found[1] + printed + found[3], text)
        if count != 1:
            sys.exit(f"README has {count} samples called '{name}'.")
    readme.write_text(text, encoding="utf-8")
    shutil.copyfile(scratch.folder / "demo/worn-belt.png", root / "docs/pictures/worn-belt.png")


def check_commands(tap, scratch, root):
    calls = {}
    for path in texts(root):
        for span in spans(path.read_text(encoding="utf-8")):
            if re.match(r"(build/src/cli/)?deckwright [a-z]", span):
                for words in variants(" ".join(shlex.split(span))):
                    calls.setdefault(tuple(words), path.relative_to(root))
    # What sets up comes before what needs it.
    for words in sorted(calls, key=lambda words: (words[:2] != ("bench", "password"), words)):
        tap.say(f"{calls[words]}: deckwright {' '.join(words)}", scratch.trouble(list(words)))
    tap.say(f"{len(calls)} commands are found", not len(calls) > 20)


def check_files(tap, root):
    for path in texts(root):
        named = {span.split()[0] for span in spans(path.read_text(encoding="utf-8")) if NAMED.match(span.split()[0] if span.split() else "")}
        named = {name for name in named if not re.search(r"NAME|_N|ROOM", name)}
        tap.say(f"{path.relative_to(root)}: the files it names are there", " ".join(sorted(name for name in named if not list(root.glob(name)))))


def main(program, root, *options):
    root, tap = pathlib.Path(root).resolve(), Tap()
    with tempfile.TemporaryDirectory() as folder:
        scratch = Scratch(folder, program, root)
        if options == ("--write",):
            write(scratch, root)
            return 0
        readme = (root / "README.md").read_text(encoding="utf-8")
        for name, printed in samples(scratch):
            found = sample(name).search(readme)
            same = found and found[2] == printed
            tap.say(f"README's sample '{name}' is what is printed", "" if same else
                    f"run python3 tests/docs/commands.py build/src/cli/deckwright . --write\n{printed}")
        demo = (root / "scripts/demo").read_text(encoding="utf-8").replace("\\\n", " ")
        tap.say("scripts/demo makes this call", " ".join(SHEET) not in " ".join(demo.split()))
        check_commands(tap, scratch, root)
        check_files(tap, root)
    return tap.end()


sys.exit(main(*sys.argv[1:]))
