# SPDX-License-Identifier: MIT
"""Truth of what is read from a steady tone: speed, flutter, the raster, tracing, starts, run-downs, seatings, ratios.

The deviation that was played is known; two-sigma is the size exceeded for 5 % of the time, wow and flutter are what lies
below and above the split. Source (memory): IEC 60386, by points of whose curve the weighted rms goes, hence loosely.
"""
import cmath
import math

import numpy as np

import model_drive
import takes
import waves
from inputs import Inputs, Model

# Source (memory): Hz and dB of the weighting curve.
WEIGHTING = ((0.2, -30.6), (0.315, -19.7), (0.4, -15.0), (0.63, -8.4), (0.8, -6.0), (1.0, -4.2), (1.6, -1.8), (2.0, -0.9),
             (4.0, 0.0), (6.3, -0.9),
             (10.0, -2.1), (20.0, -5.9), (40.0, -10.4), (63.0, -14.2), (100.0, -17.3), (200.0, -23.0))
MADE = {}          # recordings by name, for each program


def take(prog, name, make, rate=takes.RATE):
    """Written once for a run."""
    path = prog.recording(name + ".wav")
    if path not in MADE:
        MADE[path] = waves.write(path, *make(), rate=rate)
    return path


def clock(i):
    """True frequency over the file's: a clock that runs fast takes more samples of each true second, so it shows tones too low."""
    return 1 + i.number("chain.clock_error", "ppm", 0.0) * 1e-6


def turns(share, degrees, hz, time):
    return share * np.cos(2 * np.pi * hz * time + math.radians(degrees))


def two_sigma(values):
    return float(np.quantile(np.abs(values), 0.95))


def loose(value, share):
    return value, abs(value) * share


# -------------------------------------------------------------------------------------------------------------- speed
def speed_recordings(prog, i):
    kind = i.word("take", "disc")
    if kind == "disc":
        return [take(prog, "speed", takes.speed)]
    if kind == "still":
        return [take(prog, "still", takes.still)]
    rates = [float(hz) for hz in kind.split(",")]
    return [take(prog, "lines-" + kind, lambda: takes.lines(rates))]


def speed(i):
    kind = i.word("take", "disc")
    played = {"disc": takes.TONE * takes.FAST, "still": 3159.767}.get(kind, takes.TONE)
    hz = played * clock(i)
    nominal, engraved = i.number("deck.speed", "rpm"), i.number("record.tone", "Hz") * (1 + i.number("record.tone_offset", "ppm", 0.0) * 1e-6)
    rpm = nominal * hz / engraved
    start, end = i.number("record.start", "s", 0.0), i.number("record.end", "s", {"disc": 40.0, "still": 30.0}.get(kind, 60.0))
    # Lines that stand still on the platter are fitted over its angle: against a mean over time that leaves half the square of
    # the wow, 1.4 ppm here. A factor, a sign or a unit is seen far outside of 3 ppm.
    truth = {"tone.frequency": (hz, 0.01), "speed.mean": (rpm, 1e-4), "speed.error": (100 * (rpm / nominal - 1), 3e-4),
             "tone.start": (start + 0.1, 0.03), "tone.length": (end - start - 0.25, 0.1), "speed.drift": (0.0, 2e-3)}
    tolerance, clocked = i.number("record.tone_tolerance", "%", 0.0), 2e-4 if i.has("chain.clock_error") else 1e-2    # percent
    # Both are bounds that any value within may be: 95 % of each (JCGM 100, 4.3.7: rectangular).
    truth["speed.error±"] = loose(0.95 * math.hypot(tolerance, clocked) * rpm / nominal, 0.1)
    if kind == "disc" and abs(nominal - 100 / 3) > 0.1:    # the platter's own rate says otherwise: tone_cases.py has that
        del truth["speed.mean"], truth["speed.error"]
    if kind == "disc":
        truth.update(disc(i, rpm, start))
        truth.update(raster(i, rpm, truth["tone.start"][0]))
    elif kind != "still":
        truth.update(traced(i, [float(hz) for hz in kind.split(",")]))
    return truth


