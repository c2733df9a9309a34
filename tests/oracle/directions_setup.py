#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Does the move that is advised lessen the error? Rake, alignment and force: a rigid body is moved as the sheet says.

Inputs are drawn with fixed seeds. The side is read from the words of the sheet, as a technician reads them.
"""
import math
import re
import subprocess

import numpy as np

import bodies
import program

GROOVES = np.linspace(60.325, 146.05, 60)  # Source (published): IEC 60098 as the alignment literature quotes it
HALF_INCH = 12.7                           # between the cartridge's screws. Source (trade): the usual half an inch
STYLUS_AHEAD = 9.5                         # mounting holes to stylus tip. Source (published): 9.5 ± 1 mm, IEC 98:1987 (read second-hand)


def side_of_wedge(sheet):
    """Which end of the wedge is the thicker, from the reading's label and sign, or from a remark."""
    told = [sheet.label("rake.wedge")] + sheet.said("thicker")
    for line in told:
        found = re.search(r"thicker at the (nose|pivot's end)", line)
        if found:
            side = "nose" if found[1] == "nose" else "pivot"
            if line == sheet.label("rake.wedge") and sheet.value("rake.wedge") < 0:
                side = "pivot" if side == "nose" else "nose"
            return side
    raise ValueError("no words say where the wedge is thicker: " + " | ".join(told))


def draw_rake(draw):
    """A stylus that leans wrong by 0.8 to 4 degrees either way."""
    wanted = draw.choice([92.0, 91.0, 90.0])
    return wanted, wanted + draw.choice([-1, 1]) * draw.uniform(0.8, 4.0)


def rake_wedge(prog, draw):
    wanted, rake = draw_rake(draw)
    length, offset, height = draw.uniform(200, 310), draw.uniform(0, 26), draw.uniform(5, 30)
    base = draw.uniform(12, 18)
    sheet = prog.sheet("rake", rake__measured=f"{rake:.3f}deg", rake__target=f"{wanted}deg", rake__wedge_base=f"{base:.2f}mm",
                       arm__effective_length=f"{length:.2f}mm", arm__offset=f"{offset:.2f}deg",
                       arm__bearing_height=f"{height:.2f}mm")
    arm = bodies.Arm(length, offset, height, rake, "across_cartridge")
    arm.wedge(abs(sheet.value("rake.wedge")) * 16.0 / base, side_of_wedge(sheet))  # the body's cartridge is 16 mm long
    left = arm.rake() - wanted
    if abs(left) > 0.2 * abs(rake - wanted):
        return f"{sheet.call}: wanted {wanted}, was {rake:.2f}, a wedge thicker at the {side_of_wedge(sheet)} leaves {arm.rake():.2f}"
    return ""


def draw_base(draw, bearing):
    wanted, rake = draw_rake(draw)
    length, offset, height = draw.uniform(200, 310), draw.uniform(15, 26), draw.uniform(5, 30)
    words = dict(rake__measured=f"{rake:.3f}deg", rake__target=f"{wanted}deg", arm__effective_length=f"{length:.2f}mm",
                 arm__offset=f"{offset:.2f}deg", arm__bearing_height=f"{height:.2f}mm", arm__bearing_axis=bearing)
    return wanted, rake, bodies.Arm(length, offset, height, rake, bearing), words


def rake_base(prog, draw, bearing):
    """Raised (or lowered) as told, the rake is the wanted one; and so is the change of overhang."""
    wanted, rake, arm, words = draw_base(draw, bearing)
    sheet = prog.sheet("rake", **words)
    told = sheet.value("rake.spacer")
    if "raise" not in sheet.label("rake.spacer").lower():
        return f"the label does not say raise: {sheet.label('rake.spacer')}"
    far = sheet.said("no arm stands" if abs(rake - wanted) > 3 else "more than an arm's base moves")
    if (abs(told) > 8) != bool(far) or far and f"too {'low' if told > 0 else 'high'}" not in far[0]:
        return f"{sheet.call}: {told:.2f} mm, and of that: {far}"
    if told < 0 and not far and not sheet.said("lower the arm by"):
        return f"{sheet.call}: {told:.2f} mm and no word that the arm goes down"
    before = arm.reach()
    arm.raise_base(told)
    wrong = []
    if abs(arm.rake() - wanted) > 0.03 * abs(rake - wanted):
        wrong.append(f"{sheet.call}: was {rake:.3f}, wanted {wanted}; raised by {told:.3f} mm it is {arm.rake():.3f}")
    change = arm.reach() - before
    if abs(sheet.value("rake.overhang_change") - change) > 0.04 * abs(change) + 0.002:
        wrong.append(f"{sheet.call}: overhang changes by {change:.4f} mm, told {sheet.value('rake.overhang_change'):.4f}")
    return "\n".join(wrong)


