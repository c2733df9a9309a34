# SPDX-License-Identifier: MIT
"""The truth of film, pose and belt: the program's papers as they look to a camera, drawn by a pinhole. Source (worked apart): numpy and OpenCV.

A pinhole without a lens's bending sees a paper that is printed to scale; what stands on it is drawn where the same pinhole sees it.
"""
import math
import subprocess

import cv2
import numpy as np

from inputs import Model

DPI, ACROSS, DOWN, FOCUS = 150, 1280, 960, 1400.0
MADE = {}
SIDES = (math.radians(55), math.radians(130))
TIP = np.array([66.4, 0.6, 0.0])
ERROR_DEG, SKEW_DEG, LONG, WAY_UP = 1.2, 0.8, 6.0, math.radians(20)
FILM = {"fps": 15, "shrunk": 2, "seconds": 7.0, "rpm": 33.42, "once": 0.0012}
OVAL = (55.0, 78.0)


def paper(prog, kind, *operands):
    """Its page in grey, with how many pixels a millimetre has."""
    path = prog.recording(f"{kind}.pdf")
    if path not in MADE:
        prog.run("template", kind, *operands, "--out", str(path))
        subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", "-singlefile", str(path), str(path)], check=True)
        MADE[path] = cv2.GaussianBlur(cv2.imread(f"{path}.pgm", 0), (0, 0), 0.7)
    return MADE[path], DPI / 25.4


def look(azimuth, slant, far, at):
    """Turn and shift of a camera FAR from AT, SLANT over the paper (z runs into it)."""
    eye = at + far * np.array([math.cos(slant) * math.cos(azimuth), math.cos(slant) * math.sin(azimuth), -math.sin(slant)])
    ahead = (at - eye) / far
    right = np.cross([0, 0, 1.0], ahead)
    right /= np.linalg.norm(right)
    turn = np.array([right, np.cross(ahead, right), ahead])
    return turn, -turn @ eye


def seen(camera, place):
    turn, shift = camera
    x, y, z = turn @ place + shift
    return np.array([FOCUS * x / z + ACROSS / 2, FOCUS * y / z + DOWN / 2])


