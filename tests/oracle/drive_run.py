# SPDX-License-Identifier: MIT
"""Runs `speed` on drawn decks and counts: shared by scripts/trace-trial and by the few decks of the suite."""
import random
import re
import shutil

import drive_course
import drive_judge
import program


def deck_of(seed, number):
    return drive_course.Deck(random.Random(f"drive {seed} {number}"), number)


def known_keys(prog, procedure):
    """Keys that the program takes: what it does not know yet is not told."""
    return set(re.findall(r"^  ([a-z_]+\.[a-z_]+) ", prog.run("help", procedure).stdout, re.MULTILINE))


def measure(prog, deck, name):
    """The sheet of a deck, and the words of the call."""
    known = known_keys(prog, "speed")
    words = [word for word in deck.words if word.partition("=")[0] in known]
    deck.record_to(prog.recording(name))
    try:
        return prog.sheet("speed", name, *words), words
    finally:
        prog.kept = prog.recording(name)


def try_deck(path, seed, number, keep=None):
    """All that there is to say of deck NUMBER, as plain values."""
    deck, prog, name = deck_of(seed, number), program.Program(path), f"deck-{seed}-{number}.wav"
    done = {"number": number, "kind": deck.drive.kind, "motor": deck.drive.motor, "case": deck.case, "two": len(deck.names) == 2,
            "seconds": deck.take.seconds, "wrong": [], "confidences": [], "said": "", "rates": deck.drive.rates,
            "faults": deck.faults}
    try:
        sheet, words = measure(prog, deck, name)
        done.update(wrong=drive_judge.all_of(deck, sheet), confidences=drive_judge.confidences(deck, sheet), said=sheet.words(),
                    suspects=drive_judge.shown(drive_judge.suspects(sheet)), words=" ".join([name, *words]))
    except program.Refused as trouble:
        done["wrong"] = [("refused", str(trouble))]
    if keep:
        shutil.copy(prog.recording(name), keep)
    return done
