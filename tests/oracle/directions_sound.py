#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Does what is advised from a recording lessen the error? Azimuth, tracking force and anti-skating, and a whole side.

The recordings are made here (waves.py, planned_side.py), with the leads right, the channels swapped and one channel reversed.
A technician who follows the words turns the body, or adds to the side force, and the error has to fall.
"""
import math
import re

import numpy as np

import planned_side
import program
import takes
import waves
from model_electric import riaa_db

RATE = 24000
WIRINGS = ["correct", "swapped", "reversed_left", "reversed_right"]


class Pickup:
    """A body in the plane across the groove: x outwards, z up; its two coils' axes turn with it.

    Seen from the front, towards the pivot, the spindle lies on the left (the record turns clockwise and runs from the pivot's side
    to the nose), so x points to the right: clockwise takes up into outwards.
    """

    def __init__(self, top_to_spindle_deg, leak=0.0):
        self.lean, self.leak = math.radians(top_to_spindle_deg), leak

    def hear(self, swing):
        back = np.array([[math.cos(self.lean), -math.sin(self.lean)], [math.sin(self.lean), math.cos(self.lean)]])
        left, right = (back @ waves.A_LEFT) @ swing, (back @ waves.A_RIGHT) @ swing
        return left + self.leak * right, right + self.leak * left

    def turn(self, clockwise_deg):
        """From the front: the top goes right, outwards."""
        self.lean -= math.radians(clockwise_deg)

    def shim(self, side, thickness, width):
        """Between cartridge and headshell at one edge, seen from the front: that edge goes down, the top leans to it."""
        angle = math.degrees(math.atan(thickness / width))
        self.turn(angle if side == "right" else -angle)

    def worse_leak(self):
        """The worse of the two leaks, its leakage aside: what the lean alone lets across."""
        return abs(math.tan(self.lean))


def tone_bands(pickup, directions, gains, wiring, seed, hz=1000, seconds=5):
    left, right = [], []
    for direction in directions:
        tone = waves.sine(hz, seconds, RATE, 0.3) * waves.fade(seconds * RATE, RATE)
        one, other = pickup.hear(waves.groove(direction, tone))
        left += [gains[0] * one, np.zeros(RATE)]
        right += [gains[1] * other, np.zeros(RATE)]
    left, right = waves.played((np.concatenate(left), np.concatenate(right)), wiring)
    return left + waves.noise(left.size, 2e-5, seed), right + waves.noise(left.size, 2e-5, seed + 1)


def turn_advised(sheet):
    """Degrees clockwise seen from the front, by the words; which edge takes the shim."""
    line = "\n".join(sheet.said("turn the headshell"))
    turn = re.search(r"(anticlockwise|clockwise) seen from the front by ([\d.]+)", line)
    shim = re.search(r"\((left|right) seen from the front\)", "\n".join(sheet.said("shim")))
    if not turn:
        raise ValueError("no words say which way to turn: " + " | ".join(sheet.remarks))
    outward = re.search(r"top goes (outward|inward)", line)
    if outward and (outward[1] == "outward") != (turn[1] == "clockwise"):
        raise ValueError(f"clockwise takes the top outwards: {line}")
    return float(turn[2]) * (1 if turn[1] == "clockwise" else -1), shim and shim[1]


def azimuth_turn(prog, draw, wiring, lateral=True):
    """Turned, or shimmed, as told, the lean is gone; swapped and reversed channels change nothing of it. Inside its ± none is told."""
    lean = draw.choice([-1, 1]) * draw.uniform(0.6, 1.9)
    pickup = Pickup(lean, draw.uniform(-0.012, 0.012))
    gains, width = (draw.uniform(0.8, 1.1), draw.uniform(0.8, 1.1)), draw.uniform(12, 18)
    right_first = draw.random() < 0.4
    directions = ["right", "left"] if right_first else ["left", "right"]
    path = waves.write(prog.recording("azimuth.wav"), *tone_bands(pickup, directions + ["lateral"] * lateral, gains, wiring,
                                                                  5), rate=RATE)
    words = {"channels__order": "right_first"} if right_first else {}
    sheet = prog.sheet("azimuth", path, azimuth__width=f"{width:.2f}mm", **words)
    reading = sheet.readings["azimuth.rotation"]
    if abs(reading["value"]) <= reading["uncertainty"]:    # a leak one way only would look the same
        hasty = sheet.said("turn the headshell", "with a shim") or not sheet.said("cannot tell whether a tilt")
        return f"{sheet.call}: {reading['value']} ± {reading['uncertainty']}, advised on: {hasty}" if hasty else ""
    told, edge = turn_advised(sheet)
    pickup.turn(told)
    wrong = []
    if pickup.worse_leak() > 0.15 * abs(math.tan(math.radians(lean))):
        wrong.append(f"turned {told:+.2f} deg clockwise the lean goes from {lean:+.2f} to {math.degrees(pickup.lean):+.2f}")
    shimmed = Pickup(lean)
    shimmed.shim(edge, sheet.value("azimuth.shim"), width)
    if shimmed.worse_leak() > 0.15 * abs(math.tan(math.radians(lean))):
        wrong.append(f"a shim at the {edge} takes the lean from {lean:+.2f} to {math.degrees(shimmed.lean):+.2f}")
    return "\n".join([f"{sheet.call} ({wiring}, {directions})"] + wrong) if wrong else ""


def azimuth_reversed_unseen(prog, draw):
    """One channel reversed and no lateral band to show it: a turn may be named only with that said."""
    lean = draw.choice([-1, 1]) * draw.uniform(0.8, 1.9)
    path = waves.write(prog.recording("azimuth.wav"), *tone_bands(Pickup(lean), ["left", "right"], (1, 1), "reversed_right",
                                                                  9), rate=RATE)
    sheet = prog.sheet("azimuth", path)
    try:
        told, _ = turn_advised(sheet)
    except ValueError:
        return ""
    if told * lean < 0 and not sheet.said("revers", "polarity", "lateral band"):
        return f"{sheet.call}: the lean is {lean:+.2f}, told to turn {told:+.2f} and no word of a channel that may be reversed"
    return ""


def azimuth_tilts(prog, draw):
    """Several recordings at stated tilts: the best tilt is the one that takes the lean away."""
    lean = draw.uniform(-1.5, 1.5)
    tilts = [-1.0, 0.3, 1.1]
    paths = []
    for number, tilt in enumerate(tilts):
        pickup = Pickup(lean, 0.006)
        pickup.turn(tilt)
        paths.append(waves.write(prog.recording(f"tilt{number}.wav"), *tone_bands(pickup, ["left", "right", "lateral"],
                                                                                  (1, 0.9), "correct", 20 + number), rate=RATE))
    sheet = prog.sheet("azimuth", *paths, azimuth__tilt=[f"{tilt}deg" for tilt in tilts])
    if abs(sheet.value("azimuth.best_tilt") - lean) > 0.05:
        return f"{sheet.call}: turned clockwise by {lean:+.3f} the lean is gone, told {sheet.value('azimuth.best_tilt'):+.3f}"
    if abs(sheet.value("azimuth.rotation") - (lean - tilts[-1])) > 0.05:
        return f"{sheet.call}: from the last tilt {lean - tilts[-1]:+.3f} are left, told {sheet.value('azimuth.rotation'):+.3f}"
    return ""


def anti_skating(sheet):
    """+1 raise, -1 lower, 0 none told; and whether the words make it a condition that the leads are right."""
    lines = sheet.said("anti-skating", "bias")
    raised = any(re.search(r"\b(raise|more)\b", line, re.I) for line in lines)
    lowered = any(re.search(r"\b(lower|less)\b", line, re.I) for line in lines)
    told = raised - lowered
    condition = [line for line in sheet.remarks if re.search(r"swap|exchang|leads|wiring|left and right", line, re.I)
                 and re.search(r"\b(if|check|unless|provided|make sure)\b", line.replace("as if", ""), re.I)]
    return told, bool(condition), " | ".join(lines)


def wall_steps(bias, gain, wiring, order, seed):
    """The 300 Hz steps as both walls give them, with the stated side force (inwards positive) over the tracking force."""
    left, right = [], []
    for step in order:
        count = 4 * RATE
        time = np.arange(count) / RATE
        swing = waves.groove("lateral", 2 * np.pi * 300 * step * 1e-4 * np.cos(2 * np.pi * 300 * time))
        one, other = planned_side.let_go(swing, *planned_side.holds(bias))
        shape = waves.fade(count, RATE)
        left += [one * shape, np.zeros(RATE)]
        right += [other * shape, np.zeros(RATE)]
    left, right = waves.played((np.concatenate(left) * 0.02, gain * np.concatenate(right) * 0.02), wiring)
    return left + waves.noise(left.size, 3e-5, seed), right + waves.noise(left.size, 3e-5, seed + 1)


def judge_bias(told, condition, bias, words, call):
    """Anti-skating pulls outwards: raised, it lessens an inward side force. The walls have to come nearer to each other."""
    if told == 0:
        return ""
    after = abs(bias - told * 0.05)
    if after > abs(bias) and not condition:
        return f"{call}: the side force is {bias:+.2f} inwards; as told it is {bias - told * 0.05:+.2f}: {words}"
    return ""


def tracking_bias(prog, draw, wiring):
    """One wall lets go before the other; the anti-skating moved as told brings them together."""
    bias = draw.choice([-1, 1]) * draw.uniform(0.08, 0.2)
    order = [50, 60, 70, 80]
    path = waves.write(prog.recording("tracking.wav"), *wall_steps(bias, draw.uniform(0.85, 1.1), wiring, order, 3), rate=RATE)
    sheet = prog.sheet("tracking", path, tracking__level=[f"{step}" for step in order])
    told, condition, words = anti_skating(sheet)
    if wiring == "correct" and told == 0:
        return f"{sheet.call}: no word of the anti-skating: {sheet.remarks}"
    return judge_bias(told, condition, bias, words, f"{sheet.call} ({wiring})")


def tracking_both(prog, draw):
    """Both walls let go at the same step: more force, and never beyond the maker's range."""
    reading, most = draw.uniform(1.2, 1.9), draw.choice([1.95, 2.5])
    path = waves.write(prog.recording("tracking.wav"), *wall_steps(0.0, 1.0, "correct", [50, 60, 70, 80], 3), rate=RATE)
    sheet = prog.sheet("tracking", path, tracking__level=["50", "60", "70", "80"], force__reading=f"{reading:.2f}g",
                       force__high=f"{most}g")
    told, _, words = anti_skating(sheet)
    if told:
        return f"{sheet.call}: both walls let go alike, and: {words}"
    lines = " ".join(sheet.said("force"))
    if re.search(r"\b(less|lower|reduce)\b[^.]*force", lines, re.I):
        return f"{sheet.call}: less force would hold less: {lines}"
    to = [float(number) for number in re.findall(r"to ([\d.]+) ?g", lines)]
    if any(number > most + 1e-9 or number < round(reading, 2) for number in to):
        return f"{sheet.call}: {lines}"
    return "" if lines else f"{sheet.call}: no word of the force"


