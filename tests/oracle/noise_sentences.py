#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What `noise` says in words, each sentence where it is true, where it is false and where nothing tells.

A groove made here: noise, lines of the mains behind the replay curve, rumble along one direction, clicks.
Source (published): the curve is that of IEC 60098, 3180, 318 and 75 microseconds. Of each recording the whole set of sentences is known, so that one which should not stand is found as well.
"""
import os
import pathlib
import re

import numpy as np

import program
import waves
from hum_place import replay

RATE, SECONDS, FLOOR = 24000, 14, 1e-4

# What each sentence is told by.
SENTENCES = {
    "no reference": "there is no reference", "one channel": "only one is heard", "buzz": "rich in harmonics", "pure": "nearly the mains alone",
    "left hum": "The hum is in the left channel alone: look for that channel's return", "right hum": "The hum is in the right channel alone",
    "more right": "far stronger in the right channel: look at that channel's return", "even": "at even multiples of the mains",
    "no hum": "No hum line stands out", "no mains": "No line of 50 Hz, 60 Hz or an inverter stands out",
    "lone": "stands alone, neither 50 nor 60", "inverter": "Hz, neither 50 nor 60: an inverter or a motor's own supply", "stated": "The mains was stated as",
    "second": "There is a second hum", "scratch": "A tick comes once a turn", "buzzing": "So many ticks come in a row", "one tick": "One tick was cut out",
    "ticks": "ticks were cut out", "describe": "Describe the drive", "lateral": "The rumble is mostly lateral", "vertical": "The rumble is mostly vertical",
    "condition": "provided that no channel is reversed", "found": "the quiet stretch found", "own level": "The reference tone's velocity was not stated",
    "referred": "Referred to", "short": "s of silence: record 10 s or more", "equalised": "The recording has no replay equalisation",
    "slip": "a slip that beats"}
REFERENCE = {"noise__reference_level": "-20", "noise__reference_velocity": "7cm/s"}
WHOLE = {"record__start": "0s", "record__end": f"{SECONDS}s"}


def groove(seed, seconds=SECONDS):
    return [waves.noise(RATE * seconds, FLOOR, seed + side) for side in (0, 1)]


def hum(mains, parts, shares=(1, 1)):
    """PARTS: harmonic and its size before the replay curve; SHARES of left and right."""
    time = np.arange(RATE * SECONDS) / RATE
    line = sum(size * replay(mains * n) * np.sin(2 * np.pi * mains * n * time + n * n) for n, size in parts.items())
    return [share * line for share in shares]


def rumble(direction, size=3e-3, hz=23.0):
    line = waves.sine(hz, SECONDS, RATE, size)
    return [line, line if direction == "lateral" else -line]


def clicks(times, size=0.02):
    signal = np.zeros(RATE * SECONDS)
    for time in times:
        at = int(time * RATE)
        signal[at:at + 3] += size * np.array([1, -1, 0.5])
    return [signal, signal]


def made(*layers, seed=1):
    return [sum(parts) for parts in zip(groove(seed), *layers)]


def sounded(signals):
    """SIGNALS under a tone of 1 kHz that is lateral, with a second of groove between."""
    tone = waves.sine(1000, 6, RATE, 0.1) * waves.fade(6 * RATE, RATE)
    gap = np.zeros(RATE)
    return [np.concatenate([tone, gap, part]) for part in signals]


def told(sheet):
    words = sheet.words() + "\n" + "\n".join(str(cell) for table in sheet.raw["tables"] for row in table["rows"] for cell in row)
    return {name for name, text in SENTENCES.items() if text in words}


def one(prog, signals, wanted, operands, checked=None):
    sheet = prog.sheet("noise", waves.write(prog.recording("n.wav"), *signals, rate=RATE), **operands)
    said, wrong = told(sheet), []
    if said != wanted:
        wrong.append(f"said though not so: {sorted(said - wanted)}; not said: {sorted(wanted - said)}")
    return "\n".join(wrong + (checked(sheet) if checked else []))


def numbers(**truth):
    """That each number named in a sentence is the recording's: its words with the number in them."""
    return lambda sheet: [f"{name}: {text!r} is not said" for name, text in truth.items() if text not in sheet.words()]


BELOW = {"referred"}                    # of every groove with a reference and without hum
QUIET = BELOW | {"no hum", "no mains"}
STATED = {"noise__reference": "1s:5s", "noise__reference_velocity": "7cm/s", "record__start": "7s", "record__end": f"{7 + SECONDS}s"}
MAINS = {1: 2e-2, 3: 1.2e-2}           # neither pure nor a buzz
PAIR = MAINS | {5: 2e-3}
PURE, BUZZ, EVEN = {1: 3e-2}, {n: 1e-2 for n in range(1, 16)}, {2: 2e-2, 4: 1e-2}

