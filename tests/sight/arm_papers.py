#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The marks on an arm's papers: OpenCV reads them off the printed page, nothing else touches them, and photographs over the arc are measured by them.

Call: arm_papers.py DECKWRIGHT"""
import pathlib
import subprocess
import sys
import tempfile

import cv2
import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "web"))
sys.path.insert(0, str(HERE.parent / "oracle"))
from bench import Tap            # noqa: E402
import camera_model             # noqa: E402
import pose                     # noqa: E402
import pose_run                 # noqa: E402
import program                  # noqa: E402

NINE, TWELVE = ("215", "233"), ("295", "309")
# kind, arm (pivot to spindle, to stylus, mm), more words, page that holds the spindle, marks at the least
PAPERS = [("arc", NINE, (), 1, 16), ("arc", NINE, ("template.paper=letter",), 1, 16), ("arc", NINE, ("template.paper=a3",), 1, 16),
          ("arc", NINE, ("template.pillar=30mm",), 1, 16), ("arc", NINE, ("printer.x=99mm", "printer.y=98.5mm"), 1, 16), ("arc", TWELVE, (), 2, 16),
          ("arc", TWELVE, ("template.paper=letter",), 2, 16), ("arc", ("240", "225"), ("arm.kind=underhung",), 1, 16),
          ("overhang", NINE, (), 1, 12), ("overhang", TWELVE, ("template.paper=letter",), 1, 12), ("overhang", NINE, ("template.paper=a3",), 1, 12),
          ("strip", NINE, (), 1, 6), ("strip", NINE, ("template.paper=letter",), 2, 6), ("strip", NINE, ("template.paper=a3",), 1, 6),
          ("grid", NINE, (), 1, 12), ("grid", NINE, ("template.paper=letter",), 1, 12), ("grid", NINE, ("template.paper=a3",), 1, 12)]
CAMERA_WORDS = "they are for a camera"
AROUND_MM = 1.2             # of white: a cell of a mark of 9 mm is 1.125


def page_of(path, kind, arm, more, page, folder):
    file = pathlib.Path(folder) / "paper.pdf"
    subprocess.run([path, "template", kind, f"arm.pivot_to_spindle={arm[0]}mm", f"arm.effective_length={arm[1]}mm", *more, "--out", file], check=True,
                   capture_output=True)
    said = subprocess.run(["pdftotext", file, "-"], check=True, capture_output=True, text=True).stdout
    return camera_model.page_of(file, page), CAMERA_WORDS in " ".join(said.split())


def touched(paper):
    """Numbers of the marks that have ink beside them, between a tenth of a millimetre and AROUND_MM."""
    out = []
    for number, corners in paper.marks.items():
        middle = corners.mean(axis=0)
        rings = []
        for beyond in (0.15, AROUND_MM):
            mask = np.zeros(paper.texture.shape, np.uint8)
            larger = middle + (corners - middle) * (1 + 2 * beyond / np.linalg.norm(corners[1] - corners[0]))
            cv2.fillConvexPoly(mask, np.round(larger / paper.texel).astype(np.int32), 1)
            rings.append(mask)
        if np.any(paper.texture[(rings[1] > 0) & (rings[0] == 0)] < 0.9):
            out.append(number)
    return out


def check_pages(tap, path, folder):
    for kind, arm, more, page, least in PAPERS:
        name = f"{kind} for {arm[1]} mm {' '.join(more)}".strip()
        paper, says = page_of(path, kind, arm, more, page, folder)
        beside = touched(paper)
        tap.say(f"{name}: marks enough, all of them alone on white paper",
                "" if len(paper.marks) >= least and not beside else f"{len(paper.marks)} marks, ink beside {beside}")
        tap.say(f"{name}: and says what they are for", "" if says else "no word of a camera")


def check_pose(tap, path, folder):
    """Two photographs over the arc's inner point, touched where things are."""
    prog = program.Program(path)
    paper, spindle, stands = pose_run.paper_over(path, "arc")
    case = pose.Pose(5, 1, paper, size=(2400, 1800), distance=150, stands=stands)
    files = case.write([pathlib.Path(folder) / f"{which}.jpg" for which in range(2)])
    case.touch_exactly()
    sheet = prog.sheet("pose", *files, *pose_run.touches(case))
    tip = case.setup.tip
    off = [sheet.value("pose.tip_x") - (tip[0] - spindle[0]), sheet.value("pose.tip_y") - (tip[1] - spindle[1]),
           sheet.value("pose.tip_height") + tip[2], sheet.value("pose.radius") - np.hypot(tip[0] - spindle[0], tip[1] - spindle[1])]
    tap.say("over the arc the tip is found to 0.1 mm from the spindle and above the paper", "" if np.max(np.abs(off)) < 0.1 else f"off by {off} mm")
    turned = sheet.value("pose.body_in_shell") + case.truth()["headshell against body"]
    tap.say("and the body's direction to 0.3°", "" if abs(turned) < 0.3 else f"off by {turned:.2f}°")
    done = prog.run("belt", files[0])
    tap.say("a belt is not looked for on it", "" if done.returncode == 2 and "arm's paper" in done.stderr else f"{done.returncode} {done.stderr}")


def main(path):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        check_pages(tap, path, folder)
        check_pose(tap, path, folder)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(str(pathlib.Path(sys.argv[1]).resolve())))
