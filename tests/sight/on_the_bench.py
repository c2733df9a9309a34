#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A belt's photograph and an arm's two, sent to the bench: the sheets that the command line gives.

Call: on_the_bench.py DECKWRIGHT"""
import json
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "web"), str(HERE.parent / "oracle")]
import model_sight               # noqa: E402
from bench import Bench, Device, Tap  # noqa: E402
from inputs import Inputs        # noqa: E402


class Program:
    """The program as the models call it, its files in FOLDER."""

    def __init__(self, path, folder):
        self.path, self.folder = path, folder

    def recording(self, name):
        return self.folder / name

    def run(self, *words):
        return subprocess.run([self.path, *map(str, words)], cwd=self.folder, capture_output=True, text=True, check=False)


def sent(tap, device, prog, name, paths, values):
    files = [(f"recording{number}", path.name, path.read_bytes()) for number, path in enumerate(paths, 1)]
    answer = device.send(f"/measure/{name}", {key: "\n".join(given) for key, given in values.items()}, files)
    there = json.loads(device.get(answer.headers["Location"] + "/json").text) if answer.status == 303 else {}
    words = [f"{key}={one}" for key, given in values.items() for one in given]
    here = json.loads(prog.run(name, *paths, *words, "--json").stdout or "{}")
    same = bool(here) and there.get("readings") == here["readings"]
    tap.say(f"{name}: what is sent gives the sheet of the command line", "" if same else f"{answer.status} {str(there)[:300]}")


def main(path):
    tap = Tap()
    path = str(pathlib.Path(path).resolve())
    with tempfile.TemporaryDirectory() as name, Bench(path, name + "/shop") as bench:
        prog, device = Program(path, pathlib.Path(name)), Device(bench)
        device.get("/measure")
        sent(tap, device, prog, "belt", model_sight.belt_recordings(prog, Inputs([])), {"belt.thickness": ["0 mm"]})
        touched = {f"touch.{key}": model_sight.touched(key).split(";") for key in model_sight.places() if key != "root"}
        sent(tap, device, prog, "pose", model_sight.pose_recordings(prog, Inputs([])), touched)
        status, errors = bench.end()
        tap.say("the bench ends cleanly", f"{status} {errors}" if status or errors else "")
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