def picture(texture, per_mm, origin, camera, angle=0.0, shrunk=1):
    """The paper, turned by ANGLE about ORIGIN (mm of the page); one pixel for SHRUNK of them."""
    turn, shift = camera
    lens = np.diag([1 / shrunk, 1 / shrunk, 1]) @ np.array([[FOCUS, 0, ACROSS / 2], [0, FOCUS, DOWN / 2], [0, 0, 1]])
    plane = lens @ np.column_stack([turn[:, 0], turn[:, 1], shift])
    c, s = math.cos(angle), math.sin(angle)
    page = np.array([[1 / per_mm, 0, 0.5 / per_mm - origin[0]], [0, 1 / per_mm, 0.5 / per_mm - origin[1]], [0, 0, 1]])
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]])
    whole = half @ plane @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ page
    return cv2.warpPerspective(texture, whole, (ACROSS // shrunk, DOWN // shrunk), flags=cv2.INTER_AREA, borderValue=200)


def finished(image, seed):
    noise = np.random.default_rng(seed).normal(0, 1.5, image.shape)
    return np.clip(cv2.GaussianBlur(image.astype(float), (0, 0), 0.8) * 0.8 + 20 + noise, 0, 255).astype(np.uint8)


def filled(image, corners, shade):
    fine = np.round((np.array(corners) - 0.5) * 256).astype(np.int32)
    cv2.fillPoly(image, [fine], shade, cv2.LINE_AA, 8)


# --- film ------------------------------------------------------------------------------------------------------------

def film_recordings(prog, inputs):
    path = prog.recording("disc.avi")
    if path not in MADE:
        texture, per_mm = paper(prog, "disc")
        camera = look(math.radians(80), math.radians(65), 260, np.zeros(3))
        writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"MJPG"), FILM["fps"],
                                 (ACROSS // FILM["shrunk"], DOWN // FILM["shrunk"]), False)
        rate = FILM["rpm"] * math.pi / 30
        for number in range(int(FILM["fps"] * FILM["seconds"])):
            even = rate * number / FILM["fps"]
            angle = even + FILM["once"] * math.sin(even)
            writer.write(finished(picture(texture, per_mm, (105, 97.5), camera, angle, FILM["shrunk"]), number))
        writer.release()
        MADE[path] = True
    return [path]


def film(inputs):
    nominal = inputs.number("deck.speed", "rpm", 100 / 3)
    truth = {"speed.mean": (FILM["rpm"], 0.004), "speed.error": (100 * (FILM["rpm"] / nominal - 1), 0.012)}
    if inputs.number("record.end", "s", 99.0) - inputs.number("record.start", "s", 0.0) > 5:
        truth["revolution.amplitude"] = (100 * FILM["once"], 0.01)
    return truth


# --- pose ------------------------------------------------------------------------------------------------------------

def along(angle_deg):
    """A level direction whose nose would have to turn inwards by so much at TIP."""
    groove, inwards = np.array([-TIP[1], TIP[0]]) / np.hypot(*TIP[:2]), -TIP[:2] / np.hypot(*TIP[:2])
    turned = -math.radians(angle_deg)
    return math.cos(turned) * groove + math.sin(turned) * inwards


def places():
    """What is touched, in the paper's frame."""
    level = along(ERROR_DEG)
    root = TIP - LONG * np.array([*(math.cos(WAY_UP) * level), math.sin(WAY_UP)])
    body = along(ERROR_DEG + SKEW_DEG)
    front = np.array([*(root[:2] + 5 * np.array([-body[1], body[0]])), -4.0])
    return {"tip": TIP, "cantilever_root": root + 0.05 * (TIP - root), "cantilever_front": root + 0.9 * (TIP - root),
            "body_rear": front - np.array([*(16 * body), 0]), "body_front": front, "root": root}


def cameras():
    return [look(side, math.radians(50), 150, np.array([66.0, 0, 0])) for side in SIDES]


def pose_recordings(prog, inputs):
    paths = [prog.recording(f"pose{number}.png") for number in (1, 2)]
    if paths[0] not in MADE:
        texture, per_mm = paper(prog, "grid")
        at = places()
        inner = np.array([*(10 * -TIP[:2] / np.hypot(*TIP[:2])), 0])
        for path, camera in zip(paths, cameras()):
            image = picture(texture, per_mm, (7 + (184 - 170.05) / 2 + 12, 7 + 138 + 47), camera)
            eye = -camera[0].T @ camera[1]
            filled(image, [seen(camera, p) for p in (at["body_front"], at["body_rear"], at["body_rear"] + inner, at["body_front"] + inner)], 50)
            wide = np.cross(TIP - at["root"], eye - at["root"])
            wide *= 0.3 / np.linalg.norm(wide)
            filled(image, [seen(camera, p) for p in (at["root"] - wide, at["root"] + wide, TIP + wide, TIP - wide)], 30)
            cv2.imwrite(str(path), finished(image, 7))
            MADE[path] = True
    return paths


def touched(name):
    return ";".join("{0:.1f}:{1:.1f}".format(*seen(camera, places()[name])) for camera in cameras())


def pose(inputs):
    scale = inputs.number("print.scale", "%", 100.0) / 100
    truth = {}
    if len(inputs.pairs("touch.tip", "", "")) == 2:
        truth["pose.radius"] = (scale * float(np.hypot(*TIP[:2])), 0.25)
        truth["pose.tip_height"] = (0.0, 0.4)
        truth["pose.body_error"] = (ERROR_DEG + SKEW_DEG, 0.8)
    truth["cartridge.cantilever_skew"] = (SKEW_DEG, 1.6)
    return truth


# --- belt ------------------------------------------------------------------------------------------------------------

def oval():
    angle = np.linspace(0, 2 * math.pi, 3000, endpoint=False)
    return np.column_stack([OVAL[0] * np.cos(angle), OVAL[1] * np.sin(angle)])


def belt_recordings(prog, inputs):
    path = prog.recording("belt.png")
    if path not in MADE:
        texture, per_mm = paper(prog, "card")
        camera = look(math.radians(0), math.radians(83), 330, np.zeros(3))
        image = picture(texture, per_mm, (105, 123.5), camera)
        ring, inside = np.zeros_like(image), np.zeros_like(image)
        filled(ring, [seen(camera, np.array([*p, 0])) for p in oval() * (1 + 1.2 / np.hypot(*oval().T)[:, None])], 255)
        filled(inside, [seen(camera, np.array([*p, 0])) for p in oval()], 255)
        share = np.clip(ring.astype(float) - inside, 0, 255) / 255
        cv2.imwrite(str(path), finished(image * (1 - share) + 20 * share, 3))
        MADE[path] = True
    return [path]


def belt(inputs):
    loop = oval()
    length = float(np.hypot(*(np.roll(loop, -1, 0) - loop).T).sum()) * inputs.number("print.scale", "%", 100.0) / 100
    truth = {"belt.length": (length, 0.003 * length)}
    stated = inputs.number("drive.belt_length", "mm")
    if stated:
        truth["belt.growth"] = (100 * (length / stated - 1), 0.35)
    return truth


MODELS = {"film": Model(film, film_recordings), "pose": Model(pose, pose_recordings), "belt": Model(belt, belt_recordings)}
