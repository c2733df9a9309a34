# SPDX-License-Identifier: MIT
"""An arm over a record as rigid bodies in plan, and a technician with imperfect eyes and hands who sets it.

Complex numbers are places in plan, mm: the spindle at 0, the pivot at d on the real axis, the record turns clockwise seen
from above, the stylus plays in front of that axis, so that the record runs from the pivot towards the nose. A turn inwards
(nose to the spindle) is clockwise. Nothing is taken from the program.

Source (published): alignment A from its published null radii in closed form (H. G. Baerwald, J. SMPE 37, 1941); half an inch between
the screws (trade's standard), the stylus 9.5 ± 1 mm ahead of them (IEC 98:1987, read second-hand); good is ±0.25 mm and
±0.5° (common practice).
"""
import cmath
import math

import numpy as np
from scipy.optimize import minimize_scalar

INNER, OUTER = 60.325, 146.05           # grooves. Source (published): IEC 60098 as the alignment literature quotes it
GROOVES = np.linspace(INNER, OUTER, 200)


def wanted(distance):
    """Effective length and offset [deg] of alignment A on an arm whose pivot is DISTANCE from the spindle."""
    root = math.sqrt(0.5)
    first, second = (2 * INNER * OUTER / ((1 + sign * root) * OUTER + (1 - sign * root) * INNER) for sign in (1, -1))
    length = math.sqrt(distance ** 2 + first * second)
    return length, math.degrees(math.asin((first + second) / (2 * length)))


def inwards(degrees):
    return cmath.exp(-1j * math.radians(degrees))


class Setup:
    """A headshell on an arm, the cartridge in it: slid by SLIDE along the shell, turned by TWIST about its screws, SKEW its cantilever."""

    def __init__(self, distance, reach, shell_deg, ahead, slide=0.0, twist=0.0, skew=0.0):
        self.distance, self.reach, self.shell, self.ahead = distance, reach, shell_deg, ahead
        self.slide, self.twist, self.skew = slide, twist, skew

    @classmethod
    def right(cls, distance, ahead, skew):
        """Whose cantilever stands as wanted, by a shell that lets it."""
        length, offset = wanted(distance)
        stylus = length * inwards(0)
        screws = stylus - ahead * inwards(offset - skew)
        return cls(distance, screws, offset - skew, ahead, skew=skew)

    def changed(self, slide, twist):
        return Setup(self.distance, self.reach, self.shell, self.ahead, self.slide + slide, self.twist + twist, self.skew)

    def stylus(self):
        """In the arm's own plan, the pivot at 0."""
        return self.reach + self.slide * inwards(self.shell) + self.ahead * inwards(self.shell + self.twist)

    @property
    def length(self):
        return abs(self.stylus())

    @property
    def overhang(self):
        return self.length - self.distance

    @property
    def offset(self):
        """Of the cantilever against the line from pivot to stylus [deg]."""
        return math.degrees(cmath.phase(self.stylus() / inwards(self.shell + self.twist + self.skew)))

    def needed(self, radius, body=False):
        """Degrees by which the nose would have to turn inwards to stand tangent with the stylus at RADIUS."""
        d, length = self.distance, self.length
        x = (d * d + radius * radius - length * length) / (2 * d)
        place = complex(x, -math.sqrt(radius * radius - x * x))
        arm = (place - d) / self.stylus()                       # how the arm has been swung
        nose = arm * inwards(self.shell + self.twist + (0.0 if body else self.skew))
        record = -1j * place / radius
        return -math.degrees(cmath.phase(record / nose))

    def worst(self):
        """Largest error for its radius [deg/cm]."""
        return max(abs(self.needed(radius)) / radius * 10 for radius in GROOVES[::4])

    def distortion(self):
        """Worst and rms second harmonic [%] of 10 cm/s peak at 33 1/3 rpm. Source (published): Löfgren's and Baerwald's formula."""
        share = [100 * 10 / (2 * math.pi * (100 / 3) / 60 * radius / 10) * math.tan(abs(math.radians(self.needed(radius))))
                 for radius in GROOVES]
        return max(share), math.sqrt(float(np.mean(np.square(share))))

    # What screws allow

    def moved(self, slide, twist):
        """SLIDE along the shell; TWIST with the stylus held: the shell lets it back along itself, not across."""
        turned = self.changed(slide, twist)
        lost = (turned.stylus() - self.changed(slide, 0).stylus()) / inwards(self.shell)
        return turned.changed(-lost.real, 0)

    def best_slide(self):
        found = minimize_scalar(lambda slide: self.changed(slide, 0).worst(), bounds=(-6, 6), method="bounded", options={"xatol": 1e-4})
        return self.changed(found.x, 0)


