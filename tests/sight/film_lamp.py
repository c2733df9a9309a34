#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Films of a disc that is measured, with what must be said of them: a lamp that flickers 100 times a second makes no flutter, a disc that slips on
the platter is told of, a disc beside the axis widens what hangs on it.

Call: film_lamp.py DECKWRIGHT"""
import pathlib
import sys
import tempfile

import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "web"))
sys.path.insert(0, str(HERE.parent / "oracle"))
from bench import Tap            # noqa: E402
import camera_model             # noqa: E402
import film                     # noqa: E402
import program                  # noqa: E402

FPS, SECONDS, SLIP_S, SLIP = 30.0, 8, 3.0, np.radians(8)


def drawn(paper, **own):
    """One and the same film but for what is its OWN."""
    one = film.Film(71, 3, paper, kind="turning", seconds=SECONDS, size=640)
    one.rpm, one.fps, one.times = 100 / 3, FPS, np.arange(int(SECONDS * FPS)) / FPS
    one.stamps, one.gone, one.clock, one.container = one.times, np.zeros(one.times.size, bool), 0.0, "mp4"
    one.blink, one.readout, one.exposure, one.noise, one.off = 0.0, 0.015, 0.002, 2.0, np.array([0.1, 0.05])
    for name, value in own.items():
        setattr(one, name, value)
    return one


def slipping(one):
    """The disc falls back against the platter once, within a tenth of a second."""
    turned = one.angle
    one.angle = lambda times: turned(times) - SLIP / (1 + np.exp(-(np.asarray(times) - SLIP_S) / 0.03))
    return one


def measure(path, folder, one, name):
    prog = program.Program(path)
    return prog.sheet("film", one.write(pathlib.Path(folder) / name), "deck.speed=33.333333rpm")


def main(path):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        paper = camera_model.paper_of(path, "disc")
        lamp = drawn(paper, blink=0.6, mains=100, exposure=0.004)
        rms = lamp.truth()["revolution.amplitude"] / np.sqrt(2)
        sheet = measure(path, folder, lamp, "lamp")
        row = sheet.readings["flutter.slow"]
        tap.say("a lamp's flicker is no flutter", "" if abs(row["value"] - rms) < row["uncertainty"] < 0.02 else f"{row} for {rms:.4f}")
        tap.say("and is told of", "" if "light flickers at 10.00 Hz" in " ".join(sheet.words().split()) else sheet.words())
        sheet = measure(path, folder, slipping(drawn(paper)), "slip")
        tap.say("a disc that slips is told of", "" if f"At {SLIP_S:.1f} s the speed is off" in " ".join(sheet.words().split()) else sheet.words())
        sheet = measure(path, folder, drawn(paper, off=np.array([1.6, 1.2])), "beside")
        row, said = sheet.readings["flutter.slow"], " ".join(sheet.words().split())
        tap.say("what a disc 2 mm beside the axis leaves is in the ±", "" if abs(row["value"] - rms) < row["uncertainty"] < 0.02 else f"{row} for {rms:.4f}")
        tap.say("and nothing is said of lamps and slips", "" if "flickers" not in said and "slipped" not in said and "2.0" in said else said)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(str(pathlib.Path(sys.argv[1]).resolve())))
