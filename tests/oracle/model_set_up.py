# SPDX-License-Identifier: MIT
"""Truth of alignment, paper, force and rake, by formulas of their own.

Closed forms of the alignments: the weighted error (1 − s/r + p/r²)/(2L cos β) is a quadratic in 1/r, levelled by Chebyshev's
polynomial (A), by least squares with the same s (B), or with one zero at the last groove (S). Source (published): K. Howard 2010, grooves
56 to 146.3 mm have their nulls at 61.6 and 118.4.
"""
import math

import numpy as np
from scipy.optimize import brentq, least_squares, minimize_scalar

import bodies
from directions_setup import side_of_wedge
from inputs import STANDARD_G, Model

GROOVES = {"iec": (60.325, 146.05), "iec_1964": (60.325, 146.3), "din": (57.5, 146.05), "jis": (57.6, 146.5),
           "seven_inch": (53.0, 84.0), "ten_inch": (57.6, 121.0)}


def grooves(i):
    low, high = GROOVES.get(i.word("record.groove"), (None, None))
    return i.number("record.inner_radius", "mm", low), i.number("record.outer_radius", "mm", high)


def nulls(method, low, high, own):
    if method == "own":
        return own
    if method == "unweighted":
        p, s = low * high, math.sqrt(low * high) + (low + high) / 2
    elif method == "stevenson_a":
        other = low * high / (low + (3 - 2 * math.sqrt(2)) * (high - low))
        p, s = low * other, low + other
    else:
        root = math.sqrt(0.5)
        pair = [2 * low * high / ((1 + k) * high + (1 - k) * low) for k in (root, -root)]
        p, s = pair[0] * pair[1], sum(pair)
        if method == "loefgren_b":
            p = 3 * low * high * (s * (low + high) / 2 - low * high) / (low * low + low * high + high * high)
    half = math.sqrt(s * s / 4 - p)
    return s / 2 - half, s / 2 + half


def own_nulls(i):
    return i.number("align.null_inner", "mm"), i.number("align.null_outer", "mm")


def error_deg(radius, length, distance, offset):
    """Angle of the arm's line to the tangent, from the triangle of pivot, stylus and spindle, less the offset."""
    corner = (length ** 2 + radius ** 2 - distance ** 2) / (2 * length * radius)
    return np.degrees(np.arcsin(corner)) - offset


class Cost:
    """Worst and mean of an arm over the grooves; second harmonic V/Vg·tan ε. Source (published): Löfgren 1938, Baerwald 1941, by a summary."""

    def __init__(self, i, length, distance, offset):
        self.low, self.high = grooves(i)
        r = np.linspace(self.low, self.high, 40001)
        error = error_deg(r, length, distance, offset)
        groove = 2 * np.pi * i.number("deck.speed", "rpm") / 60 * r / 10          # cm/s
        second = 100 * i.number("align.velocity", "cm/s", 10.0) * np.abs(np.tan(np.radians(error))) / groove
        self.error_max = np.max(np.abs(error))
        self.weighted_max = np.max(np.abs(error) / r * 10)
        self.distortion_max = np.max(second)
        self.distortion_rms = math.sqrt(np.trapz(second ** 2, r) / (self.high - self.low))

    def told(self, name, keys=("error_max", "weighted_error_max", "distortion_max", "distortion_rms")):
        values = {"error_max": self.error_max, "weighted_error_max": self.weighted_max, "distortion_max": self.distortion_max,
                  "distortion_rms": self.distortion_rms}
        return {f"{name}.{key}": (values[key], 2e-5 * values[key] + 1e-7) for key in keys}


