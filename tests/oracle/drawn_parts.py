#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Worn parts by number: a true part is drawn, what a technician would read of it with his tools, and whether the ± holds.

Tools. Source (trade): a stylus scale for the belt's mass within 0.02 g, a spring scale for pulls within 3 %, a tuner for
a pluck within 2 %, a rule within 1 mm, a depth against a rule within 0.25 mm, a durometer by hand within 3 Shore A, 2 °C in the well,
the grade of an oil within its 10 %; all as 95 of 100. The mains wanders within 0.1 %.
"""
import math
import random

import numpy as np
from scipy.integrate import solve_ivp

import model_drive
import program

DRAWS, HOLD = 24, 20            # of 24 intervals of 95 % that hold, 20 or more do in 99.8 of 100 trials
GRAVITY = 9.80665


def near(draw, true, within):
    """A reading whose error is within WITHIN in 95 of 100."""
    return draw.gauss(true, within / 1.96)


def belt_deck(draw):
    rim, pulley = draw.uniform(120, 290), draw.uniform(9, 25)
    centre = (rim + pulley) / 2 + draw.uniform(20, 80)
    lean = math.asin((rim - pulley) / (2 * centre))
    span = centre * math.cos(lean)
    length = 2 * span + (math.pi - 2 * lean) * pulley / 2 + (math.pi + 2 * lean) * rim / 2
    words = ["drive.kind=belt", "drive.motor_kind=dc", f"drive.pulley_diameter={near(draw, pulley, 0.05):.2f}mm", "drive.motor_speed=400rpm",
             f"drive.rim_diameter={near(draw, rim, 0.1):.2f}mm", f"drive.centre_distance={near(draw, centre, 0.5):.1f}mm"]
    return span, length, words


def plucked(draw):
    """A string rings at √(T/µ)/2s."""
    span, length, words = belt_deck(draw)
    mass, tension = draw.uniform(2, 6), draw.uniform(0.4, 3)
    hz = math.sqrt(tension / (mass / length)) / (2 * span * 1e-3)
    words += [f"drive.belt_mass={near(draw, mass, 0.02):.2f}g", f"drive.belt_pluck={near(draw, hz, 0.02 * hz):.1f}Hz"]
    return "drive", words, {"drive.pluck_tension": tension}


def pushed(draw):
    """A string pushed in its middle is a triangle of forces; pushed little enough that it is not stretched."""
    span, _, words = belt_deck(draw)
    tension, give = draw.uniform(0.4, 3), draw.uniform(0.03, 0.048) * span
    push = 1e3 * 2 * tension * math.sin(math.atan2(give, span / 2)) / GRAVITY
    words += [f"drive.belt_push={near(draw, push, 0.03 * push):.2f}g", f"drive.belt_give={near(draw, give, 0.25):.1f}mm"]
    return "drive", words, {"drive.push_tension": tension}


def threads(draw):
    radius, drag = draw.uniform(120, 155), draw.uniform(0.5, 6)
    free, stall = drag * draw.uniform(0.5, 1), drag * draw.uniform(1.5, 20)
    pull = {"drag": drag, "brake": free, "stall": stall}
    words = [f"drive.thread_radius={near(draw, radius, 0.5):.1f}mm"]
    words += [f"drive.{name}_pull={near(draw, torque / radius * 1e3, 0.03 * torque / radius * 1e3):.2f}mN" for name, torque in pull.items()]
    return "drive", words, {"drive.drag_torque": drag, "drive.stall_torque": stall, "drive.torque_reserve": stall / drag,
                            "drive.brake_drag": drag - free}


def hardness(draw):
    hard = draw.uniform(30, 85)
    return "drive", [f"drive.idler_hardness={near(draw, hard, 3):.0f}"], {"drive.idler_hardness": hard}


def sunk(draw):
    """A piston in a closed well, and Petroff's film: shear times area times lever."""
    radius, sleeve, gap, mass = draw.uniform(3.5, 8), draw.uniform(20, 50), draw.uniform(8, 40), draw.uniform(800, 4000)
    grade, celsius, off = draw.choice(["VG32", "VG68"]), draw.uniform(17, 27), draw.gauss(1, 0.1 / 1.96)
    high, low = sleeve, draw.uniform(0, 5)
    cool, hot = model_drive.GRADES[grade]
    doubled = [math.log10(math.log10(v + 0.7)) for v in (cool, hot)]
    kelvin = [math.log10(t + 273.15) for t in (40, 100, celsius)]
    here = 10 ** 10 ** (doubled[0] + (doubled[1] - doubled[0]) / (kelvin[1] - kelvin[0]) * (kelvin[2] - kelvin[0])) - 0.7
    thickness = off * here * 1e-6 * (870 - 0.65 * (celsius - 15))
    sinks = model_drive.sink_seconds(thickness, radius / 1e3, mass / 1e3 * GRAVITY, gap / 1e6, low / 1e3, high / 1e3)
    film = 2 * math.pi * thickness * (radius / 1e3) ** 3 * sleeve / 1e3 * (100 / 3 * math.pi / 30) / (gap / 1e6)
    words = [f"oil.grade={grade}", f"oil.temperature={near(draw, celsius, 2):.1f}degC", f"bearing.spindle_diameter={2 * radius:.2f}mm",
             f"bearing.sleeve_length={near(draw, sleeve, 0.1):.2f}mm", f"bearing.clearance={max(1, near(draw, gap, 2)):.1f}um",
             f"bearing.sink_time={near(draw, sinks, 1):.1f}s", f"bearing.sink_from={max(0, near(draw, low, 0.5)):.1f}mm",
             f"bearing.sink_to={near(draw, high, 0.5):.1f}mm", f"platter.mass={near(draw, mass, 0.02 * mass):.0f}g"]
    return "bearing", words, {"bearing.sink_clearance": gap, "bearing.film_torque": 1e3 * film, "oil.viscosity": 1e3 * thickness}