def disc(i, rpm, start):
    time = np.arange(0, 400, 1 / 500) + start
    split = i.number("flutter.split", "Hz")
    parts = {takes.TURN_HZ: turns(takes.ONCE, takes.ONCE_DEG, takes.TURN_HZ, time),
             2 * takes.TURN_HZ: turns(takes.TWICE, takes.TWICE_DEG, 2 * takes.TURN_HZ, time),
             takes.LINE_HZ: takes.LINE * np.cos(2 * np.pi * takes.LINE_HZ * time + 1.0)}
    slow = sum((part for hz, part in parts.items() if hz < split), np.zeros_like(time))
    quick = sum((part for hz, part in parts.items() if hz >= split), np.zeros_like(time))
    whole = slow + quick
    truth = {"flutter.unweighted.two_sigma": loose(two_sigma(whole), 0.02),
             "flutter.unweighted.rms": loose(float(np.std(whole)), 0.02),
             "flutter.wow": (two_sigma(slow), 0.02 * two_sigma(slow) + 3e-3),
             "flutter.flutter": (two_sigma(quick), 0.02 * two_sigma(quick) + 8e-3)}
    table = np.array(WEIGHTING)
    weighted = [float(np.std(part)) * 10 ** (np.interp(math.log10(hz), np.log10(table[:, 0]), table[:, 1]) / 20)
                for hz, part in parts.items()]
    truth["flutter.weighted.rms"] = loose(math.sqrt(sum(value ** 2 for value in weighted)), 0.05)
    if abs(rpm / 60 / takes.TURN_HZ - 1) < 1e-3:       # the stated tone and speed fit the platter that was played
        truth.update({"revolution.amplitude": loose(takes.ONCE, 3e-3), "revolution.phase": (takes.ONCE_DEG, 0.4),
                      "revolution.second": loose(takes.TWICE, 0.01)})
        if i.has("record.radius"):
            shift = takes.ONCE / 100 * i.number("record.radius", "mm") * math.cos(math.radians(i.number("arm.offset", "deg", 0.0)))
            truth["revolution.eccentricity"] = loose(shift, 3e-3)
    return truth


def wrapped(degrees):
    return (degrees + 180) % 360 - 180


def raster(_, _rpm, begins):
    """A row is a turn of the platter itself, whatever was stated: what comes once a turn stands upright. At the nominal rate
    it would slant by some four degrees a row.

    The unweighted curve's own lead at the platter's rate (some 18 degrees) is in the picture, so its place is loose.
    """
    return {"raster:slant": (0.0, 0.25), "raster:phase": (wrapped(takes.ONCE_DEG + 360 * takes.TURN_HZ * begins), 25.0)}


def raster_read(sheet):
    """Phase of the once-a-turn wave in the first row, and how it goes from row to row, degrees."""
    rows = sheet.raster("speed.raster")["rows"]
    angle = 2 * np.pi * (np.arange(len(rows[0])) + 0.5) / len(rows[0])
    phases = []
    for row in rows:
        values = np.array([math.nan if value is None else value for value in row], float)
        if np.isnan(values).any():
            continue
        phases.append(cmath.phase(np.sum(values * np.exp(-1j * angle))))
    steps = [cmath.exp(1j * (b - a)) for a, b in zip(phases, phases[1:])]
    return {"raster:slant": math.degrees(cmath.phase(sum(steps))), "raster:phase": math.degrees(phases[0])}


# ------------------------------------------------------------------------------------------------------------ tracing
SEEN = 600.0        # from 0.3 to 200 Hz lies what a cause that nobody described may turn at, every octave alike
ALONE = 50.0        # a part hardly ever shows at three times its rate and more without showing at once or twice
KNOWN = 0.001       # a part that shows at once or twice its rate is known by that
MAINS_ONCE = 0.3    # a motor shakes at twice the mains; at once it does so by an unevenness of its field


