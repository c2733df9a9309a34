# SPDX-License-Identifier: MIT
"""Imagined drives, drawn by a seed, written from mechanics: what turns how often, and what a technician measures of it.

A Drive has true dimensions, from which its true rates follow, and dimensions as read with a caliper. The faults that make
it uneven are in drive_faults.py, the course of the speed is put together in drive_course.py. Nothing is taken from the program.

Source (trade): belts and pulleys by the textbook relation of effective diameters; slip of shaded-pole motors 2 to 7 %, caliper
errors of 0.02 to 0.05 mm, creep of a rubber belt below 0.5 %: common practice, no source. Cogs a turn: least common multiple
of poles and slots (textbook). Record's tone within 0.5 %: IEC 60098:2020, 5.6.
"""
import math

NOMINAL = {"33": 100 / 3, "45": 45.0}
POLES_AND_SLOTS = [(12, 9), (16, 12), (8, 6), (20, 15), (24, 18), (12, 15), (10, 12)]


class Caliper:
    """One instrument in one hand: a zero that is off for all it measures, and what each reading adds."""

    def __init__(self, draw):
        self.draw, self.zero = draw, draw.uniform(-0.02, 0.02)
        self.step = draw.choice([0.01, 0.01, 0.01, 0.05])

    def read(self, true, spread=0.012, most=0.05):
        off = max(-most, min(most, self.zero + self.draw.gauss(0, spread)))
        return round((true + off) / self.step) * self.step


def log_uniform(draw, low, high):
    return math.exp(draw.uniform(math.log(low), math.log(high)))


def path(pulley, rim, centre):
    """Length of an open belt round two circles, and the two angles of wrap [rad]."""
    lean = math.asin((rim - pulley) / (2 * centre))
    wraps = math.pi - 2 * lean, math.pi + 2 * lean
    return 2 * centre * math.cos(lean) + wraps[0] * pulley / 2 + wraps[1] * rim / 2, wraps