def rake_azimuth(prog, draw):
    """With the bearing square to the arm the azimuth changes; its size, and the side where one is named."""
    _, _, arm, words = draw_base(draw, "across_arm")
    sheet = prog.sheet("rake", **words)
    arm.raise_base(sheet.value("rake.spacer"))
    told = sheet.value("rake.azimuth_change")
    if abs(abs(told) - abs(arm.tilt())) > 0.03 * abs(arm.tilt()) + 0.005:
        return f"{sheet.call}: the azimuth changes by {arm.tilt():.3f} deg, told {told:.3f}"
    for line in sheet.said("top leans", "top goes", "towards the spindle", "away from the spindle", "clockwise"):
        inward = re.search(r"toward(s)? the spindle|anticlockwise", line)
        if "azimuth" in line.lower() and (inward is not None) != (arm.tilt() > 0):
            return f"{sheet.call}: the top goes {'toward' if arm.tilt() > 0 else 'away from'} the spindle; told: {line}"
    return ""


def rake_flat_spacer(prog, draw):
    """Where the arm cannot go lower, a flat spacer of that thickness under the headshell is said to do the same."""
    wanted = 92.0
    rake, length, height = wanted + draw.uniform(0.8, 2.5), draw.uniform(200, 310), draw.uniform(5, 30)
    sheet = prog.sheet("rake", rake__measured=f"{rake:.3f}deg", arm__effective_length=f"{length:.2f}mm",
                       arm__bearing_height=f"{height:.2f}mm")
    far = abs(sheet.value("rake.spacer")) > 8    # more than an arm's base moves: a wedge is told instead
    if not sheet.said("more than an arm's base moves" if far else "spacer of that thickness"):
        return f"{sheet.call}: no word of a {'wedge' if far else 'spacer'}"
    arm = bodies.Arm(length, 0, height, rake, "across_cartridge")
    arm.spacer(abs(sheet.value("rake.spacer")))
    if abs(arm.rake() - wanted) > 0.15 * (rake - wanted):
        return f"{sheet.call}: was {rake:.2f}; with the spacer {arm.rake():.2f}"
    return ""


def attitude(prog, draw):
    """Rake and azimuth off together: the wedge cut as told, or the height and then what is told for the azimuth, bring both right."""
    bearing = draw.choice(["across_cartridge", "across_arm"])
    length, offset, height = draw.uniform(200, 310), draw.uniform(15, 26), draw.uniform(8, 30)
    rake, lean = 92 + draw.choice([-1, 1]) * draw.uniform(0.4, 1.5), draw.choice([-1, 1]) * draw.uniform(0.5, 2)
    base, width = draw.uniform(12, 18), draw.uniform(14, 18)
    words = dict(rake__measured=f"{rake:.3f}deg", arm__effective_length=f"{length:.2f}mm", arm__offset=f"{offset:.2f}deg",
                 arm__bearing_height=f"{height:.2f}mm", arm__bearing_axis=bearing, rake__wedge_base=f"{base:.2f}mm",
                 azimuth__width=f"{width:.2f}mm", rake__lean=f"{lean:.3f}deg")
    def body():
        arm = bodies.Arm(length, offset, height, rake, bearing)
        arm.lean(lean)
        return arm
    sheet, wrong = prog.sheet("rake", **words), []
    corners = {("nose" if "nose" in row["corner"] else "rear", "outer" if "outer" in row["corner"] else "inner"): row
               for row in sheet.table("rake.cuts")}
    arm = body()
    arm.cut({where: row["both"] for where, row in corners.items()}, base, width)
    if abs(arm.rake() - 92) > 0.05 * abs(rake - 92) + 0.03 or abs(arm.tilt()) > 0.05 * abs(lean) + 0.03:
        wrong.append(f"{sheet.call}: cut so the rake is {arm.rake():.3f}, the lean {arm.tilt():.3f}")
    arm = body()
    arm.raise_base(sheet.value("rake.spacer"))
    if abs(arm.tilt() - sheet.value("rake.lean_after")) > 0.06 * abs(lean) + 0.03:
        wrong.append(f"{sheet.call}: after the height the lean is {arm.tilt():.3f}, told {sheet.value('rake.lean_after'):.3f}")
    arm.cut({where: row["after"] for where, row in corners.items()}, base, width)
    if abs(arm.tilt()) > 0.06 * abs(lean) + 0.03:
        wrong.append(f"{sheet.call}: then cut so the lean is {arm.tilt():.3f}")
    # The words for each way of setting it: which side goes down, or which way the top goes, by where the lean is.
    inwards = sheet.value("rake.lean_after") > 0
    for by, words_in, words_out in (("shim", "outer edge (right", "inner edge (left"), ("shell", "clockwise, seen", "anticlockwise, seen"),
                                    ("counterweight", "heavier side goes away from", "heavier side goes towards"),
                                    ("side_weight", "side weight away from", "side weight towards")):
        said = " ".join(prog.sheet("rake", **words, arm__azimuth_by=by).said("azimuth:"))
        if abs(sheet.value("rake.lean_after")) > 0.05 and f" {words_in if inwards else words_out}" not in said:
            wrong.append(f"{by}: the top leans {'in' if inwards else 'out'}; told: {said}")
    # Zenith: turned as told, what was too far in or out is undone.
    twist = draw.choice([-1, 1]) * draw.uniform(0.3, 2)
    said = " ".join(prog.sheet("rake", **words, found__twist=f"{twist:.2f}deg").said("zenith:"))
    turn = re.search(r"turn the cartridge ([\d.]+)° (in|out)wards", said)
    if not turn or abs(twist + float(turn[1]) * (1 if turn[2] == "in" else -1)) > 0.06:
        wrong.append(f"turned {twist:+.2f} inwards; told: {said}")
    return "\n".join(wrong)


