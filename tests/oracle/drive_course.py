# SPDX-License-Identifier: MIT
"""A drawn deck: a drive, its faults, what else is uneven a little, the record, the recording. Everything follows from the seed.

Course is what tone_model.render plays; besides it keeps what each cause does to the speed, so that the truth at any
frequency can be asked for.
"""
import math

import numpy as np

import drive_faults
import tone_model
from drive_model import log_uniform
from drive_trains import drive_of

ALONE = {
    ("belt", "synchronous"): ["belt hump", "belt wave", "pulley", "platter", "record", "warp", "mains shake", "motor bearing",
                              "platter bearing", "stick-slip", "footfall", "faultless"],
    ("belt", "dc"): ["belt hump", "belt wave", "pulley", "commutation", "hunting", "platter", "footfall", "faultless"],
    ("idler", "induction"): ["idler dent", "idler eccentric", "pulley", "mains shake", "motor bearing", "platter", "record", "warp",
                             "footfall", "faultless"],
    ("idler", "synchronous"): ["idler dent", "idler eccentric", "pulley"],
    ("direct", "servo"): ["cogging", "hunting", "tacho", "platter", "platter bearing", "faultless"],
    ("direct", "quartz"): ["cogging", "warp", "record", "footfall", "faultless"],
}
TOGETHER = {
    ("belt", "synchronous"): [("belt hump", "pulley"), ("belt wave", "record"), ("belt wave", "pulley"), ("pulley", "record"),
                              ("belt wave", "platter")],
    ("belt", "dc"): [("belt hump", "platter"), ("pulley", "commutation")],
    ("idler", "induction"): [("idler dent", "platter"), ("idler eccentric", "pulley"), ("idler dent", "pulley")],
    ("direct", "servo"): [("cogging", "platter"), ("cogging", "record")],
}
# Drives of two stages and of two motors.
TRAINS = [("two belts", "synchronous", ("first belt",)), ("two belts", "dc", ("wheel between",)), ("two belts", "synchronous", ("belt wave",)),
          ("two belts", "dc", ("pulley",)), ("two belts", "synchronous", ("first belt", "platter")), ("two belts", "synchronous", ()),
          ("belt to idler", "induction", ("first belt",)), ("belt to idler", "induction", ("idler dent",)),
          ("belt to idler", "induction", ("idler eccentric", "pulley")), ("belt to idler", "synchronous", ("idler eccentric",)),
          ("wheel to belt", "induction", ("wheel between",)), ("wheel to belt", "synchronous", ("belt hump",)),
          ("twin motors", "synchronous", ("belt wave",)), ("twin motors", "dc", ("another pulley",)),
          ("twin motors", "synchronous", ("pulley",)), ("twin motors", "dc", ("belt hump",)), ("twin motors", "dc", ())]
# Every deck has a little of these; the faultless has them too.
USUAL = {"belt": ["belt wave", "pulley", "platter", "record"], "idler": ["idler eccentric", "pulley", "platter", "record"],
         "direct": ["cogging", "platter", "record"],
         "two belts": ["belt wave", "first belt", "wheel between", "pulley", "platter", "record"],
         "wheel to belt": ["belt wave", "wheel between", "pulley", "platter", "record"],
         "belt to idler": ["first belt", "idler eccentric", "pulley", "platter", "record"],
         "twin motors": ["belt wave", "pulley", "another pulley", "platter", "record"]}

USUAL_SHARE = 0.15              # of the power of the smallest fault, each


def menu():
    """What is drawn in turn: (kind, motor, faults)."""
    return plain() + TRAINS


def plain():
    """Of one stage and one motor."""
    singles = [(*drive, () if name == "faultless" else (name,)) for drive, names in ALONE.items() for name in names]
    return singles + [(*drive, pair) for drive, pairs in TOGETHER.items() for pair in pairs]


