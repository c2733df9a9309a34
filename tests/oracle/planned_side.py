# SPDX-License-Identifier: MIT
"""A short side of an invented test record, its plan, and what a pickup set right or wrong makes of it.

The stylus's movement is made band by band along the axes of waves.py; the arm passes x²/(1 − x² + jx/Q) of a sweep sideways and
up and down, each with its own resonance; a wall lets go of the stylus on the swings that draw it away when it is pressed too little.
The output is velocity: no replay equalisation (response.riaa=none).
"""
import numpy as np
from scipy import signal

import waves

RATE = 24000
GAP = LEAD_IN = 2.0
STEPS_UM = [50, 60, 70, 80, 90]
SCALE = 1.6e-2          # full scale per cm/s
LATERAL_HZ, VERTICAL_HZ = 8.5, 12.5

BANDS = [("tone", "left", 8.0), ("tone", "right", 8.0), ("tone", "lateral", 8.0), ("tone", "vertical", 8.0),
         ("steps", "lateral", 20.0), ("sweep", "lateral", 14.0), ("sweep", "vertical", 14.0), ("silence", "", 12.0)]


def plan(steps_um=STEPS_UM):
    """The plan's text, in the form that docs/methods/side.md gives."""
    lines = ["[record]", "name = Short side", "number = invented", "speed = 33 1/3 rpm", "reference = 5 cm/s",
             f"lead_in = {LEAD_IN} s", f"gap = {GAP} s"]
    radius = 140.0
    for number, (kind, channel, length) in enumerate(BANDS, 1):
        lines += ["", f"[band {number}]", f"kind = {kind}", f"length = {length} s", f"radius = {radius:.2f} mm"]
        radius -= 0.1 * (length + GAP)      # a pitch of 0.18 mm at 33 1/3 rpm
        if channel:
            lines.append(f"channel = {channel}")
        if kind == "tone":
            lines += ["frequency = 1 kHz", "level = 3.5355 cm/s" if channel in ("left", "right") else "level = 5 cm/s"]
        elif kind == "steps":
            lines += ["frequency = 300 Hz", "level = " + " ".join(str(step) for step in steps_um) + " um"]
        elif kind == "sweep":
            lines += ["from = 25 Hz", "to = 4 Hz", "level = 1 cm/s", "cut = velocity"]
    return "\n".join(lines) + "\n"


def arm(velocity, resonance_hz, q=4.0):
    """What the arm lets through of the groove's velocity: the stylus's against the arm's."""
    w = 2 * np.pi * resonance_hz
    b, a = signal.bilinear([1, 0, 0], [1, w / q, w * w], fs=RATE)
    return signal.lfilter(b, a, velocity)


def movement(kind, channel, length):
    """The groove's velocity [x, z] in cm/s."""
    count = int(length * RATE)
    time = np.arange(count) / RATE
    shape = waves.fade(count, RATE)
    if kind == "tone":
        level = 3.5355 if channel in ("left", "right") else 5.0
        return waves.groove(channel, level * np.sin(2 * np.pi * 1000 * time) * shape)
    if kind == "steps":
        each = count // len(STEPS_UM)
        amplitude = np.repeat(STEPS_UM, each) * 1e-4
        return waves.groove(channel, 2 * np.pi * 300 * amplitude * np.cos(2 * np.pi * 300 * time) * shape)
    if kind == "sweep":
        octaves = np.log(4 / 25)
        phase = 2 * np.pi * 25 * length / octaves * (np.exp(octaves * time / length) - 1)
        return waves.groove(channel, np.sin(phase) * shape)
    return np.zeros((2, count))


def let_go(velocity, hold_left_um, hold_right_um):
    """Each wall's signal when it lets go beyond what it holds: the inner wall on inward swings, the outer on outward ones.

    The inner wall's face looks outwards and up: it draws away from the stylus as it goes along −A_LEFT, and the suspension,
    which pulls back to the middle, does not follow. The outer wall draws away along +A_RIGHT (outwards and down).
    """
    place = signal.lfilter([1.0 / RATE], [1, -1], velocity, axis=1)   # cm
    place -= place.mean(axis=1, keepdims=True)
    left, right = waves.A_LEFT @ place, waves.A_RIGHT @ place
    left = np.maximum(left, -hold_left_um * 1e-4 / np.sqrt(2))
    right = np.minimum(right, hold_right_um * 1e-4 / np.sqrt(2))
    return np.gradient(left) * RATE, np.gradient(right) * RATE


def holds(bias, mean_um=68.0):
    """Swings held sideways by the inner and the outer wall with a side force on the stylus, inwards positive, over the force."""
    return mean_um * (1 + bias), mean_um * (1 - bias)


def lateral_radius():
    """Of the lateral tone, the middle of its band, as the plan has it."""
    return 140.0 - 0.1 * sum(length + GAP for _, _, length in BANDS[:2])


def play(lean_deg=0.0, bias=0.0, bands=BANDS, rumble=(0.0, 0.0)):
    """Left and right in parts of full scale, before the leads."""
    lean = np.radians(lean_deg)
    back = np.array([[np.cos(lean), -np.sin(lean)], [np.sin(lean), np.cos(lean)]])  # up goes towards the spindle
    a_left, a_right = back @ waves.A_LEFT, back @ waves.A_RIGHT
    left, right = [np.zeros(int(LEAD_IN * RATE))], [np.zeros(int(LEAD_IN * RATE))]
    for kind, channel, length in bands:
        swing = movement(kind, channel, length)
        if kind == "steps":
            one, other = let_go(swing, *holds(bias))
        else:
            if kind == "sweep":
                swing = np.stack([arm(swing[0], LATERAL_HZ), arm(swing[1], VERTICAL_HZ)])
            one, other = a_left @ swing, a_right @ swing
        left += [one, np.zeros(int(GAP * RATE))]
        right += [other, np.zeros(int(GAP * RATE))]
    left, right = np.concatenate(left), np.concatenate(right)
    x, z = waves.noise(left.size, rumble[0], 31), waves.noise(left.size, rumble[1], 32)
    left, right = left + (x + z) / np.sqrt(2), right + (x - z) / np.sqrt(2)
    return SCALE * left + waves.noise(left.size, 3e-5, 7), SCALE * right + waves.noise(left.size, 3e-5, 8)


def record(path, wiring="correct", **how):
    return waves.write(path, *waves.played(play(**how), wiring), rate=RATE)
