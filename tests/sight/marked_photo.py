#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Arrows, circles, words, a cut and a lighter place, marked on a photograph's page: where the report shows them, read from its PDF.

Call: marked_photo.py DECKWRIGHT"""
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

WIDE, HIGH = 1200, 900
GREY = 60


def photograph():
    """Grey, with a dark place at the right and a chequered one on the left."""
    picture = np.full((HIGH, WIDE), GREY, np.uint8)
    picture[500:700, 800:1000] = 12
    picture[500:700, 200:400] = 90
    return cv2.imencode(".png", picture)[1].tobytes()


def mark(device, photo, kind, x1, y1, x2, y2, **fields):
    device.get(f"/photo/{photo}")
    return device.post(f"/photo/{photo}/measure", {"kind": kind, "x1": x1, "y1": y1, "x2": x2, "y2": y2, **fields})


def reported(bench, folder):
    """The last picture of the report's proof, which is the one that was added last."""
    done = bench.call("report", "proof", "10", "--out", f"{folder}/report.pdf")
    if done.returncode != 0:
        raise RuntimeError(done.stderr)
    for old in pathlib.Path(folder).glob("picture-*"):
        old.unlink()
    subprocess.run(["pdfimages", "-png", f"{folder}/report.pdf", f"{folder}/picture"], check=True)
    pictures = [cv2.imread(str(path), 0) for path in sorted(pathlib.Path(folder).glob("picture-*.png"))]
    return pictures[-1]


def near(picture, x, y, reach=4):
    """The brightest near X, Y of the original, shown whole."""
    scale = picture.shape[1] / WIDE
    x, y = round(x * scale), round(y * scale)
    return int(picture[max(0, y - reach):y + reach + 1, max(0, x - reach):x + reach + 1].max())


def added(device, folder):
    device.get("/job/0010/photos")
    device.send("/job/0010/photos", {"phase": "as received"}, [("chosen", "dark.png", photograph())])
    with sqlite3.connect(f"{folder}/shop/book.sqlite") as book:
        return book.execute("SELECT max(id) FROM attachment").fetchone()[0]


def check_drawn(tap, bench, device, photo, folder):
    plain = reported(bench, folder)
    tap.say("a picture that nothing is marked on is shown as it is", "" if plain.max() < 100 else f"{plain.max()}")
    for call in (("arrow", 100, 100, 400, 100), ("circle", 600, 300, 700, 300), ("words", 100, 850, 500, 850)):
        answer = mark(device, photo, *call, name="worn here" if call[0] == "words" else "")
        tap.say(f"{call[0]} is kept", "" if answer.status == 303 else f"{answer.status} {answer.text[:300]}")
    seen = reported(bench, folder)
    lit = {"the arrow's shaft": (250, 100), "its head": (385, 93), "the circle's left": (500, 300), "its top": (600, 200), "the words' plate": (110, 855)}
    for name, place in lit.items():
        tap.say(f"the report shows {name}", "" if near(seen, *place) > 200 else f"{near(seen, *place)}")
    for name, place in {"the circle's middle": (600, 300), "beyond the arrow": (430, 100), "above the words": (300, 740)}.items():
        tap.say(f"and nothing at {name}", "" if near(seen, *place) < 100 else f"{near(seen, *place)}")
    page = device.get(f"/photo/{photo}").text
    tap.say("the page shows them too", "" if re.search(r'<circle cx="600.00" cy="300.00" r="100.00"', page) and ">worn here</text>" in page else page[-3000:])
    text = subprocess.run(["pdftotext", "-layout", f"{folder}/report.pdf", "-"], capture_output=True, text=True, check=True).stdout
    tap.say("a mark is no measurement: its length is not told", "" if "300 px" not in text and " px" not in text else "it is")


def plate(picture):
    """Width and height of what is brighter than the photograph."""
    rows, columns = np.nonzero(picture > 200)
    return np.ptp(columns) + 1, np.ptp(rows) + 1


