# SPDX-License-Identifier: MIT
"""Truth of drives, ratios, strobes and bearings: rolling circles, flashes, Euler's belt, run-downs and oil films.

Oil: ASTM D341, log log (ν + 0.7) straight over log T. Film: Petroff. Belt grip: Euler and Eytelwein.
"""
import functools
import math

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.linalg import eigh
from scipy.optimize import brentq, least_squares
from scipy.spatial import ConvexHull

from inputs import STANDARD_G, Model

NOMINAL = (100 / 3, 45.0, 78.0)


def motor_rpm(i, mains=None):
    if i.has("drive.motor_speed"):
        return i.number("drive.motor_speed", "rpm")
    slip = i.number("drive.motor_slip", "%") / 100 if i.word("drive.motor_kind") == "induction" else 0.0
    return 120 * (mains or i.number("deck.mains", "Hz")) / i.number("drive.motor_poles", "") * (1 - slip)


def belt_thickness(i):
    return i.number("drive.belt_thickness", "mm", 0.0) if i.word("drive.kind") == "belt" else 0.0


def path_round(pulley, rim, centre):
    """Two straights and two arcs, and the wraps in radians."""
    lean = math.asin((rim - pulley) / (2 * centre))
    straight = centre * math.cos(lean)
    wraps = math.pi - 2 * lean, math.pi + 2 * lean
    return 2 * straight + wraps[0] * pulley / 2 + wraps[1] * rim / 2, wraps, straight


def creep_share(i, rim, thickness):
    """Slack side over tight side: the torque's pull at the rim's middle line over modulus and section."""
    if not (i.has("drive.platter_torque") and i.has("drive.belt_modulus") and i.has("drive.belt_width")):
        return 0.0
    pull = i.number("drive.platter_torque", "mN.m") * 1e-3 / ((rim + thickness) / 2 * 1e-3)
    return pull / section_newton(i)


def section_newton(i):
    return i.number("drive.belt_modulus", "MPa") * i.number("drive.belt_width", "mm") * i.number("drive.belt_thickness", "mm")


