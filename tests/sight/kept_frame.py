#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A picture out of a film of a job, kept as a photograph on its page: the same that OpenCV reads from the film at that time.

Call: kept_frame.py DECKWRIGHT"""
import pathlib
import re
import sqlite3
import subprocess
import sys
import tempfile

import cv2
import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "web"))
from bench import Bench, Device, Tap        # noqa: E402
from films import frames_of                 # noqa: E402


def keep(device, film, second):
    device.get("/job/0010/photos")
    return device.post("/job/0010/photos/frame", {"film": film, "second": second, "phase": "during"})


def newest(folder):
    with sqlite3.connect(f"{folder}/shop/book.sqlite") as book:
        return book.execute("SELECT id, kind, phase, caption, file, (SELECT count(*) FROM attachment) FROM attachment ORDER BY id DESC LIMIT 1").fetchone()


def check_kept(tap, device, folder, film, frames):
    for second in ("0", "1,1", "1.99"):
        answer = keep(device, film, second)
        _, kind, phase, caption, file, _ = newest(folder)
        wanted = float(second.replace(",", "."))
        time, picture = next((one for one in frames if one[0] >= wanted - 1e-6))
        seen = cv2.imread(f"{folder}/shop/attachments/{file}", 0)
        fine = answer.status == 303 and (kind, phase) == ("photo", "during") and seen is not None and seen.shape == picture.shape
        tap.say(f"the picture at {second} s is kept as a photograph", "" if fine else f"{answer.status} {kind} {phase} {answer.text[:200]}")
        if not fine:
            continue
        off = [float(np.abs(seen - one.astype(float)).mean()) for _, one in frames]
        tap.say("it is that frame and no other", "" if int(np.argmin(off)) == [one[0] for one in frames].index(time) and min(off) < 2 else f"{int(np.argmin(off))} {min(off)}")
        told = re.search(r"disc\.mov, ([\d.]+) s$", caption)
        tap.say("and says when it was", "" if told and abs(float(told.group(1)) - time) < 0.006 else f"{caption} for {time}")


def check_refused(tap, device, folder, film):
    count = newest(folder)[-1]
    for name, asked in (("a second after its end", (film, "99")), ("a word", (film, "soon")), ("a second before it", (film, "-1")), ("what is no film", (1, "0")),
                        ("nothing", ("", ""))):
        answer = keep(device, *asked)
        tap.say(f"refused: {name}", "" if answer.status == 400 else f"{answer.status}")
    tap.say("nothing of it was kept", "" if newest(folder)[-1] == count else "something was")
    tap.say("and nothing lies about", "" if not list(pathlib.Path(folder, "shop", "incoming").glob("frame-*")) else "a folder does")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        made = f"{folder}/disc.mov"
        subprocess.run([program, "synth", made, "synth.length=2.1s", "synth.picture_width=480", "synth.frame_jitter=10%"], check=True, capture_output=True)
        device = Device(bench)
        device.get("/")
        tap.say("a job without a film offers none", "" if 'id="frame"' not in device.get("/job/0010/photos").text else "it does")
        bench.call("job", "attach", "10", made)
        film = newest(folder)[0]
        tap.say("a job with a film offers its pictures", "" if "disc.mov" in device.get("/job/0010/photos").text else "it does not")
        check_kept(tap, device, folder, film, frames_of(made))
        check_refused(tap, device, folder, film)
        _, errors = bench.end()
        tap.say("the bench ends cleanly", errors)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