def arm_of(i, pair):
    """Length, distance and offset that have these nulls, from whichever one measure is stated."""
    product, total = pair[0] * pair[1], pair[0] + pair[1]
    if i.has("arm.pivot_to_spindle"):
        distance = i.number("arm.pivot_to_spindle", "mm")
        length = math.sqrt(distance ** 2 + product)
    elif i.has("arm.effective_length"):
        length = i.number("arm.effective_length", "mm")
        distance = math.sqrt(length ** 2 - product)
    elif i.has("arm.overhang"):
        overhang = i.number("arm.overhang", "mm")       # D(2L − D) = p
        length = (product / overhang + overhang) / 2
        distance = length - overhang
    else:
        length = total / 2 / math.sin(math.radians(i.number("arm.offset", "deg")))
        distance = math.sqrt(length ** 2 - product)
    return length, distance, math.degrees(math.asin(total / (2 * length)))


def underhung(i):
    """A straight arm: the overhang that makes the worst of tan|ε|/r over the grooves least, by search; distortion goes with it."""
    low, high = grooves(i)
    r = np.linspace(low, high, 4001)
    distance = i.number("arm.pivot_to_spindle", "mm")
    def worst(short):
        length = distance - short
        return np.max(np.tan(np.arcsin(np.abs((length ** 2 + r ** 2 - distance ** 2) / (2 * length * r)))) / r)
    short = minimize_scalar(worst, bounds=(5, 30), method="bounded", options={"xatol": 1e-10}).x
    return distance - short, distance


def found_arm(i, length, distance, offset):
    """Length, distance and offset as found, or None."""
    at = i.number("found.pivot_to_spindle", "mm", distance)
    if i.has("found.null_inner"):
        one, two = i.number("found.null_inner", "mm"), i.number("found.null_outer", "mm")
        span = math.sqrt(at ** 2 + one * two)
        return span, at, math.degrees(math.asin((one + two) / (2 * span)))
    if i.has("found.error_at"):
        # An angle read is how far the nose would have to turn inwards: the error itself.
        read = np.array(i.pairs("found.error_at", "mm", "deg"))
        # Each angle counts by how well it and its radius are read, the measured distance is a reading of its own.
        angle, radius = i.number("found.angle_uncertainty", "deg", 0.25), i.number("found.radius_uncertainty", "mm", 0.3)
        pivot = i.number("found.pivot_uncertainty", "mm", 0.5)
        # Hits of a drawn arc share the turn of its paper, whose cross is aimed as well as the distance is measured.
        hits, blur = i.pairs("found.arc_at", "mm", "mm"), i.number("found.arc_uncertainty", "mm", 0.2)
        drawn, aim = bodies.Plan(distance, length, offset), math.degrees(math.atan(pivot / 1.959964 / at)) * 1.959964
        x = np.array([length, at, offset, 0.0])
        for _ in range(5):
            slope = (error_deg(read[:, 0] + 1e-4, *x[:3]) - error_deg(read[:, 0] - 1e-4, *x[:3])) / 2e-4
            weight = np.hypot(angle, radius * slope)
            def rest(x):
                gauge = i.number("found.overhang", "mm", x[0] - x[1]), i.number("found.overhang_uncertainty", "mm", 0.5)
                left = [(x[0] - x[1] - told) / math.hypot(half, 0.15)      # where the last move should have left the stylus
                        for told, half in i.pairs("found.overhang_expected", "mm", "mm")]
                left += [(bodies.Plan(x[1], x[0], 0.0).beyond_arc(radius, drawn, x[3]) - miss) / blur for radius, miss in hits]
                left += [x[3] / aim]
                return np.concatenate((left, (error_deg(read[:, 0], *x[:3]) - read[:, 1]) / weight,
                                       [(x[1] - at) / pivot, (x[0] - x[1] - gauge[0]) / gauge[1]]))
            x = least_squares(rest, x, xtol=1e-15, ftol=1e-15, gtol=1e-15).x
        return tuple(x[:3])
    if i.has("found.slip") or i.has("found.twist"):
        plan = bodies.Plan(distance, length, offset).moved(i.number("found.slip", "mm", 0.0), 0)
        askew = i.number("cartridge.cantilever_skew", "deg", 0.0) if i.word("found.line") == "body" else 0.0
        plan = plan.moved(0, i.number("found.twist", "deg", 0.0) + askew)
        return plan.length, at, math.degrees(plan.offset)
    return None