def rake_thickness(prog, draw):
    """A thicker record under the same arm: which way the rake goes, and the base that brings it back."""
    length, height, rake = draw.uniform(200, 310), draw.uniform(8, 30), 92.0
    before, after = draw.uniform(1.0, 4.0), draw.uniform(1.0, 4.0)
    key = draw.choice(["record", "mat"])
    sheet = prog.sheet("rake", f"rake.{key}_before={before:.3f}mm", f"rake.{key}_after={after:.3f}mm",
                       rake__measured=f"{rake}deg", arm__effective_length=f"{length:.2f}mm")
    arm = bodies.Arm(length, 0, height, rake, "across_cartridge")
    arm.settle(after - before)
    change = arm.rake() - rake
    if abs(sheet.value("rake.thickness_change") - change) > 0.03 * abs(change) + 0.002:
        return f"{sheet.call}: the rake changes by {change:.4f}, told {sheet.value('rake.thickness_change'):.4f}"
    arm.raise_base(sheet.value("rake.spacer"), after - before)
    if abs(arm.rake() - rake) > 0.03 * abs(change) + 0.002:
        return f"{sheet.call}: after the move the rake is {arm.rake():.4f}, wanted {rake}"
    return ""


def rake_photograph(prog, draw):
    """Points of a photograph, the deck seen with the pivot on either hand: the angle is the body's."""
    rake, scale = draw.uniform(88, 96), draw.uniform(200, 600)
    mirrored, roll = draw.choice([-1, 1]), math.radians(draw.uniform(-3, 3))
    def pixel(forward, up):
        x, y = mirrored * forward * scale, -up * scale
        return f"{1500 + x * math.cos(roll) - y * math.sin(roll):.2f}:{1200 + x * math.sin(roll) + y * math.cos(roll):.2f}"
    lean = math.radians(rake)
    points = [pixel(0, 0), pixel(-math.cos(lean), math.sin(lean)), pixel(-2.0, 0)]
    sheet = prog.sheet("rake", rake__point=points, arm__effective_length="230mm")
    if abs(sheet.value("rake.angle") - rake) > 0.02:
        return f"{sheet.call}: the stylus leans at {rake:.3f}, told {sheet.value('rake.angle'):.3f}"
    return ""


def rake_force(prog, draw):
    """A counterweight slung under the bearing: does the force rise or fall when the base is raised as told?"""
    length, height, drop, weight = draw.uniform(210, 260), draw.uniform(10, 25), draw.uniform(3, 15), draw.uniform(80, 150)
    rake, force = draw.choice([90.3, 93.8]), draw.uniform(1.4, 2.5)
    sheet = prog.sheet("rake", rake__measured=f"{rake}deg", arm__effective_length=f"{length:.2f}mm",
                       arm__bearing_height=f"{height:.2f}mm",
                       force__target=f"{force:.2f}g", arm__counterweight_mass=f"{weight:.1f}g",
                       arm__counterweight_drop=f"{drop:.2f}mm")
    arm = bodies.Arm(length, 0, height, rake, "across_cartridge")
    start = arm.stylus[0] - arm.pivot
    arm.raise_base(sheet.value("rake.spacer"))
    end = arm.stylus[0] - arm.pivot
    # The head's turn about the bearing; the weight's place is turned by as much, the rest of the arm lies in the bearing's line.
    turn = math.atan2(end[2], end[0]) - math.atan2(start[2], start[0])
    truth = (round(force, 2) * length * math.cos(turn) + weight * drop * math.sin(turn)) / end[0] - round(force, 2)
    told = sheet.value("rake.force_change")
    if abs(told - truth) > 0.05 * abs(truth) + 5e-4:
        return f"{sheet.call}: the force changes by {truth:+.4f} g, told {told:+.4f}"
    return ""


