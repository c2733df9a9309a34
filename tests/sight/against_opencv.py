#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Source (worked apart): planes and cameras against OpenCV, the program's card drawn as a pinhole sees it, its marks' corners against where they were drawn, the map from
the paper to the picture against cv2.findHomography, where the cameras stood against cv2.solvePnP and the truth.

Call: against_opencv.py DECKWRIGHT PRINT_MARKS"""
import json
import pathlib
import subprocess
import sys
import tempfile

import cv2
import numpy as np

DPI, ACROSS, DOWN, FOCUS = 200, 1600, 1200, 1900.0
LENS = np.array([[FOCUS, 0, ACROSS / 2], [0, FOCUS, DOWN / 2], [0, 0, 1]])
VIEWS = [((0.35, 0.1, 1.5), (-5, 8, 400)), ((-0.3, 0.35, 1.4), (10, -4, 420)), ((0.1, -0.45, -1.6), (3, 5, 430))]
MIDDLE = (105, 123.5)       # of the card on its page, mm

results = []


def check(name, value, most):
    results.append(value <= most)
    print(f"{'ok' if value <= most else 'not ok'} {len(results)} - {name}: {value:.4f}, at most {most}")


def draw(page, view, path):
    turn, shift = cv2.Rodrigues(np.array(view[0], float))[0], np.array(view[1], float)
    per_mm = DPI / 25.4
    plane = LENS @ np.column_stack([turn[:, 0], turn[:, 1], shift])
    whole = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]]) @ plane @ np.array(
        [[1 / per_mm, 0, 0.5 / per_mm - MIDDLE[0]], [0, 1 / per_mm, 0.5 / per_mm - MIDDLE[1]], [0, 0, 1]])
    image = cv2.warpPerspective(page, whole, (ACROSS, DOWN), flags=cv2.INTER_AREA, borderValue=120)
    noise = np.random.default_rng(5).normal(0, 2, image.shape)
    cv2.imwrite(str(path), np.clip(cv2.GaussianBlur(image.astype(float), (0, 0), 0.7) * 0.8 + 20 + noise, 0, 255).astype(np.uint8))
    return plane, -turn.T @ shift


def compare(number, seen, plane, eye):
    rows = np.array([corner for mark in seen["marks"].values() for corner in mark])
    paper, picture = rows[:, :2].copy(), rows[:, 2:].copy()
    wanted = (plane @ np.column_stack([paper, np.ones(len(paper))]).T).T
    wanted = wanted[:, :2] / wanted[:, 2:]
    check(f"view {number}: eight marks", 8 - len(seen["marks"]), 0)
    check(f"view {number}: corners where they were drawn, rms of pixels", float(np.sqrt(np.mean((picture - wanted) ** 2))), 0.1)
    theirs = cv2.findHomography(paper, picture)[0]
    places = np.column_stack([paper, np.ones(len(paper))]).T
    ours, other = np.array(seen["plane"]) @ places, theirs @ places
    check(f"view {number}: the plane against findHomography, pixels", float(np.abs(ours[:2] / ours[2] - other[:2] / other[2]).max()), 0.05)
    _, turn, shift = cv2.solvePnP(np.column_stack([paper, np.zeros(len(paper))]), picture, LENS, None)
    theirs = -cv2.Rodrigues(turn)[0].T @ shift[:, 0]
    check(f"view {number}: the camera against solvePnP, which knows the lens, mm", float(np.linalg.norm(theirs - seen["camera"])), 4.0)
    check(f"view {number}: the camera against the truth, mm", float(np.linalg.norm(eye - seen["camera"])), 4.0)


def main(deckwright, print_marks):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([deckwright, "template", "card", "--out", folder / "card.pdf"], check=True, capture_output=True)
        # Its squares are set to whole pixels by the rasteriser: four times as fine as wanted.
        subprocess.run(["pdftoppm", "-r", str(4 * DPI), "-gray", "-singlefile", folder / "card.pdf", folder / "card"], check=True)
        page = cv2.imread(str(folder / "card.pgm"), 0)
        page = cv2.resize(page[:page.shape[0] // 4 * 4, :page.shape[1] // 4 * 4], None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
        paths = [folder / f"{number}.png" for number in range(len(VIEWS))]
        truths = [draw(page, view, path) for view, path in zip(VIEWS, paths)]
        told = json.loads(subprocess.run([print_marks, *paths], check=True, capture_output=True, text=True).stdout)
    for number, (seen, (plane, eye)) in enumerate(zip(told["photos"], truths), 1):
        compare(number, seen, plane, eye)
    check("what the edges are off, pixels", told["rest"], 0.3)
    print(f"1..{len(results)}")
    return 0 if all(results) else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