def check_edges(tap, bench, device, folder):
    """Words that begin at an edge, or are longer than the picture is wide, stand on it as a whole."""
    sizes = []
    for where in ((500, 400, 555, 400), (1150, 4, 1195, 4), (1190, 899, 1135, 899)):
        mark(device, added(device, folder), "words", *where, name="worn through here")
        sizes.append(plate(reported(bench, folder)))
    tap.say("words at the picture's edges are as whole as in its middle", "" if np.ptp(sizes, axis=0).max() <= 2 else f"{sizes}")
    photo = added(device, folder)
    mark(device, photo, "words", 300, 400, 700, 400, name="worn through here " * 10)
    wide, high = plate(reported(bench, folder))
    tap.say("many words stand in lines", "" if high > 1.7 * sizes[0][1] and wide > 500 else f"{wide} {high}, one line is {sizes[0][1]}")
    x, size = map(float, re.search(r'<text x="([0-9.]+)" y="[0-9.]+" font-size="([0-9.]+)">worn', device.get(f"/photo/{photo}").text).groups())
    tap.say("the page shows all of them", "" if x + size * 0.5 * len("worn through here " * 10) <= WIDE + 1 else f"{x} {size}")


def check_cut(tap, bench, device, photo, folder):
    mark(device, photo, "crop", 760, 460, 1040, 740)
    seen = reported(bench, folder)
    tap.say("the report shows what was cut out alone, as large as the file has it", "" if seen.shape == (280, 280) else f"{seen.shape}")
    inside, beside = float(np.median(seen[60:220, 60:220])), float(np.median(seen[:, :25]))
    tap.say("with the dark place in its middle", "" if abs(inside - 12) < 4 and abs(beside - GREY) < 4 else f"{inside} {beside}")
    mark(device, photo, "lighten", 990, 690, 810, 510)
    seen = reported(bench, folder)
    inside = float(np.median(seen[60:220, 60:220]))
    tap.say("the dark place is made out where it is to be lighter", "" if 105 < inside < 125 else f"{inside}")
    device.get(f"/photo/{photo}")
    device.post(f"/photo/{photo}/turn", {"by": "1"})
    mark(device, photo, "crop", 180, 480, 420, 580)
    seen = reported(bench, folder)
    tap.say("turned, the new cut is turned with it", "" if seen.shape == (240, 100) else f"{seen.shape}")
    # The lighter rows below 500 of the file are left of its middle after a turn to the right.
    left, right = float(np.median(seen[40:200, 10:70])), float(np.median(seen[40:200, 90:]))
    tap.say("and shows the same place", "" if left > right + 20 else f"{left} {right}")


def check_refused(tap, device, photo):
    for name, call, fields in (("words that are none", ("words", 1, 1, 50, 1), {}), ("words of blanks", ("words", 1, 1, 50, 1), {"name": "  "}),
                               ("words that nobody sees", ("words", 1, 1, 50, 1), {"name": "\u200b"}),
                               ("words all over", ("words", 1, 1, 50, 1), {"name": "W" * 201}), ("a cut of nothing", ("crop", 5, 5, 500, 9), {}),
                               ("an arrow on one place", ("arrow", 5, 5, 5, 5), {}), ("a circle beside the picture", ("circle", 5, 5, 5000, 5), {})):
        answer = mark(device, photo, *call, **fields)
        tap.say(f"refused: {name}", "" if answer.status == 400 else f"{answer.status}")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device = Device(bench)
        device.get("/")
        photo = added(device, folder)
        check_drawn(tap, bench, device, photo, folder)
        check_refused(tap, device, photo)
        check_cut(tap, bench, device, photo, folder)
        check_edges(tap, bench, device, folder)
        done = bench.call("check")
        tap.say("the book's check finds no fault with marks", "" if "does not follow" not in done.stdout + done.stderr else done.stdout)
        _, errors = bench.end()
        tap.say("the bench ends cleanly", errors)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