def advised_move(sheet):
    """Forward (away from the pivot) in mm and inwards in degrees, by the words of the move."""
    line = (sheet.said("the move:") or [""])[0]
    slide = re.search(r"(forward|back)\w* ([\d.]+) mm", line)
    twist = re.search(r"twist ([\d.]+)° (inwards|outwards)", line)
    forward = 0.0 if not slide else float(slide[2]) * (1 if slide[1] == "forward" else -1)
    inwards = 0.0 if not twist else float(twist[1]) * (1 if twist[2] == "inwards" else -1)
    return forward, inwards, line


def same_sign(told, words, step):
    """The number and the words say the same side (words are rounded to a step)."""
    return abs(told - words) <= 0.51 * step


def align_move(prog, draw, how):
    """A cartridge mounted wrong by a drawn slip and twist: moved as told, the worst error over the record is the least again."""
    distance = draw.uniform(190, 300)
    ideal = prog.sheet("align", arm__pivot_to_spindle=f"{distance:.3f}mm")
    right = bodies.Plan(distance, ideal.value("align.effective_length"), ideal.value("align.offset"))
    slip, twist = draw.choice([-1, 1]) * draw.uniform(1.0, 3.0), draw.choice([-1, 1]) * draw.uniform(0.8, 2.5)
    found = right.moved(slip, 0).moved(0, twist)
    words = {"arm__pivot_to_spindle": f"{distance:.3f}mm"}
    if how == "stated":
        words |= {"found__slip": f"{slip:.3f}mm", "found__twist": f"{twist:.3f}deg"}
    elif how == "angles":
        words["found__error_at"] = [f"{radius}:{found.inwards_needed(radius):.3f}" for radius in (65, 90, 120, 140)]
    else:
        nulls = np.sort(np.roots([1, -2 * found.length * math.sin(found.offset), found.length**2 - distance**2]))
        if np.iscomplexobj(nulls) or nulls[0] < 40:
            return ""
        words |= {"found__null_inner": f"{nulls[0]:.3f}mm", "found__null_outer": f"{nulls[1]:.3f}mm"}
    sheet = prog.sheet("align", **words)
    forward, inwards, line = advised_move(sheet)
    if not same_sign(sheet.value("move.slide"), forward, 0.1) or not same_sign(sheet.value("move.twist"), inwards, 0.1):
        return f"{sheet.call}: {sheet.value('move.slide'):.2f} mm, {sheet.value('move.twist'):.2f} deg in numbers, but: {line}"
    was, least = found.worst(GROOVES), right.worst(GROOVES)
    now = found.in_shell(sheet.value("move.slide"), sheet.value("move.twist")).worst(GROOVES)
    if now > least + 0.1 * max(was - least, 0.05):
        return f"{sheet.call}: {line}\nworst error over radius {was:.4f} before, {now:.4f} deg/cm after, {least:.4f} at best"
    return ""


def align_screws(prog, draw):
    """Turned about its screws instead of the stylus: which way the stylus goes along the arm."""
    distance, twist = draw.uniform(190, 300), draw.choice([-1, 1]) * draw.uniform(1.0, 3.0)
    sheet = prog.sheet("align", arm__pivot_to_spindle=f"{distance:.2f}mm", found__twist=f"{twist:.3f}deg", found__slip="1mm")
    line = (sheet.said("turned about its screws") or [""])[0]
    told = re.search(r"goes ([\d.]+) mm (back|forward)", line)
    between = re.search(r"is ([\d.]+) mm between the two screws", line)
    if not told or not between:
        return f"{sheet.call}: no word of the screws: {line}"
    turn = math.radians(sheet.value("move.twist"))
    offset = math.radians(sheet.value("found.offset"))
    # Arm's line = x, inwards = +y; the stylus lies ahead of the screws' middle along the nose.
    nose = np.array([math.cos(offset), math.sin(offset)]) * STYLUS_AHEAD
    after = np.array([math.cos(offset + turn), math.sin(offset + turn)]) * STYLUS_AHEAD
    goes = (after - nose)[0]
    said = float(told[1]) * (1 if told[2] == "forward" else -1)
    if abs(said - goes) > 0.006 + 0.1 * abs(goes) or abs(float(between[1]) - abs(HALF_INCH * math.tan(turn))) > 0.006:
        return f"{sheet.call}: along the arm the stylus goes {goes:+.3f} mm, screws {HALF_INCH * math.tan(turn):.3f}; told: {line}"
    return ""