def drive(i):
    if i.word("drive.kind") == "direct":
        return {"rate:pole": i.number("drive.poles", "") * i.number("deck.speed", "rpm") / 60} | pulls(i)
    rim, t = i.number("drive.rim_diameter", "mm"), belt_thickness(i)
    pulley, nominal, motor = i.numbers("drive.pulley_diameter", "mm")[0], i.number("deck.speed", "rpm"), motor_rpm(i)
    creep = creep_share(i, rim, t)
    # A wheel between is a gear: the motor drives its one diameter, the other drives on.
    wheel, gear, lay = rim, 1.0, t
    if i.has("drive.idler_driven_diameter"):
        wheel = i.number("drive.idler_driven_diameter", "mm")
        gear, lay = (i.number("drive.idler_diameter", "mm") + t) / (rim + t), first_thickness(i)
    motor *= gear
    speed = motor * (pulley + lay) / (wheel + lay) * (1 - creep)
    truth = {"drive.speed": speed, "drive.error": (100 * (speed / nominal - 1), 1e-6),
             "drive.pulley_wanted": ((wheel + lay) * nominal / motor / (1 - creep) - lay, 1e-5)}
    if not i.has("drive.motor_speed"):
        other = motor_rpm(i, 110 - i.number("deck.mains", "Hz")) * gear
        truth["drive.pulley_wanted_other"] = ((wheel + lay) * nominal / other / (1 - creep) - lay, 1e-5)
    # Tools: 0.02 mm on the pulley, 0.05 mm on the belt, 0.1 mm on rim and wheels, doubled (docs/methods/drive.md).
    tools = [((pulley + d + lay + b) / (wheel + r + lay + b) - (pulley + lay) / (wheel + lay)) * motor * (1 - creep)
             for d, b, r in ((0.02, 0, 0), (0, 0.05 if lay else 0, 0), (0, 0, 0.1))]
    if wheel != rim:
        small = i.number("drive.idler_diameter", "mm")
        tools += [((small + d + t + b) / (rim + r + t + b) / gear - 1) * speed
                  for d, b, r in ((0.1, 0, 0), (0, 0.05 if t else 0, 0), (0, 0, 0.1))]
    # Beside the tools a tachometer is good to 0.5 %, a stated slip to 0.5 % of the speed (docs/methods/drive.md).
    if i.has("drive.motor_speed") or i.word("drive.motor_kind") == "induction":
        tools.append(0.005 * speed)
    truth["drive.speed±"] = (2 * math.hypot(*tools), 0.02 * 2 * math.hypot(*tools))
    locked = not i.has("drive.motor_speed") and i.word("drive.motor_kind") != "induction"
    back = nominal / gear * (wheel + lay) / (pulley + lay) / 60
    if i.has("drive.motor_speed"):      # two ways of telling one rate, each with its doubt: their weighted mean where they agree
        shaft = motor / gear / 60
        doubts = [0.005 * shaft, back * math.hypot(0.004, *(one / speed for one in tools[:-1]))]
        weights = [1 / doubt ** 2 for doubt in doubts]
        if abs(shaft - back) < 3 * math.hypot(*doubts):
            back = (weights[0] * shaft + weights[1] * back) / sum(weights)
    shaft = motor / gear / 60 if locked else back
    truth["rate:motor"] = (shaft, 0.004)
    if i.word("drive.kind") == "belt" and i.has("drive.centre_distance"):
        truth.update(belt(i, pulley if wheel == rim else i.number("drive.idler_diameter", "mm"), rim, t, nominal))
    if wheel != rim and first_length(i):        # pulled round by the motor's pulley, stretched by 3.5 %
        passes = shaft * math.pi * (pulley + lay) / (1.035 * (first_length(i) + math.pi * lay))
        truth["rate:belt"] = truth.get("rate:belt", (passes, 0.001 * passes))
    if i.has("drive.idler_diameter") and (i.word("drive.kind") == "idler" or wheel != rim):
        truth["rate:idler"] = nominal / 60 * (rim + t) / (i.number("drive.idler_diameter", "mm") + t)
    return truth | pulls(i)


def first_thickness(i):
    """Of the belt from the motor to a wheel between: with an idler drive the only one; none where the shaft rolls on it."""
    return i.number(f"drive.{'' if i.word('drive.kind') == 'idler' else 'first_'}belt_thickness", "mm", 0.0)


def first_length(i):
    return i.number(f"drive.{'' if i.word('drive.kind') == 'idler' else 'first_'}belt_length", "mm", 0.0)


def hull_round(pulley, rim, centre, motors):
    """Length of the convex hull of the rim and MOTORS pulleys about it, by points on the circles."""
    round_ = np.linspace(0, 2 * math.pi, 100000, endpoint=False)
    middles = [(0, 0, rim)] + [(centre * math.cos(a), centre * math.sin(a), pulley) for a in np.arange(motors) * 2 * math.pi / motors]
    points = np.concatenate([np.c_[x + d / 2 * np.cos(round_), y + d / 2 * np.sin(round_)] for x, y, d in middles])
    around = points[ConvexHull(points).vertices]
    return float(np.hypot(*(around - np.roll(around, 1, axis=0)).T).sum())


