#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The photographs and films that `synth` makes, read by OpenCV and the camera of tests/oracle, which share nothing with the program: marks,
lens, rows and frames stand where a pinhole would see them; what film, pose and belt find in them is what was described.

Call: drawn_views.py DECKWRIGHT"""
import json
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile

import cv2
import numpy as np
from scipy import optimize

HERE = pathlib.Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "web"), str(HERE.parent / "oracle")]
import camera_model             # noqa: E402
from bench import Tap           # noqa: E402

FOCAL, BEND = 0.8, 0.03         # of the width; of a focal length, as docs/methods/synth.md has them
WORDS = cv2.aruco.Dictionary_get(cv2.aruco.DICT_APRILTAG_36h11)
CARD_MIDDLE = np.array([105, 123.5])
RPM, ERROR, WOW = 100 / 3, 0.004, 0.004  # 33.3 is typed for the first, as for every command
READOUT, EXPOSURE, RATE = 0.03, 0.002, 25.0


def marks_in(picture):
    """Corners by number, a pixel's middle whole."""
    options = cv2.aruco.DetectorParameters_create()
    options.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_APRILTAG
    corners, numbers, _ = cv2.aruco.detectMarkers(picture, WORDS, parameters=options)
    return {int(number): one[0] - 0.5 for one, number in zip(corners, numbers.ravel())}


def made(program, folder, *words):
    """What is true of it, by key, and the command that measures it."""
    done = subprocess.run([program, "synth", *words, "--json"], capture_output=True, text=True, cwd=folder, check=True)
    sheet = json.loads(done.stdout)
    found = [one.split("Measure it: ")[1] for one in sheet["remarks"] if "Measure it: " in one]
    return {one["key"]: one["value"] for one in sheet["readings"]}, shlex.split(found[0]) if found else []


def measured(program, folder, words):
    done = subprocess.run([program, *words[1:], "--json"], capture_output=True, text=True, cwd=folder, check=False)
    return {one["key"]: one for one in json.loads(done.stdout or '{"readings": []}')["readings"]}, done.stderr


def near(readings, key, truth, most, times=1):
    """What is wrong: nothing where the reading lies within MOST and within TIMES its own ±."""
    if key not in readings:
        return f"no {key}"
    one = readings[key]
    off = abs(one["value"] - truth)
    return "" if off <= most and off <= max(times * (one["uncertainty"] or 0), 1e-9) else f"{key} {one['value']} ± {one['uncertainty']} for {truth}, at most {most} off"


def within(off, most, what):
    return "" if off <= most else f"{what}: {off:.4f}, at most {most}"


def card(tap, program, folder):
    page = camera_model.paper_of(program, "card")
    words = ["synth.scene=card", "synth.picture_width=1600", "synth.camera_distance=420mm", "synth.camera_side=30", "synth.camera_tilt=25"]
    for name, seed, noise in (("card.png", 3, 4), ("other.png", 4, 4), ("again.png", 3, 4), ("still.png", 3, 0)):
        made(program, folder, *words, f"synth.seed={seed}", f"synth.picture_noise={noise}", name)
    one, other, still = (cv2.imread(str(folder / name), 0) for name in ("card.png", "other.png", "still.png"))
    camera = camera_model.Camera(1600, 1200, FOCAL * 1600, (0, 0), 420.0, 25.0, 30.0, k1=BEND)
    seen = marks_in(one)
    # A mark's middle: its corners move outwards with the reader's taste for an edge.
    off = max(np.linalg.norm((camera.project(np.column_stack([page.marks[number] - CARD_MIDDLE, np.zeros(4)])) - spots).mean(axis=0))
              for number, spots in seen.items())
    tap.say("a card's marks stand where a pinhole with a bent lens sees them", within(off, 0.12, "pixels") if len(seen) == len(page.marks) else f"{len(seen)} marks")
    tap.say("the same seed makes the same file", "" if (folder / "card.png").read_bytes() == (folder / "again.png").read_bytes() else "it differs")
    made(program, folder, "synth.scene=card", "synth.picture_width=1002", "odd.jpg")
    odd = cv2.imread(str(folder / "odd.jpg"), 0)
    tap.say("a picture of any width stands straight", "" if odd is not None and odd.shape == (750, 1002) and len(marks_in(odd)) >= 7 else "it does not")
    noise = np.std(one.astype(float) - other)[()] / np.sqrt(2)
    tap.say("its noise is the stated one", within(abs(noise - 4), 0.2, "levels"))
    tap.say("and without noise it is smooth", within(float(np.std(still[590:610, 790:810].astype(float))), 1.0, "levels"))