def align_overhang(prog, draw):
    """Set the stylus so far past (or short of) the spindle: then the record is tangent where the sheet says."""
    kind, distance = draw.choice(["pivoted", "underhung"]), draw.uniform(190, 300)
    sheet = prog.sheet("align", arm__kind=kind, arm__pivot_to_spindle=f"{distance:.2f}mm")
    told = re.search(r"Set the stylus ([\d.]+) mm (past|short of) the spindle", "\n".join(sheet.remarks))
    if not told:
        return f"{sheet.call}: no word where to set the stylus"
    distance = float(f"{distance:.2f}")
    length = distance + float(told[1]) * (1 if told[2] == "past" else -1)
    arm = bodies.Plan(distance, length, sheet.value("align.offset"))
    nulls = [sheet.value(key) for key in ("align.null_inner", "align.null_outer") if sheet.has(key)]
    off = max(abs(arm.inwards_needed(radius)) for radius in nulls)
    return "" if off < 0.1 else f"{sheet.call}: set as told, {off:.3f} deg are left at {nulls}"


def align_by_radius(prog, draw):
    """The error at each radius, and how it goes with a millimetre of length or of pivot distance."""
    distance = draw.uniform(200, 300)
    ideal = prog.sheet("align", arm__pivot_to_spindle=f"{distance:.3f}mm")
    arm = bodies.Plan(distance, ideal.value("align.effective_length"), ideal.value("align.offset"))
    table = ideal.table("align.by_radius")
    off = max(abs(row["error"] - arm.inwards_needed(row["radius"])) for row in table)
    further = bodies.Plan(distance + 0.01, arm.length, math.degrees(arm.offset))
    longer = bodies.Plan(distance, arm.length + 0.01, math.degrees(arm.offset))
    wrong = [f"error at a radius {off:.4f} deg off"] if off > 0.002 else []
    for row in table:
        for key, other, name in (("per_pivot", further, "pivot distance"), ("per_slide", longer, "length")):
            truth = (other.inwards_needed(row["radius"]) - arm.inwards_needed(row["radius"])) / 0.01
            if abs(truth - row[key]) > 0.01 * abs(truth) + 1e-3:
                wrong.append(f"{row['radius']} mm: a millimetre of {name} turns {truth:.4f}, told {row[key]:.4f}")
    return "\n".join([ideal.call] + wrong) if wrong else ""


def force_counterweight(prog, draw):
    """The counterweight moved as told: moments about the bearing give the wanted force."""
    length, weight, place = draw.uniform(200, 310), draw.uniform(60, 180), draw.uniform(30, 80)
    reading, target = draw.uniform(1.0, 3.0), draw.uniform(1.2, 2.6)
    sheet = prog.sheet("force", force__reading=f"{reading:.3f}g", force__target=f"{target:.3f}g",
                       arm__effective_length=f"{length:.2f}mm",
                       arm__counterweight_mass=f"{weight:.2f}g", arm__counterweight_position=f"{place:.2f}mm")
    if not sheet.said("towards the pivot when positive"):
        return f"{sheet.call}: no word says which way the weight goes"
    front = reading * length + weight * place        # moment of all but the counterweight, g·mm
    closer = place - sheet.value("counterweight.shift")
    after = (front - weight * closer) / length
    if abs(after - target) > 0.02:
        return f"{sheet.call}: {reading:.3f} g, wanted {target:.3f}; moved by {place - closer:+.3f} mm it gives {after:.3f}"
    below = bool(sheet.said("below what was asked"))
    if abs(reading - target) > 0.1 and below != (reading < target):
        return f"{sheet.call}: below or above the wrong way round"
    return ""


