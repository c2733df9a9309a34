# SPDX-License-Identifier: MIT
"""Runs `speed` on drawn decks and counts: shared by scripts/trace-trial and by the few decks of the suite."""
import random
import re
import shutil

import drive_course
import drive_judge
import program
import seat_model
import start_model
import start_shapes


def deck_of(seed, number, longest=120, choices=None):
    return drive_course.Deck(random.Random(f"drive {seed} {number}"), number, longest, choices)


def known_keys(prog, procedure):
    """Keys that the program takes: what it does not know yet is not told."""
    return set(re.findall(r"^  ([a-z_]+\.[a-z_]+) ", prog.run("help", procedure).stdout, re.MULTILINE))


def measure(prog, deck, name):
    """The sheet of a deck, and the words of the call."""
    known = known_keys(prog, "speed")
    words = [word for word in deck.words if word.partition("=")[0] in known]
    deck.record_to(prog.recording(name))
    return prog.sheet("speed", name, *words), words


def keep_all(prog, keep):
    for path in sorted(prog.recording(".").glob("*.wav")) if keep else []:
        shutil.copy(path, keep)


def try_start(path, seed, number, keep=None, model=start_model):
    start, prog, name = model.Start(random.Random(f"start {seed} {number}"), number), program.Program(path), f"start-{seed}-{number}.wav"
    start.record_to(prog.recording(name))
    words = [name, "record.tone=3150Hz"]
    return judged(prog, "startup", words, start, model.judge, number, keep)


def try_shape(path, seed, number, keep=None):
    return try_start(path, seed, number, keep, start_shapes)


def try_seating(path, seed, number, keep=None):
    seating, prog = seat_model.Seating(random.Random(f"seat {seed} {number}"), number), program.Program(path)
    names = [f"seat-{seed}-{number}-{place}.wav" for place in range(seating.count)]
    for place, name in enumerate(names):
        seating.record_to(prog.recording(name), place)
    return judged(prog, "reseat", seating.words(names), seating, seat_model.judge, number, keep)


def judged(prog, procedure, words, drawn, judge, number, keep):
    done = {"number": number, "case": drawn.kind, "words": " ".join(words), "truth": drawn.truth(), "said": "", "wrong": [], "readings": []}
    try:
        sheet = prog.sheet(procedure, *words)
        done["wrong"], done["readings"] = judge(drawn, sheet)
        done["said"] = sheet.words()
    except program.Refused as trouble:
        done["wrong"] = [("refused", str(trouble))]
    keep_all(prog, keep)
    return done


def try_deck(path, seed, number, keep=None, longest=120):
    """All that there is to say of deck NUMBER, as plain values."""
    deck, prog, name = deck_of(seed, number, longest), program.Program(path), f"deck-{seed}-{number}.wav"
    done = {"number": number, "kind": deck.drive.kind, "motor": deck.drive.motor, "case": deck.case, "two": len(deck.names) == 2,
            "seconds": deck.take.seconds, "wrong": [], "confidences": [], "said": "", "rates": deck.drive.rates,
            "faults": deck.faults}
    try:
        sheet, words = measure(prog, deck, name)
        done.update(wrong=drive_judge.all_of(deck, sheet), confidences=drive_judge.confidences(deck, sheet), said=sheet.words(),
                    suspects=drive_judge.shown(drive_judge.suspects(sheet)), words=" ".join([name, *words]))
    except program.Refused as trouble:
        done["wrong"] = [("refused", str(trouble))]
    keep_all(prog, keep)
    return done