def arm(tap, program, folder):
    page = camera_model.paper_of(program, "grid")
    truth, words = made(program, folder, "synth.body_error=2.5", "cartridge.cantilever_skew=1.5", "synth.arm_rise=-1.5", "synth.camera_distance=155mm",
                        "left.jpg", "right.jpg")
    ahead, tilt = np.radians(-92.5), np.radians(20)
    tip, slant = np.array([66.0, 0, 0]), np.radians(-91.0)
    root = tip + 0.7 * 5.5 * np.array([np.cos(slant) * np.cos(tilt), np.sin(slant) * np.cos(tilt), -np.sin(tilt)])
    target = tip + 6 * np.array([np.cos(ahead), np.sin(ahead), 0])
    cameras = [camera_model.Camera(3200, 2400, FOCAL * 3200, target, 155.0, 40.0, np.degrees(ahead) + 180 + side, k1=BEND) for side in (40, -40)]
    seen = [marks_in(cv2.imread(str(folder / name), 0)) for name in ("left.jpg", "right.jpg")]

    def rest(shift):
        return np.concatenate([(camera.project(np.column_stack([page.marks[number] - shift, np.zeros(4)])) - spots).ravel()
                               for camera, marks in zip(cameras, seen) for number, spots in marks.items()])
    fit = optimize.least_squares(rest, page.middle, loss="soft_l1")
    count = sum(map(len, seen))
    tap.say("an arm's two photographs show the grid as both cameras see it", within(float(np.median(np.abs(fit.fun))), 0.25, "pixels") if count >= 12 else f"{count} marks")
    told = {key: [tuple(map(float, spot.split(":"))) for spot in re.findall(rf"touch.{key}=(\S+)", " ".join(words))] for key in ("tip", "cantilever_root")}
    off = max(np.abs(camera.project(place)[0] + 0.5 - spot).max() for key, place in (("tip", tip), ("cantilever_root", root))
              for camera, spot in zip(cameras, told[key]))
    tap.say("what is told to be touched is there", within(off, 0.06, "pixels"))
    readings, said = measured(program, folder, words)
    for key, true, most in (("pose.tip_x", 66.0, 0.1), ("pose.radius", truth["truth.radius"], 0.1), ("pose.body_error", truth["truth.body_error"], 0.3),
                            ("pose.arm_rise", truth["truth.arm_rise"], 0.5), ("cartridge.cantilever_skew", truth["truth.cantilever_skew"], 1.5)):
        wrong = near(readings, key, true, most, 2)  # one of twenty lies outside its ±, and five are read: none should outside twice
        tap.say(f"pose finds {key} as described", wrong + said if wrong else "")
    return readings


def printed_small(tap, program, folder):
    """What is told to be called measures what was described: a paper that was printed too small, names that a shell would part."""
    truth, words = made(program, folder, "print.scale=98 %", "record.radius=118mm", "synth.body_error=2.5", "synth.camera_distance=155mm", "the owner's left.jpg", "right *.jpg")
    readings, said = measured(program, folder, words)
    wrong = near(readings, "pose.radius", truth["truth.radius"], 0.2, 2) or near(readings, "pose.body_error", truth["truth.body_error"], 0.3, 2)
    tap.say("a paper printed too small and names with blanks are told to pose", f"{wrong} {said}" if wrong else "")