def force_heavier_cartridge(prog, draw):
    """Another cartridge: which way the weight goes so that the force comes back, weight or spring."""
    length, weight, place = draw.uniform(200, 310), draw.uniform(80, 180), draw.uniform(40, 80)
    now, new, screws = draw.uniform(5, 12), draw.uniform(4, 12), draw.uniform(0.5, 2)
    by, reading, target = draw.choice(["weight", "spring"]), draw.uniform(1.2, 2.4), draw.uniform(1.2, 2.4)
    sheet = prog.sheet("force", force__reading=f"{reading:.3f}g", force__target=f"{target:.3f}g",
                       arm__effective_length=f"{length:.2f}mm",
                       arm__counterweight_mass=f"{weight:.2f}g", arm__counterweight_position=f"{place:.2f}mm",
                       force__applied_by=by,
                       force__fitted_mass=f"{now:.3f}g", cartridge__mass=f"{new:.3f}g",
                       cartridge__hardware_mass=f"{screws:.3f}g")
    heavier = new + screws - now
    closer = place - sheet.value("counterweight.shift")
    if by == "spring":   # the weight balances the mass alone; the spring makes the force
        left = heavier * length - weight * (closer - place)
        return "" if abs(left) < 0.01 * length else f"{sheet.call}: {left / length:+.3f} g are left unbalanced at the stylus"
    after = ((reading + heavier) * length + weight * place - weight * closer) / length
    return "" if abs(after - target) < 0.02 else f"{sheet.call}: wanted {target:.3f} g, the move gives {after:.3f}"


def force_pan(prog, draw):
    """A scale whose pan stands above (or below) the record, with a weight slung low: is the true force more or less than read?"""
    length, bearing, drop, weight = draw.uniform(210, 260), draw.uniform(10, 25), draw.uniform(3, 15), draw.uniform(80, 150)
    true, pan = draw.uniform(1.3, 2.5), draw.choice([-1, 1]) * draw.uniform(2, 6)
    def at(height):
        """The scale's reading with the stylus so far above the record: moments of a turned rigid arm."""
        start, end = math.atan2(-bearing, length), math.asin((height - bearing) / math.hypot(length, bearing))
        up = end - start
        return (true * length * math.cos(up) + weight * drop * math.sin(up)) / (math.hypot(length, bearing) * math.cos(end))
    sheet = prog.sheet("force", force__reading=f"{at(pan):.5f}g", force__pan_height=f"{pan:.3f}mm",
                       arm__effective_length=f"{length:.2f}mm",
                       arm__counterweight_mass=f"{weight:.2f}g", arm__counterweight_drop=f"{drop:.3f}mm",
                       arm__bearing_height=f"{bearing:.2f}mm")
    off = sheet.value("force.tracking_g") - true
    if abs(off) > 0.05 * abs(at(pan) - true) + 1e-4:
        return f"{sheet.call}: {true:.4f} g on the record read {at(pan):.4f}; told {sheet.value('force.tracking_g'):.4f}"
    return ""


def force_skating(prog, draw):
    """Drag along the groove about the pivot: to which side the arm is pulled, and which wall carries more."""
    underhung = draw.random() < 0.4
    distance, radius = draw.uniform(200, 300), draw.uniform(61, 145)
    length = distance + (-draw.uniform(8, 16) if underhung else draw.uniform(13, 20))
    friction, force = draw.uniform(0.2, 0.45), draw.uniform(1.2, 3.0)
    sheet = prog.sheet("force", force__reading=f"{force:.3f}g", arm__effective_length=f"{length:.3f}mm",
                       arm__pivot_to_spindle=f"{distance:.3f}mm",
                       record__radius=f"{radius:.3f}mm", force__friction=f"{friction:.4f}")
    arm = bodies.Plan(distance, length, 0)
    lever = arm.drag_torque(radius)       # mm, positive inwards
    turn = friction * force * 9.80665 * lever / length
    along_radius = turn / math.sqrt(1 - (lever / length) ** 2)
    told = sheet.value("skating.force")
    wrong = []
    if abs(told - along_radius) > 0.002 * abs(along_radius) + 1e-3:
        wrong.append(f"the pull inwards is {along_radius:.4f} mN, told {told:.4f}")
    # An inward pull presses the stylus on the inner wall: walls at 45 degrees each way carry (N ± F)/sqrt 2.
    weight = force * 9.80665
    for key, sign in (("skating.inner_wall", 1), ("skating.outer_wall", -1)):
        truth = (weight + sign * along_radius) / math.sqrt(2)
        if abs(sheet.value(key) - truth) > 0.002 * truth:
            wrong.append(f"{key} {truth:.4f} mN, told {sheet.value(key):.4f}")
    for line in sheet.said("the pull is towards the spindle"):
        if along_radius < 0 or underhung:
            wrong.append(f"the pull is {along_radius:.3f} mN inwards here; told: {line}")
    return "\n".join([sheet.call] + wrong) if wrong else ""


