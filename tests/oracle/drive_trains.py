# SPDX-License-Identifier: MIT
"""Drives of two stages and of two motors, from the same mechanics as drive_model: what turns how often, what is measured of it.

"two belts": motor, belt, a pulley of two steps on a bearing, belt, platter. "wheel to belt": the motor's shaft rolls on a rubber-rimmed
wheel whose hub carries the belt. "belt to idler": the motor's belt turns a stepped idler that rolls on the rim. "twin motors": two
alike, one belt round both and the platter, which it touches between them.
"""
import math

from drive_model import Drive, path


def gear(from_mm, to_mm, lay, lost):
    """Speed of the driven wheel over that of the one that drives it, a belt of LAY between or none."""
    return (from_mm + lay) / (to_mm + lay) * (1 - lost)


class Train(Drive):
    """Motor, a wheel between of two diameters, platter."""

    def lay_out(self):
        draw = self.draw
        two, rolls = self.kind == "two belts", self.kind == "belt to idler"
        self.stated = "idler" if rolls else "belt"
        self.rim = draw.uniform(180, 290) if rolls else draw.uniform(140, 300)
        self.driven, self.carries = draw.uniform(50, 100), draw.uniform(30, 48) if rolls else draw.uniform(14, 32)
        self.poles = {"synchronous": 4, "induction": 4}.get(self.motor, 0)
        self.thickness, self.first_thickness = draw.uniform(0.5, 1.0), draw.uniform(0.5, 1.2)
        self.lays = 0.0 if self.kind == "wheel to belt" else self.first_thickness, 0.0 if rolls else self.thickness
        lost = [draw.uniform(0.0005, 0.003) for _ in range(2)]
        shaft = self.shaft() if self.poles else draw.uniform(600, 1500)
        rated = self.rated() if self.poles else shaft
        second = gear(self.carries, self.rim, self.lays[1], lost[1])
        first = self.nominal / rated / second / (1 - lost[0])
        self.pulley = first * (self.driven + self.lays[0]) - self.lays[0] + draw.gauss(0, 0.01)
        shaft *= 1 if self.poles else 1 + draw.gauss(0, 0.002)
        wheel = shaft * gear(self.pulley, self.driven, self.lays[0], lost[0])
        platter = wheel * second
        self.rates.update(platter=platter / 60, motor=shaft / 60, idler=wheel / 60)
        self.resonance = (draw.uniform(7, 18), draw.uniform(0.25, 0.6)) if rolls else (draw.uniform(2.5, 6.0), draw.uniform(0.12, 0.4))
        if two or rolls:
            self.first_free = self.lay("first belt", self.pulley, self.driven, self.lays[0], "idler", self.driven)[0]
        if not rolls:
            self.free_belt, self.centre = self.lay("belt", self.carries, self.rim, self.lays[1], "platter", self.rim)

    def lay(self, name, from_mm, to_mm, lay, turns, on):
        """A belt of that NAME from one wheel to another, of which the one that TURNS has the diameter ON: its free length, the distance."""
        centre = (from_mm + to_mm) / 2 * self.draw.uniform(1.1, 1.5) + 5
        length, wraps = path(from_mm + lay, to_mm + lay, centre)
        self.belts[name] = from_mm, to_mm, wraps, length
        self.rates[name] = self.rates[turns] * math.pi * (on + lay) / length
        return (length - math.pi * lay) / (1 + self.draw.uniform(0.02, 0.05)), centre

    def lay_on_pulley(self):
        return self.lays[0]

    def words(self):
        draw, first = self.draw, "" if self.stated == "idler" else "first_"
        words = [f"deck.speed={self.nominal:.4f}rpm", f"deck.mains={self.mains}Hz", f"drive.kind={self.stated}"]
        words += self.motor_words() + self.pulley_words()
        words += [f"drive.rim_diameter={self.caliper.read(self.rim):.2f}mm",
                  f"drive.idler_driven_diameter={self.caliper.read(self.driven, 0.02):.2f}mm",
                  f"drive.idler_diameter={self.caliper.read(self.carries, 0.02):.2f}mm"]
        if self.lays[0]:
            words += [f"drive.{first}belt_thickness={max(0.3, self.first_thickness + draw.gauss(0, 0.015)):.2f}mm",
                      f"drive.{first}belt_length={round(self.first_free + draw.gauss(0, 1.0))}mm"]
        if self.lays[1]:
            words.append(f"drive.belt_thickness={max(0.3, self.thickness + draw.gauss(0, 0.015)):.2f}mm")
            words.append(f"drive.centre_distance={round(2 * (self.centre + draw.gauss(0, 0.3))) / 2}mm" if draw.random() < 0.7
                         else f"drive.belt_length={round(self.free_belt + draw.gauss(0, 1.5))}mm")
        return words


class Twins(Drive):
    """Two motors at one distance from the spindle, their pulleys alike but for what was turned off them."""

    def lay_out(self):
        self.stated = "belt"
        self.lay_belt()
        lay = 2 * self.fibre * self.thickness
        d, rim = self.pulley + lay, self.rim + lay
        straight = math.sqrt(self.centre ** 2 - ((rim - d) / 2) ** 2)
        on_pulley = 2 * math.acos((rim - d) / (2 * self.centre))
        self.belt_path = 4 * straight + on_pulley * d + (math.pi - on_pulley) * rim
        # What a thick place does: it lies on one pulley, on the rim, on the other pulley, on the rim again; seen from one of them.
        self.belts["belt"] = self.pulley, self.rim, (on_pulley, math.pi - on_pulley), self.belt_path
        self.rates["belt"] = self.rates["platter"] * math.pi * rim / self.belt_path
        self.free_belt = (self.belt_path - math.pi * lay) / (1 + self.draw.uniform(0.02, 0.05))
        other = 1.0 if self.motor == "synchronous" else d / (d + self.draw.gauss(0, 0.01))
        self.rates["another motor"] = self.rates["motor"] * other

    def words(self):
        words = [word for word in super().words() if not word.startswith(("drive.centre_distance", "drive.belt_length"))]
        told = self.draw.choice(["centre", "both", "length"])
        words.append("drive.motors=2")
        if told != "length":
            words.append(f"drive.centre_distance={round(2 * (self.centre + self.draw.gauss(0, 0.3))) / 2}mm")
        if told != "centre":
            words.append(f"drive.belt_length={round(self.free_belt + self.draw.gauss(0, 1.5))}mm")
        return words


def drive_of(draw, kind, motor):
    """The drive of KIND; belt, idler or direct are plain ones."""
    made = {"two belts": Train, "wheel to belt": Train, "belt to idler": Train, "twin motors": Twins}
    return made.get(kind, Drive)(draw, kind, motor)