def rates(i):
    """Parts by name: rate and its doubt (one standard deviation) as a share."""
    kind, platter = i.word("drive.kind"), i.number("deck.speed", "rpm") / 60
    tone = i.number("record.tone_tolerance", "%", 0.5) / 100 / 1.96
    mains = i.number("deck.mains", "Hz")
    found = {"platter or record": (platter, tone), "mains": (mains, 0.0005)}     # grids hold 0.05 Hz
    if kind == "direct":
        return {**found, "pole": (platter * i.number("drive.poles", ""), tone)} if i.has("drive.poles") else found
    rim, t, pulley = i.number("drive.rim_diameter", "mm"), model_drive.belt_thickness(i), i.number("drive.pulley_diameter", "mm")
    if i.has("drive.motor_poles"):
        found["motor"] = (2 * mains / i.number("drive.motor_poles", ""), 0.0005)     # its poles pass at twice the mains
    else:
        found["motor"] = (platter * (rim + t) / (pulley + t), math.hypot(tone, 0.003))
    if i.has("drive.idler_driven_diameter"):
        found["motor"] = (found["motor"][0] * i.number("drive.idler_driven_diameter", "mm")
                          / i.number("drive.idler_diameter", "mm"), found["motor"][1])
    if kind == "idler" and i.has("drive.idler_diameter"):
        found["idler"] = (platter * rim / i.number("drive.idler_diameter", "mm"), math.hypot(tone, 0.002))
    if kind == "belt" and i.has("drive.centre_distance"):
        path = model_drive.hull_round(pulley + t, rim + t, i.number("drive.centre_distance", "mm"), int(i.number("drive.motors", "", 1.0)))
        found["belt"] = (platter * math.pi * (rim + t) / path, math.hypot(tone, 0.002))
    elif kind == "belt" and i.has("drive.belt_length"):
        found["belt"] = (platter * math.pi * (rim + t) / (1.035 * i.number("drive.belt_length", "mm")), math.hypot(tone, 0.008))
    return found


def odds(name, order, rate, doubt, hz, company):
    """Of a part against a cause that nobody described, by Bayes' rule with equal suspicion of both."""
    spread = (min(doubt, KNOWN) if company and order > 1 else doubt) * rate * order
    fits = math.exp(-0.5 * ((hz - rate * order) / spread) ** 2) / (spread * math.sqrt(2 * math.pi))
    if name == "mains":
        prior = {1: MAINS_ONCE, 2: 1.0}.get(order, 1 / order ** 2)
    else:
        prior = 1 / order ** 2 / (ALONE if order > 2 and not company else 1.0)
    return prior * fits * hz * math.log(SEEN)


def traced(i, played):
    """For each line played: the part it is of, and the odds for it (a factor of six either way: priors are a judgement)."""
    truth = {}
    for number, hz in enumerate(played):
        best = max((odds(name, order, rate, doubt, hz, any(abs(other - rate * low) < 0.02 * rate for other in played
                                                           for low in (1, 2))), name)
                   for name, (rate, doubt) in rates(i).items() for order in range(1, 7))
        if best[0] > 20 or best[0] < 0.05:
            truth[f"line{number}:part"] = best[1] if best[0] > 20 else "unknown"
        if best[0] > 0.05:
            truth[f"line{number}:odds"] = (min(math.log(best[0]), math.log(999)), math.log(6))
    return truth


def traced_read(sheet, played):
    said, rows = {}, sheet.table("flutter.lines")
    for number, hz in enumerate(played):
        row = min(rows, key=lambda one: abs(one["frequency"] - hz))
        said[f"line{number}:part"] = "pole" if row["part"] == "motor pole" else row["part"]
        share = min(max(row["confidence"], 0.001), 0.999)
        said[f"line{number}:odds"] = math.log(share / (1 - share)) * (-1 if row["part"] == "unknown" else 1)
    return said


def speed_more(sheet, i):
    kind = i.word("take", "disc")
    if kind == "disc":
        return raster_read(sheet)
    return {} if kind == "still" or not i.has("drive.kind") else traced_read(sheet, [float(hz) for hz in kind.split(",")])


# ------------------------------------------------------------------------------------------------------ start, run-down
def startup(i):
    time = np.arange(0, 16, 1e-3)
    course = takes.start_course(time)
    band = i.number("startup.band", "%") / 100
    inside = np.abs(course - 1) <= band
    first, last = time[np.argmax(inside)], time[np.nonzero(~inside)[0][-1]]
    final = i.number("deck.speed", "rpm") * takes.TONE / i.number("record.tone", "Hz")
    return {"startup.time": (first - takes.START_AT, 0.14), "startup.settle": (last - takes.START_AT, 0.14),
            "startup.overshoot": loose(100 * (course.max() - 1), 0.01),
            "startup.final": loose(final, 1e-5)}