def belt(i, pulley, rim, t, nominal):
    centre, motors = i.number("drive.centre_distance", "mm"), int(i.number("drive.motors", "", 1.0))
    path, wraps, straight = path_round(pulley, rim, centre)
    middle = path_round(pulley + t, rim + t, centre)[0]
    if motors > 1:
        path, middle = hull_round(pulley, rim, centre, motors), hull_round(pulley + t, rim + t, centre, motors)
        wraps = wraps[0], 2 * math.pi - motors * wraps[0]
    truth = {"drive.belt_path": path, "drive.pulley_wrap": math.degrees(wraps[0]), "drive.rim_wrap": math.degrees(wraps[1]),
             "drive.belt_wanted": path / 1.035, "drive.belt_shortest": path / 1.05, "drive.belt_longest": path / 1.02,
             "rate:belt": (math.pi * (rim + t) * nominal / 60 / middle, 1e-5)}
    if i.has("drive.belt_length"):
        free = i.number("drive.belt_length", "mm")
        truth["drive.belt_stretch"] = 100 * (path / free - 1)
        if i.has("drive.belt_listed_length"):
            truth["drive.belt_growth"] = 100 * (free / i.number("drive.belt_listed_length", "mm") - 1)
        if i.has("drive.belt_modulus") and i.has("drive.belt_width"):
            truth.update(grip(i, path / free - 1, wraps[0], straight, rim, t))
    for key, unit in (("age", "a"), ("hours", "h"), ("hump", "mm")):
        if i.has(f"drive.belt_{key}"):
            truth[f"drive.belt_{key}"] = i.number(f"drive.belt_{key}", unit)
    truth.update(worn_belt(i, path, straight))
    return truth


def worn_belt(i, path, straight):
    """A string's wave runs there and back in one period; a pushed string is a triangle of forces (statics)."""
    truth = {}
    if i.has("drive.belt_pluck"):
        there_and_back = 2 * straight * 1e-3
        truth["drive.pluck_tension"] = (i.number("drive.belt_pluck", "Hz") * there_and_back) ** 2 \
            * (i.number("drive.belt_mass", "g") * 1e-3) / (path * 1e-3)
    if i.has("drive.belt_push"):
        lean = math.atan2(i.number("drive.belt_give", "mm"), straight / 2)
        pulled = i.number("drive.belt_push", "g") * STANDARD_G * 1e-3 / (2 * math.sin(lean))
        if i.has("drive.belt_modulus") and i.has("drive.belt_width"):
            pulled -= section_newton(i) * (1 / math.cos(lean) - 1)   # what the push itself stretched
        truth["drive.push_tension"] = pulled
    return truth


def pulls(i):
    """A thread on a drum: pull times lever; what a durometer showed."""
    lever = i.number("drive.thread_radius", "mm") if i.has("drive.thread_radius") else i.number("platter.diameter", "mm", 0.0) / 2
    truth = {f"drive.{name}_torque": i.number(f"drive.{name}_pull", "g") * STANDARD_G * lever * 1e-3
             for name in ("stall", "drag") if i.has(f"drive.{name}_pull")}
    if i.has("drive.brake_pull"):
        truth["drive.brake_drag"] = (i.number("drive.drag_pull", "g") - i.number("drive.brake_pull", "g")) * STANDARD_G * lever * 1e-3
    if i.has("drive.stall_pull") and i.has("drive.drag_pull"):
        truth["drive.torque_reserve"] = truth["drive.stall_torque"] / truth["drive.drag_torque"]
    if i.has("drive.idler_hardness"):
        truth["drive.idler_hardness"] = i.number("drive.idler_hardness", "")
    return truth


def grip(i, stretch, wrap, straight, rim, t):
    """Euler and Eytelwein at the slip: T1/T2 = e^µθ with T1 + T2 twice the tension at rest; two spans hold the platter's inertia."""
    rest = section_newton(i) * stretch
    ratio = math.exp(i.number("drive.belt_friction", "") * wrap)
    slack = 2 * rest / (1 + ratio)
    lever, motors = (rim + t) / 2 * 1e-3, i.number("drive.motors", "", 1.0)     # each pulls by itself
    truth = {"drive.belt_tension": rest, "drive.belt_torque": motors * 1e3 * (ratio - 1) * slack * lever}
    if i.has("drive.platter_torque"):
        truth["drive.creep"] = 100 * creep_share(i, rim, t)
    if (i.has("platter.mass") or i.has("platter.inertia")) and i.has("drive.idler_driven_diameter"):
        truth["drive.torsion"] = (two_discs(i, 2 * section_newton(i) / (straight * 1e-3), lever), 1e-4)
    elif i.has("platter.mass") or i.has("platter.inertia"):
        twist = motors * 2 * section_newton(i) / (straight * 1e-3) * lever ** 2
        truth["drive.torsion"] = (math.sqrt(twist / inertia(i)) / (2 * math.pi), 0.01)
    return truth