class Course:
    """The speed over time: what each cause adds, by its name, as a share of the speed."""

    def __init__(self, drive, faults, usual, seconds, draw):
        count = int((seconds + tone_model.PAST + 2) * tone_model.GRID)
        self.t = np.arange(count) / tone_model.GRID - tone_model.PAST
        wander = tone_model.wander_series(tone_model.Wander(log_uniform(draw, 0.005, 0.02), 0.2, 3.0), count, draw.randrange(1 << 30))
        turning = drive_faults.Turning(drive, self.t, wander)
        inside = self.t >= 0
        self.causes = {"wander": wander}
        for name, peak in list(faults.items()) + list(usual.items()):
            series = drive_faults.MAKERS[name](turning)
            self.causes[name] = series * peak / 100 / np.abs(series[inside]).max()
            if faults and name in usual:    # what is usual stays small beside what is at fault, however peaky that is
                most = USUAL_SHARE * min(self.power(fault) for fault in faults)
                self.causes[name] *= min(1.0, math.sqrt(most / self.power(name)))
        # A trend of a cold deck, far below what a limit would call drift.
        drift = draw.gauss(0, 0.01) / 100 / 60 * self.t
        self.mean = drive.rates["platter"] * 60 / drive.nominal
        self.speed = self.mean * (1 + drift + sum(self.causes.values()))

    def groove(self, t):
        return tone_model.spread(tone_model.integral(self.speed), t)

    def power(self, name):
        return float(np.var(self.causes[name][self.t >= 0]))

    def shares(self):
        """Each cause's share of the power of all."""
        total = sum(self.power(name) for name in self.causes)
        return {name: self.power(name) / total for name in self.causes}

    def at(self, hz, names=None):
        """Amplitude [% peak] of each cause, or of those NAMES, in a Hann spectrum of the whole take at HZ."""
        inside = self.t >= 0
        shape = np.hanning(inside.sum())
        turn = shape * np.exp(-2j * np.pi * hz * self.t[inside])
        return {name: 200 * abs(np.sum(series[inside] * turn)) / shape.sum() for name, series in self.causes.items()
                if names is None or name in names}


class Deck:
    """Deck NUMBER of a trial: faults by name and peak, the take, and the operands that describe it all; CHOICES: what is drawn in turn (menu)."""

    def __init__(self, draw, number, longest=120, choices=None):
        choices = choices or menu()
        kind, motor, names = choices[number % len(choices)]
        self.drive = drive_of(draw, kind, motor)
        self.names = names
        self.take = self.draw_take(draw)
        self.take.seconds = min(self.take.seconds, longest)
        self.faults = {name: log_uniform(draw, *drive_faults.SIZES.get(name, drive_faults.COMMON)) for name in names}
        self.course = self.play(draw, self.draw_usual(draw, kind))
        self.record = tone_model.Record(tone=draw.choice([3150.0, 3150.0, 3000.0, 1000.0]),
                                        tone_error=max(-0.4, min(0.4, draw.gauss(0, 0.1))))
        self.words = self.drive.words() + [f"record.tone={self.record.tone:.0f}Hz"]

    @property
    def case(self):
        return " and ".join(self.names) or "faultless"

    def draw_take(self, draw):
        return tone_model.Take(seconds=draw.choice([20, 30, 45, 60, 60, 60, 90, 120]), rate=draw.choice([16000, 22050, 24000]),
                               channels=draw.choice([1, 1, 2]), bits=draw.choice([16, 24]), level=draw.uniform(-20, -8),
                               snr=draw.uniform(42, 62), surface=draw.choice([0.0, 0.5]), rumble=draw.uniform(35, 50),
                               hum=(self.drive.mains_true, draw.uniform(-70, -45)), ticks=draw.choice([0.0, 0.05, 0.3]),
                               seed=draw.randrange(1 << 30))

    def draw_usual(self, draw, kind):
        """Peaks of what every deck has; on a faultless one all that there is."""
        return {name: log_uniform(draw, 0.004, 0.03) for name in USUAL[kind] if name not in self.faults}

    def play(self, draw, usual):
        state = draw.getstate()
        course = Course(self.drive, self.faults, usual, self.take.seconds + 1, draw)
        if len(self.names) == 2:        # two faults are both to be found: the smaller has a fifth of the power at least
            powers = [course.power(name) for name in self.names]
            small = self.names[int(powers[1] < powers[0])]
            if min(powers) < 0.2 * max(powers):
                self.faults[small] *= math.sqrt(0.25 * max(powers) / min(powers))
                draw.setstate(state)
                course = Course(self.drive, self.faults, usual, self.take.seconds + 1, draw)
        return course

    def record_to(self, path):
        tone_model.record_to(path, tone_model.Deck(rpm=self.drive.nominal, seed=1), self.record, self.take, self.course)

    def guilty(self):
        """Words that may name each fault; an empty list where no part is at fault."""
        return [drive_faults.PARTS[name] for name in self.names]
