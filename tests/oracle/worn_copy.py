#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""`twin` tells which of two copies has more surface noise and which ticks more often, or that it cannot: a piece in the groove, played by two decks.

The groove's own ticks are on both copies, at the same places. What is on one alone is counted here, and stands well out of the music.
"""
import numpy as np

import music
import music_deck
import program

SECONDS = 40.0
SHAPE = np.exp(-np.arange(40) / 6) * np.cos(np.arange(40) * 0.9)


def ticks(count, number, draw):
    """NUMBER of them at places drawn in COUNT samples, a tenth of a second apart at least, 0.1 to 0.4 high; two rows."""
    rows, room = np.zeros((2, count)), count // music.RATE * 10 - 20
    for slot in draw.choice(room, number, replace=False) + 10:
        place = slot * music.RATE // 10 + int(draw.integers(0, music.RATE // 20))
        rows[:, place:place + SHAPE.size] += draw.uniform(0.1, 0.4) * SHAPE * draw.uniform(0.5, 1, (2, 1))
    return rows


class Copies:
    """One piece; copies of it by what their surfaces add."""

    def __init__(self, prog, style, seed, seconds=SECONDS):
        self.prog, self.style, self.seed, self.seconds = prog, style, seed, seconds
        self.sound = music.Piece(np.random.default_rng(seed), style, seconds + 2).render()
        self.sound = self.sound + ticks(self.sound.shape[1], 30, np.random.default_rng(seed + 1))      # of the groove: on all copies

    def copy(self, name, number, decibels, deck, chain=None):
        """Recording of a copy with NUMBER ticks and noise of its own, DECIBELS under the music's rms."""
        draw = np.random.default_rng([self.seed, number, len(name), ord(name[0])])
        count = self.sound.shape[1]
        rows = self.sound + music_deck.surface(count, decibels, 0, draw) + ticks(count, number, draw)
        path = self.prog.recording(f"copy-{self.style}-{self.seed}-{name}.wav")
        return music_deck.record(path, rows, deck, chain or music_deck.Chain(44100), 0.3, self.seconds, 5)


def compare(prog, one, two):
    return prog.sheet("twin", one.name, two.name)


def value(sheet, key):
    reading = sheet.readings[key]
    return reading["value"], reading["uncertainty"]


def check_worn(sheet, number, worn, hidden):
    """More ticks by NUMBER in SECONDS and more hiss on the WORN copy; HIDDEN: the music never lets that be heard."""
    sign, faults = (1 if worn == "second" else -1), []
    more, off = value(sheet, "twin.ticks")
    true = sign * number / SECONDS * 60
    # Of the ticks a few fall at the ends, which are not compared, or into a beat of drums.
    if not off < abs(more) or abs(more - true) > max(off, 0.15 * abs(true)):
        faults.append(f"twin.ticks {more:.1f} ± {off:.1f} for {true:.1f}")
    other = "first" if worn == "second" else "second"
    if not any(f"The {worn} ticks more often than the {other}" in remark for remark in sheet.remarks):
        faults.append("more ticks not said")
    hiss, off = value(sheet, "twin.hiss")
    told = any(f"the {worn} has " in remark for remark in sheet.remarks)
    open_ = any("has more surface noise cannot be told" in remark for remark in sheet.remarks)
    # Drums hide it all the time: then it must be left open.
    if (hidden and not (open_ or told)) or (not hidden and (not told or sign * hiss < 1 + off)) or sign * hiss < -off:
        faults.append(f"twin.hiss {hiss:.1f} ± {off:.1f}, {'told' if told else 'left open'}")
    return "; ".join(faults)


def check_alike(sheet):
    """Two clean copies: neither is called the worse."""
    said = [remark for remark in sheet.remarks if "cannot be told" in remark]
    more, off = value(sheet, "twin.ticks")
    return "" if len(said) == 2 and abs(more) <= off else f"{more:.1f} ± {off:.1f}: {sheet.remarks}"


def run(prog, checks, names):
    decks = [music_deck.Deck(100 / 3, 0.3, 0, [(1, 0.1, 30)]), music_deck.Deck(100 / 3, -0.4, 0.01, [(1, 0.05, 200)])]
    dull = music_deck.Chain(48000, -6, shelves=[(3000, -5, True)])
    for style, seed in (("piano", 3), ("band", 4)):
        copies = Copies(prog, style, seed)
        clean = copies.copy("clean", 0, -60, decks[0])
        worn, other = copies.copy("worn", 25, -34, decks[1], dull), copies.copy("other", 0, -60, decks[1], dull)
        checks.attempt(f"{style}: the second is worn", lambda: check_worn(compare(prog, clean, worn), 25, "second", style == "band"))
        checks.attempt(f"{style}: the first is worn", lambda: check_worn(compare(prog, worn, clean), 25, "first", style == "band"))
        checks.attempt(f"{style}: neither is worn", lambda: check_alike(compare(prog, clean, other)))


if __name__ == "__main__":
    program.main(run)
