#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What is no film, no photograph or not the right one is refused with one clear line; damaged ones never end the program.

Call: refusals.py DECKWRIGHT"""
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile

import cv2
import numpy as np

sys.path[:0] = [str(pathlib.Path(__file__).resolve().parent.parent / folder) for folder in ("oracle", "cli")]
import model_sight          # noqa: E402
from support import alike   # noqa: E402

DAMAGED = alike(12, 4)      # copies of each kind

results = []


def check(name, fine, why=""):
    results.append(fine)
    print(f"{'ok' if fine else 'not ok'} {len(results)} - {name}{'' if fine else f' # {why}'}")


def call(program, *words):
    return subprocess.run([program, *map(str, words)], capture_output=True, text=True, errors="replace", check=False)


def refused(program, name, said, *words):
    done = call(program, *words)
    lines = done.stderr.strip().splitlines()
    fine = done.returncode == 2 and len(lines) == 1 and all(word in done.stderr for word in said)
    check(name, fine, f"{done.returncode}: {done.stderr[:300]}")


def pictures(program, folder):
    """A card, a disc and a page without marks, photographed from right above; a film of nothing."""
    for kind in ("card", "disc"):
        subprocess.run([program, "template", kind, "--out", folder / f"{kind}.pdf"], check=True, capture_output=True)
        subprocess.run(["pdftoppm", "-r", "110", "-gray", "-singlefile", folder / f"{kind}.pdf", folder / kind], check=True)
        page = cv2.imread(str(folder / f"{kind}.pgm"), 0)
        cv2.imwrite(str(folder / f"{kind}.png"), page)
        cv2.imwrite(str(folder / f"{kind}.jpg"), cv2.warpPerspective(page, np.array([[1, 0.05, 3], [0, 1, 5], [0, 1e-4, 1]]), page.shape[::-1], borderValue=90))
    cv2.imwrite(str(folder / "mirrored.png"), cv2.flip(cv2.imread(str(folder / "card.png"), 0), 1))
    cv2.imwrite(str(folder / "blank.png"), np.full((600, 800), 200, np.uint8))
    cv2.imwrite(str(folder / "tiny.png"), np.full((6, 8), 200, np.uint8))
    writer = cv2.VideoWriter(str(folder / "blank.avi"), cv2.VideoWriter_fourcc(*"MJPG"), 25, (320, 240), False)
    page = cv2.resize(cv2.imread(str(folder / "card.pgm"), 0), (320, 240))
    still = cv2.VideoWriter(str(folder / "card.avi"), cv2.VideoWriter_fourcc(*"MJPG"), 25, (660, 930), False)
    whole = cv2.resize(cv2.imread(str(folder / "card.pgm"), 0), (660, 930))
    for _ in range(30):
        writer.write(np.full((240, 320), 128, np.uint8) + page // 64)
        still.write(whole)
    writer.release()
    still.release()
    (folder / "words.txt").write_text("no picture at all\n" * 50, encoding="utf-8")
    (folder / "empty.jpg").write_bytes(b"")


class Program:
    """The program as the models call it, its files in FOLDER."""

    def __init__(self, path, folder):
        self.path, self.folder = path, folder

    def recording(self, name):
        return self.folder / name

    def run(self, *words):
        return call(self.path, *words)


def touched(places, turned=(), off=0.0):
    """Operands of PLACES (name, mm) as both cameras of the model see them; those TURNED in the other's order; the tip OFF pixels in the second."""
    words = []
    for name, place in places.items():
        spots = [model_sight.seen(camera, np.asarray(place, float)) for camera in model_sight.cameras()]
        if name == "tip":
            spots[1] = spots[1] + [0, off]
        words += [f"touch.{name}={x:.1f}:{y:.1f}" for x, y in (spots[::-1] if name in turned else spots)]
    return words


def touches(program, folder):
    """What was touched in two good photographs contradicts itself."""
    photos = model_sight.pose_recordings(Program(program, folder), None)
    places = {name: place for name, place in model_sight.places().items() if name != "root"}
    done = call(program, "pose", *photos, *touched(places))
    check("pose: touches that agree", done.returncode == 0, done.stderr)
    refused(program, "pose: two tips", ["touch.tip", "one and the same point"], "pose", *photos, *touched(places, off=60.0))
    ends = ["body_front", "body_rear"]
    refused(program, "pose: a line in the other order", ["touch.body_rear", "photographs' order"], "pose", *photos, *touched(places, ends))
    turned = places | {"body_front": places["body_rear"], "body_rear": places["body_front"]}
    refused(program, "pose: the ends of a line exchanged", ["touch.body_rear", "exchanged"], "pose", *photos, *touched(turned))
    one_place = [word for word in touched(places) if not word.startswith("touch.body")] + ["touch.body_front=500:500", "touch.body_rear=502:500"] * 2
    refused(program, "pose: both ends of a line at one place", ["touch.body_rear", "one place"], "pose", *photos, *one_place)
    behind = np.append(model_sight.along(model_sight.ERROR_DEG + 20), 0.0)
    refused(program, "pose: the photographs in the other order", ["against the groove", "photographs' order"], "pose", *photos[::-1], *touched(places))
    arm = {"arm_front": places["body_rear"] + [0, 0, -4], "arm_rear": places["body_rear"] + [0, 0, -4] - 12 * behind}
    swapped = {"arm_front": arm["arm_rear"], "arm_rear": arm["arm_front"]}
    done = call(program, "pose", *photos, *touched(places | arm), "touch.snap=no")
    check("pose: an arm tube touched right", done.returncode == 0, done.stderr)
    refused(program, "pose: the ends of the arm tube exchanged", ["touch.arm_rear", "exchanged"], "pose", *photos, *touched(places | swapped), "touch.snap=no")
    alone = {"tip": places["tip"]} | swapped
    refused(program, "pose: beside the tip alone", ["touch.arm_rear", "exchanged"], "pose", *photos, *touched(alone), "touch.snap=no")
    again = folder / "again.jpg"
    cv2.imwrite(str(again), cv2.imread(str(photos[0])), [cv2.IMWRITE_JPEG_QUALITY, 80])
    refused(program, "pose: one photograph saved twice", ["nearly the same place"], "pose", photos[0], again, *touched(places))
    sunk = places | {"tip": places["tip"] + [0, 0, 5]}
    refused(program, "pose: a tip under the paper", ["touch.tip", "under the paper"], "pose", *photos, *touched(sunk))