class Drive:
    """KIND belt, idler or direct; MOTOR synchronous, induction, dc, servo or quartz. Rates in Hz by the part's name.

    BELTS has what each belt runs round, by the part's name: two diameters, the two angles of wrap, and its length."""

    def __init__(self, draw, kind, motor):
        self.draw, self.kind, self.motor, self.stated = draw, kind, motor, kind
        self.speed = draw.choice(["33", "33", "33", "45"])
        self.nominal = NOMINAL[self.speed]
        self.mains = draw.choice([50, 60])
        self.mains_true = self.mains * (1 + draw.gauss(0, 0.0004))
        self.caliper = Caliper(draw)
        self.rates, self.belts = {}, {}
        self.lay_out()
        self.rates["mains"] = self.mains_true

    def lay_out(self):
        {"belt": self.lay_belt, "idler": self.press_idler, "direct": self.wind_motor}[self.kind]()

    # How fast the shaft turns [rpm]

    def shaft(self):
        """Of a mains motor from its poles and slip."""
        self.slip = 0.0 if self.motor == "synchronous" else self.draw.uniform(2.0, 7.0)
        return 120 * self.mains_true / self.poles * (1 - self.slip / 100)

    def rated(self):
        """What the maker cut the pulley for: the rated slip lies near the one that this motor now has."""
        return 120 * self.mains / self.poles * (1 - max(0.0, self.slip + self.draw.gauss(0, 0.5) * bool(self.slip)) / 100)

    # Kinds of drive

    def lay_belt(self):
        draw = self.draw
        whole_platter = draw.random() < 0.35
        self.rim = draw.uniform(260, 300) if whole_platter else draw.uniform(110, 190)
        self.poles = {"synchronous": draw.choice([16, 24]), "induction": 4}.get(self.motor, 0)
        # Where the belt's neutral fibre runs: in the middle of rubber, elsewhere in a belt with a cord or a ground back.
        self.thickness = draw.uniform(0.5, 1.0)
        self.fibre = draw.choice([0.5, 0.5, 0.5, 0.42, 0.58])
        creep = draw.uniform(0.0005, 0.004)
        lay = 2 * self.fibre * self.thickness
        shaft = self.shaft() if self.poles else draw.uniform(350, 900)
        rated = self.rated() if self.poles else shaft
        self.pulley = self.nominal / rated * (self.rim + lay) / (1 - creep) - lay + draw.gauss(0, 0.015)
        if not self.poles:
            shaft *= 1 + draw.gauss(0, 0.002)
        platter = shaft * (self.pulley + lay) / (self.rim + lay) * (1 - creep)
        self.centre = (self.rim / 2 + self.pulley / 2) * draw.uniform(1.08, 1.5) + 6
        self.belt_path, wraps = path(self.pulley + lay, self.rim + lay, self.centre)
        self.belts["belt"] = self.pulley, self.rim, wraps, self.belt_path
        self.resonance = (draw.uniform(2.0, 5.0), draw.uniform(0.12, 0.4))
        self.rates.update(platter=platter / 60, motor=shaft / 60, belt=platter / 60 * math.pi * (self.rim + lay) / self.belt_path)
        self.free_belt = (self.belt_path - math.pi * lay) / (1 + draw.uniform(0.02, 0.05))

    def press_idler(self):
        draw = self.draw
        self.rim, self.idler = draw.uniform(230, 285), draw.uniform(32, 62)
        self.poles = draw.choice([4, 4, 4, 2]) if self.motor == "induction" else 4
        shaft = self.shaft()
        self.pulley = self.nominal * self.rim / self.rated() + draw.gauss(0, 0.005)
        # The rubber is pressed in: it rolls on a radius a little less, the same on shaft and rim.
        self.idler_rolls = self.idler * (1 - draw.uniform(0.001, 0.006))
        platter = shaft * self.pulley / self.rim * (1 - draw.uniform(0.0, 0.003))
        self.resonance = (draw.uniform(7, 18), draw.uniform(0.25, 0.6))
        self.rates.update(platter=platter / 60, motor=shaft / 60, idler=platter / 60 * self.rim / self.idler_rolls)

    def wind_motor(self):
        draw = self.draw
        self.poles, self.slots = draw.choice(POLES_AND_SLOTS)
        self.tacho = draw.choice([60, 90, 120, 180])
        off = draw.gauss(0, 0.0005) if self.motor == "quartz" else draw.gauss(0, 0.003)
        platter = self.nominal / 60 * (1 + off)
        self.cogs = math.lcm(self.poles, self.slots)
        self.resonance = (draw.uniform(25, 60), 0.7)
        self.rates.update(platter=platter, motor=platter)

    # What the technician writes down

    def lay_on_pulley(self):
        return 2 * self.fibre * self.thickness if self.stated == "belt" else 0.0

    def steps(self):
        """All the pulley's steps as read; the one in use among them."""
        others = {"33": (1.35, 2.34), "45": (1 / 1.35, 2.34 / 1.35)}[self.speed]
        lay = self.lay_on_pulley()
        true = [self.pulley] + [(self.pulley + lay) * ratio - lay for ratio in others[:self.draw.choice([1, 2])]]
        return [self.caliper.read(one) for one in sorted(true)]

    def pulley_words(self):
        if self.draw.random() < (0.6 if self.kind == "idler" else 0.25):
            return [f"drive.pulley_diameter={one:.2f}mm" for one in self.steps()]
        return [f"drive.pulley_diameter={self.caliper.read(self.pulley):.2f}mm"]

    def motor_words(self):
        kind = {"servo": "dc", "quartz": "dc"}.get(self.motor, self.motor)
        words = [f"drive.motor_kind={kind}"]
        if self.poles:
            words.append(f"drive.motor_poles={self.poles}")
        told = self.draw.random()
        if self.motor == "induction" and told < 0.3:
            words.append(f"drive.motor_slip={round(self.slip + self.draw.gauss(0, 0.25), 1)}%")
        elif told < 0.45 and self.motor != "synchronous":
            words.append(f"drive.motor_speed={round(60 * self.rates['motor'] * (1 + self.draw.gauss(0, 0.001)), 1)}rpm")
        return words

    def words(self):
        """Operands of the description, with a caliper's errors. Some that one would like to know are left out."""
        words = [f"deck.speed={self.nominal:.4f}rpm", f"deck.mains={self.mains}Hz", f"drive.kind={self.stated}"]
        if self.stated == "direct":
            return words + [f"drive.poles={self.poles}", f"drive.slots={self.slots}", f"drive.tacho_lines={self.tacho}"]
        words += self.motor_words() + self.pulley_words() + [f"drive.rim_diameter={self.caliper.read(self.rim):.2f}mm"]
        if self.stated == "idler":
            return words + [f"drive.idler_diameter={self.caliper.read(self.idler, 0.02):.2f}mm"]
        words.append(f"drive.belt_thickness={max(0.3, self.thickness + self.draw.gauss(0, 0.015)):.2f}mm")
        known = self.draw.choice(["centre", "centre", "both", "length"])
        if known != "length":
            words.append(f"drive.centre_distance={round(2 * (self.centre + self.draw.gauss(0, 0.3))) / 2}mm")
        if known != "centre":
            words.append(f"drive.belt_length={round(self.free_belt + self.draw.gauss(0, 1.5))}mm")
        return words