CASES = [
    ("a quiet groove", lambda: made(), QUIET, REFERENCE | WHOLE),
    ("no reference", lambda: made(), {"no reference", "no mains"}, WHOLE),
    ("one channel alone", lambda: made()[:1], QUIET | {"one channel"}, REFERENCE | WHOLE),
    ("hum of the mains alone", lambda: made(hum(50, PURE)), BELOW | {"pure", "describe"}, REFERENCE | WHOLE),
    ("a buzz", lambda: made(hum(50, BUZZ)), BELOW | {"buzz", "describe"}, REFERENCE | WHOLE),
    ("neither", lambda: made(hum(50, MAINS)), BELOW | {"describe"}, REFERENCE | WHOLE),
    ("hum of the left alone", lambda: made(hum(50, MAINS, (1, 0))), BELOW | {"left hum", "describe"}, REFERENCE | WHOLE),
    ("hum of the right alone", lambda: made(hum(60, MAINS, (0, 1))), BELOW | {"right hum", "describe"}, REFERENCE | WHOLE),
    ("far more in the right, 14 dB", lambda: made(hum(50, MAINS, (0.2, 1))), BELOW | {"more right", "describe"}, REFERENCE | WHOLE),
    ("more in the right, 8 dB", lambda: made(hum(50, MAINS, (0.4, 1))), BELOW | {"describe"}, REFERENCE | WHOLE),
    ("even multiples", lambda: made(hum(50, EVEN)), BELOW | {"even", "describe"}, REFERENCE | WHOLE),
    ("even and odd multiples alike", lambda: made(hum(50, EVEN | {1: 2e-2, 3: 1e-2})), BELOW | {"describe"}, REFERENCE | WHOLE),
    ("a lone line of 57 Hz", lambda: made(hum(57, PURE)), BELOW | {"lone", "describe"}, REFERENCE | WHOLE, numbers(lone="A line of 57.00 Hz stands alone")),
    ("57 Hz and its multiples", lambda: made(hum(57, PAIR | {2: 1e-2})), BELOW | {"inverter", "describe"}, REFERENCE | WHOLE, numbers(hz="The hum is of 57.00 Hz")),
    ("60 Hz stated, 50 Hz hum", lambda: made(hum(50, MAINS)), BELOW | {"stated", "describe"}, REFERENCE | WHOLE | {"deck__mains": "60Hz"},
     numbers(stated="stated as 60 Hz, but the hum is of 50 Hz")),
    ("60 Hz stated, 60 Hz hum", lambda: made(hum(60, MAINS)), BELOW | {"describe"}, REFERENCE | WHOLE | {"deck__mains": "60Hz"}),
    ("nothing stated, 60 Hz hum", lambda: made(hum(60, MAINS)), BELOW | {"describe"}, REFERENCE | WHOLE),
    ("60 Hz stated, no hum", lambda: made(), QUIET, REFERENCE | WHOLE | {"deck__mains": "60Hz"}),
    ("a slip that beats", lambda: made(hum(50, MAINS), hum(1, {48: 2e-3, 52: 2e-3})), BELOW | {"slip", "lateral", "condition", "describe"}, REFERENCE | WHOLE),
    ("one tick", lambda: made(clicks([5.3])), QUIET | {"one tick"}, REFERENCE | WHOLE),
    ("five ticks at random", lambda: made(clicks([2.31, 4.9, 5.77, 9.02, 12.4])), QUIET | {"ticks"}, REFERENCE | WHOLE, numbers(count="5 ticks were cut out")),
    ("a tick once a turn", lambda: made(clicks(np.arange(1.0, SECONDS, 1.8))), QUIET | {"ticks", "scratch"}, REFERENCE | WHOLE,
     numbers(count="every 1.800 s from 1.0 s on, in 8 of 8 turns")),
    ("so many ticks that they stay", lambda: made(clicks(np.sort(np.random.default_rng(5).uniform(0.1, SECONDS - 0.1, 4000)))),
     QUIET | {"buzzing", "lateral", "condition"}, REFERENCE | WHOLE),
    ("lateral rumble", lambda: made(rumble("lateral")), QUIET | {"lateral", "condition", "describe"}, REFERENCE | WHOLE),
    ("vertical rumble", lambda: made(rumble("vertical")), QUIET | {"vertical", "condition", "describe"}, REFERENCE | WHOLE),
    ("lateral rumble, in one channel no rumble tells", lambda: made(rumble("lateral"))[:1], QUIET | {"one channel", "describe"}, REFERENCE | WHOLE),
    ("rumble in one channel: neither way", lambda: made([rumble("lateral")[0], np.zeros(RATE * SECONDS)]), QUIET | {"describe"}, REFERENCE | WHOLE),
    ("lateral rumble, reference stated lateral", lambda: sounded(made(rumble("lateral"))), QUIET | {"lateral", "describe"}, STATED | {"noise__reference_direction": "lateral"}),
    ("lateral rumble, no direction stated", lambda: sounded(made(rumble("lateral"))), QUIET | {"lateral", "condition", "describe"}, STATED),
    ("the drive described", lambda: made(rumble("lateral")), QUIET | {"lateral", "condition"}, REFERENCE | WHOLE |
     {"drive__kind": "direct"}),
    ("no velocity stated", lambda: sounded(made()), {"no hum", "no mains", "own level"}, {"noise__reference": "1s:5s", "record__start": "7s", "record__end": f"{7 + SECONDS}s"}),
    ("the stretch looked for", lambda: sounded(made()), QUIET | {"found"}, {key: value for key, value in STATED.items() if "record" not in key}),
    ("six seconds", lambda: made(), QUIET | {"short"}, REFERENCE | {"record__start": "2s", "record__end": "8s"}, numbers(short="Only 6.0 s of silence")),
    ("a flat preamplifier", lambda: made(), QUIET | {"equalised"}, REFERENCE | WHOLE | {"response__riaa": "none"}),
]