def whole_side(prog, draw, wiring):
    """A whole side: azimuth, anti-skating and what is sideways and what is up and down, with any wiring."""
    lean = draw.choice([-1, 1]) * draw.uniform(0.8, 1.8)
    bias = draw.choice([-1, 1]) * draw.uniform(0.1, 0.18)
    plan = prog.recording("short-side.plan")
    plan.write_text(planned_side.plan())
    path = planned_side.record(prog.recording("side.wav"), wiring, lean_deg=lean, bias=bias, rumble=(0.006, 0.001))
    sheet = prog.sheet("side", path, record__plan=plan, response__riaa="none", azimuth__width="16mm")
    wrong = []
    told, _, words = anti_skating(sheet)
    wrong.append(judge_bias(told, False, bias, words, "anti-skating"))   # the side's own bands show the wiring
    if wiring == "correct" and told == 0:
        wrong.append("no word of the anti-skating")
    turn, _ = turn_advised(sheet)
    if abs(turn - lean) > 0.15 * abs(lean):
        wrong.append(f"azimuth: the lean is {lean:+.2f}, told to turn clockwise by {turn:+.2f}")
    # Withheld is right where a wiring fault makes it unknowable; a number has to be that of its own direction.
    for key, truth in (("lowsweep.lateral", planned_side.LATERAL_HZ), ("lowsweep.vertical", planned_side.VERTICAL_HZ)):
        if sheet.has(key) and abs(sheet.value(key) - truth) > 0.3:
            wrong.append(f"{key} is {truth} Hz, told {sheet.value(key):.2f}")
    if sheet.has("noise.rumble_lateral") and sheet.has("noise.rumble_vertical"):
        if sheet.value("noise.rumble_lateral") > sheet.value("noise.rumble_vertical") - 6:  # dB below the reference
            wrong.append("the rumble is sideways, told: lateral %.1f dB, vertical %.1f dB below the reference" %
                         (sheet.value("noise.rumble_lateral"), sheet.value("noise.rumble_vertical")))
    early = "left" if bias < 0 else "right"      # the wall pressed less: outer with an inward force
    for key in ("tracking.passed_left", "tracking.passed_right"):
        other = "tracking.passed_right" if key.endswith("left") else "tracking.passed_left"
        if sheet.has(key) and sheet.has(other) and key.endswith(early) and sheet.value(key) > sheet.value(other):
            wrong.append(f"the {early} wall lets go first, told {sheet.value(key)} um against {sheet.value(other)}")
    wrong = [line for line in wrong if line]
    return "\n".join([f"{sheet.call} ({wiring}, side force {bias:+.2f})"] + wrong) if wrong else ""


