# SPDX-License-Identifier: MIT
"""What a sheet of `side` ought to read on a drawn side: for each reading the truth of this take and of the deck.

The take's truth holds what the pressing adds (level of its bands, crosstalk of its cut); the deck's does not. Noise is the long run's, from
the spectra that it was drawn by: a ± says how far this stretch may lie from it. The curves of rumble are data/weighting's points, which
define the reading.
"""
import configparser
import math
import pathlib

import numpy as np

import side_model
import waves

WEIGHTING = pathlib.Path(__file__).resolve().parents[2] / "data" / "weighting"
SKIP = {"strapped", "dead_left", "dead_right", "open_ground", "exchanged_plan"}      # no pair of channels to compare
LIMIT = 5.0             # %, tracking.limit


def decibels(ratio):
    return 20 * math.log10(abs(ratio))


def curve(name, hz):
    """Power weighting at each frequency: straight lines over log f, outer slopes going on."""
    read = configparser.ConfigParser(interpolation=None)
    read.read(WEIGHTING / f"rumble-{name}.ini", encoding="utf-8")
    points = sorted((float(at), float(db)) for at, db in read["points"].items())
    at, db = np.log([p[0] for p in points]), np.array([p[1] for p in points])
    x = np.log(hz)
    out = np.interp(x, at, db)
    for end, near, outside in ((0, 1, x < at[0]), (-1, -2, x > at[-1])):
        slope = (db[end] - db[near]) / (at[end] - at[near])
        out = np.where(outside, db[end] + slope * (x - at[end]), out)
    return 10 ** (out / 10)


def first(side, kind, channel, below=2000):
    for number, band in enumerate(side.bands):
        if number in side.played and band.kind == kind and band.channel == channel and (band.frequency or 0) < below:
            return band
    return None


def uneven(side):
    """Gains the wiring adds to left and right."""
    gains = np.ones(2)
    if side.wiring == "weak":
        gains[side.side] = 10 ** (side.weak_db / 20)
    return gains


def crosstalk(side, pressed):
    """Balance, separations, azimuth."""
    left, right = first(side, "tone", "left"), first(side, "tone", "right")
    hz = left.frequency * side.speed
    matrix = np.array(side.through(np.array([hz])))[:, :, 0] * uneven(side)[:, None]
    if pressed:
        in_left, in_right = matrix @ side.directions(left) * left.error, matrix @ side.directions(right) * right.error
        turn = math.degrees(side.tilt + (side.cut_leak[0] - side.cut_leak[1]) / 2)
    else:
        in_left, in_right = matrix @ waves.A_LEFT, matrix @ waves.A_RIGHT
        turn = math.degrees(side.tilt)
    kind = ", leak one way" if side.leak_kind == "one_way" else ""
    return {"channels.balance": decibels(in_right[1] / in_left[0]), "channels.separation_left": decibels(in_right[1] / in_left[1]),
            "channels.separation_right": decibels(in_left[0] / in_right[0]), "azimuth.rotation" + kind: turn}


def noise_powers(side, hz):
    """Power a Hz of left, right, half their sum and half their difference, without lines, and what the motor's line is of each."""
    through = np.array(side.through(hz)) * uneven(side)[:, None, None]
    shapes = [2 * shape ** 2 / side_model.RATE for shape in side.noise_shapes(hz)]
    line = np.array(side.through(np.array([side.motor[1] * side.speed]))) * uneven(side)[:, None, None]
    white = 2 * side_model.HISS ** 2 / side_model.RATE
    out = {}
    for name, mix in (("left", (1, 0)), ("right", (0, 1)), ("lateral", (0.5, 0.5)), ("vertical", (0.5, -0.5))):
        ways = [abs(mix[0] * through[0, way] + mix[1] * through[1, way]) ** 2 * shapes[way] for way in (0, 1)]
        motor = abs(mix[0] * line[0, 0] + mix[1] * line[1, 0])[0] ** 2 * side.motor[0] ** 2 / 2
        gains = np.array(mix) * uneven(side)
        out[name] = (sum(ways) + float(np.sum(gains ** 2)) * white, motor, float(np.sum(gains)) ** 2)
    return out