def wanted_arm(pair, at):
    span = math.sqrt(at ** 2 + pair[0] * pair[1])
    return span, math.degrees(math.asin((pair[0] + pair[1]) / (2 * span)))


def move_to(found, pair):
    """Slide along the cartridge's axis and twist about its screws, by the body in plan: both solved for, no closed form."""
    length, at, offset = found
    span, angle = wanted_arm(pair, at)
    plan = bodies.Plan(at, length, offset)
    def slide_of(twist):
        return brentq(lambda x: plan.in_shell(x, twist).length - span, -20, 20, xtol=1e-13)
    twist = brentq(lambda turn: math.degrees(plan.in_shell(slide_of(turn), turn).offset) - angle, -15, 15, xtol=1e-12)
    return slide_of(twist), twist


def found_spread(i, build, pair, found):
    """Each reading moved by its own uncertainty, the changes added as squares."""
    steps = []
    unsure = [i.number(f"found.{key}_uncertainty", unit) for key, unit in (("radius", "mm"), ("angle", "deg"), ("pivot", "mm"))]
    if i.has("found.null_inner"):
        for key in ("found.null_inner", "found.null_outer"):
            steps.append(i.changed(key, repr(i.number(key, "mm") + unsure[0])))
    else:
        read = i.pairs("found.error_at", "mm", "deg")
        for number in range(len(read)):
            for part, step in ((0, unsure[0]), (1, unsure[1])):
                moved = [list(pair_) for pair_ in read]
                moved[number][part] += step
                steps.append(i.changed("found.error_at", ";".join(f"{a!r}:{b!r}" for a, b in moved)))
    at = i.number("found.pivot_to_spindle", "mm", i.number("arm.pivot_to_spindle", "mm"))
    steps.append(i.changed("found.pivot_to_spindle", repr(at + unsure[2])))
    base, total = np.array(found_numbers(i, found, pair)), 0
    for step in steps:
        other = build(step)
        total = total + (np.array(found_numbers(step, other, pair)) - base) ** 2
    return dict(zip(("found.overhang±", "found.offset±", "move.slide±", "move.twist±"), np.sqrt(total)))


def found_numbers(i, found, pair):
    return [found[0] - found[1], found[2], *move_to(found, pair)]


def align(i):
    if i.word("arm.kind") == "linear":
        return align_linear(i)
    if i.word("arm.kind") == "underhung":
        return align_underhung(i)
    pair = nulls(i.word("align.method"), *grooves(i), own_nulls(i))
    length, distance, offset = arm_of(i, pair)
    truth = {"align.null_inner": pair[0], "align.null_outer": pair[1], "align.overhang": length - distance,
             "align.effective_length": length,
             "align.pivot_to_spindle": distance, "align.offset": offset, **Cost(i, length, distance, offset).told("align")}
    if i.has("align.compare"):
        other = nulls(i.word("align.compare"), *grooves(i), own_nulls(i))
        truth["compared:null_inner"], truth["compared:null_outer"] = (other[0], 1e-4), (other[1], 1e-4)
    found = found_arm(i, length, distance, offset)
    if found:
        truth.update(align_found(i, pair, found, (length, distance, offset)))
    return truth


