# SPDX-License-Identifier: MIT
"""Rigid bodies of an arm and its cartridge: told to move, then looked at again.

Space: x along the arm from the pivot to the stylus, y towards the spindle side of the arm, z up, millimetres; the record's
surface is z = 0. Everything is rotated by Rodrigues' formula, nothing is linearised, so a sign follows from the move itself.
"""
import math

import numpy as np
from scipy.optimize import brentq


def turned(points, origin, axis, angle):
    """Points turned about an axis through origin by the right-hand rule (Rodrigues)."""
    k = np.asarray(axis, float) / np.linalg.norm(axis)
    v = np.atleast_2d(points) - origin
    c, s = math.cos(angle), math.sin(angle)
    return origin + v * c + np.cross(k, v) * s + np.outer(v @ k, k) * (1 - c)


class Arm:
    """An arm with a cartridge whose stylus stands on the record; the nose points away from the pivot, turned inwards by offset."""

    def __init__(self, length, offset_deg, height, rake_deg, bearing):
        self.pivot = np.array([0.0, 0.0, height])
        offset = math.radians(offset_deg)
        self.nose = np.array([math.cos(offset), math.sin(offset), 0.0])   # along the cartridge, in plan
        self.side = np.array([-math.sin(offset), math.cos(offset), 0.0])  # across it, towards the spindle side
        # A turn about these axes by a positive angle lowers the head (the right-hand rule, z up).
        self.axis = self.side if bearing == "across_cartridge" else np.array([0.0, 1.0, 0.0])
        rake = math.radians(rake_deg)
        tip = np.array([length, 0.0, 0.0])
        # From the pivot's side of the surface up to the stylus's top: 90 degrees is upright, more leans the top to the nose.
        top = tip - 0.5 * math.cos(rake) * self.nose + np.array([0, 0, 0.5 * math.sin(rake)])
        self.stylus = np.array([tip, top, top + 0.5 * self.side])
        seat = tip + np.array([0, 0, 17.0])
        self.rear, self.front = seat - 12 * self.nose, seat + 4 * self.nose  # ends of the cartridge's top

    def settle(self, surface=0.0):
        """Turns the arm about its bearing until the stylus touches the surface."""
        def above(angle):
            return turned(self.stylus[:1], self.pivot, self.axis, angle)[0, 2] - surface
        self._turn(brentq(above, -0.5, 0.5, xtol=1e-13))

    def _turn(self, angle):
        self.rear, self.front = turned([self.rear, self.front], self.pivot, self.axis, angle)
        self.stylus = turned(self.stylus, self.pivot, self.axis, angle)

    def lean(self, degrees):
        """The cartridge rolled in its shell: the side towards the spindle goes down, the top leans there."""
        self.stylus = turned(self.stylus, self.stylus[0], self.nose, -math.radians(degrees))
        self.settle()

    def cut(self, corners, base, width):
        """A wedge of four thicknesses (nose or rear, towards the spindle or away) pushes the cartridge off the shell."""
        nose, rear = (sum(corners[end, side] for side in ("inner", "outer")) / 2 for end in ("nose", "rear"))
        outer, inner = (sum(corners[end, side] for end in ("nose", "rear")) / 2 for side in ("outer", "inner"))
        seat = (self.rear + self.front) / 2
        self.stylus = turned(self.stylus, seat, self.side, math.atan((nose - rear) / base))    # the nose goes down
        self.stylus = turned(self.stylus, seat, self.nose, math.atan((outer - inner) / width))  # the outer edge goes down
        self.settle()

    def raise_base(self, by, surface=0.0):
        """The arm's base goes up with all that hangs on it; then the stylus is set down."""
        lift = np.array([0.0, 0.0, by])
        self.pivot, self.stylus = self.pivot + lift, self.stylus + lift
        self.rear, self.front = self.rear + lift, self.front + lift
        self.settle(surface)

    def wedge(self, thickness, thicker_at):
        """A wedge of the cartridge's length between its top and the headshell: the thick end is pushed off the shell."""
        base = np.linalg.norm(self.front - self.rear)
        angle = math.atan(thickness / base)
        if thicker_at == "nose":
            hinge, sense = self.rear, +1
        else:
            hinge, sense = self.front, -1
        # About the side axis a positive turn takes the nose down.
        self.stylus = turned(self.stylus, hinge, self.side, sense * angle)
        self.rear, self.front = turned([self.rear, self.front], hinge, self.side, sense * angle)
        self.settle()

    def spacer(self, thickness):
        """A flat spacer between cartridge and headshell: the cartridge goes down from the shell."""
        down = np.cross(self.front - self.rear, self.side)
        down = -abs(thickness) * down / np.linalg.norm(down) * math.copysign(1, down[2])
        self.stylus, self.rear, self.front = self.stylus + down, self.rear + down, self.front + down
        self.settle()

    def rake(self):
        """Degrees, in the plane of the cartridge, as a photograph square to it shows it."""
        tip, top = self.stylus[0], self.stylus[1]
        nose = np.array([self.nose[0], self.nose[1], 0.0])
        lean = top - tip
        return math.degrees(math.atan2(lean[2], -(lean @ nose)))

    def tilt(self):
        """Degrees by which the side towards the spindle has gone down: the top leans toward the spindle."""
        across = self.stylus[2] - self.stylus[1]
        return math.degrees(math.atan2(-across[2], math.hypot(across[0], across[1])))

    def reach(self):
        """Pivot to stylus tip, in plan."""
        return math.hypot(*(self.stylus[0] - self.pivot)[:2])