def belts(program, folder):
    """Belts drawn on the card as seen from above: one that crosses itself, two of them, one of light rubber."""
    texture, per_mm = model_sight.paper(Program(program, folder), "card")
    camera = model_sight.look(0.0, math.radians(83), 330, np.zeros(3))
    card, t = model_sight.picture(texture, per_mm, (105, 123.5), camera), np.linspace(0, 2 * math.pi, 2000, endpoint=False)

    def laid(name, *curves, shade=20):
        picture = card.copy()
        for x, y in curves:
            spots = [model_sight.seen(camera, np.array(place)) for place in zip(x, y, 0 * t)]
            cv2.polylines(picture, [np.round(np.array(spots) * 16 - 8).astype(np.int32)], True, shade, 12, cv2.LINE_AA, 4)
        cv2.imwrite(str(folder / name), model_sight.finished(picture, 5))
        return folder / name

    oval, crossing = (55 * np.cos(t), 78 * np.sin(t)), (55 * np.sin(2 * t), 80 * np.cos(t))
    beside = [(0.45 * oval[0] + side, 0.7 * oval[1]) for side in (-32, 32)]
    refused(program, "belt: one that crosses itself", ["more than one closed ring", "one open loop"], "belt", laid("crossing.png", crossing))
    refused(program, "belt: two of them", ["more than one closed ring", "Lay the belt alone"], "belt", laid("two.png", *beside))
    lengths = []
    for shade in (20, 170):
        sheet = json.loads(call(program, "belt", laid(f"shade{shade}.png", oval, shade=shade), "--json").stdout)
        lengths += [one["value"] for one in sheet["readings"] if one["key"] == "belt.length"]
    check("belt: light rubber is as long as black", len(lengths) == 2 and abs(lengths[1] - lengths[0]) < 0.002 * lengths[0], str(lengths))


def damage(program, folder):
    """Flipped, cut and filled copies: an answer or one line, never a crash."""
    draw = random.Random(22)
    for source, words in (("card.jpg", ["belt"]), ("disc.png", ["belt"]), ("card.avi", ["film"])):
        whole = (folder / source).read_bytes()
        worst = ""
        for number in range(DAMAGED):
            bad = bytearray(whole[:draw.randrange(20, len(whole))] if number % 3 == 0 else whole)
            for _ in range(draw.choice([1, 4, 40])):
                bad[draw.randrange(len(bad))] = draw.randrange(256)
            path = folder / f"damaged{pathlib.Path(source).suffix}"
            path.write_bytes(bad)
            done = call(program, *words, path)
            if done.returncode not in (0, 2, 3) or len(done.stderr.strip().splitlines()) > (1 if done.returncode == 2 else 0):
                worst = f"copy {number}: {done.returncode}: {done.stderr[:300]}"
        check(f"{DAMAGED} damaged copies of {source}", not worst, worst)


def main(program):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        pictures(program, folder)
        refused(program, "film: words", ["no film"], "film", folder / "words.txt")
        refused(program, "film: nothing there", ["none.mp4"], "film", folder / "none.mp4")
        refused(program, "film: a picture", ["PNG", "no film"], "film", folder / "blank.png")
        refused(program, "film: no disc", ["no mark"], "film", folder / "blank.avi")
        refused(program, "film: the card", ["the card", "template disc"], "film", folder / "card.avi")
        refused(program, "belt: words", ["JPEG"], "belt", folder / "words.txt")
        refused(program, "belt: empty", ["JPEG"], "belt", folder / "empty.jpg")
        refused(program, "belt: too small", ["too small"], "belt", folder / "tiny.png")
        refused(program, "belt: no marks", ["0 marks"], "belt", folder / "blank.png")
        refused(program, "belt: a mirrored picture", ["mirrored", "back"], "belt", folder / "mirrored.png")
        refused(program, "belt: the disc", ["the disc", "template card"], "belt", folder / "disc.png")
        refused(program, "belt: no belt", ["no closed belt"], "belt", folder / "card.png")
        refused(program, "pose: one photograph", ["2 photographs", "second"], "pose", folder / "card.png")
        refused(program, "pose: two papers", ["one paper"], "pose", folder / "card.png", folder / "disc.jpg")
        refused(program, "pose: the same photograph twice", ["one and the same"], "pose", folder / "card.png", folder / "card.png")
        refused(program, "pose: a point for one photograph of two", ["touch.tip"], "pose", folder / "card.png", folder / "card.jpg", "touch.tip=100:100")
        refused(program, "pose: a point outside", ["outside"], "pose", folder / "card.png", folder / "card.jpg", "touch.tip=100:100", "touch.tip=9000:100")
        touches(program, folder)
        belts(program, folder)
        damage(program, folder)
    print(f"1..{len(results)}")
    return 0 if all(results) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