DATA = pathlib.Path(__file__).resolve().parents[2] / "data"


def data_with(prog, name, change):
    """A data folder like the program's, but for the two curves of rumble, whose text is what CHANGE makes of it; None: no file."""
    folder = prog.recording(name)
    (folder / "weighting").mkdir(parents=True)
    for path in DATA.iterdir():
        if path.name != "weighting":
            (folder / path.name).symlink_to(path)
    for path in (DATA / "weighting").iterdir():
        text = path.read_text(encoding="utf-8")
        text = change(path.stem, text) if path.stem.startswith("rumble-") else text
        if text is not None:
            (folder / "weighting" / path.name).write_text(text, encoding="utf-8")
    return folder


def curves(prog, name, change, missing, approximate):
    """The readings that are not there for want of a file, and how many curves are said to be approximate."""
    os.environ["DECKWRIGHT_DATA"] = str(data_with(prog, name, change))
    try:
        sheet = prog.sheet("noise", waves.write(prog.recording("n.wav"), *made(), rate=RATE), **REFERENCE, **WHOLE)
    finally:
        del os.environ["DECKWRIGHT_DATA"]
    lacking = {key for key, reason in sheet.not_measured.items() if "Put the file back" in reason}
    wrong = [] if lacking == missing else [f"not measured for want of a file: {sorted(lacking)}"]
    flagged = {key for key, row in sheet.readings.items() if key.startswith("noise.rumble") and "approximate" in row["flags"]}
    if len(sheet.said("Approximate: curve")) != approximate or bool(flagged) != bool(approximate):
        wrong.append(f"{len(sheet.said('Approximate: curve'))} curves are said to be approximate, marked {sorted(flagged)}")
    return "\n".join(wrong)


def checked(_, text):
    return re.sub(r"^standing *=.*$", "standing = checked", text, flags=re.M)


UNWEIGHTED = {"noise.rumble_unweighted", "noise.rumble_lateral", "noise.rumble_vertical"}
FILES = [("the curves as they are", lambda _, text: text, set(), 2), ("both from the standard's own table", checked, set(), 0),
         ("no unweighted curve", lambda stem, text: None if stem == "rumble-unweighted" else text, UNWEIGHTED, 1),
         ("no weighted curve", lambda stem, text: None if stem == "rumble-weighted" else text, {"noise.rumble_weighted"}, 1)]


def run(prog, checks, names):
    for place, case in enumerate(FILES):
        if not names or any(name in case[0] for name in names):
            checks.attempt(case[0], curves, prog, f"data-{place}", *case[1:])
    for case in CASES:
        if not names or any(name in case[0] for name in names):
            checks.attempt(case[0], lambda case=case: one(prog, case[1](), *case[2:]))


if __name__ == "__main__":
    program.main(run)
