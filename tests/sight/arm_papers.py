#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The marks on an arm's papers: OpenCV reads them off the printed page, nothing else touches them, and photographs over the arc are measured by them.

Call: arm_papers.py DECKWRIGHT"""
import pathlib
import re
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
WHITE_MM = 7.0              # Source (memory): most printers leave 4 to 6 mm white; some more is kept here
AROUND_MM = 1.2             # of white: a cell of a mark of 9 mm is 1.125


def page_of(path, kind, arm, more, page, folder):
    file = pathlib.Path(folder) / "paper.pdf"
    subprocess.run([path, "template", kind, f"arm.pivot_to_spindle={arm[0]}mm", f"arm.effective_length={arm[1]}mm", *more, "--out", file], check=True,
                   capture_output=True)
    said = subprocess.run(["pdftotext", file, "-"], check=True, capture_output=True, text=True).stdout
    placed = subprocess.run(["pdftotext", "-bbox", "-f", str(page), "-l", str(page), file, "-"], check=True, capture_output=True, text=True).stdout
    head = re.search(r'xMin="([\d.]+)" yMin="([\d.]+)"[^>]*>Caution<', placed)
    return camera_model.page_of(file, page), CAMERA_WORDS in " ".join(said.split()), head and [float(one) / 72 * camera_model.DPI for one in head.groups()]


def thickness(ink, at, step):
    count = 0
    while ink[at]:
        at, count = at + step, count + 1
    return count


def frame_strokes(paper, head):
    """How thick the frame's left and right sides are [texels], about the word at HEAD in its upper left corner."""
    ink, x, y = paper.texture < 0.55, int(head[0]) - 3, int(head[1]) + 4
    left, top = x - int(np.argmax(ink[y, x::-1])), y - int(np.argmax(ink[y::-1, x])) - 2
    right = x + int(np.argmin(ink[top, x:])) - 1
    return thickness(ink[y], left, -1), thickness(ink[y], right, -1)


def white_beside(paper):
    """The least that is left white at a border [mm]."""
    rows, columns = (np.nonzero((paper.texture < 0.9).any(axis=axis))[0] for axis in (1, 0))
    height, width = paper.texture.shape
    return min(rows[0], columns[0], height - 1 - rows[-1], width - 1 - columns[-1]) * paper.texel


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
        paper, says, head = page_of(path, kind, arm, more, page, folder)
        beside = touched(paper)
        tap.say(f"{name}: marks enough, all of them alone on white paper",
                "" if len(paper.marks) >= least and not beside else f"{len(paper.marks)} marks, ink beside {beside}")
        tap.say(f"{name}: and says what they are for", "" if says else "no word of a camera")
        white = white_beside(paper)
        tap.say(f"{name}: nothing is drawn where printers leave white", "" if white > WHITE_MM - 0.1 else f"{white:.2f} mm are white")
        strokes = frame_strokes(paper, head) if head else (1, 1)
        tap.say(f"{name}: the cautions' frame is whole", "" if abs(strokes[0] - strokes[1]) <= 1 else f"{strokes} texels")


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