def force_antiskating(prog, draw):
    """Raised or lowered as told, what pulls outwards balances the drag of the wanted force about the pivot, on the mean over the side."""
    distance, friction = draw.uniform(205, 295), draw.uniform(0.25, 0.35)
    length, force = distance + draw.uniform(14, 18), draw.uniform(1.2, 2.6)
    lever = float(np.mean([bodies.Plan(distance, length, 0).drag_torque(radius) for radius in GROOVES]))
    needed = friction * force * 9.80665 * lever / length
    found = needed * draw.choice([0.3, 2.5])
    sheet = prog.sheet("force", force__target=f"{force:.3f}g", arm__effective_length=f"{length:.2f}mm", arm__pivot_to_spindle=f"{distance:.2f}mm",
                       force__friction=f"{friction:.3f}", force__antiskating_found=f"{found:.3f}mN", force__scale_accuracy="0.01g")
    line = (sheet.said("the anti-skating is too") or [""])[0]
    told = re.search(r"(raise|lower) it by ([\d.]+) mN", line)
    if not told:
        return f"{sheet.call}: {needed:.2f} needed, {found:.2f} there, and no word which way: {sheet.remarks}"
    after = found + float(told[2]) * (1 if told[1] == "raise" else -1)
    return "" if abs(after - needed) < 0.03 * needed + 0.06 else f"{sheet.call}: {needed:.2f} needed, {after:.2f} after: {line}"


def paper_words(prog, *words):
    """What stands on a paper, as one line."""
    path = prog.recording("paper.pdf")
    done = prog.run("template", *words, "--out", str(path))
    if done.returncode:
        raise program.Refused(done.stderr)
    return " ".join(subprocess.run(["pdftotext", str(path), "-"], check=True, capture_output=True, text=True).stdout.split())


def align_grid(prog, draw):
    """The grid's own words, followed on a body: what is told of a nose that points away brings the angle there nearer to tangent."""
    distance, straight = draw.uniform(205, 280), draw.random() < 0.4
    words = paper_words(prog, "template.kind=grid", f"arm.pivot_to_spindle={distance:.1f}mm", *(["arm.kind=underhung"] if straight else []))
    told = re.search(r"points away from the spindle there, the stylus (?:is|stands) too far (\w+): slide it (?:a little )?(\w+)", words)
    if not told or (told[1], told[2]) not in (("back", "forward"), ("out", "back")):
        return f"no words which way, or two ways: {words[:300]}"
    sheet = prog.sheet("align", arm__pivot_to_spindle=f"{distance:.1f}mm", arm__kind="underhung" if straight else "pivoted")
    inner = sheet.value("align.null_inner")
    right = bodies.Plan(distance, sheet.value("align.effective_length"), sheet.value("align.offset"))
    def looked_at(slip):
        """The arm slid by so much; with an offset it is turned until the inner point is right, and the outer one is looked at."""
        arm = right.moved(slip, 0)
        if straight:
            return arm.inwards_needed(inner)
        return arm.moved(0, arm.inwards_needed(inner)).inwards_needed(sheet.value("align.null_outer"))
    slip = draw.choice([-1, 1]) * draw.uniform(0.5, 2)
    needed = looked_at(slip)
    # A nose that would have to turn inwards points away from the spindle.
    forward = (told[2] == "forward") == (needed > 0)
    after = looked_at(slip + (0.3 if forward else -0.3))
    return "" if abs(after) < abs(needed) else f"{distance:.0f} mm, slid {slip:+.2f}: {needed:+.2f} becomes {after:+.2f} deg; told: {told[0]}"


def force_tail(prog, draw):
    """A tail too short, or a weight that cannot come near enough: the heavier or lighter weight balances on it."""
    length, weight, place = draw.uniform(210, 260), draw.uniform(80, 130), draw.uniform(45, 60)
    now, new = draw.choice([(5.0, 9.0), (10.0, 5.0)])
    near, far = (place - 15, place + 0.5) if new > now else (place - 0.5, place + 15)
    sheet = prog.sheet("force", force__reading="1.8g", force__target="1.8g", arm__effective_length=f"{length:.2f}mm",
                       arm__counterweight_mass=f"{weight:.2f}g",
                       arm__counterweight_position=f"{place:.2f}mm", arm__counterweight_nearest=f"{near:.2f}mm",
                       arm__counterweight_farthest=f"{far:.2f}mm",
                       force__fitted_mass=f"{now}g", cartridge__mass=f"{new}g", cartridge__hardware_mass="0g")
    wanted = weight * place + (new - now) * length          # the weight's moment that balances, g·mm
    words = " ".join(sheet.said("heavier weight", "lighter one"))
    told = re.search(r"(at least|at most) ([\d.]+) g", words)
    if not told or ("heavier" in words) != (new > now):
        more = "more" if new > now else "less"
        return f"{sheet.call}: a moment of {wanted:.0f} g·mm from {near:.1f} to {far:.1f} mm wants {more} weight; told: {words}"
    at = wanted / float(told[2])
    if not near - 1e-6 <= at <= far + 1e-6:
        return f"{sheet.call}: {told[1]} {told[2]} g would have to stand at {at:.3f} mm, and the tail goes from {near:.2f} to {far:.2f}"
    return ""


