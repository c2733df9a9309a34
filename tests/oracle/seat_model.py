# SPDX-License-Identifier: MIT
"""Two to four takes of one record turned on the platter between them, the hole leaving it some play, and what `reseat` says.

Complex numbers of the once-a-turn wave: the deck's share keeps its place on the platter, the record's turns with the record,
and at each seating the hole lets the record lie off by up to PLAY in some direction. Source (published): IEC 60098, hole and spindle's tolerances.
Truth: the deck's share, and the record's own centre of the groove against the middle of its hole.
"""
import cmath
import math

import numpy as np

import waves
from drive_model import log_uniform

RATE, TONE = 12000, 3150.0
PLAY = 0.05                # mm
TURNS = {2: (180.0, 120.0, 90.0), 3: (120.0,), 4: (90.0,)}


def anywhere(draw, most):
    """A place in a disc, every spot alike."""
    return most * math.sqrt(draw.random()) * cmath.exp(2j * math.pi * draw.random())


class Seating:
    def __init__(self, draw, number):
        self.count = (2, 2, 3, 4)[number % 4]
        self.radius, self.offset = draw.choice([60.0, 80.0, 100.0, 120.0]), draw.uniform(20, 25)
        across = math.cos(math.radians(self.offset))
        self.deck = log_uniform(draw, 0.02, 0.25) * cmath.exp(2j * math.pi * draw.random())
        self.eccentric = log_uniform(draw, 0.03, 0.4) * cmath.exp(2j * math.pi * draw.random())
        # What a stylus at RADIUS hears in % peak of a groove that is 1 mm off: along an arm with an offset head the more.
        self.per_mm = 100 / self.radius / across
        step = draw.choice(TURNS[self.count])
        self.angles = [step * place for place in range(self.count)]
        self.true_angles = [0.0] + [angle + draw.gauss(0, 1.0) for angle in self.angles[1:]]
        # One hole, one spindle: measured by caliper, or what is common.
        self.told_play = draw.random() < 0.5
        self.most = draw.uniform(0.01, PLAY) if self.told_play else PLAY
        self.play = [anywhere(draw, self.most) for _ in self.angles]
        self.marks = [draw.uniform(0.3, 2.0) for _ in self.angles]
        self.read_marks = [mark + draw.gauss(0, 0.02) for mark in self.marks]
        self.fast, self.tone_error = 1 + draw.gauss(0, 0.003), max(-0.4, min(0.4, draw.gauss(0, 0.1)))
        self.seconds, self.snr, self.seed = draw.uniform(22, 45), draw.uniform(42, 60), draw.randrange(1 << 30)
        self.flutter = (log_uniform(draw, 0.0001, 0.0006), draw.uniform(5, 9))
        self.kind = f"{self.count} takes" + ", told" * self.told_play

    def wave(self, place):
        """Of take PLACE, in % peak, its phase counted from the mark."""
        turned = cmath.exp(1j * math.radians(self.true_angles[place]))
        return self.deck + self.per_mm * (self.eccentric + self.play[place]) * turned

    def record_to(self, path, place):
        whole, hz = self.wave(place), self.fast * (100 / 3) / 60

        def course(t):
            turn = 2 * np.pi * hz * (t - self.marks[place])
            return self.fast * (1 + abs(whole) / 100 * np.cos(turn + cmath.phase(whole))
                                + self.flutter[0] * np.cos(2 * np.pi * self.flutter[1] * t))
        sound = waves.speed_tone(TONE * (1 + self.tone_error / 100), 1.0, self.seconds, RATE, course)
        noise = 0.25 / math.sqrt(2) * 10 ** (-self.snr / 20)
        waves.write(path, sound + waves.noise(sound.size, noise, self.seed + place), rate=RATE)

    def words(self, names):
        return [*names, "reseat.reference=mark", *[f"reseat.angle={angle:.0f}deg" for angle in self.angles],
                *[f"reseat.mark={mark:.3f}s" for mark in self.read_marks], f"record.tone={TONE:.0f}Hz",
                *[f"reseat.play={self.most:.3f}mm"] * self.told_play, f"record.radius={self.radius:.0f}mm", f"arm.offset={self.offset:.2f}deg"]

    def truth(self):
        return {"reseat.deck": abs(self.deck), "reseat.record": self.per_mm * abs(self.eccentric),
                "reseat.eccentricity": abs(self.eccentric)}


def judge(seating, sheet):
    readings, wrong = [], []
    for key, true in seating.truth().items():
        row = sheet.readings.get(key)
        if row is None or row["value"] is None:
            wrong.append((f"{key} not told", sheet.not_measured.get(key, "")))
        else:
            readings.append((key, row["value"], row["uncertainty"], true, bool(row["flags"])))
    return wrong, readings