def align_found(i, pair, found, stated):
    loose = 2e-5 if i.has("found.error_at") else 1e-6
    truth = {"found.overhang": (found[0] - found[1], loose), "found.offset": (found[2], loose),
             "found.effective_length": (found[0], loose),
             **{key: (value[0], value[1] + loose) for key, value in
                Cost(i, *found).told("found", ("error_max", "distortion_max", "distortion_rms")).items()}}
    slide, twist = move_to(found, pair)
    if i.has("arm.slot_length"):
        travel = i.number("arm.slot_length", "mm")
        ahead = i.number("found.slot_forward", "mm", travel / 2)
        truth["move.allowed"] = "yes" if ahead - travel <= slide <= ahead else "no"
    shell = i.word("arm.headshell")
    if shell == "fixed":
        truth.update({"move.slide": 0.0, "move.twist": 0.0, "move.distortion_max": truth["found.distortion_max"]})
    elif shell == "holes":
        pass  # the best within the holes: arm_readings.py
    elif truth.get("move.allowed") != "no":
        after = bodies.Plan(found[1], found[0], found[2]).in_shell(slide, twist)
        truth.update({"move.slide": (slide, loose), "move.twist": (twist, loose),
                      **Cost(i, after.length, found[1], math.degrees(after.offset)).told("move", ("distortion_max",))})
    else:
        truth["move.slide"] = ahead if slide > 0 else ahead - travel
    if i.has("found.pivot_to_spindle") and found[1] != stated[1]:
        truth["found.pivot_error"] = found[1] - stated[1]
    if i.has("found.null_inner") or i.has("found.error_at"):
        spread = found_spread(i, lambda step: found_arm(step, *stated), pair, found)
        truth.update({key: (value, 0.03 * value) for key, value in spread.items() if "move" not in key
                      or truth.get("move.allowed") != "no"})
    return truth


def align_linear(i):
    """Carried along a radius: the one error is the twist's."""
    twist = i.number("found.twist", "deg", 0.0)
    low, high = grooves(i)
    r = np.linspace(low, high, 20001)
    groove = 2 * np.pi * i.number("deck.speed", "rpm") / 60 * r / 10      # cm/s
    second = 100 * i.number("align.velocity", "cm/s", 10.0) * math.tan(math.radians(abs(twist))) / groove
    return {"align.error_max": abs(twist), "align.distortion_max": (second[0], 1e-5 * second[0]), "move.twist": -twist,
            "align.distortion_rms": (math.sqrt(np.trapz(second ** 2, r) / (high - low)), 1e-4)}


def align_underhung(i):
    length, distance = underhung(i)
    return {"align.overhang": (length - distance, 2e-3), "align.null_inner": (math.sqrt(distance ** 2 - length ** 2), 0.01),
            "align.offset": 0.0}


def align_more(sheet, _):
    for row in sheet.table("align.arms")[1:2] if any(table["key"] == "align.arms" for table in sheet.raw["tables"]) else []:
        if row["arm"] != "as found":
            return {"compared:null_inner": row["null_inner"], "compared:null_outer": row["null_outer"]}
    return {}


def template(i):
    if i.word("arm.kind") == "underhung":
        length, distance = underhung(i)
        return {"align.overhang": (length - distance, 2e-3), "align.effective_length": (length, 2e-3), "align.offset": 0.0}
    pair = nulls(i.word("align.method"), *grooves(i), own_nulls(i))
    truth = {"align.null_inner": pair[0], "align.null_outer": pair[1]}
    if i.word("template.kind", "arc") == "grid":
        return truth
    length, distance, offset = arm_of(i, pair)
    truth.update({"align.overhang": length - distance, "align.effective_length": length, "align.pivot_to_spindle": distance,
                  "align.offset": offset})
    grown = [1.01 * null for null in pair]
    span, angle = wanted_arm(grown, distance)
    truth["template.printer_overhang"] = span - length
    truth["template.printer_offset"] = (abs(angle - offset), 1e-5)
    # Lifted by 0.1 mm with the bearing 20 mm over the stylus: the slant from bearing to stylus stays.
    truth["template.paper_shift"] = (math.sqrt(length ** 2 + 20 ** 2 - 19.9 ** 2) - length, 1e-4)
    return truth


