# SPDX-License-Identifier: MIT
"""Truth of what is read from music: one organ piece as it stands in the groove, played by decks whose wow is known."""
import functools

import numpy as np

import music
import music_deck
from inputs import Model

ONCE, BELT, FAST = 0.15, 0.06, 0.4      # % peak, % peak, %
PASSES = 0.842216                       # of the belt a turn: 0.4678978 Hz where the platter turns with 0.5555556 Hz
LENGTH_S, HELD_S = 45.0, 30.0          # of both decks beside each other, and of one alone
DECKS = {"first": music_deck.Deck(100 / 3, FAST, 0.0, [(1, ONCE, 40.0), (PASSES, BELT, 10.0)]),
         "second": music_deck.Deck(100 / 3, 0.0, 0.0, [])}
MADE = {}


@functools.lru_cache(maxsize=None)
def piece():
    return music.Piece(np.random.default_rng(5), "organ", LENGTH_S + 2)


@functools.lru_cache(maxsize=None)
def rendered():
    return piece().render()


def take(prog, name, seconds=LENGTH_S):
    """The piece by the deck called NAME; written once for a run."""
    path = prog.recording(f"music-{name}-{seconds:g}.wav")
    if path not in MADE:
        MADE[path] = music_deck.record(path, rendered(), DECKS[name], music_deck.Chain(44100), 0.3, seconds, 11)
    return path


def held(i):
    found = {"revolution.amplitude": (ONCE, 0.01)}
    if i.has("music.tuning"):
        found["speed.error"] = (100 * ((1 + FAST / 100) * piece().tuning / i.number("music.tuning", "Hz") - 1), 0.25)
    if i.word("drive.kind") == "belt" and i.number("drive.belt_length", "mm", 0.0) == 541.3:
        found["belt:amplitude"] = (BELT, 0.01)
    return found


def held_more(sheet, i):
    return {f"{row['part']}:amplitude": row["amplitude"] for row in sheet.table("held.parts")} if i.has("drive.kind") else {}


def twin(_):
    return {"twin.speed": (FAST, 1e-3), "twin.revolution": (ONCE, 0.005)}


MODELS = {"held": Model(held, lambda prog, _: [take(prog, "first", HELD_S)], held_more),
          "twin": Model(twin, lambda prog, _: [take(prog, "first"), take(prog, "second")])}