def rake_stack(prog, draw):
    """The spacers at hand under the base: what they leave, and to which side."""
    rake, length = 92.0 - draw.uniform(0.6, 2.0), draw.uniform(200, 300)
    shims = [draw.choice([0.5, 1.0, 1.5, 2.0, 3.0]) for _ in range(3)]
    sheet = prog.sheet("rake", rake__measured=f"{rake:.3f}deg", arm__effective_length=f"{length:.2f}mm",
                       rake__shim=[f"{shim}mm" for shim in shims])
    arm = bodies.Arm(length, 0, 20, rake, "across_cartridge")
    arm.raise_base(sheet.value("rake.stack"))
    told = re.search(r"leaves the rake ([-+−][\d.]+)° off", " ".join(sheet.said("stack")))
    if not told or abs(float(told[1].replace("−", "-")) - (arm.rake() - 92.0)) > 0.02:
        return f"{sheet.call}: a stack of {sheet.value('rake.stack')} mm leaves {arm.rake() - 92:+.3f}; told: {sheet.said('stack')}"
    return ""


def align_linear(prog, draw):
    """An arm carried along a radius: the twist told undoes the cartridge's."""
    twist = draw.choice([-1, 1]) * draw.uniform(0.3, 2.5)
    sheet = prog.sheet("align", arm__kind="linear", found__twist=f"{twist:.3f}deg")
    found, move = (sheet.said("the cantilever is turned") or [""])[0], (sheet.said("turn it ") or [""])[0]
    if abs(round(twist, 3) + sheet.value("move.twist")) > 1e-6 or ("inwards" in found) != (twist > 0) or ("outwards" in move) != (twist > 0):
        return f"{sheet.call}: turned {twist:+.3f} inwards, told {sheet.value('move.twist'):+.3f} and: {found} {move}"
    return ""


CHECKS = [
    ("rake: the wedge's thick end", rake_wedge, 8),
    ("rake: the base raised or lowered, bearing across the cartridge", lambda p, d: rake_base(p, d, "across_cartridge"), 6),
    ("rake: the base raised or lowered, bearing across the arm", lambda p, d: rake_base(p, d, "across_arm"), 6),
    ("rake: azimuth with the base's height", rake_azimuth, 4),
    ("rake: a flat spacer instead of a lower base", rake_flat_spacer, 4),
    ("rake: azimuth and rake as one attitude", attitude, 6),
    ("rake: thicker record or mat", rake_thickness, 6),
    ("rake: from a photograph, from either side", rake_photograph, 6),
    ("rake: force with the base's height", rake_force, 4),
    ("rake: spacers at hand", rake_stack, 4),
    ("align: slide and twist, slip and twist stated", lambda p, d: align_move(p, d, "stated"), 6),
    ("align: slide and twist, from angles read", lambda p, d: align_move(p, d, "angles"), 6),
    ("align: slide and twist, from two tangencies", lambda p, d: align_move(p, d, "nulls"), 6),
    ("align: turned about the screws", align_screws, 4),
    ("align: the stylus past or short of the spindle", align_overhang, 6),
    ("align: error by radius, by length and by pivot distance", align_by_radius, 4),
    ("align: a linear arm's twist", align_linear, 3),
    ("template: the grid's words which way to slide", align_grid, 8),
    ("force: anti-skating raised or lowered", force_antiskating, 6),
    ("force: a tail too short or too long", force_tail, 6),
    ("force: the counterweight's move", force_counterweight, 6),
    ("force: another cartridge, weight or spring", force_heavier_cartridge, 6),
    ("force: a pan above or below the record", force_pan, 6),
    ("force: which way the arm is pulled, which wall carries more", force_skating, 10),
]


def run(prog, checks, names):
    for what, function, count in CHECKS:
        if not names or any(name in what for name in names):
            for number, draw in enumerate(program.draws(what, count)):
                checks.attempt(f"{what}, drawn case {number + 1}", function, prog, draw)


if __name__ == "__main__":
    program.main(run)