def two_discs(i, second, lever):
    """The lower resonance (Hz) of a wheel between and a platter as two bodies: the second belt, of stiffness SECOND (N/m), pulls on both."""
    t, first_t = belt_thickness(i), first_thickness(i)
    large, small, pulley = (i.number(f"drive.{one}", "mm") for one in ("idler_driven_diameter", "idler_diameter", "pulley_diameter"))
    there = i.number("drive.first_belt_length", "mm") * 1.035
    centre = brentq(lambda c: path_round(pulley, large, c)[0] - there, (large - pulley) / 2 + 1e-6, there)
    first = 2 * i.number("drive.belt_modulus", "MPa") * i.number("drive.first_belt_width", "mm") * first_t
    first /= path_round(pulley, large, centre)[2] * 1e-3
    on_first, on_second = (large + first_t) / 2e3, (small + t) / 2e3
    disc = i.number("drive.idler_mass", "g", 1e-6) * 1e-3 * (max(large, small) / 2e3) ** 2 / 2
    stiffness = np.array([[second * lever ** 2, -second * lever * on_second],
                          [-second * lever * on_second, second * on_second ** 2 + first * on_first ** 2]])
    return math.sqrt(eigh(stiffness, np.diag([inertia(i), disc]), eigvals_only=True)[0]) / (2 * math.pi)


def inertia(i):
    if i.has("platter.inertia"):
        return i.number("platter.inertia", "kg.m2")
    outer, inner = i.number("platter.diameter", "mm") / 2e3, i.number("platter.inner_diameter", "mm") / 2e3
    return i.number("platter.mass", "g") * 1e-3 * (outer ** 2 + inner ** 2) / 2


def drive_more(sheet, i):
    more = {}
    for row in sheet.table("drive.rates"):
        if abs(row["speed"] - i.number("deck.speed", "rpm")) < 1e-6:
            more.setdefault(f"rate:{row['part']}", row["rate"])
    return more


# What two speeds may stand to each other for: the three speeds (78 also as the strobes of 92 and 77 bars have it, 78.26 and 77.92),
# half speed, the mains of 60 and 50 Hz, and a step cut for the other mains.
RATIOS = [1.35, 2.34, 7200 / 92 * 0.03, 6000 / 77 * 0.03, 78 / 45, 160 / 92, 133.3333333333333 / 77, 2.0, 1.0, 1.2, 1 / 1.2,
          1.35 * 1.2, 1.35 / 1.2]


def ratio(i):
    if i.has("ratio.first_tone"):
        value = i.number("ratio.second_tone", "Hz") / i.number("ratio.first_tone", "Hz")
    else:
        value = i.number("ratio.second", "rpm") / i.number("ratio.first", "rpm")
    near = min(RATIOS, key=lambda one: abs(math.log(value / one)))
    within = math.hypot(*2 * [i.number("ratio.within", "%", 0.1)])      # of two values alike, each by itself
    return {"ratio.value": value, "ratio.nearest": near, "ratio.off": (100 * (value / near - 1), 1e-6),
            "ratio.value±": (value * within / 100, 1e-6 * value * within), "ratio.off±": (value / near * within, 1e-4 * within)}


