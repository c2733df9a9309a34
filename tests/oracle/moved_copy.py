#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""`twin` on pieces whose notes come again and again: one recording against itself begun a moment later, and against a deck that runs
at an exactly stated other speed. What differs is known to the last digit; a wave taken for another shows at once."""
import numpy as np

import music
import music_deck
import program

SECONDS, MOMENT_S = 30.0, 3000 / 44100
PIECES = (("piano", 11), ("piano", 12), ("piano", 13), ("vibraphone", 14))
SPEEDS = (0.0, 0.45, -2.6)                                               # % of the second deck


def recorded(prog, sound, name, deck, begin):
    return music_deck.record(prog.recording(f"moved-{name}.wav"), sound, deck, music_deck.Chain(44100), begin, SECONDS, 5)


def judge(sheet, percent):
    """The first deck's speed is nominal, the second's off by PERCENT."""
    true, faults = 100 * (1 / (1 + percent / 100) - 1), []
    for key, truth, most in (("twin.speed", true, 0.002), ("twin.drift", 0.0, 0.01)):
        reading = sheet.readings.get(key)
        if not reading or abs(reading["value"] - truth) > max(reading["uncertainty"], 2e-5) or reading["uncertainty"] > most:
            faults.append(f"{key}: {reading and (reading['value'], reading['uncertainty'])} for {truth:.5f}")
    same = any("Both run at the same speed" in remark for remark in sheet.remarks)
    word = "slower" if true < 0 else "faster"
    other = any(f"% {word} than the second" in remark for remark in sheet.remarks)
    if same != (percent == 0) or other == (percent == 0):
        faults.append(f"said: {sheet.remarks}")
    return "; ".join(faults)


def run(prog, checks, names):
    for style, seed in PIECES:
        sound = music_deck.Groove(music.Piece(np.random.default_rng(seed), style, SECONDS * 1.05 + 2).render())
        one = recorded(prog, sound, f"{style}-{seed}", music_deck.Deck(), 0.3)
        for percent in SPEEDS:
            two = recorded(prog, sound, f"{style}-{seed}-{percent}", music_deck.Deck(error=percent), 0.3 + MOMENT_S)
            checks.attempt(f"{style} {seed}, the second {percent:+g} %",
                           lambda one=one, two=two, percent=percent: judge(prog.sheet("twin", one.name, two.name), percent))


if __name__ == "__main__":
    program.main(run)
