#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What is touched badly on photographs whose truth is known: the tube beside its middle, along a short stretch alone or under a lead, the tip beside
its cantilever.

Call: touches.py DECKWRIGHT"""
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import cv2
import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "web"))
from bench import Tap            # noqa: E402

PLACES = {"tip": "tip", "cantilever_root": "cantilever.rear", "cantilever_front": "cantilever.front", "body_rear": "body.left.rear",
          "body_front": "body.left.front", "arm_rear": "tube.rear", "arm_front": "tube.front"}


def measured(path, truth, off):
    """Exit status, readings by key and what was said on stderr; OFF: what each operand is touched beside, pixels."""
    words = [f"touch.{key}={spots[place][0] + 0.5 + off.get(key, (0, 0))[0]:.1f}:{spots[place][1] + 0.5 + off.get(key, (0, 0))[1]:.1f}"
             for key, place in PLACES.items() for spots in truth["exact"]]
    done = subprocess.run([path, "pose", *truth["files"], *words, "--json"], capture_output=True, text=True, check=False)
    return done.returncode, {one["key"]: one for one in json.loads(done.stdout or '{"readings": []}')["readings"]}, done.stderr


def half_touched(truth):
    """The tube touched along the front half of the stretch alone."""
    short = copy.deepcopy(truth)
    for spots in short["exact"]:
        spots["tube.rear"] = [(front + rear) / 2 for front, rear in zip(spots["tube.front"], spots["tube.rear"])]
    return short


def partly_seen(truth):
    """The tube runs out of the second photograph: what is touched there is the front fifth of what is touched in the first."""
    short = copy.deepcopy(truth)
    front, rear = (np.array(short["exact"][1][f"tube.{end}"]) for end in ("front", "rear"))
    short["exact"][1]["tube.rear"] = (front + 0.2 * (rear - front)).tolist()
    return short


def with_a_lead(truth, folder):
    """A light lead along the tube hides a quarter of it in the second photograph: the tube looks narrower there than it is."""
    spots = {name: np.array(spot) for name, spot in truth["exact"][1].items()}
    picture, ends = cv2.imread(truth["files"][1]), []
    for side in ("left", "right"):
        front, rear = spots[f"tube.{side}.front"], spots[f"tube.{side}.rear"]
        ends.append((front - 0.1 * (rear - front), rear + 1.5 * (rear - front)))
    (left_front, left_rear), (right_front, right_rear) = ends
    outline = [right_front + share * (left_front - right_front) for share in (-0.3, 0.25)] + [right_rear + share * (left_rear - right_rear) for share in (0.25, -0.3)]
    cv2.fillPoly(picture, [np.round(np.array(outline) * 16).astype(np.int32)], (215, 215, 215), cv2.LINE_AA, 4)
    file = str(pathlib.Path(folder) / "lead.jpg")
    cv2.imwrite(file, picture)
    return truth | {"files": [truth["files"][0], file]}


def off_by(readings, key, truth):
    return abs(readings[key]["value"] - truth) if key in readings else float("inf")


def main(path):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, HERE / "touch_pictures.py", path, folder], check=True, capture_output=True)
        truth = json.loads((pathlib.Path(folder) / "truth.json").read_text(encoding="utf-8"))
        status, right, said = measured(path, truth, {})
        tap.say("touched right, the arm's rise is found to a tenth of a degree", "" if status == 0 and off_by(right, "pose.arm_rise", truth["tube.tilt"]) < 0.1 else f"{status} {right.get('pose.arm_rise')} {said}")
        status, beside, said = measured(path, truth, {"arm_rear": (15, 15), "arm_front": (15, 15)})
        rise = off_by(beside, "pose.arm_rise", truth["tube.tilt"])
        tap.say("a tube touched beside its middle is measured within its ±", "" if rise < beside.get("pose.arm_rise", {}).get("uncertainty", 0) else f"{status} {beside.get('pose.arm_rise')} {said}")
        tap.say("and moves no other reading", "" if beside and off_by(beside, "pose.tip_x", right["pose.tip_x"]["value"]) < 0.01 else "it does")
        status, short, said = measured(path, half_touched(truth), {})
        half = short.get("pose.arm_rise", {}).get("uncertainty", 90)
        tap.say("a tube is known by its sides where it is touched along less than it is wide", "" if half < 0.3 and off_by(short, "pose.arm_rise", truth["tube.tilt"]) < half else f"{status} {short.get('pose.arm_rise')} {said}")
        status, part, said = measured(path, partly_seen(truth), {})
        rise = part.get("pose.arm_rise", {}).get("uncertainty", 90)
        tap.say("a tube touched along another stretch in each photograph is one and the same", "" if rise < 1 and off_by(part, "pose.arm_rise", truth["tube.tilt"]) < rise else f"{status} {part.get('pose.arm_rise')} {said}")
        status, lead, said = measured(path, with_a_lead(truth, folder), {})
        rise = lead.get("pose.arm_rise", {})
        tap.say("where a lead hides one side of the tube in one photograph, the touches count", "" if 0.5 < rise.get("uncertainty", 0) and off_by(lead, "pose.arm_rise", truth["tube.tilt"]) < rise["uncertainty"] else f"{status} {rise} {said}")
        tap.say("and no other reading is moved", "" if lead and off_by(lead, "pose.tip_x", right["pose.tip_x"]["value"]) < 0.01 else "it is")
        status, tip, said = measured(path, truth, {"tip": (0, 12)})
        tap.say("a tip touched beside its cantilever is doubted", "" if status == 3 and tip["pose.tip_x"]["flags"] else f"{status} {tip.get('pose.tip_x')} {said}")
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
