# SPDX-License-Identifier: MIT
"""Runs `pose` and `belt` on drawn photographs and judges what they say: shared by scripts/pose-trial and by the suite.

What a user touches goes to the program as operands (touches), what it answers is looked for under READINGS: the two places to change where the
program names them otherwise.
"""
import math

import belt_photo
import camera_model
import music_run
import pose
import program

# reading → (truth's name, how near it must be)
READINGS = {"cartridge.cantilever_skew": ("cantilever against body", 0.5), "pose.body_in_shell": ("body against headshell", 0.3),
            "pose.arm_rise": ("tube.tilt", 0.2), "pose.tip_height": ("height", 0.1), "pose.tip_x": ("tip x", 0.1), "pose.tip_y": ("tip y", 0.1)}
# reading → the lines it takes; where a telephone sees too little of one it is not touched, and cannot be told
LINES = {"cartridge.cantilever_skew": {"cantilever", "body"}, "pose.body_in_shell": {"body", "headshell"}, "pose.arm_rise": {"tube"}}
# operand → what is touched for it
OPERANDS = {"tip": "tip", "cantilever_root": "cantilever rear", "cantilever_front": "cantilever front", "body_rear": "body rear",
            "body_front": "body front", "shell_rear": "headshell rear", "shell_front": "headshell front",
            "arm_rear": "tube rear", "arm_front": "tube front"}
MARKS_LEAST = 3
TIP_MM, BELT_SHARE = 0.1, 0.003
MIDDLE = 105.0, 123.5      # of the card on its page of A4, mm: places are counted from it
SPINDLE = 25.975, 192.0    # of the two-point grid
NULL = 66.0                # Source (published): E. Löfgren's inner point for grooves from 60.325 to 146.05 mm; there the groove runs down the page
ARM = 215.0, 233.0         # pivot to spindle, and to the stylus, of the arc


def touches(case):
    """Operands: each once a picture, counted from its upper left corner, where a pixel's middle has half a pixel."""
    return [f"touch.{operand}={spots[name][0] + 0.5:.1f}:{spots[name][1] + 0.5:.1f}" for operand, name in OPERANDS.items() for spots in case.touched
            if name in spots]


def can_tell(key, truth):
    """Whether what the reading KEY takes is seen by all telephones."""
    return LINES.get(key, set()) <= set(truth["lines"])


def judge_pose(sheet, truth):
    wrong = []
    for key, (name, near) in READINGS.items():
        value = music_run.number_of(sheet, key)
        if value is None and can_tell(key, truth):
            wrong.append((f"{key} not told", sheet.not_measured.get(key, "")))
        elif value is not None and abs(value - truth[name]) > near:
            wrong.append((f"{key} off", f"{value:.3f} for {truth[name]:.3f}; distances {truth['distance']}"))
    off = tip_off(sheet, truth)
    if off is None or off > TIP_MM:
        wrong.append(("tip not told" if off is None else "tip off", f"{off} mm; distances {truth['distance']}"))
    return wrong


def tip_off(sheet, truth):
    """How far from where it is on the page, mm, if the sheet has it."""
    told = [music_run.number_of(sheet, f"pose.tip_{axis}") for axis in "xy"]
    return None if None in told else sum((value - true) ** 2 for value, true in zip(told, truth["tip"])) ** 0.5


def pose_readings(sheet, truth):
    rows = []
    for key, (name, _) in READINGS.items():
        value = music_run.number_of(sheet, key)
        if value is not None:
            rows.append((key, value, sheet.readings[key].get("uncertainty"), truth[name], bool(sheet.readings[key]["flags"])))
    return rows


def run(prog, done, procedure, words, judge, readings):
    try:
        sheet = prog.sheet(procedure, *words)
        done.update(wrong=judge(sheet, done["truth"]), readings=readings(sheet, done["truth"]), said=sheet.words())
    except program.Refused as trouble:
        rightly = min(done["truth"].get("marks", [MARKS_LEAST])) < MARKS_LEAST and "marks into the picture" in str(trouble)
        done.update(wrong=[] if rightly else [("refused", str(trouble))], said=str(trouble))
    return done


