# SPDX-License-Identifier: MIT
"""Run-ups whose law is a formula of its own, and what `startup` says of them.

Kinds: exponential, linear, cosine (raised), quadratic, cubic, critical (damped critically), overshoot, slip (a belt that slides, then
catches), smoothstep, ramped (a torque that comes up against an inertia), late (the stylus is let down while an exponential runs up).
The groove sounds the louder the faster it runs, the chain cuts off below, noise and hum are what a bench has.
"""
import numpy as np
from scipy import signal

import start_model
import waves
from drive_model import log_uniform

KINDS = ("exponential", "linear", "cosine", "quadratic", "cubic", "critical", "overshoot", "slip", "smoothstep", "ramped", "late")
RATE, STEP = 16000, 0.001


def part(t, whole):
    return np.clip(t / whole, 0, 1)


def overshoot(draw, t):
    damping, own = draw.uniform(0.3, 0.8), draw.uniform(1, 5)
    turn = own * np.sqrt(1 - damping ** 2)
    return 1 - np.exp(-damping * own * t) * (np.cos(turn * t) + damping * own / turn * np.sin(turn * t))


def slip(draw, t):
    slide, caught, tail = draw.uniform(1.5, 5), draw.uniform(0.5, 0.85), draw.uniform(0.15, 0.6)
    return np.where(t < caught * slide, t / slide, 1 - (1 - caught) * np.exp(-np.maximum(t - caught * slide, 0) / tail))


def critical(draw, t):
    tail = draw.uniform(0.3, 2)
    return 1 - np.exp(-t / tail) * (1 + t / tail)


def ramped(draw, t):
    rise, tail = draw.uniform(0.3, 5), draw.uniform(0.5, 2)
    keep = np.exp(-STEP / tail)
    return signal.lfilter([1 - keep], [1, -keep], np.clip(t / rise, 0, 1))


LAWS = {"exponential": lambda draw, t: 1 - np.exp(-t / draw.uniform(0.4, 3)),
        "linear": lambda draw, t: part(t, draw.uniform(1, 8)),
        "cosine": lambda draw, t: 0.5 - 0.5 * np.cos(np.pi * part(t, draw.uniform(2, 18))),
        "quadratic": lambda draw, t: part(t, draw.uniform(2, 10)) ** 2,
        "cubic": lambda draw, t: part(t, draw.uniform(2, 8)) ** 3,
        "smoothstep": lambda draw, t: (lambda x: x * x * (3 - 2 * x))(part(t, draw.uniform(2, 15))),
        "critical": critical, "overshoot": overshoot, "slip": slip, "ramped": ramped,
        "late": lambda draw, t: 1 - np.exp(-t / draw.uniform(2, 5))}


class Start(start_model.Start):
    """A drawn run-up of one of KINDS: what start_model.judge asks for."""

    def __init__(self, draw, number):
        self.kind = KINDS[number % len(KINDS)]
        self.begin, self.seconds = draw.uniform(1, 3), 40
        self.t = np.arange(int(self.seconds / STEP) + 2) * STEP
        bare = LAWS[self.kind](draw, np.maximum(self.t - self.begin, 0))
        self.final = 1 + draw.gauss(0, 0.002)       # what the formula ends at
        self.bare = bare * self.final
        once, flutter = log_uniform(draw, 0.0002, 0.002), log_uniform(draw, 0.0001, 0.0005)
        turned = np.cumsum(self.bare) * STEP * (100 / 3) / 60
        self.course = self.bare * (1 + once * np.cos(2 * np.pi * (turned + draw.random()))
                                   + flutter * np.cos(2 * np.pi * draw.uniform(5, 12) * self.t))
        self.snr, self.grows, self.corner = draw.uniform(38, 58), draw.uniform(0.5, 1), draw.choice([2, 8, 20])
        self.hum = draw.choice([0, 0.0003, 0.001])
        self.late = self.begin - draw.uniform(0.05, 0.2) if self.kind != "late" else self.begin + self.dropped(draw)
        self.seed = draw.randrange(1 << 30)

    def dropped(self, draw):
        """Seconds from the start until the stylus is let down, at 13 to 38 % of the speed."""
        return self.t[np.argmax(self.bare > draw.uniform(0.13, 0.38))] - self.begin

    def truth(self):
        """Seconds to the band and to stay in it, overshoot in %, against the speed that the formula ends at."""
        inside = np.abs(self.course / self.final - 1) <= start_model.BAND
        outside = np.nonzero(~inside & (self.t < self.seconds - 1))[0]
        return {"startup.time": self.t[np.argmax(inside & (self.t > self.begin))] - self.begin,
                "startup.settle": self.t[outside[-1]] - self.begin,
                "startup.overshoot": max(0.0, 100 * (self.bare.max() / self.final - 1))}

    def record_to(self, path):
        tone = waves.speed_tone(3150.0, 1.0, self.seconds, RATE, lambda t: np.interp(t, self.t, self.course))
        time = np.arange(tone.size) / RATE
        tone *= np.interp(time, self.t, np.maximum(self.bare, 0)) ** self.grows
        if self.kind == "late":
            tone[time < self.late] = 0
        tone = signal.sosfilt(signal.butter(1, self.corner, "highpass", fs=RATE, output="sos"), tone)
        noise = waves.noise(tone.size, 0.25 / np.sqrt(2) * 10 ** (-self.snr / 20), self.seed)
        waves.write(path, tone + noise + self.hum * np.sin(2 * np.pi * 50 * time), rate=RATE)


def judge(start, sheet):
    """Readings beside their truth; where the time is not told, or the doubt of a start that was missed is not marked."""
    truth, readings, wrong = start.truth(), [], []
    for key, true in truth.items():
        row = sheet.readings.get(key)
        if true is None:
            continue
        if row is None or row["value"] is None:
            wrong.append((f"{key} not told: {start.kind}", sheet.not_measured.get(key, "")))
            continue
        readings.append((key, row["value"], row["uncertainty"], true, bool(row["flags"])))
        if start.kind == "late" and key != "startup.overshoot" and not row["flags"]:
            wrong.append((f"{key} of a start that was missed has no mark", f"{row['value']:.2f} s"))
        if not row["flags"] and row["uncertainty"] is not None and key != "startup.overshoot" and row["uncertainty"] > 0.2:
            wrong.append((f"{key} is doubtful and has no mark", f"{row['value']:.2f} +- {row['uncertainty']:.2f} s"))
    return wrong, readings
