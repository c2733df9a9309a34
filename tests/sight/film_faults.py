#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Films that must not be measured: a telephone that moved, frames missing, light that flickers, a disc half covered.

Call: film_faults.py DECKWRIGHT"""
import pathlib
import subprocess
import sys
import tempfile

import cv2
import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "oracle"))
import model_sight          # noqa: E402
from films import frames_of  # noqa: E402
from inputs import Inputs   # noqa: E402


class Program:
    """The program as the models call it, its files in FOLDER."""

    def __init__(self, path, folder):
        self.path, self.folder = path, folder

    def recording(self, name):
        return self.folder / name

    def run(self, *words):
        return subprocess.run([self.path, *map(str, words)], capture_output=True, text=True, check=False)


def at(seconds):
    return round(seconds * model_sight.FILM["fps"])


def moved(frames):
    across = frames[0].shape[1]
    shift = np.float32([[1, 0, across / 320], [0, 1, across / 640]])
    return [frame if number < at(3.6) else cv2.warpAffine(frame, shift, frame.shape[::-1], borderMode=cv2.BORDER_REPLICATE)
            for number, frame in enumerate(frames)]


def missing(frames):
    return [frame for number, frame in enumerate(frames) if number not in (at(2.4), at(2.4) + 1, at(4.8))]


def flickering(frames):
    return [frame // 4 if number % 3 == 0 else frame for number, frame in enumerate(frames)]


def covered(frames):
    return [np.where(np.arange(frame.shape[1]) > 0.33 * frame.shape[1], 40, frame).astype(np.uint8) for frame in frames]


FAULTS = [(moved, "the telephone moved"), (missing, "frames are missing in 2 places"), (flickering, "the light flickers"), (covered, "too few marks")]


def main(path):
    wrong = 0
    with tempfile.TemporaryDirectory() as name:
        prog = Program(str(pathlib.Path(path).resolve()), pathlib.Path(name))
        frames = [picture for _, picture in frames_of(model_sight.film_recordings(prog, Inputs({}))[0])]
        for number, (fault, said) in enumerate(FAULTS, 1):
            bad = prog.recording(f"{fault.__name__}.avi")
            film = cv2.VideoWriter(str(bad), cv2.VideoWriter_fourcc(*"MJPG"), model_sight.FILM["fps"], frames[0].shape[::-1], False)
            for frame in fault(frames):
                film.write(frame)
            film.release()
            done = prog.run("film", bad)
            fine = done.returncode == 2 and said in done.stderr and len(done.stderr.strip().splitlines()) == 1
            wrong += not fine
            print(f"{'ok' if fine else 'not ok'} {number} - {fault.__name__}{'' if fine else f' # {done.returncode} {done.stderr[:300]}'}")
    print(f"1..{len(FAULTS)}")
    return wrong > 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