def paper_over(path, over, page=None):
    """The paper, what places on it are counted from, and where an arm stands over it (x, y, degrees to the rear; None: anywhere)."""
    words = [f"arm.pivot_to_spindle={ARM[0]}mm", f"arm.effective_length={ARM[1]}mm"] if over == "arc" else []
    paper = camera_model.page_of(page) if page else camera_model.paper_of(path, over, *words)
    if over == "grid":
        return paper, SPINDLE, (SPINDLE[0] + NULL, SPINDLE[1], -90.0)
    if over == "arc":
        spindle, (x, y) = paper.spindle(), on_arc(NULL)
        return paper, spindle, (spindle[0] + x, spindle[1] + y, math.degrees(math.atan2(y, x)) - 90)
    return paper, MIDDLE, None


def on_arc(radius):
    """From the spindle, the pivot straight up the page: the corner of the triangle pivot, spindle, stylus."""
    up = (radius ** 2 + ARM[0] ** 2 - ARM[1] ** 2) / (2 * ARM[0])
    return math.sqrt(radius ** 2 - up ** 2), -up


def try_pose(path, seed, number, keep=None, distance=None, pictures=2, page=None, crops=False, over="card"):
    """OVER the card anywhere, or the inner point of grid or arc as an arm stands there."""
    prog = program.Program(path)
    paper, counted_from, stands = paper_over(prog.path, over, page)
    case = pose.Pose(seed, number, paper, pictures, distance=distance, stands=stands)
    files = case.write([prog.recording(f"pose-{seed}-{number}-{which}.jpg") for which in range(pictures)], crops)
    truth = case.truth()
    truth["tip"] = [place - middle for place, middle in zip(truth["tip"], (*counted_from, 0.0))]
    truth |= {"height": truth["tip"][2], "tip x": truth["tip"][0], "tip y": truth["tip"][1],
              "body against headshell": -truth["headshell against body"]}
    for file in files:
        music_run.keep_case(file, truth, keep)
    words = [*[file.name for file in files], *music_run.known(prog, "pose", touches(case))]
    done = {"number": number, "case": f"{pictures} pictures", "words": " ".join(words), "truth": truth, "said": "", "wrong": [], "readings": []}
    return run(prog, done, "pose", words, judge_pose, pose_readings)


def judge_belt(sheet, truth):
    length = music_run.number_of(sheet, "belt.length")
    if length is None:
        return [("no belt.length", music_run.reasons(sheet))]
    wrong = []
    if abs(length / truth["length"] - 1) > BELT_SHARE:
        wrong.append(("belt's length off", f"{length:.2f} for {truth['length']:.2f} mm"))
    if truth["hump"] >= 0.2 and "hump" not in sheet.words().lower():
        wrong.append(("hump not said", f"{100 * truth['hump']:.0f} % of the width"))
    return wrong


def belt_readings(sheet, truth):
    length = music_run.number_of(sheet, "belt.length")
    if length is None:
        return []
    row = sheet.readings["belt.length"]
    return [("belt.length", length, row.get("uncertainty"), truth["length"], bool(row["flags"]))]


def try_belt(path, seed, number, keep=None, page=None):
    prog = program.Program(path)
    case = belt_photo.Belt(seed, number, camera_model.page_of(page) if page else camera_model.paper_of(prog.path, "card"))
    file, truth = case.write(prog.recording(f"belt-{seed}-{number}.jpg")), case.truth()
    music_run.keep_case(file, truth, keep)
    done = {"number": number, "case": "hump" if truth["hump"] else "even", "words": "", "truth": truth, "said": "", "wrong": [], "readings": []}
    words = [file.name, f"print.scale={100 * case.stated:.3f}%"]
    return run(prog, done | {"words": " ".join(words)}, "belt", words, judge_belt, belt_readings)