def channels_wiring(prog, draw, wiring):
    """Swapped and reversed are named as what they are, and the louder channel is the louder channel of the record."""
    gains = (1.0, draw.choice([0.8, 1.2]))
    path = waves.write(prog.recording("channels.wav"), *tone_bands(Pickup(0.3), ["left", "right", "lateral"], gains, wiring,
                                                                   40), rate=RATE)
    sheet = prog.sheet("channels", path)
    truth = 20 * math.log10(gains[1] / gains[0])
    fault = {"correct": "none", "swapped": "swapped"}.get(wiring, "reversed")
    wrong = []
    if sheet.value("channels.fault") != fault:
        wrong.append(f"fault {fault}, told {sheet.value('channels.fault')}")
    if abs(sheet.value("channels.balance") - truth) > 0.03:
        wrong.append(f"right over left {truth:+.2f} dB, told {sheet.value('channels.balance'):+.2f}")
    return "\n".join([f"{sheet.call} ({wiring})"] + wrong) if wrong else ""


def equalised(prog, draw):
    """A sweep equalised once too often, or not at all: which is told."""
    times = draw.choice([-1, 0, 1])          # replay curves too many
    phase, hz = takes.log_sweep(40, 11000, 12.0, 24000)
    tone = 0.02 * np.sin(phase) * 10 ** (times * riaa_db(hz) / 20) * waves.fade(phase.size, 24000, 0.002)
    sound = np.concatenate([np.zeros(24000), tone, np.zeros(24000)])
    path = waves.write(prog.recording("sweep.wav"), sound, sound + waves.noise(sound.size, 1e-6, 4), rate=24000)
    words = " ".join(prog.sheet("response", path).said("equalisation was"))
    many, none = "applied twice" in words, "was not applied" in words
    if (many, none) != (times > 0, times < 0):
        return f"the replay curve is in it {1 + times} times; told: {words}"
    return ""


def each_wiring(name, function, count):
    return [(f"{name}, {wiring.replace('_', ' ')}", lambda p, d, w=wiring: function(p, d, w), count) for wiring in WIRINGS]


CHECKS = (each_wiring("azimuth: turn and shim", azimuth_turn, 3)
          + [("azimuth: turn and shim, no lateral band", lambda p, d: azimuth_turn(p, d, "correct", False), 2),
             ("azimuth: a reversed channel that nothing shows", azimuth_reversed_unseen, 2),
             ("azimuth: the best of several tilts", azimuth_tilts, 2)]
          + each_wiring("channels: wiring and balance", channels_wiring, 2)
          + each_wiring("tracking: anti-skating", tracking_bias, 3)
          + [("response: an equalisation too many or too few", equalised, 4)]
          + [("tracking: both walls at the same step", tracking_both, 3)]
          + each_wiring("side: anti-skating, azimuth, sideways and up and down", whole_side, 2))


def run(prog, checks, names):
    for what, function, count in CHECKS:
        if not names or any(name in what for name in names):
            for number, draw in enumerate(program.draws(what, count)):
                checks.attempt(f"{what}, drawn case {number + 1}", function, prog, draw)


if __name__ == "__main__":
    program.main(run)
