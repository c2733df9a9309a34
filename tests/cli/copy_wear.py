#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The register of record copies: plays are counted, the treble of one copy on one deck is followed, and a copy's known level error
goes into what its noise is referred to."""
import json
import pathlib
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "report"))
from small_book import Book, Tap  # noqa: E402

PLAN = """[record]
reference = 5 cm/s
lead_in = 2 s
gap = 2 s
[band 1]
kind = tone
channel = lateral
frequency = 1 kHz
level = 0 dB
length = 6 s
[band 2]
kind = sweep
channel = lateral
from = 100 Hz
to = 20 kHz
level = -6 dB
length = 10 s
[band 3]
kind = silence
length = 12 s
"""


def take(book, name, load):
    """A side through a cartridge whose treble the load takes away."""
    path = f"{book.folder}/{name}.wav"
    book.play(path, f"record.plan={book.folder}/side.plan", "cartridge.inductance=500mH", "cartridge.resistance=700ohm",
              f"preamp.capacitance={load}pF", "cable.capacitance=100pF")
    return path


def measure(book, path, *operands):
    done = book.call("side", path, f"record.plan={book.folder}/side.plan", *operands, "--json")
    if done.returncode not in (0, 3):
        raise RuntimeError(done.stderr)
    return {row["key"]: row["value"] for row in json.loads(done.stdout)["readings"]}


def speeds(tap, book, path):
    """The tone of a copy known to be 800 ppm over what its sleeve says: what is heard is 0.08 % less of a speed."""
    book.ok("register", "add", "test_record", "name=Copy C", "tone_error=800")
    told = {}
    for name in ("Copy A", "Copy C"):
        done = book.call("speed", path, "record.tone=1kHz", f"record.name={name}", "--job", "1", "--as", "received", "--json")
        told[name] = next((row["value"] for row in json.loads(done.stdout or "{}").get("readings", []) if row["key"] == "speed.error"), None)
    off = None if None in told.values() else told["Copy A"] - told["Copy C"]
    tap.check("the speed is counted against the copy's own tone", "" if off and abs(off - 0.08) < 0.001 else f"{told} {done.stderr}")


def check(tap, book):
    pathlib.Path(book.folder, "side.plan").write_text(PLAN, encoding="utf-8")
    book.ok("register", "add", "test_record", "name=Copy A", "level_error_db=0.4")
    fresh, worn = take(book, "fresh", 100), take(book, "worn", 1900)
    plain = measure(book, fresh, "--job", "1", "--as", "received")
    kept = measure(book, fresh, "record.name=Copy A", "--job", "1", "--as", "received")
    off = plain["noise.hiss"] - kept["noise.hiss"]
    tap.check("a tone louder than stated refers the noise to less", "" if abs(off - 0.4) < 0.01 else off)
    told = book.ok("register", "wear", "Copy A")
    tap.check("one play is one time", "" if "Copy A: played 1 time.\n" in told else told)
    measure(book, worn, "record.name=Copy A", "--job", "1", "--as", "left")
    told = book.ok("register", "wear", "Copy A")
    lines = [line for line in told.splitlines() if "10 kHz left fell by" in line]
    tap.check("plays are counted", "" if "played 2 times." in told else told)
    tap.check("what the treble lost is told", "" if len(lines) == 1 else told)
    speeds(tap, book, fresh)
    done = book.call("register", "wear", "Copy B")
    tap.check("a copy that is not there is refused", "" if done.returncode == 2 and "Copy B" in done.stderr else done)


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        check(tap, Book(program, folder, deck=("make=Corvin", "model=Idler 4", "drive=idler")))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