def strobe(i):
    flashes = i.number("strobe.flash", "Hz", 2 * i.number("deck.mains", "Hz")) * 60
    nominal = i.number("deck.speed", "rpm")
    bars = i.number("strobe.ring", "", float(round(flashes / nominal)))
    standing = flashes / bars
    truth = {"strobe.bars": bars, "strobe.standing": standing, "strobe.standing_error": (100 * (standing / nominal - 1), 1e-7)}
    if i.has("strobe.drift"):
        drift = i.number("strobe.drift", "")
        truth.update({"strobe.speed": (flashes + drift) / bars,
                      "strobe.error": (100 * ((flashes + drift) / bars / nominal - 1), 1e-7),
                      "strobe.drift_error": (100 * drift / flashes, 1e-7)})
        lamp = 1e-4 if i.has("strobe.flash") else 1e-3      # the mains is within 0.1 % at most times, a crystal within 0.01 %
        off = truth["strobe.speed"] * math.hypot(1 / flashes, lamp)
        truth["strobe.speed±"] = (off, 2e-3 * off)
    return truth


def air(i):
    """What still air of 20 °C takes from a free disc at ω^1.5, both faces: moment coefficient 3.87/√(ωR²/ν) of ½ρω²R⁵ (laminar)."""
    if i.word("bearing.air", "yes") == "no":
        return 0.0
    radius, density, viscosity = i.number("platter.diameter", "mm", 300.0) / 2000, 1.20, 15.1e-6
    return 3.87 * 0.5 * density * radius ** 4 * math.sqrt(viscosity)


def run_down(i, key):
    """J dω/dt = −bω − T less the air's, integrated; start, b and T fitted to the speeds read."""
    turning = inertia(i)
    begun, viscous, dry = run_down_fit(tuple(i.pairs(key, "s", "rpm")), air(i) / turning)
    return viscous * turning, dry * turning, begun


@functools.lru_cache(maxsize=None)
def run_down_fit(read, blown):
    """Start [rad/s], b/J and T/J of the speeds READ [(s, rpm)]; BLOWN is the air's over J."""
    points = np.array(read)
    def course(x):
        done = solve_ivp(lambda t, w: -(x[1] * w + x[2] + blown * np.maximum(w, 0) ** 1.5), (points[0, 0], points[-1, 0]), [x[0]], t_eval=points[:, 0],
                         method="DOP853", rtol=1e-10, atol=1e-12)
        return done.y[0] * 30 / math.pi - points[:, 1]
    return least_squares(course, [points[0, 1] * math.pi / 30, 0.005, 0.005], bounds=([0, 0, 0], np.inf), xtol=1e-14,
                         ftol=1e-14, gtol=1e-14).x


def until(viscous, dry, blown, turning, start, end):
    """Seconds from one speed (rad/s) to another."""
    if blown:
        return turning * quad(lambda w: 1 / (viscous * w + dry + blown * w ** 1.5), end, start)[0]
    if viscous < 1e-12:
        return turning * (start - end) / dry
    return turning / viscous * math.log((viscous * start + dry) / (viscous * end + dry))


def bearing(i):
    truth = {}
    if i.has("bearing.at"):
        truth["bearing.inertia"] = inertia(i)
    nominal = i.number("deck.speed", "rpm") * math.pi / 30
    for key, name in (("bearing.at", "bearing."), ("bearing.before", "bearing.before_")):
        if i.has(key) and truth:
            viscous, dry, begun = run_down(i, key)
            turning, blown = inertia(i), air(i)
            halves = [until(viscous, dry, blown, turning, begun, begun / 2),
                      until(viscous, dry, blown, turning, begun / 2, begun / 4)]
            end = "stop_time" if dry > 1e-9 else "tenth_time"
            truth.update({name + "viscous": (1e3 * viscous, 2e-5 * 1e3 * viscous + 1e-7),
                          name + "coulomb": (1e3 * dry, 2e-5 * 1e3 * dry + 1e-6),
                          name + "torque": (1e3 * (viscous * nominal + dry + blown * nominal ** 1.5), 1e-4),
                          name + "half_ratio": (halves[1] / halves[0], 1e-3),
                          name + end: (until(viscous, dry, blown, turning, nominal, 0.0 if end == "stop_time" else nominal / 10),
                                       0.1)})
    if i.has("oil.grade") or i.has("oil.viscosity_40"):
        truth.update(oil(i))
    if i.has("bearing.rock"):
        truth["bearing.play"] = (1e3 * leaning_clearance(i), 0.01)
    return truth