def force(i):
    if not i.has("force.reading"):
        length, distance = i.number("arm.effective_length", "mm"), i.number("arm.pivot_to_spindle", "mm")
        wanted = i.number("force.target", "g") * STANDARD_G
        return {**skating(i, wanted, length, distance), **antiskating(i, wanted, length, distance)}
    read = np.array(i.numbers("force.reading", "g"))
    scale = i.number("force.check_weight", "g") / i.number("force.check_reading", "g") if i.has("force.check_weight") else 1.0
    step = i.number("force.scale_resolution", "g")
    # A zero that ends off nothing was off by half of it on the mean, somewhere between nothing and all of it.
    zero = i.number("force.zero_after", "g", 0.0)
    length, distance = i.number("arm.effective_length", "mm"), i.number("arm.pivot_to_spindle", "mm")
    weight, place = i.number("arm.counterweight_mass", "g"), i.number("arm.counterweight_position", "mm")
    on_pan = (read.mean() - zero / 2) * scale
    now = force_on_record(i, on_pan, length, weight)
    truth = {"force.tracking_g": now, "force.tracking": now * STANDARD_G}
    if i.has("force.pan_height"):
        truth["force.pan_change"] = on_pan - now
    if len(read) > 1:
        truth["force.spread"] = read.std(ddof=1)
    truth["force.tracking_g±"] = (force_spread(i, read, scale, step), 0.02 * force_spread(i, read, scale, step))
    change = i.number("force.target", "g") - now
    heavier = i.number("cartridge.mass", "g") + i.number("cartridge.hardware_mass", "g") - i.number("force.fitted_mass", "g")
    by_weight = change if i.word("force.applied_by") == "weight" else 0.0
    shift = (by_weight - heavier) * length / weight
    after = place - shift
    inside = i.number("arm.counterweight_nearest", "mm") <= after <= i.number("arm.counterweight_farthest", "mm")
    truth.update({"counterweight.shift": shift, "counterweight.turns": shift / i.number("arm.counterweight_pitch", "mm"),
                  "counterweight.position": after, "counterweight.fits": "yes" if inside else "no",
                  "arm.mass_change": heavier + weight * (after ** 2 - place ** 2) / length ** 2})
    if i.has("arm.side_weight"):
        # Moments about the line through the bearing: the heavier head on one side, the weight farther out on the other.
        truth["counterweight.side_shift"] = heavier * i.number("arm.head_aside", "mm") / i.number("arm.side_weight", "g")
    if i.has("force.pan_height"):
        truth = {key: (value, 3e-3 * abs(on_pan - now) * (STANDARD_G if key == "force.tracking" else 5.0))
                 if isinstance(value, float) else value
                 for key, value in truth.items()}
    # The walls feel the force that was read; the bias is for the wanted one.
    truth.update(skating(i, now * STANDARD_G, length, distance))
    truth["force.antiskating_wanted"] = antiskating_wanted(i, i.number("force.target", "g") * STANDARD_G, length, distance)
    return truth


def antiskating_wanted(i, newton, length, distance):
    """The drag's torque about the pivot as a force at the stylus, square to the arm."""
    radii = i.numbers("record.radius", "mm") or list(np.linspace(60, 146, 1001))
    drag = np.mean([bodies.Plan(distance, length, 0).drag_torque(radius) for radius in radii]) / length
    wanted = float(i.number("force.friction", "") * newton * drag)
    return wanted, 5e-3 * wanted


def antiskating(i, newton, length, distance):
    """The thread's torque about the pivot as a force at the stylus, and the drag's, both square to the arm."""
    if i.has("force.antiskating_weight"):
        found = i.number("force.antiskating_weight", "g") * STANDARD_G * i.number("force.antiskating_lever", "mm") / length
    elif i.has("force.antiskating_dial"):
        found = i.number("force.antiskating_dial", "") * i.number("force.antiskating_step", "mN")
    else:
        found = i.number("force.antiskating_found", "mN")
    return {"force.antiskating_found": found, "force.antiskating_torque": found * length,
            "force.antiskating_wanted": antiskating_wanted(i, newton, length, distance)}


def force_on_record(i, read, length, weight):
    """Moments of an arm turned about its bearing by the pan's height; the weight hangs below it."""
    if not i.has("force.pan_height"):
        return read
    bearing, drop, pan = (i.number(key, "mm") for key in ("arm.bearing_height", "arm.counterweight_drop", "force.pan_height"))
    slant = math.hypot(length, bearing)
    turn = math.asin((pan - bearing) / slant) - math.asin(-bearing / slant)
    on_pan = slant * math.cos(math.asin((pan - bearing) / slant))
    return (read * on_pan - weight * drop * math.sin(turn)) / (length * math.cos(turn))


