#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Music of one's own through described decks: `held` gives back the once a turn that was described, `twin` the difference of two decks' plays."""
import json
import pathlib
import sys
import tempfile

from support import Tap, run

PIECE = """[music]
tempo = 75
reverberation = 0.8 s
[instrument organ]
partials = 1 0.5 0.35 0.25 0.15 0.1
attack = 40 ms
[instrument flute]
partials = 1 0.3 0.1
vibrato = 5.2 Hz:15
[instrument drum]
noise = 150 Hz:5 kHz
decay = 0.15 s
[part chords]
instrument = organ
notes = C4+E4+G4:4 A3+C4+E4:3 F3+A3+C4:4 G3+B3+D4:5 E3+G3+B3:4 A3+C4+F4:3 D4+F4+A4:4 G3+B3+D4:3 C4+E4+G4:4 F3+A3+C4:4 D3+F3+A3:4 C3+E3+G3:6
[part tune]
instrument = flute
place = 0.5
level = -4 dB
notes = -:4 E5:2 C5:1 A5:3 G5>D5:2 B5:4 E5:1 F5:3 A5:2 D5:2 G5:3 E5:3 C5:2 A5:4 D5:3 C5:5
[part drum]
instrument = drum
place = -0.3
notes = -:3 C3:1 C3:0.5 C3:1.5 C3:2 C3:1 C3:1 C3:2 C3:0.5 C3:0.5 C3:3 C3:1 C3:2 C3:1 C3:1 C3:3 C3:1 C3:1 C3:2 C3:2 C3:1 C3:3 C3:1 C3:2
"""
# What the decks do once a turn: 0.15 % at 20 degrees and 0.06 % at 200 are 0.21 % apart.
DECKS = (("one.wav", ["fault.wow=0.15%", "fault.wow_phase=20deg", "fault.speed_error=0.4%", "synth.seed=5"]),
         ("two.wav", ["fault.wow=0.06%", "fault.wow_phase=200deg", "fault.ticks=20", "synth.seed=6", "synth.lead_silence=2s"]))


def reading(program, folder, *call):
    status, out, complaint = run(program, [*call, "--json"], folder)
    if status not in (0, 3):
        return {}, complaint
    return {row["key"]: row["value"] for row in json.loads(out)["readings"]}, ""


def near(readings, key, wanted, within, complaint):
    value = readings.get(key)
    return "" if value is not None and abs(value - wanted) <= within else f"{key} is {value} for {wanted} {complaint}"


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        pathlib.Path(folder, "own.music").write_text("".join(line + "\n" for line in wrapped(PIECE)), encoding="utf-8")
        for name, faults in DECKS:
            status, _, complaint = run(program, ["synth", name, "synth.music=own.music", "synth.rate=32000", *faults], folder)
            tap.say(f"synth {name}", complaint if status else "")
        for (name, _), wow in zip(DECKS, (0.15, 0.06)):
            readings, complaint = reading(program, folder, "held", name)
            tap.say(f"held {name} finds what was described", near(readings, "revolution.amplitude", wow, 0.01, complaint))
        readings, complaint = reading(program, folder, "twin", "one.wav", "two.wav")
        tap.say("twin finds how much once a turn they differ", near(readings, "twin.revolution", 0.21, 0.01, complaint))
        tap.say("and how much faster the one runs", near(readings, "twin.speed", 0.4, 0.0005, complaint))
        status, _, complaint = run(program, ["synth", "own.music", "synth.music=own.music"], folder)
        kept = pathlib.Path(folder, "own.music").read_text(encoding="utf-8").startswith("[music]")
        tap.say("the plan is not written over", "" if status == 2 and kept else f"{status}: {complaint}")
    return tap.end()


def wrapped(text):
    """Lines of at most 120 characters; what goes on is set in."""
    for line in text.splitlines():
        while len(line) > 120:
            cut = line.rindex(" ", 0, 120)
            yield line[:cut]
            line = "  " + line[cut + 1:]
        yield line


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