class Plan:
    """Plan view: the spindle at the origin, x to the right, y to the back; the record turns clockwise seen from above.

    The pivot lies at the back right, so the arm comes from there and the nose points to the front and inwards.
    """

    def __init__(self, pivot_to_spindle, length, offset_deg):
        self.distance, self.length, self.offset = pivot_to_spindle, length, math.radians(offset_deg)

    def stand(self, radius):
        """The stylus's place and the nose's direction with the stylus at this radius (or at each of an array), the pivot on the x axis."""
        d, length = self.distance, self.length
        x = (d * d + radius * radius - length * length) / (2 * d)
        y = -np.sqrt(radius * radius - x * x)     # in front of the line from spindle to pivot
        along, across = (x - d) / length, y / length
        # Inwards is the turn of the nose towards the spindle: the sense in which the spindle lies off the arm's line.
        sense = np.copysign(1.0, along * -y - across * -x)
        cos, sin = np.cos(sense * self.offset), np.sin(sense * self.offset)
        return np.array([x, y]), np.array([along * cos - across * sin, along * sin + across * cos]), sense

    def inwards_needed(self, radius):
        """Degrees by which the nose would have to turn inwards to stand tangent (the cartridge as it is: negative is outwards)."""
        stylus, nose, sense = self.stand(radius)
        # Clockwise seen from above: the record's movement at a place p is (p_y, -p_x), away from the pivot under the nose.
        tangent = np.array([stylus[1], -stylus[0]]) / radius
        if not np.all(tangent[0] * nose[0] + tangent[1] * nose[1] >= 0):
            raise ValueError("the record would run into the stylus")
        return np.degrees(sense * np.arcsin(nose[0] * tangent[1] - nose[1] * tangent[0]))

    def beyond_arc(self, radius, drawn, turned_deg):
        """How far from a drawn arm's pivot, past its arc, the stylus falls on a paper turned about the spindle by so much."""
        stylus, _, _ = self.stand(radius)
        turn = math.radians(turned_deg)
        cross = drawn.distance * np.array([math.cos(turn), math.sin(turn)])
        return float(np.linalg.norm(stylus - cross)) - drawn.length

    def moved(self, forward, inwards_deg):
        """The cartridge slid along its own axis (forward is away from the pivot), then twisted about the stylus."""
        along = self.length + forward * math.cos(self.offset)
        across = forward * math.sin(self.offset)    # to the side to which the nose points: inwards
        length = math.hypot(along, across)
        # The arm's line to the new place lies turned inwards by this much, so the offset against it is less.
        turn = math.atan2(across, along)
        return Plan(self.distance, length, math.degrees(self.offset - turn) + inwards_deg)

    def in_shell(self, forward, inwards_deg, ahead=9.5):
        """The same in a headshell whose slots run along the cartridge as it stands: its screws cannot go across them, so a twist
        turns the cartridge about the screws' middle, from which the stylus stands ahead. Source (published): 9.5 ± 1 mm, IEC 98:1987, read second-hand.
        """
        turn = math.radians(inwards_deg)
        along = np.array([1.0, 0.0])                 # the slots' direction, away from the pivot; inwards is +y
        stylus = self.length * np.array([math.cos(self.offset), -math.sin(self.offset)])  # seen from the pivot
        screws = stylus + forward * along - ahead * along
        nose = np.array([math.cos(turn), math.sin(turn)])
        stylus = screws + ahead * np.array([1.0, nose[1]])  # the slots give way along, to the cosine
        line = math.atan2(stylus[1], stylus[0])
        return Plan(self.distance, math.hypot(*stylus), math.degrees(turn - line))

    def worst(self, radii):
        """Largest error over radius, degrees per cm."""
        return float(np.max(np.abs(self.inwards_needed(radii)) / radii * 10))

    def drag_torque(self, radius):
        """Torque about the pivot by a unit drag along the record's movement; positive turns the arm inwards."""
        stylus, _, _ = self.stand(radius)
        pull = np.array([stylus[1], -stylus[0]]) / radius
        lever = stylus - np.array([self.distance, 0.0])
        torque = lever[0] * pull[1] - lever[1] * pull[0]
        to_spindle = -stylus / radius
        inward_turn = lever[0] * to_spindle[1] - lever[1] * to_spindle[0]
        return torque * math.copysign(1.0, inward_turn)