def leaning_clearance(i):
    """A rod of the spindle's width leans in a slot until two of its edges touch, to either side; the rim goes with it."""
    width, span = i.number("bearing.spindle_diameter", "mm", 10.0), i.number("bearing.rock_span", "mm")
    lean = math.asin(i.number("bearing.rock", "mm") / 2 / i.number("bearing.rock_radius", "mm"))
    return (width / math.cos(lean) + span * math.tan(lean) - width) / 2


GRADES = {"VG32": (32.0, 5.4), "VG68": (68.0, 8.7)}      # data/oils.ini, which a technician may edit


def oil(i):
    cool, hot = GRADES[i.word("oil.grade")] if i.has("oil.grade") else (i.number("oil.viscosity_40", "mm2/s"),
                                                                        i.number("oil.viscosity_100", "mm2/s"))
    celsius = i.number("oil.temperature", "degC")
    doubled = lambda v: math.log10(math.log10(v + 0.7))
    kelvin = [math.log10(t + 273.15) for t in (40, 100)]
    slope = (doubled(hot) - doubled(cool)) / (kelvin[1] - kelvin[0])
    here = 10 ** 10 ** (doubled(cool) + slope * (math.log10(celsius + 273.15) - kelvin[0])) - 0.7
    # An oil's density falls by some 0.65 kg/m³ a degree (common practice, from memory): looser than the rest for it.
    thickness = here * 1e-6 * (i.number("oil.density", "kg/m3") - 0.65 * (celsius - 15))
    truth = {"oil.viscosity": (1e3 * thickness, 4e-3 * 1e3 * thickness)}
    if not i.has("bearing.spindle_diameter"):
        return truth
    radius, sleeve = i.number("bearing.spindle_diameter", "mm") / 2e3, i.number("bearing.sleeve_length", "mm") / 1e3
    gap, rate = i.number("bearing.clearance", "um") * 1e-6, i.number("deck.speed", "rpm") * math.pi / 30
    film = thickness * (rate * radius / gap) * (2 * math.pi * radius * sleeve) * radius      # shear times area times lever
    truth["bearing.film_torque"] = (1e3 * film, 5e-3 * 1e3 * film)
    if i.has("bearing.sink_time"):
        weight = i.number("platter.mass", "g") * 1e-3 * 9.80665
        low, high = i.number("bearing.sink_from", "mm") / 1e3, i.number("bearing.sink_to", "mm") / 1e3
        sinking = lambda c: sink_seconds(thickness, radius, weight, c, low, high)
        clearance = brentq(lambda c: sinking(c) - i.number("bearing.sink_time", "s"), 1e-6, 1e-3, xtol=1e-12)
        truth.update({"bearing.sink_clearance": (1e6 * clearance, 6e-3 * 1e6 * clearance),
                      "bearing.sink_expected": (sinking(gap), 8e-3 * sinking(gap))})
    return truth


def sink_seconds(thickness, radius, weight, gap, low, high):
    """A piston pushes oil up a ring slit: flow π R² v through a slit 2πR wide under the pressure W/πR², integrated over the engagement."""
    steps = np.linspace(low, high, 20001)
    pressure = weight / (math.pi * radius ** 2)
    with np.errstate(divide="ignore"):
        speed = 2 * math.pi * radius * gap ** 3 * pressure / (12 * thickness * steps) / (math.pi * radius ** 2)
    return float(np.trapz(1 / speed, steps))


MODELS = {"drive": Model(drive, more=drive_more), "ratio": Model(ratio), "strobe": Model(strobe), "bearing": Model(bearing)}