def noise(side, pressed):
    """Where one channel comes and goes, of the other alone."""
    if first(side, "silence", None) is None:
        return {}
    heard = [1 - side.side] if side.wiring == "intermittent" else [0, 1]
    hz = np.arange(1.0, side_model.RATE / 2, 0.25)
    powers = noise_powers(side, hz)
    tone = first(side, "tone", "lateral")
    ten = np.array(side.through(np.array([1000.0])))[:, 0, 0] * uneven(side) * 10 * (tone.error if pressed and tone else 1)
    reference = float(np.mean(abs(ten[heard]) ** 2) / 2)
    motor_hz = np.array([side.motor[1] * side.speed])
    hum_hz = np.array([side.mains * n for n in range(1, len(side.hum) + 1)])
    hum_power = np.array([level ** 2 / 2 for level in side.hum])

    def level(names, weights):
        total = 0.0
        for name in names:
            broad, motor, hum = powers[name]
            total += float(np.sum(broad * weights(hz)) * 0.25 + motor * weights(motor_hz)[0])
            total += hum * float(np.sum(hum_power * weights(hum_hz))) if hum_hz.size else 0.0
        return 10 * math.log10(reference / (total / len(names)))

    both = [("left", "right")[channel] for channel in heard]
    out = {"noise.rumble_unweighted": level(both, lambda f: curve("unweighted", f)),
           "noise.rumble_weighted": level(both, lambda f: curve("weighted", f)),
           "noise.hiss": level(both, lambda f: ((f >= 1000) & (f <= 20000)).astype(float))}
    if side.wiring not in ("weak", "intermittent"):
        out["noise.rumble_lateral"] = level(("lateral",), lambda f: curve("unweighted", f))
        out["noise.rumble_vertical"] = level(("vertical",), lambda f: curve("unweighted", f))
        if side.hum:
            out["noise.hum" + ("" if side.mains_told else ", mains not told")] = 10 * math.log10(reference / float(np.sum(hum_power)))
    return out


def ticks(side):
    """A minute, in the silent band."""
    number = next((n for n, band in enumerate(side.bands) if band.kind == "silence" and n in side.played), None)
    if number is None:
        return {}
    begin, end = side.played[number][0]
    return {"noise.ticks": 60 * float(np.sum((side.tick_times >= begin) & (side.tick_times < end))) / (end - begin)}


def resonances(side):
    out = {}
    for way, channel in enumerate(("lateral", "vertical")):
        if any(band.kind == "sweep" and band.channel == channel and band.end_hz < 10 and number in side.played
               for number, band in enumerate(side.bands)):
            out[f"lowsweep.{channel}"], out[f"lowsweep.q_{channel}"] = side.resonances[way], side.qs[way]
    return out


def distortions(side, step_um, hz):
    """Harmonics 2 to 5 of left and right over the tone, %, as recorded, while the walls let go."""
    count = 4096
    phase = 2 * np.pi * np.arange(count) / count
    place = waves.groove("lateral", step_um * 1e-4 * np.sin(phase))
    inner, outer = (hold * 1e-4 / math.sqrt(2) for hold in side.holds())
    walls = np.stack([np.maximum(waves.A_LEFT @ place, -inner), np.minimum(waves.A_RIGHT @ place, outer)])
    moved = np.stack([walls[0] + walls[1], walls[0] - walls[1]]) * waves.ROOT
    orders = np.arange(1, 6)
    lines = np.fft.rfft(moved, axis=1)[:, 1:6] * orders
    through = np.array(side.through(hz * orders))
    heard = abs(np.einsum("cwf,wf->cf", through, lines))
    return 100 * np.sqrt(np.sum(heard[:, 1:] ** 2, axis=1)) / heard[:, 0]


def tracked(side):
    """The highest step passed, left and right; nothing where a step lies near the limit."""
    band = first(side, "steps", "lateral")
    if band is None or side.wiring == "intermittent":
        return {}
    out, kind = {}, ", bursts" if side.burst else ""
    table = np.array([distortions(side, step, band.frequency * side.speed) for step in band.steps])
    for row, name in enumerate(("left", "right")):
        if np.any((table[:, row] > 0.6 * LIMIT) & (table[:, row] < 1.5 * LIMIT)):
            continue
        passed = [step for number, step in enumerate(band.steps) if np.all(table[:number + 1, row] < LIMIT)]
        out[f"tracking.passed_{name}{kind}"] = float(passed[-1]) if passed else None
    return out