class Eyes:
    """Errors of reading, 95 % half-widths, told to the program as they are; and of the hands that tighten screws."""

    angle, radius, overhang, pivot, skew = 0.25, 0.3, 0.25, 0.5, 0.3
    slide, twist = 0.12, 0.15
    NORMAL = 1.959964

    def __init__(self, draw):
        self.draw = draw

    def off(self, what):
        return self.draw.gauss(0, getattr(self, what) / self.NORMAL)

    def angle_at(self, setup, radius, body):
        return round(setup.needed(radius + self.off("radius"), body) + self.off("angle"), 2)

    def overhang_of(self, setup):
        return round(setup.overhang + self.off("overhang"), 2)

    def do(self, setup, slide, twist, shell):
        """The move, as well as hands do it."""
        slide = slide + self.off("slide") if shell in ("slots", "slide", "plugin") else slide
        twist = twist + self.off("twist") if shell in ("slots", "holes") else 0.0
        return setup.moved(slide, twist)


class Case:
    """Drawn arm NUMBER as it comes in: a misfit, what is stated of it, and perhaps one value that will be misread."""

    SHELLS = ("slots", "slots", "slots", "slide", "holes", "slots", "plugin", "fixed")

    def __init__(self, draw, number):
        self.draw, self.eyes = draw, Eyes(draw)
        self.shell = self.SHELLS[number % len(self.SHELLS)]
        self.made_for = round(draw.uniform(200, 300), 1)
        mounted_off = max(-3.0, min(3.0, draw.gauss(0, 1.0))) if draw.random() < 0.5 else 0.0
        self.distance = self.made_for + mounted_off
        self.skew = draw.uniform(-3, 3) if draw.random() < 0.3 else 0.0
        right = Setup.right(self.distance, draw.uniform(8.5, 10.5), self.skew)
        most = {"slots": (3, 2.5), "slide": (3, 0.8), "plugin": (3, 0.8), "holes": (0.3, 1.2), "fixed": (0.8, 0.8)}[self.shell]
        self.found = right.moved(draw.uniform(-most[0], most[0]), draw.uniform(-most[1], most[1]))
        self.body = bool(self.skew) and draw.random() < 0.5
        self.radii = draw.choice([(64, 90, 118, 142), (62, 80, 101, 122, 143), (62, 90, 140), (66, 121)])
        self.spoil = draw.choice(["sign", "misread", "overhang", "pivot"]) if draw.random() < 0.2 and len(self.radii) > 3 else ""
        self.spoilt = "pivot" if self.spoil == "pivot" else None
        self.pivot = round(self.distance + self.eyes.off("pivot"), 1)
        self.misread_pivot = round(self.pivot + draw.choice([-10, 10]), 1)     # a line of the rule mistaken
        self.stated_skew = round(self.skew + self.eyes.off("skew"), 1)

    def stated(self, misread):
        """What stays as it is through all rounds; MISREAD: with the pivot's distance as it was first read."""
        words = [f"arm.pivot_to_spindle={self.made_for}mm", f"arm.headshell={self.shell}",
                 f"found.pivot_to_spindle={self.misread_pivot if misread else self.pivot}mm",
                 f"found.overhang_uncertainty={Eyes.overhang}mm"]
        words += {"holes": ["arm.hole_clearance=0.2mm"], "fixed": []}.get(self.shell, ["arm.slot_length=12mm"])
        if self.body:
            words += ["found.line=body", f"cartridge.cantilever_skew={self.stated_skew}deg",
                      f"cartridge.cantilever_skew_uncertainty={Eyes.skew}deg"]
        return words

    def by_cantilever(self, words):
        """What was stated of the body is left out: the cantilever is laid along the grid."""
        return [word for word in words if not word.startswith(("found.line", "cartridge.cantilever_skew"))]

    def readings(self, setup, spoil):
        """Angles by radius and the overhang, one of them spoilt where SPOIL says how."""
        angles = {radius: self.eyes.angle_at(setup, radius, self.body) for radius in self.radii}
        overhang = self.eyes.overhang_of(setup)
        if spoil == "sign":
            far = [radius for radius in self.radii if abs(angles[radius]) > 0.8]
            if far:
                self.spoilt = self.draw.choice(far)
                angles[self.spoilt] = -angles[self.spoilt]
        elif spoil == "misread":
            self.spoilt = self.draw.choice(self.radii)
            angles[self.spoilt] = round(angles[self.spoilt] + self.draw.choice([-1, 1]) * self.draw.uniform(2, 5), 2)
        elif spoil == "overhang":
            self.spoilt = "overhang"
            overhang = round(overhang + self.draw.choice([-1, 1]) * self.draw.choice([5.0, 10.0]), 2)
        return angles, overhang
