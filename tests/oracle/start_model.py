# SPDX-License-Identifier: MIT
"""Imagined starts of a platter, integrated from torques, and what `startup` says of them.

Kinds: inertial (a motor's torque, then its tail), soft (the torque comes up by and by),
slip (a belt that slides until it grips, then rings on its own spring),
servo (proportional and integral, its torque limited), low (settles too slow), climbing (cold oil: creeps on past the end),
hunting (reaches its speed and swings on for good). Truth: the course itself, as a perfect instrument would hear it.
"""
import math

import numpy as np

import waves
from drive_model import log_uniform

STEP = 0.002               # s
KINDS = ("inertial", "slip", "servo", "low", "climbing", "hunting", "inertial", "servo", "soft")
BAND = 0.01
RATE = 12000


def inertial(draw, t):
    """Full torque until the motor is near its own speed, then torque in proportion to what is missing."""
    rate, tail = 1 / draw.uniform(0.8, 5), draw.uniform(0.05, 0.5)
    return integrate(t, lambda w, _: min(rate, (1 - w) / tail))


def soft(draw, t):
    """A motor whose torque comes up by and by (a slack belt that winds up, a soft start): the platter begins to move unseen."""
    rate, tail, rise = 1 / draw.uniform(0.8, 4), draw.uniform(0.05, 0.4), draw.uniform(0.05, 0.4)
    passed = {"time": 0.0}

    def torque(w, step):
        passed["time"] += step
        return min(rate * min(1, passed["time"] / rise), (1 - w) / tail)
    return integrate(t, torque)


def slip(draw, t):
    """A belt drags at its grip's limit while it slides; once it holds, it is a spring with some loss."""
    limit, spring, damping = 1 / draw.uniform(0.8, 4), 2 * math.pi * draw.uniform(2, 4), draw.uniform(0.15, 0.4)
    state = {"stretch": limit / spring ** 2}

    def torque(w, step):
        pull = spring ** 2 * state["stretch"] + 2 * damping * spring * (1 - w)
        if abs(pull) <= limit:
            state["stretch"] += (1 - w) * step
        return max(-limit, min(limit, pull))
    return integrate(t, torque)


def servo(draw, t):
    limit, own, damping = 1 / draw.uniform(0.4, 3), 2 * math.pi * draw.uniform(0.3, 1.2), draw.uniform(0.25, 1.0)
    state = {"sum": 0.0}

    def torque(w, step):
        wanted = 2 * damping * own * (1 - w) + own ** 2 * state["sum"]
        if abs(wanted) <= limit:            # it does not wind up
            state["sum"] += (1 - w) * step
        return max(-limit, min(limit, wanted))
    return integrate(t, torque)


def integrate(t, torque):
    w, course = 0.0, np.zeros(len(t))
    for place in range(len(t)):
        course[place] = w
        w += torque(w, STEP) * STEP if t[place] >= 0 else 0.0
    return course


class Start:
    def __init__(self, draw, number):
        self.kind = KINDS[number % len(KINDS)]
        self.begin, self.seconds = draw.uniform(0.4, 2.5), draw.uniform(18, 30)
        self.snr = draw.uniform(38, 58)
        self.t = np.arange(int(self.seconds / STEP) + 2) * STEP
        since = self.t - self.begin
        course = {"slip": slip, "servo": servo, "hunting": servo, "soft": soft}.get(self.kind, inertial)(draw, since)
        if self.kind == "low":
            course = course * (1 - draw.uniform(0.02, 0.08))
        elif self.kind == "climbing":
            course = course * (1 - draw.uniform(0.03, 0.06) * np.exp(-np.maximum(since, 0) / draw.uniform(15, 40)))
        elif self.kind == "hunting":
            grown = np.clip(course - 0.9, 0, 0.1) * 10
            course = course * (1 + draw.uniform(0.004, 0.009) * grown * np.sin(2 * np.pi * draw.uniform(0.4, 1.8) * since))
        else:
            course = course * (1 + draw.gauss(0, 0.002))
        self.bare = course
        wow = log_uniform(draw, 0.0003, 0.002) * np.cos(2 * np.pi * (self.turns() + draw.random()))
        flutter = log_uniform(draw, 0.0001, 0.0006) * np.cos(2 * np.pi * draw.uniform(5, 12) * self.t)
        self.course = course * (1 + wow + flutter)
        self.seed = draw.randrange(1 << 30)

    def turns(self):
        return np.concatenate([[0], np.cumsum(self.bare)[:-1]]) * STEP * (100 / 3) / 60

    def record_to(self, path):
        sound = waves.speed_tone(3150.0, 1.0, self.seconds, RATE, lambda t: np.interp(t, self.t, self.course))
        noise = 0.25 / math.sqrt(2) * 10 ** (-self.snr / 20)
        waves.write(path, sound + waves.noise(sound.size, noise, self.seed), rate=RATE)

    def truth(self):
        """Seconds to the band and to stay in it, overshoot in %, against the speed of the last third."""
        final = float(np.mean(self.course[self.t > self.seconds * 2 / 3]))
        inside = np.abs(self.course / final - 1) <= BAND
        first = self.t[np.argmax(inside & (self.t > self.begin))]
        outside = np.nonzero(~inside & (self.t < self.seconds - 1))[0]
        return {"startup.time": first - self.begin, "startup.settle": self.t[outside[-1]] - self.begin if len(outside) else None,
                "startup.overshoot": max(0.0, 100 * (self.bare.max() / float(np.mean(self.bare[self.t > self.seconds * 2 / 3])) - 1))}


def judge(start, sheet):
    """What is wrong in words, and the readings beside their truth."""
    wrong, readings, truth = [], [], start.truth()
    arrives = start.kind not in ("low", "climbing")
    for key, true in truth.items():
        row = sheet.readings.get(key)
        if row is None or row["value"] is None:
            if arrives and key == "startup.time":
                wrong.append((f"{key} not told: {start.kind}", sheet.not_measured.get(key, "")))
            continue
        if not arrives and key in ("startup.time", "startup.settle") and not row["flags"]:
            wrong.append((f"{key} of a platter that does not arrive: {start.kind}", f"{row['value']:.2f} s"))
        if arrives and true is not None and start.kind != "hunting":
            readings.append((key, row["value"], row["uncertainty"], true, bool(row["flags"])))
    said = "\n".join(sheet.remarks) + "\n".join(sheet.not_measured.values()) + " ".join(sheet.readings)
    swings = any("swings" in line or "unting" in line for line in sheet.remarks if not line.startswith("No "))
    if start.kind == "hunting" and not swings:
        wrong.append(("hunting not told", said[:200]))
    if start.kind in ("inertial", "soft") and swings:
        wrong.append(("hunting told where there is none", said[:200]))
    if start.kind == "low" and not any(word in said for word in ("slow", "does not", "never", "not reach", "below")):
        wrong.append(("a platter that settles too slow is not told", said[:200]))
    return wrong, readings
