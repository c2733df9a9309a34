#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Where a sheet goes to is looked at before it is measured, and a sheet that was measured is always printed."""
import array
import math
import os
import pathlib
import sqlite3
import subprocess
import sys
import tempfile

from support import Tap, run, wav

RATE_HZ = 16000
HEAD = "Speed, wow and flutter: take.wav\n"
BOOK = ["--book", "book"]
OVER = "is what this call reads; it would be written over. Give another name."

# Arguments, exit status, the whole of stderr behind "deckwright: ". Nothing is measured, printed, written or kept.
REFUSED = [
    (["--chart", "take.wav"], 2, f"--chart take.wav {OVER}"),
    (["--chart", "take.svg"], 2, f"--chart take.svg {OVER}"),  # a link to it
    (["--chart", "hard.png"], 2, f"--chart hard.png {OVER}"),  # the same file by another name
    (["--chart", "folder/../take.svg"], 2, f"--chart folder/../take.svg {OVER}"),
    (["--deck", "deck.png", "--chart", "deck.png"], 2, f"--chart deck.png {OVER}"),
    (["--chart", "nowhere/a.svg"], 1,
     "nowhere/a.svg cannot be written: No such file or directory. Choose a folder that you may write to."),
    (["--chart", "folder.svg"], 1, "folder.svg cannot be written: Is a directory. Choose another place for it."),
    (["--chart", "a.gif"], 2, "A chart is written as .svg, .png or .pdf; “a.gif” ends in none of them."),
    (["--chart", "a.svg", "--chart", "b.svg"], 2, "--chart is given twice: a.svg and b.svg. Keep one."),
    (["--job", "77", "--as", "received", *BOOK], 2, "There is no job 0077 in the book."),
    (["--job", "x", "--as", "received", *BOOK], 2, "\"x\" is not a job's number. It stands on the label, such as 0042."),
    (["--job", "1", *BOOK], 2, "Say when it was measured: received, during or left."),
    (["--job", "1", "--as", "soon", *BOOK], 2, "Say when it was measured: received, during or left."),
    (["--job", "1", "--as", "left", "--book", "nowhere"], 2,
     "There is no job book in nowhere. 'deckwright book new' starts one there."),
    (["--job", "2", "--as", "left", *BOOK], 2,
     "Job 0002 was handed over. Open a new job for this stay, or move it back first: deckwright job move 2 received."),
    (["deck.speed=45", "deck.speed=33.3"], 2, "deck.speed is given twice: deck.speed=45 and deck.speed=33.3. Keep one."),
    (["deck.speed=45rpm", "deck.speed=45rpm"], 2,
     "deck.speed is given twice: deck.speed=45rpm and deck.speed=45rpm. Keep one."),
    (["--deck", "twice.deck"], 2,
     "twice.deck: line 3: deck.speed is given twice: deck.speed=45 rpm and deck.speed=33 rpm. Keep one."),
]
# Options in the forms that people type.
TAKEN = [["--job=1", "--as=received", "--book=book"], ["--job", "0001", "--as", "received", *BOOK],
         ["--chart=a=b.svg"], ["--json", "--job=1", "--as=left", "--by=Kim", "--book=book"],
         ["--deck=good.deck", "--deck", "other.deck", "deck.speed=33.3"], ["record.radius=100mm", "record.radius=60mm"]]


def make_files(program, folder):
    tone = array.array("f", [0.3 * math.sin(2 * math.pi * 3150 * n / RATE_HZ) for n in range(32 * RATE_HZ)])
    (folder / "take.wav").write_bytes(wav(tone.tobytes(), rate=RATE_HZ))
    (folder / "take.svg").symlink_to("take.wav")
    (folder / "hard.png").hardlink_to(folder / "take.wav")
    for name in ["folder", "folder.svg"]:
        (folder / name).mkdir()
    (folder / "good.deck").write_text("[deck]\nspeed = 45 rpm\n")
    (folder / "other.deck").write_text("[deck]\nspeed = 78 rpm\n")
    (folder / "deck.png").write_text("[deck]\nspeed = 45 rpm\n")
    (folder / "twice.deck").write_text("[deck]\nspeed = 45 rpm\nspeed = 33 rpm\n")
    book = [["book", "new"], ["customer", "add", "name=Ada"], ["deck", "add", "make=A", "model=B"],
            ["job", "open", "customer_id=1", "deck_id=1"], ["job", "open", "customer_id=1", "deck_id=1"],
            ["job", "move", "2", "handed over", "--sure"]]
    for arguments in book:
        got, _, err = run(program, [*arguments, *BOOK], folder)
        if got:
            raise SystemExit(f"Bail out! {arguments}: {err}")


def everything(folder):
    """Names and contents of all files, the book's own aside."""
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file() and "book" not in path.parts}


def kept(program, folder):
    return run(program, ["job", "show", "1", *BOOK], folder)[1].count("speed")