def force_spread(i, read, scale, step):
    from scipy.stats import t as student
    one = 1.96 * step / math.sqrt(12)
    repeat = student.ppf(0.975, len(read) - 1) * read.std(ddof=1) / math.sqrt(len(read)) if len(read) > 1 else 0.0
    accuracy = one if i.has("force.check_weight") else i.number("force.scale_accuracy", "g")
    check = read.mean() * scale / i.number("force.check_reading", "g") * one if i.has("force.check_weight") else accuracy
    # 95 % of an even spread between nothing and all of the drift.
    drift = 0.95 * abs(i.number("force.zero_after", "g", 0.0)) / 2 * scale
    return math.sqrt((scale * repeat) ** 2 + (scale * one) ** 2 + check ** 2 + drift ** 2)


def skating(i, newton, length, distance):
    """Drag along the groove about the pivot, as a side load along the radius; averaged from 60 to 146 mm unless a radius is given."""
    def tangent(radius):
        lever = bodies.Plan(distance, length, 0).drag_torque(radius)
        return lever / math.sqrt(length ** 2 - lever ** 2)
    radii = i.numbers("record.radius", "mm") or list(np.linspace(60, 146, 1001))
    share = float(np.mean([tangent(radius) for radius in radii]))
    friction, least, most = (i.number(key, "") for key in ("force.friction", "force.friction_low", "force.friction_high"))
    pull = friction * newton * share
    loose = 1e-5 if i.has("record.radius") else 3e-3     # a mean over radii hangs a little on how it is taken
    truth = {"skating.force": pull, "skating.low": least * newton * share, "skating.high": most * newton * share,
             "skating.force_g": pull / STANDARD_G,
             "skating.inner_wall": (newton + pull) / math.sqrt(2), "skating.outer_wall": (newton - pull) / math.sqrt(2)}
    # The ± is that of the friction's spread: the farther end.
    truth["skating.force±"] = max(abs(truth["skating.high"] - pull), abs(pull - truth["skating.low"]))
    # Where the true force was read off a pan at another height, a second-order term of the turn remains.
    return {key: (value, loose * abs(pull if key.endswith("wall") else value) + (1e-3 if i.has("force.pan_height") else 0.0))
            for key, value in truth.items()}