def truths(side):
    """Key (with what kind of case after a comma) to the take's and the deck's truth."""
    if side.wiring in SKIP:
        return {}
    out = {}
    for part in (crosstalk, noise):
        take, deck = part(side, True), part(side, False)
        kind = ", weak channel" if side.wiring == "weak" else ""
        out.update({key + kind: (take[key], deck[key]) for key in take})
    for part in (ticks, resonances, treble):
        out.update({key: (value, value) for key, value in part(side).items()})
    steps = first(side, "steps", "lateral")
    for key, value in tracked(side).items():        # the groove's own steps are as high as they were cut
        out[key] = (value, value and value * steps.error)
    heard = (side.speed - 1) * 100
    out["speed.error"] = (heard, heard + 100 * side.clock * side.speed)
    return out


def treble(side):
    """Resonance [kHz] and Q of each channel's treble, where sweeps were played that show it."""
    out = {}
    swept = {band.channel for number, band in enumerate(side.bands) if number in side.played and band.kind == "sweep" and band.end_hz > 1000}
    worn = ", worn" if side.worn_db else ""
    for channel, name in enumerate(("left", "right")):
        if swept & {name, "lateral"}:
            top, q = side.treble[channel]
            out[f"response.resonance_{name}{worn}"], out[f"response.q_{name}{worn}"] = top / 1000, q
    return out


def preamplifier(side, sheet):
    """Rows like readings() for the time constants, in microseconds."""
    try:
        rows = sheet.table("response.equalisation")
    except KeyError:
        return []
    found = {round(row["constant"]): row for row in rows}
    out = []
    for nominal, true in zip(side_model.TAUS, side.taus):
        row = found.get(round(1e6 * nominal))
        if row:
            out.append((f"response.equalisation {1e6 * nominal:.0f} us", row["found"], row["uncertainty"], [], 1e6 * true, 1e6 * true))
    return out


def sweep_leaks(side, sheet):
    """Rows like readings() for the crosstalk at thirds, where one channel alone is swept."""
    if side.wiring in ("weak", "intermittent"):
        return []
    try:
        rows = sheet.table("response.thirds")
    except KeyError:
        return []
    out = []
    for channel, name in enumerate(("left", "right")):
        band = next((one for number, one in enumerate(side.bands)
                     if number in side.played and one.kind == "sweep" and one.channel == name and one.end_hz > 1000), None)
        for row in rows if band else []:
            if row.get(f"crosstalk_{name}") is None or not 40 <= row["frequency"] <= 12500:
                continue
            heard = abs(np.array(side.through(np.array([row["frequency"]])))[:, :, 0] @ side.directions(band))
            truth = decibels(heard[1 - channel] / heard[channel])
            where = "to 160 Hz" if row["frequency"] < 170 else "above 160 Hz"
            out.append((f"response.crosstalk {where}", row[f"crosstalk_{name}"], row["crosstalk_uncertainty"], [], truth, truth))
    return out


def chain_db(side, channel, hz):
    """Level over that at 1 kHz of all from the groove on, against a perfect cartridge and preamplifier. The arm's tail is in it."""
    swept = [band for number, band in enumerate(side.bands) if number in side.played and band.kind == "sweep" and band.end_hz > 1000]
    band = next(band for name in (("left", "right")[channel], "lateral") for band in swept if band.channel == name)
    at = np.array([hz, 1000.0])
    heard = abs(np.array(side.through(at))[channel].T @ side.directions(band)) / abs(side_model.riaa(at))
    return decibels(heard[0] / heard[1])


def response(side, sheet):
    """Differences at thirds, 100 Hz to 16 kHz, dB, each with its ±."""
    if side.wiring in SKIP or side.wiring == "intermittent":
        return []
    try:
        rows = sheet.table("response.thirds")
    except KeyError:
        return []
    return [(row["frequency"], row[name] - chain_db(side, channel, row["frequency"]), row.get("uncertainty"))
            for row in rows for channel, name in ((0, "left"), (1, "right")) if row.get(name) is not None and 100 <= row["frequency"] <= 16000]


def readings(side, sheet):
    """One line a reading: key, the sheet's value and ±, flags, truths; the value is None where it is not shown."""
    out = []
    for key, (take, deck) in truths(side).items():
        reading = sheet.readings.get(key.split(",")[0])
        if reading is None or reading["value"] is None:
            if take is not None:
                out.append((key, None, None, [], take, deck))
        elif take is not None:
            out.append((key, reading["value"], reading.get("uncertainty"), reading["flags"], take, deck))
        else:
            out.append((key, reading["value"], None, reading["flags"], -1.0, -1.0))
    return out + ([] if side.wiring in SKIP else preamplifier(side, sheet) + sweep_leaks(side, sheet))