def check_refused(program, folder, arguments, status, complaint):
    before, sheets = everything(folder), kept(program, folder)
    got, out, err = run(program, ["speed", "take.wav", *arguments], folder)
    if (got, out, err) != (status, "", f"deckwright: {complaint}\n"):
        return f"exit {got}: {err}wanted: {complaint}\nstdout: {out[:100]}"
    return "" if (everything(folder), kept(program, folder)) == (before, sheets) else "something was written"


def check_taken(program, folder, arguments):
    got, out, err = run(program, ["speed", "take.wav", *arguments], folder)
    return "" if got in (0, 3) and not err and out else f"exit {got}: {err}"


def check_printed(program, folder, arguments):
    """What fails although it was looked at: the sheet is printed, and one line says what was not done."""
    other = sqlite3.connect(folder / "book/book.sqlite")
    other.execute("BEGIN IMMEDIATE")  # somebody else goes on writing
    try:
        got, out, err = run(program, ["speed", "take.wav", *arguments], folder)
    finally:
        other.rollback()
        other.close()
    if got != 1 or not out.startswith("{" if "--json" in arguments else HEAD):
        return f"exit {got}: {err}{out[:200]}"
    return "" if err.startswith("deckwright: ") and err.count("\n") == 1 else f"stderr: {err}"


def check_out(program, folder, name, status, complaint):
    before = everything(folder)
    got, out, err = run(program, ["template", "arm.pivot_to_spindle=222mm", "--deck", "empty.deck", "--out", name], folder)
    if (got, out, err) != (status, "", f"deckwright: {complaint}\n"):
        return f"exit {got}: {err}wanted: {complaint}\nstdout: {out[:100]}"
    return "" if everything(folder) == before else "something was written"


def holds_something(process, folder):
    """Whether PROCESS has a file of FOLDER open, named or not, that has begun to grow."""
    for link in pathlib.Path(f"/proc/{process.pid}/fd").iterdir():
        try:
            if os.readlink(link).startswith(str(folder)) and link.stat().st_size > 0:
                return True
        except FileNotFoundError:  # closed meanwhile
            pass
    return False


def check_killed(program, folder, name):
    """Killed while it writes NAME it leaves what was there, and nothing beside it."""
    (folder / name).write_bytes(b"before")
    with subprocess.Popen([os.path.abspath(program), "synth", name, "synth.length=1500s"], cwd=folder, stdout=subprocess.DEVNULL) as process:
        while process.poll() is None and not holds_something(process, folder):
            pass
        process.kill()
    left = sorted(path.name for path in folder.iterdir())
    if process.returncode != -9:
        return f"it ended by itself: {process.returncode}"
    return "" if left == [name] and (folder / name).read_bytes() == b"before" else f"{left}"


def has_nameless(folder):
    try:
        os.close(os.open(folder, os.O_TMPFILE | os.O_RDWR))
    except OSError:
        return False
    return True


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        make_files(program, folder)
        (folder / "empty.deck").write_text("; nothing\n")
        (folder / "empty.pdf").symlink_to("empty.deck")
        for arguments, status, complaint in REFUSED:
            tap.say(f"refused: {' '.join(arguments)}", check_refused(program, folder, arguments, status, complaint))
        for arguments in TAKEN:
            tap.say(f"taken: {' '.join(arguments)}", check_taken(program, folder, arguments))
        for arguments in [("empty.pdf", 2, f"--out empty.pdf {OVER}"),
                          ("a.png", 2, "A template is written as .pdf; “a.png” does not end in it."),
                          ("nowhere/a.pdf", 1, "nowhere/a.pdf cannot be written: No such file or directory. Choose a "
                           "folder that you may write to.")]:
            tap.say(f"template --out {arguments[0]}", check_out(program, folder, *arguments))
        got, out, err = run(program, ["template", "arm.pivot_to_spindle=222mm", "--out", "t.pdf", "--chart", "t.pdf"], folder)
        tap.say("two files of one name", "" if (got, out, err) == (
            2, "", "deckwright: --chart and --out both name t.pdf. Give one of them another name.\n") else f"{got}: {err}")
        job = ["--job", "1", "--as", "received", *BOOK]
        tap.say("the book is taken: the sheet is printed", check_printed(program, folder, job))
        tap.say("the book is taken: the sheet is printed as JSON", check_printed(program, folder, [*job, "--json"]))
        tap.say("the book is taken: the chart is written", check_printed(program, folder, [*job, "--chart", "late.svg"])
                or ("" if (folder / "late.svg").stat().st_size else "it was not"))
    for name in ["killed.wav", "killed.flac", "killed.mov"]:
        with tempfile.TemporaryDirectory() as place:
            if has_nameless(place):
                tap.say(f"{name}: killed in the middle it leaves no half file", check_killed(program, pathlib.Path(place).resolve(), name))
            else:
                tap.skip(f"{name}: killed in the middle it leaves no half file", "this disk has no files without a name")
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