def film(tap, program, folder):
    page = camera_model.paper_of(program, "disc")
    words = ["deck.speed=33.3rpm", f"fault.speed_error={100 * ERROR}%", f"fault.wow={100 * WOW}%", "fault.wow_phase=0", "synth.off_centre=0", "synth.length=11s",
             f"synth.readout={1000 * READOUT}ms", f"synth.exposure={1000 * EXPOSURE}ms", f"synth.frame_rate={RATE}Hz", "synth.frame_jitter=10%",
             "synth.picture_width=960", "synth.camera_distance=350mm", "synth.camera_side=70", "fault.eccentricity=0.5mm", "record.radius=100mm"]
    truth, measure = made(program, folder, *words, "disc.mov")
    camera = camera_model.Camera(960, 540, FOCAL * 960, (0, 0), 350.0, 25.0, 70.0, k1=BEND)
    video, times, off, count = cv2.VideoCapture(str(folder / "disc.mov")), [], [], 0
    turn = 2 * np.pi * RPM / 60
    while True:
        there, frame = video.read()
        if not there:
            break
        times.append(video.get(cv2.CAP_PROP_POS_MSEC) / 1000)
        count += 1
        if count % 12 == 1:
            off += angles_off(marks_in(frame[..., 0]), page, camera, times[-1], turn)
    tap.say("a film has its frames", "" if count == 275 else f"{count}")
    uneven = np.std(np.diff(times)) * RATE
    tap.say("at uneven times", "" if 0.05 < uneven < 0.12 else f"{uneven}")
    tap.say("every mark in them at its row's moment, degrees", within(float(np.degrees(np.max(np.abs(off)))), 0.25, "farthest") or
            within(float(abs(np.degrees(np.mean(off)))), 0.01, "mean") if len(off) > 150 else f"{len(off)} marks")
    readings, said = measured(program, folder, measure)
    for key, true, most in (("speed.error", truth["truth.speed_error"], 0.003), ("revolution.amplitude", 100 * WOW, 0.01)):
        tap.say(f"film finds {key} as described, and nothing of the record's hole", near(readings, key, true, most) + said if near(readings, key, true, most) else "")


def angles_off(seen, page, camera, time, turn):
    """For each mark how far it stands from where the platter should have it, radians."""
    off = []
    for number, spots in seen.items():
        spot, place = spots.mean(axis=0), page.marks[number].mean(axis=0) - page.middle
        x, y = camera.on_paper(spot)
        moment = time + READOUT * (spot[1] + 0.5) / camera.height + EXPOSURE / 2
        once = turn * (1 + ERROR)
        true = turn * ((1 + ERROR) * moment + WOW / once * (1 - np.cos(once * moment)))
        off.append((np.arctan2(y, x) - np.arctan2(place[1], place[0]) - true + np.pi) % (2 * np.pi) - np.pi)
    return off


def belt(tap, program, folder):
    truth, measure = made(program, folder, "synth.scene=belt", "drive.belt_length=365mm", "drive.belt_thickness=1.2mm", "synth.camera_tilt=0", "print.scale=98 %", "a belt.jpg",
                          "synth.camera_distance=380mm", "synth.picture_width=2400")
    picture = cv2.imread(str(folder / "a belt.jpg"), 0)
    camera = camera_model.Camera(2400, 1800, FOCAL * 2400, (0, 0), 380.0, 0.0, 90.0, k1=BEND)
    outlines, tree = cv2.findContours((picture < 90).astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    insides = [one for one, kin in zip(outlines, tree[0]) if kin[3] >= 0]
    ring = max(insides, key=cv2.contourArea)[:, 0].astype(float)
    places = camera.on_paper(ring)[::15].astype(np.float32)
    length = cv2.arcLength(places.reshape(-1, 1, 2), True)
    tap.say("a belt's inside is as long as stated", within(abs(length / 365 - 1), 0.006, f"{length:.2f} mm"))
    readings, said = measured(program, folder, measure)
    tap.say("and belt finds it", near(readings, "belt.length", truth["truth.length"], 0.003 * 365) + said if near(readings, "belt.length", truth["truth.length"], 1.1) else "")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        for part in (card, arm, printed_small, film, belt):
            part(tap, str(pathlib.Path(program).resolve()), pathlib.Path(name))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