def rake(i):
    length, height = i.number("arm.effective_length", "mm"), i.number("arm.bearing_height", "mm", 20.0)
    offset, axis = i.number("arm.offset", "deg", 0.0), i.word("arm.bearing_axis")
    picked = i.pairs("rake.point", "", "")
    angle = photograph(picked) if picked else i.number("rake.measured", "deg")
    thicker = (i.number("rake.record_after", "mm", 0.0) - i.number("rake.record_before", "mm", 0.0)
               + i.number("rake.mat_after", "mm", 0.0) - i.number("rake.mat_before", "mm", 0.0))
    target = i.number("rake.target", "deg")
    def rake_at(base, surface=0.0):
        arm = bodies.Arm(length, offset, height, angle, axis)
        arm.raise_base(base, surface)
        return arm
    per_mm = (rake_at(0.5).rake() - rake_at(-0.5).rake())
    base = brentq(lambda x: rake_at(x, thicker).rake() - target, -40, 40, xtol=1e-9)
    arm, still = rake_at(base, thicker), rake_at(0.0, thicker)
    close = 0.012
    truth = {"rake.angle": (angle, 1e-6), "rake.per_mm": (per_mm, close * per_mm),
             "rake.spacer": (base, close * abs(base) + 2e-3),
             "rake.overhang_change": (arm.reach() - length, 0.03 * abs(arm.reach() - length) + 2e-3)}
    if thicker:
        truth["rake.thickness_change"] = (still.rake() - angle, close * abs(still.rake() - angle))
    if axis == "across_arm":
        truth["rake.azimuth_change"] = (-arm.tilt(), close * abs(arm.tilt()))    # clockwise from the front, as azimuth.tilt counts
    if i.has("rake.lean"):
        truth["rake.lean_after"] = (i.number("rake.lean", "deg") + arm.tilt(), 2e-3 + close * abs(arm.tilt()))
        width, lean = i.number("azimuth.width", "mm", 17.0), i.number("rake.lean", "deg")
        truth["cuts:across"] = (width * math.tan(math.radians(lean)), 1e-6)
    if i.has("rake.wedge_base"):
        turn = math.radians(target - still.rake())
        truth["wedge:nose"] = (i.number("rake.wedge_base", "mm") * math.tan(turn), 3e-3)
    if i.has("rake.height_pivot"):
        down = i.number("rake.height_pivot", "mm") - i.number("rake.height_head", "mm")
        slope = math.degrees(math.asin(down / i.number("rake.height_distance", "mm")))
        truth["rake.arm_slope"] = (slope, 3e-4 * slope)
    if i.has("rake.shim"):
        truth["rake.stack"] = nearest_sum(i.numbers("rake.shim", "mm"), abs(base))
    if i.has("force.target") and i.word("force.applied_by") == "weight":
        truth["rake.force_change"] = rake_force(i, arm, still)
    truth.update(rake_spread(i, picked, angle, per_mm))
    return truth


def rake_force(i, arm, still):
    """Moments with the head turned down: the weight under the bearing swings back, the rest lies in the bearing's line."""
    now, then = arm.stylus[0] - arm.pivot, still.stylus[0] - still.pivot
    turn = math.atan2(now[2], now[0]) - math.atan2(then[2], then[0])
    force, weight = i.number("force.target", "g"), i.number("arm.counterweight_mass", "g")
    drop = i.number("arm.counterweight_drop", "mm")
    after = (force * then[0] * math.cos(turn) + weight * drop * math.sin(turn)) / now[0]
    return after - force, 0.04 * abs(after - force) + 1e-4


def photograph(points):
    tip, top, surface = (np.array(point) for point in points)
    up, along = top - tip, surface - tip
    return math.degrees(math.acos(up @ along / math.hypot(*up) / math.hypot(*along)))


def rake_spread(i, picked, angle, per_mm):
    """Picked points scatter by their standard deviation, each by its own: by finite differences; the camera adds its own."""
    camera = i.number("rake.camera_error", "deg")
    total = camera ** 2
    if picked:
        error = i.number("rake.point_error", "")
        for number in range(3):
            for part in (0, 1):
                moved = [list(point) for point in picked]
                moved[number][part] += 1e-4
                total += (1.96 * error * (photograph(moved) - angle) / 1e-4) ** 2
    spread = math.sqrt(total)
    return {"rake.angle±": (spread, 0.02 * spread), "rake.spacer±": (spread / per_mm, 0.03 * spread / per_mm)}


def nearest_sum(parts, wanted):
    sums = [sum(part for bit, part in enumerate(parts) if pick >> bit & 1) for pick in range(1 << len(parts))]
    return min(sums, key=lambda total: abs(total - wanted))


def rake_more(sheet, _):
    """The wedge counted as thicker at the nose, whatever words the sheet uses."""
    if not sheet.has("rake.wedge"):
        return {}
    cuts = {row["corner"]: row["both"] for table in sheet.raw["tables"] if table["key"] == "rake.cuts" for row in sheet.table("rake.cuts")}
    across = {"cuts:across": cuts["nose, outer side"] - cuts["nose, spindle's side"]} if cuts else {}
    return {**across, "wedge:nose": abs(sheet.value("rake.wedge")) * (1 if side_of_wedge(sheet) == "nose" else -1)}


MODELS = {"align": Model(align, more=align_more), "template": Model(template), "force": Model(force),
          "rake": Model(rake, more=rake_more)}
