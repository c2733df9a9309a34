#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Tracking where one channel is dead or comes and goes: the sound one rules, nothing is advised on anti-skating, and a step that was not
heard whole makes what is passed the least that is known.

Steps of a tone rise; from a drawn step on the tops of the sound channel's displacement are cut, as in tracking_bursts.py. Of a whole side
the truth is what planned_side.py's walls hold.
"""
import numpy as np

import planned_side
import program
import tracking_bursts as steps
import waves

GIVES = (0.15, True, 1)     # both tops, all of the time


def breaks(sound, rate, draw):
    """SOUND through a contact that opens for a third to a whole second, again and again."""
    through, at = np.ones(sound.size), int(rate * draw.uniform(0.2, 1))
    while at < sound.size:
        length = int(rate * draw.uniform(0.3, 1))
        through[at:at + length] = 0.003
        at += length + int(rate * draw.uniform(0.5, 1.6))
    return sound * through


def heard(prog, left, right, each, draw):
    """A recording of steps that begin every EACH samples."""
    path = waves.write(prog.recording("b.wav"), *(part + waves.noise(part.size, 3e-4, draw.randrange(1 << 30)) for part in (left, right)), rate=steps.RATE)
    words = [f"tracking.step={um}um:{n * each / steps.RATE:.3f}s" for n, um in enumerate(steps.STEPS)]
    done = prog.run("tracking", path, "record.tone=300Hz", *words, "response.riaa=none", "--json")
    return program.Sheet("tracking", program.json.loads(done.stdout), done.stderr)


def judge(sheet, sound, lost, true, last):
    """TRUE: the highest step passed, None where the lowest fails. LAST: the highest on the record."""
    wrong, reading = [], sheet.readings.get(f"tracking.passed_{sound}")
    told = reading and reading["value"]
    if f"tracking.passed_{lost}" in sheet.readings:
        wrong.append(f"{lost} tells nothing, read {sheet.value(f'tracking.passed_{lost}')}")
    less = sheet.said("may be passed too") and (not told or (true and told < true and "approximate" in reading["flags"]))
    if told != true and not less:
        wrong.append(f"{sound} passes {true} µm, told {told} {reading and reading['flags']}")
    if sheet.said("anti-skating force"):
        wrong.append(f"one channel alone, said {sheet.said('anti-skating')}")
    if true != last and told and not sheet.said("one channel alone") and "approximate" not in reading["flags"]:
        wrong.append("nothing says that one channel alone does not tell force from anti-skating")
    return wrong


def lost(prog, draw):
    first = draw.choice([1, 2, 3, None])
    sound = steps.side(draw.choice([4.0, 6.0]), first and (first, GIVES), 0)
    clean = steps.side(sound.size / steps.RATE / len(steps.STEPS) - steps.GAP_S, None, 0)[:sound.size]
    dead = draw.random() < 0.5
    other = waves.noise(sound.size, 3e-5, 5) + draw.choice([0, 0.01]) * sound if dead else breaks(clean, steps.RATE, draw)
    turned = draw.random() < 0.5
    sheet = heard(prog, *((other, sound) if turned else (sound, other)), sound.size // len(steps.STEPS), draw)
    names = ("right", "left") if turned else ("left", "right")
    wrong = judge(sheet, *names, steps.STEPS[first - 1] if first else steps.STEPS[-1], steps.STEPS[-1])
    return "; ".join(wrong + ([f"({names[1]} {'dead' if dead else 'comes and goes'}, fails from {first})"] if wrong else []))


def missing(prog, draw):
    """The step above the last that is passed was cut short: it may be passed too."""
    seconds, fails = 4.0, draw.choice([2, 3])
    both = steps.side(seconds, (fails, GIVES), 0)
    each = int(seconds * steps.RATE) + int(steps.GAP_S * steps.RATE)
    gone = fails - draw.choice([0, 1])
    both[gone * each + int(0.5 * steps.RATE):(gone + 1) * each] = 0
    sheet = heard(prog, both, both, each, draw)
    wrong = []
    for name in ("left", "right"):
        reading = sheet.readings[f"tracking.passed_{name}"]
        if reading["value"] != steps.STEPS[gone - 1] or "approximate" not in reading["flags"]:
            wrong.append(f"{name} passes at least {steps.STEPS[gone - 1]} µm, told {reading['value']} {reading['flags']}")
    if not sheet.said(f"step of {steps.STEPS[gone]} um", "may be passed too"):
        wrong.append(f"nothing is said of {steps.STEPS[gone]} µm: {sheet.words()[:300]}")
    return "; ".join(wrong)


def of_a_side(prog, draw):
    """A planned side: the sound wall's hold, and the lost one's fails sooner or later."""
    side = draw.choice([0, 1])
    bias = draw.choice([-0.2, 0.2])
    channels = list(planned_side.play(bias=bias))
    channels[side] = breaks(channels[side], planned_side.RATE, draw)
    path = waves.write(prog.recording("side.wav"), *channels, rate=planned_side.RATE)
    prog.recording("short.plan").write_text(planned_side.plan(), encoding="utf-8")
    sheet = prog.sheet("side", path, "record.plan=short.plan", "response.riaa=none")
    hold = planned_side.holds(bias)[1 - side]
    true = max((um for um in planned_side.STEPS_UM if um <= hold), default=None)
    names = ("right", "left") if side == 0 else ("left", "right")
    return "; ".join(judge(sheet, *names, true, planned_side.STEPS_UM[-1]))


def run(prog, checks, names):
    draw = program.random.Random(57)
    for number in range(10):
        checks.attempt(f"one channel dead or coming and going, {number + 1}", lost, prog, draw)
    for number in range(4):
        checks.attempt(f"a step cut short, {number + 1}", missing, prog, draw)
    for number in range(2):
        checks.attempt(f"a side through its one sound channel, {number + 1}", of_a_side, prog, draw)


if __name__ == "__main__":
    program.main(run)
