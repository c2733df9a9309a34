#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Numbers as a technician states them: their units, their decimal marks, and that a stated one acts by its amount."""
import array
import json
import math
import pathlib
import sys
import tempfile

from support import Tap, run, wav

TONE_HZ = 3159.767  # by the file's own clock
RATE_HZ = 48000
SECONDS = 33

# What is stated of the clock, in three units, and by how much more the tone then really is: a clock that runs fast
# takes more samples in a second, and a second by the file is shorter than one by the wall.
CLOCKS = [("", 0), ("chain.clock_error=300ppm", 300e-6), ("chain.clock_error=-300ppm", -300e-6),
          ("chain.clock_error=0.03%", 300e-6), ("chain.clock_error=12ppm", 12e-6)]


def check_clock(program, folder, operand, error):
    operands = [operand] if operand else []
    _, out, err = run(program, ["speed", "tone.wav", "record.tone=3150Hz", "--json", *operands], folder)
    if err:
        return err
    values = {reading["key"]: reading["value"] for reading in json.loads(out)["readings"]}
    tone = TONE_HZ * (1 + error)
    wanted = {"tone.frequency": (tone, 0.003), "speed.mean": (100 / 3 * tone / 3150, 0.0001),
              "speed.error": ((tone / 3150 - 1) * 100, 0.0003)}
    return "\n".join(f"{key} is {values[key]}, not {value:.6f}" for key, (value, off) in wanted.items()
                     if not abs(values[key] - value) < off)


# The operand of `load`, and what stderr says; "" where it is taken.
LOAD = ["load", "cartridge.inductance=500mH", "cartridge.resistance=1kohm", "cable.capacitance=120pF"]
OPEN = "deckwright: {}preamp.resistance: {} may be 47 or 47 000: write 47000 or 47.0.\n"
MARKS = [("47,000ohm", OPEN), ("47.000ohm", OPEN), ("47 000ohm", ""), ("47\u202f000 Ω", ""), ("47,000.0ohm", ""),
         ("47.000,0ohm", ""), ("0.047Mohm", ""), ("47k", ""), ("47.000kohm", "")]


def check_mark(program, folder, typed, refusal):
    """As an operand and in a deck file; 47 kΩ wherever it is taken."""
    (folder / "load.deck").write_text(f"[preamp]\nresistance = {typed}\n")
    number = typed.split("k")[0].split("o")[0]
    for arguments, where in [([f"preamp.resistance={typed}"], ""), (["--deck", "load.deck"], "load.deck: line 2: ")]:
        got, out, err = run(program, [*LOAD, *arguments, "--json"], folder)
        if err != (refusal and refusal.format(where, number)) or (got == 2) != bool(refusal):
            return f"exit {got}: {err}"
        if not refusal and json.loads(out)["inputs"]["preamp.resistance"]["value"] != 47:
            return f"read as {json.loads(out)['inputs']['preamp.resistance']}"
    return ""


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        step = 2 * math.pi * TONE_HZ / RATE_HZ
        tone = array.array("f", [0.3 * math.sin(step * n) for n in range(SECONDS * RATE_HZ)])
        (folder / "tone.wav").write_bytes(wav(tone.tobytes(), rate=RATE_HZ))
        for operand, error in CLOCKS:
            tap.say(f"a clock off by {error * 1e6:.0f} ppm: {operand}", check_clock(program, folder, operand, error))
        for typed, refusal in MARKS:
            tap.say(f"a load of {typed}", check_mark(program, folder, typed, refusal))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