def rocking(draw):
    """A rod leans in a slot from corner to corner."""
    gap, span, radius = draw.uniform(8, 90), draw.uniform(25, 90), draw.uniform(100, 150)
    rock = 4 * gap / 1e3 * radius / span
    words = [f"bearing.rock={max(0, near(draw, rock, 0.02)):.2f}mm", f"bearing.rock_radius={near(draw, radius, 1):.0f}mm",
             f"bearing.rock_span={near(draw, span, 1):.0f}mm"]
    return "bearing", words, {"bearing.play": gap}


def run_down(draw):
    """Oil, dry friction and air, which a real platter meets with 0.6 to 1.4 of what a free disc does; a speed is read to 0.03 rpm."""
    mass, across = draw.uniform(1.0, 4.0), draw.uniform(0.28, 0.32)
    turning, half = mass * across ** 2 / 8, across / 2
    viscous, dry = draw.uniform(0.0001, 0.0008), draw.uniform(0.00005, 0.0008)
    blown = draw.uniform(0.6, 1.4) * 3.87 * 0.5 * 1.20 * half ** 4 * math.sqrt(15.1e-6)
    at = np.arange(0, 61, 5.0)
    done = solve_ivp(lambda t, w: -(viscous * w + dry + blown * np.maximum(w, 0) ** 1.5) / turning, (0, 60), [100 / 3 * math.pi / 30], t_eval=at, rtol=1e-9)
    read = [f"bearing.at={t:g}:{draw.gauss(w * 30 / math.pi, 0.03):.2f}" for t, w in zip(at, done.y[0]) if w > 0.5]
    words = [*read, f"platter.mass={1e3 * mass:.0f}g", f"platter.diameter={1e3 * across:.0f}mm"]
    return "bearing", words, {"bearing.viscous": 1e3 * viscous, "bearing.coulomb": 1e3 * dry}


def strobe(draw):
    """Bars under a lamp on the mains, counted over a minute to the nearest bar."""
    mains = draw.choice([50, 60])
    nominal = draw.choice([100 / 3, 45])
    flashes, bars = 120 * near(draw, mains, 0.001 * mains), round(120 * mains / nominal)
    speed = nominal * (1 + draw.uniform(-0.004, 0.004))
    words = [f"deck.speed={nominal:.4f}rpm", f"deck.mains={mains}Hz", f"strobe.ring={bars}", f"strobe.drift={speed * bars - flashes:.0f}"]
    return "strobe", words, {"strobe.speed": speed, "strobe.error": 100 * (speed / nominal - 1)}


def run(prog, checks, _):
    for kind in (plucked, pushed, threads, hardness, sunk, rocking, run_down, strobe):
        held, missed = {}, {}
        for number in range(DRAWS):
            procedure, words, truth = kind(random.Random(f"{kind.__name__} {number}"))
            sheet = prog.sheet(procedure, *words)
            for key, true in truth.items():
                row = sheet.readings.get(key, {"value": None})
                good = row["value"] is not None and row["uncertainty"] is not None and abs(row["value"] - true) <= row["uncertainty"]
                held[key] = held.get(key, 0) + good
                if not good:
                    missed.setdefault(key, []).append(f"{number}: {row['value']} ± {row.get('uncertainty')}, truth {true:.4g}")
        for key, count in held.items():
            checks.that(count >= HOLD, f"{key}: its ± holds in {count} of {DRAWS}, {HOLD} at least", "\n".join(missed.get(key, [])))


if __name__ == "__main__":
    program.main(run)