def bearing_recordings(prog, i):
    return [take(prog, "down", takes.down)] if i.has("take") else []


def bearing(i):
    """A run-down that was recorded: viscous and dry drag come back whatever tone and speed are called; else as stated."""
    if not i.has("take"):
        return model_drive.bearing(i)
    called = i.number("deck.speed", "rpm") / (100 / 3) * takes.TONE / i.number("record.tone", "Hz")
    inertia = model_drive.inertia(i)
    viscous, dry = takes.DOWN_VISCOUS * inertia * 1e3, takes.DOWN_DRY * called * inertia * 1e3
    return {"bearing.inertia": inertia, "bearing.viscous": loose(viscous, 1e-4), "bearing.coulomb": loose(dry, 1e-4),
            "bearing.torque": loose(viscous * i.number("deck.speed", "rpm") * math.pi / 30 + dry, 1e-4)}


# ----------------------------------------------------------------------------------------------------------- seatings
def reseat_recordings(prog, _):
    return [take(prog, f"seat{number}", lambda n=number: takes.seating(n)) for number in (0, 1)]


def seat_phasors(i):
    """Once-a-turn wave of each recording, its phase counted from the stated mark."""
    marks = i.numbers("reseat.mark", "s") or [i.number("record.start", "s", 0.0)] * 2
    found = []
    for number in (0, 1):
        whole = (takes.DECK_SHARE * cmath.exp(1j * math.radians(takes.DECK_DEG))
                 + takes.RECORD_SHARE * cmath.exp(1j * math.radians(takes.RECORD_DEG + takes.SEAT_ANGLES[number])))
        found.append(whole * cmath.exp(2j * math.pi * takes.SEAT_HZ * (marks[number] - takes.SEAT_MARKS[number])))
    return found


def reseat(i):
    first, second = seat_phasors(i)
    angles = [math.radians(angle) for angle in i.numbers("reseat.angle", "deg")]
    angles = [0.0] * (2 - len(angles)) + angles
    if i.word("reseat.reference") == "label":       # the mark is the record's: the deck's share goes back by the angle
        first, second = (wave * cmath.exp(1j * angle) for wave, angle in zip((first, second), angles))
    turn = [cmath.exp(1j * angle) for angle in angles]
    record = (second - first) / (turn[1] - turn[0])
    deck = first - record * turn[0]
    # Marks a line on the platter: turned by θ, the record's wave comes θ earlier, that is, e^{iθ} further on.
    truth = {"reseat.deck": loose(abs(deck), 5e-3), "reseat.record": loose(abs(record), 5e-3)}
    radius = i.number("record.radius", "mm")
    across = math.cos(math.radians(i.number("arm.offset", "deg", 0.0)))
    truth["reseat.eccentricity"] = loose(abs(record) / 100 * radius * across, 5e-3)
    truth["row0:once"] = loose(abs(first), 5e-3)
    return truth


def reseat_more(sheet, _):
    return {"row0:once": sheet.table("reseat.seatings")[0]["first"]}


# -------------------------------------------------------------------------------------------------------------- ratio
def ratio_recordings(prog, i):
    return [take(prog, "still", takes.still), take(prog, "speed", takes.speed)] if i.has("take") else []


def ratio(i):
    if not i.has("take"):
        return model_drive.ratio(i)
    value = takes.TONE * takes.FAST / 3159.767
    return {"ratio.value": loose(value, 1e-5), "ratio.off": (100 * (value - 1), 1e-3), "ratio.tone_first": (3159.767, 2e-3)}


MODELS = {"speed": Model(speed, speed_recordings, speed_more),
          "startup": Model(startup, lambda prog, i: [take(prog, "start", takes.start)]),
          "bearing": Model(bearing, bearing_recordings), "reseat": Model(reseat, reseat_recordings, reseat_more),
          "ratio": Model(ratio, ratio_recordings)}
