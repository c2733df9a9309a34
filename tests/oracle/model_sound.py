# SPDX-License-Identifier: MIT
"""Truth of what is read from bands and grooves: channels, azimuth, noise, response, resonance, tracking, intermodulation, a side.

Each recording is made in takes.py or planned_side.py from stated numbers; what a statement makes of it is worked out here by hand:
a band named otherwise, a reference called otherwise, a record said to be cut otherwise.
"""
import configparser
import functools
import math
import os
import pathlib
import re

import numpy as np

import planned_side
import takes
import waves
from inputs import Model
from model_electric import Network, capacitance, riaa_db
from model_speed import loose, rates, take

DATA = pathlib.Path(os.environ.get("DECKWRIGHT_DATA", pathlib.Path(__file__).parents[2] / "data"))


def db(ratio):
    return 20 * math.log10(abs(ratio))


# ----------------------------------------------------------------------------------------------------------- channels
def bands_recordings(prog, i):
    kind = i.word("take", "bands")
    if kind == "tilts":
        return [take(prog, f"tilt{number}", lambda d=deg: takes.bands(takes.BANDS[:3], lean_deg=d))
                for number, deg in enumerate(TILTED)]
    if kind == "right_first":
        return [take(prog, "right-first", lambda: takes.bands(("right", "left", "lateral")))]
    return [take(prog, "bands", takes.bands)]


def band_at(i, key, preset):
    """Which band of the take is played in the seconds named for one; the preset where none is named."""
    if not i.has(key):
        return preset
    start = float(i.word(key).split(":")[0].rstrip("s"))
    return takes.BANDS[int(start // (takes.BAND + takes.PAUSE))]


def heard(direction):
    """Left and right amplitude of a band, with its sign."""
    walls = {"left": (1, 0), "right": (0, 1), "lateral": (math.sqrt(0.5),) * 2,
             "vertical": (math.sqrt(0.5), -math.sqrt(0.5))}[direction]
    return takes.BAND_LEVEL * takes.coils(takes.LEAN_DEG, takes.LEAK) @ np.array(walls)


def one_sided(i):
    """What the bands taken for the left and the right one gave, the wiring that follows from them put right."""
    one, other = heard(band_at(i, "channels.left", "left")), heard(band_at(i, "channels.right", "right"))
    first = "right_first" if i.word("take") == "right_first" else "left_first"
    if i.word("channels.order") != first and not i.has("channels.left"):
        return other[::-1], one[::-1], "swapped"      # the band that comes first is another channel's than said
    both = heard(band_at(i, "channels.both", "lateral"))
    return one, other, "none" if both[0] * both[1] > 0 else "reversed"


def channels(i):
    one, other, fault = one_sided(i)
    balance = db(other[1] / one[0]) - i.number("record.balance", "dB", 0.0)
    truth = {"channels.balance": (balance, 2e-3), "channels.level_left": (db(one[0]), 3e-3),
             "channels.level_right": (db(other[1]), 3e-3),
             "channels.separation_left": (db(other[1] / one[1]), 0.02),
             "channels.separation_right": (db(one[0] / other[0]), 0.02),
             "channels.polarity": "in opposite phase" if fault == "reversed" else "in phase", "channels.fault": fault,
             "channels.distortion_left": loose(100 * math.hypot(takes.SECOND, takes.THIRD), 3e-3)}
    if i.has("channels.velocity"):
        # Rms voltage over rms velocity of the channel; the replay curve is 1 at 1 kHz.
        for key, level in (("channels.sensitivity_left", one[0]), ("channels.sensitivity_right", other[1])):
            volt = level * i.number("channels.full_scale", "mV")            # a full-scale sine is the stated rms voltage
            truth[key] = loose(volt / (i.number("channels.velocity", "cm/s") / math.sqrt(2)), 2e-3)
            if i.has("cartridge.output"):
                truth[key.replace("sensitivity", "output")] = (db(5 * truth[key][0] / i.number("cartridge.output", "mV")), 0.02)
    return truth


TILTED = (1.9, 0.4)     # degrees that the top leans to the spindle in two recordings


def azimuth(i):
    if i.word("take") == "tilts":
        leans = np.array(TILTED)
        set_to = np.array(i.numbers("azimuth.tilt", "deg"))
        slope, start = np.polyfit(set_to, leans, 1)
        return {"azimuth.best_tilt": (-start / slope, 0.02), "azimuth.rotation": (-start / slope - set_to[-1], 0.02)}
    one, other, fault = one_sided(i)
    gain = abs(other[1] / one[0])
    right, left = one[1] / one[0] / gain, other[0] / other[1] * gain
    rotation = math.degrees((math.atan(right) - math.atan(left)) / 2)
    if fault == "reversed":
        rotation, right, left = -rotation, -right, -left      # a reversed channel turns the leaks' signs
    truth = {"azimuth.rotation": (rotation, 2e-3), "azimuth.leak": (-db((right + left) / 2), 0.1)}
    if i.has("azimuth.width"):
        turn = min(rotation, i.number("azimuth.limit", "deg"))
        truth["azimuth.shim"] = loose(i.number("azimuth.width", "mm") * math.tan(math.radians(turn)), 3e-3)
    return truth


# -------------------------------------------------------------------------------------------------------------- noise
def noise_recordings(prog, i):
    kind = i.word("take", "two")
    silent = take(prog, "silent", takes.silent)
    if kind == "one":
        return [take(prog, "silent-and-reference", takes.silent_with_reference)]
    if kind == "stated":
        return [silent]
    reference = take(prog, "reference", takes.reference)
    if kind == "pair":
        return [silent, take(prog, "quieter", lambda: takes.silent(0.25)), reference]
    return [silent, reference]


@functools.lru_cache(maxsize=None)
def curve_points(name):
    text = configparser.ConfigParser(delimiters="=", interpolation=None)
    text.read(DATA / "weighting" / f"rumble-{name}.ini", encoding="utf-8")
    return sorted((float(key), float(value)) for key, value in text["points"].items())


def curve_db(name, hz):
    """A weighting of data/weighting, which a technician may edit: straight between its points over the logarithm of frequency."""
    points = curve_points(name)
    x, y = np.log([hz_ for hz_, _ in points]), np.array([level for _, level in points])
    at = np.log(hz)
    below, above = y[0] + (at - x[0]) * (y[1] - y[0]) / (x[1] - x[0]), y[-1] + (at - x[-1]) * (y[-1] - y[-2]) / (x[-1] - x[-2])
    return np.where(at < x[0], below, np.where(at > x[-1], above, np.interp(at, x, y)))


def full_level(i):
    """Amplitude, parts of full scale, that the stated velocity of the datum has at 1 kHz, lateral."""
    datum = i.number("noise.datum", "cm/s")
    if i.word("take") == "stated":
        level, hz = 10 ** (i.number("noise.reference_level", "dB") / 20), i.number("noise.reference_tone", "Hz")
    else:
        level, hz = takes.REFERENCE, takes.REFERENCE_HZ
    if not i.has("noise.reference_velocity"):
        return level
    velocity = i.number("noise.reference_velocity", "cm/s") * 10 ** (i.number("record.level_error", "dB", 0.0) / 20)
    if i.word("noise.reference_direction") in ("left", "right"):
        velocity *= math.sqrt(2)          # a channel's velocity; a lateral cut of √2 as much drives both as far
    # What a tone of another frequency lost or gained in the replay curve is given back.
    return level * datum / velocity * 10 ** (-float(riaa_db(hz)) / 20)


def noise(i):
    over = full_level(i)
    flat = i.word("response.riaa") == "none"
    # Without a preamplifier the curve is applied to what was recorded.
    lost = lambda hz: 10 ** (float(riaa_db(hz)) / 20) if flat else 1.0
    mains = i.number("deck.mains", "Hz")
    lines = {"x": [(31.5, takes.RUMBLE_LATERAL)], "z": [(25.0, takes.RUMBLE_VERTICAL)],
             "hum": [(50.0, takes.HUM), (100.0, takes.HUM / 2)]}
    def power(name, kinds):
        return sum((amplitude * lost(hz) * 10 ** (curve_db(name, hz) / 20)) ** 2 for kind in kinds
                   for hz, amplitude in lines[kind])
    truth = {"noise.rumble_unweighted": (-10 * math.log10(power("unweighted", "x z hum".split()) / over ** 2), 0.2),
             "noise.rumble_lateral": (-10 * math.log10(power("unweighted", ["x", "hum"]) / over ** 2), 0.2),
             "noise.rumble_vertical": (-10 * math.log10(power("unweighted", ["z"]) / over ** 2), 0.2)}
    hum = sum((amplitude * lost(hz)) ** 2 for hz, amplitude in lines["hum"] if abs(hz / mains - round(hz / mains)) < 1e-6
              and hz >= mains)
    if hum:
        truth["noise.hum"] = (-10 * math.log10(hum / over ** 2), 0.2)
    hz = np.linspace(1000, takes.RATE / 2 * 0.999, 2000)
    shape = 10 ** (riaa_db(hz) / 10) if flat else np.ones_like(hz)
    hiss = takes.HISS ** 2 * np.trapz(shape, hz) / (takes.RATE / 2)
    truth["noise.hiss"] = (-10 * math.log10(2 * hiss / over ** 2), 0.3)
    if i.word("take") == "pair":
        truth["pair:change"] = (20 * math.log10(0.25), 0.3)
    if i.has("drive.kind"):
        truth.update({"line31:cause": noise_cause(i, 31.5), "line25:cause": noise_cause(i, 25.0)})
    return truth


def noise_cause(i, hz):
    """A line's part at the nominal speed, once or twice a turn within half a percent."""
    for name, (rate, _) in rates(i).items():
        for order in (1, 2):
            if name != "mains" and abs(hz / (rate * order) - 1) < 0.005:
                return name
    return "unknown"


def noise_more(sheet, i):
    more = {}
    if i.word("take") == "pair":
        more["pair:change"] = next(row["change"] for row in sheet.table("noise.pair") if row["what"] == "rumble, unweighted")
    if i.has("drive.kind"):
        for key, hz in (("line31:cause", 31.5), ("line25:cause", 25.0)):
            row = min(sheet.table("noise.lines"), key=lambda one, at=hz: abs(one["frequency"] - at))
            more[key] = row["cause"].split(" ×")[0]
    return more


# ----------------------------------------------------------------------------------------------------------- response
TREBLE = Network(0.5, 1000.0, 47e3, 350e-12)     # the coil and load of the take with a treble peak


def treble():
    rate = 48000
    phase, hz = takes.log_sweep(200, 20000, 12.0, rate)
    tone = 0.1 * np.sin(phase) * 10 ** (TREBLE.db(hz) / 20) * waves.fade(phase.size, rate, 0.002)
    sound = np.concatenate([np.zeros(rate), tone, np.zeros(rate)])
    return sound + waves.noise(sound.size, 1e-5, 1), sound + waves.noise(sound.size, 1e-5, 2)


def response_recordings(prog, i):
    if i.word("take") == "treble":
        return [take(prog, "treble", treble, 48000)]
    return [take(prog, "sweep", takes.sweep, takes.SWEEP_RATE)]


def cut_db(kind, hz):
    """Recorded velocity over that at 1 kHz for a record cut so."""
    w = lambda f: 2 * np.pi * f
    def bass(f):
        return 10 * np.log10(1 + (w(f) * 3180e-6) ** 2) - 10 * np.log10(1 + (w(f) * 318e-6) ** 2) - 20 * np.log10(w(f))
    if kind == "riaa":
        return -riaa_db(hz)
    if kind == "velocity":
        return 0.0 * hz
    if kind == "amplitude":
        return 20 * np.log10(hz / 1000)
    # Without the treble lift: the recording curve of 3180 and 318 µs alone.
    one = lambda f: -10 * np.log10(1 + (w(f) * 318e-6) ** 2) + 10 * np.log10(1 + (w(f) * 3180e-6) ** 2)
    return -(one(1000.0) - one(hz))


def response(i):
    if i.word("take") == "treble":
        return response_treble(i)
    hz = np.array([100.0, 3150.0, 8000.0])
    flat = takes.SLOPE_DB * np.log2(hz / 1000)
    cut = i.word("response.cut")
    replayed = riaa_db(hz) if i.word("response.riaa") == "applied" else 0.0
    # Heard = cut + replay + cartridge; what is left is the cartridge's.
    left = flat - cut_db(cut, hz) - replayed
    name = "right" if i.word("response.channel") == "right" else "left"
    truth = {f"{name}:{f:g}": (float(level), 0.12) for f, level in zip(hz, left)}
    wide = np.geomspace(100, 10000, 2001)
    whole = takes.SLOPE_DB * np.log2(wide / 1000) - cut_db(cut, wide) - (riaa_db(wide)
                                                                         if i.word("response.riaa") == "applied" else 0.0)
    truth[f"response.departure_{name}"] = (float(whole[np.argmax(np.abs(whole))]), 0.15)
    if name == "left":
        truth["leak:3150"] = (takes.LEAK_DB, 0.1)
    return truth


def response_treble(i):
    if not i.has("cartridge.inductance"):
        return {}
    if i.has("load.step_up"):
        return {}
    net = Network(i.number("cartridge.inductance", "mH") * 1e-3, i.number("cartridge.resistance", "ohm"),
                  i.number("preamp.resistance", "kohm") * 1e3, capacitance(i))
    where, height = net.peak()
    explained = abs(math.log2(where / TREBLE.peak()[0])) < 0.5 and abs(height - TREBLE.peak()[1]) < 1.5
    if not explained:
        height = float(net.db(9792.0))      # then the sheet says what the load does at the peak that was measured
    # The load that gives the stated coil the resonance and the damping that the take was made with.
    square, damping = (1 + TREBLE.ohm / TREBLE.load) / (TREBLE.henry * TREBLE.farad), TREBLE.ohm / TREBLE.henry + 1 / (TREBLE.load * TREBLE.farad)
    leak = damping - net.ohm / net.henry
    asked = net.henry * square - net.ohm * leak
    return {"load:peak": (height, 0.07), "load:explains": "yes" if explained else "no",
            "response.capacitance_left": loose(1e12 / asked, 0.03), "response.load_left": loose(asked / leak / 1000, 0.04)}


def response_more(sheet, i):
    if i.word("take") == "treble":
        words = " ".join(sheet.said("treble"))
        told = re.search(r"([\d.]+) dB at [\d.]+ Hz is computed|load explains ([\d.]+) dB", words)
        return {"load:peak": float(told[1] or told[2]) if told else None, "load:explains": "yes"
                if "is the loading's" in words else "no"} \
            if i.has("cartridge.inductance") else {}
    more = {}
    for row in sheet.table("response.thirds"):
        for name in ("left", "right"):
            if row[name] is not None and row["frequency"] in (100.0, 3150.0, 8000.0):
                more[f"{name}:{row['frequency']:g}"] = row[name]
        if row["frequency"] == 3150.0 and row["crosstalk_left"] is not None:
            more["leak:3150"] = row["crosstalk_left"]
    return more


# ----------------------------------------------------------------------------------------------------------- lowsweep
def lowsweep_recordings(prog, i):
    kind = i.word("take", "velocity")
    return [take(prog, "low-" + kind, lambda: takes.low_sweep(kind), takes.LOW_RATE)]


def lowsweep(i):
    """Where the statement fits the recording the arm comes back; else only that the reading moves is known."""
    kind = i.word("take", "velocity")
    said = (i.word("lowsweep.cut"), i.word("response.riaa"), i.word("lowsweep.subsonic"))
    fits = {"velocity": ("velocity", "none", "no"), "amplitude": ("amplitude", "none", "no"),
            "replayed": ("velocity", "applied", "no"),
            "subsonic": ("velocity", "applied", "yes")}[kind]
    if said != fits:
        return {}
    if i.word("lowsweep.order") == "vertical_first":    # the one sweep is told to be vertical
        return {"lowsweep.vertical": (takes.ARM_HZ, 0.06), "lowsweep.q_vertical": (takes.ARM_Q, 0.12)}
    truth = {"lowsweep.lateral": (takes.ARM_HZ, 0.06), "lowsweep.q_lateral": (takes.ARM_Q, 0.12)}
    mass = i.number("arm.lateral_mass", "g", i.number("arm.effective_mass", "g"))
    if mass is not None and i.has("cartridge.mass"):
        mass += i.number("cartridge.mass", "g") + i.number("cartridge.hardware_mass", "g")
        compliance = 1e6 / ((2 * math.pi * takes.ARM_HZ) ** 2 * mass)
        truth["lowsweep.compliance_lateral"] = loose(compliance, 0.012)
        share = math.hypot(i.number("arm.mass_tolerance", "g") / mass, 2 * 0.0255 / takes.ARM_HZ)
        truth["lowsweep.compliance_lateral±"] = loose(compliance * share, 0.15)
    return truth


# ----------------------------------------------------------------------------------------------------------- tracking
def tracking_recordings(prog, i):
    kind = i.word("take", "one")
    if kind == "early":
        return [take(prog, "steps", takes.steps), take(prog, "steps-early", lambda: takes.steps(hold=(64.0, 64.0)))]
    return [take(prog, "steps", takes.steps)]


@functools.lru_cache(maxsize=None)
def step_distortion(um, hold, sign, rate=takes.RATE):
    """Harmonics 2 to 5 of a velocity whose place is cut off on one side, in percent of the tone."""
    count = 60000
    place = um * np.sin(2 * np.pi * np.arange(count) / count)
    place = np.minimum(place, hold) if sign > 0 else np.maximum(place, -hold)
    # Velocity by differences of neighbours at the take's rate.
    lines = np.abs(np.fft.rfft(place))[:6] * np.sin(2 * np.pi * takes.STEP_HZ / rate * np.arange(6))
    return 100 * math.sqrt(np.sum(lines[2:6] ** 2)) / lines[1]


def tracking(i):
    levels = i.numbers("tracking.level", "um") or [level for level, _ in i.pairs("tracking.step", "um", "s")]
    order = sorted(range(len(levels)), key=lambda number: levels[number])
    limit = i.number("tracking.limit", "%")
    truth, first = {}, None
    start = i.number("record.start", "s", 0.0)
    played = [number for number in range(len(takes.STEPS_UM)) if 5.0 * number >= start - 0.5
              and 5.0 * number + 4.0 <= i.number("record.end", "s", 99.0) + 0.5]
    measured = {}
    left_holds = 64.0 if i.word("take") == "early" else takes.HOLD_UM[0]     # the worse of two recordings
    for name, hold, sign in (("left", left_holds, -1), ("right", takes.HOLD_UM[1], 1)):
        measured[name] = [step_distortion(takes.STEPS_UM[number], hold, sign) for number in played]
        passed = 0
        while passed < len(played) and measured[name][passed] <= limit:
            passed += 1
        truth[f"tracking.passed_{name}"] = levels[order[passed - 1]] if passed else None
        first = passed if first is None else min(first, passed)
    if first < len(played):
        left, right = measured["left"][first], measured["right"][first]
        truth["tracking.asymmetry"] = (100 * (right - left) / (right + left), 0.6)
    return {key: value for key, value in truth.items() if value is not None}


# ----------------------------------------------------------------------------------------------------------- intermod
def intermod(_):
    return {"intermod.left": loose(100 * takes.DEPTH, 2e-3), "intermod.right": loose(100 * takes.DEPTH, 2e-3)}


# --------------------------------------------------------------------------------------------------------------- side
SIDE_LEAN, SIDE_BIAS, SIDE_RUMBLE = 1.2, 0.12, (0.012, 0.004)        # degrees; inwards over the force; cm/s rms sideways, up and down


def side_recordings(prog, _):
    for name, steps in (("short.plan", planned_side.STEPS_UM), ("loud.plan", [2 * um for um in planned_side.STEPS_UM])):
        prog.recording(name).write_text(planned_side.plan(steps))
    bare = "\n".join(line for line in planned_side.plan().splitlines() if not line.startswith("radius"))
    prog.recording("bare.plan").write_text(bare + "\n")        # a plan that states no radii
    return [take(prog, "side", lambda: planned_side.play(SIDE_LEAN, SIDE_BIAS, rumble=SIDE_RUMBLE), planned_side.RATE)]


def side_rumble(i, velocity):
    """White noise of the groove behind the replay curve and curve A, dB under the datum."""
    hz = np.geomspace(1, 10000, 6000)
    replay = riaa_db(hz) if i.word("response.riaa") == "none" else 0.0
    gain = 10 ** ((replay + curve_db("unweighted", hz)) / 10)
    power = velocity ** 2 * np.trapz(gain, hz) / (planned_side.RATE / 2)
    # A tone that is louder than stated makes all else of the side faster.
    datum_db = 20 * math.log10(i.number("noise.datum", "cm/s") / math.sqrt(2)) - i.number("record.level_error", "dB", 0.0)
    return datum_db - 10 * math.log10(power), 1.2


def side(i):
    """The side as it was made: each band has its own truth, told by the model of its own page."""
    hz = 1000.0 * (1 + i.number("chain.clock_error", "ppm", 0.0) * 1e-6)
    louder = 2.0 if i.word("record.plan") == "loud.plan" else 1.0
    limit = i.number("tracking.limit", "%")
    def passed(hold, sign):
        held = [um for um in planned_side.STEPS_UM if step_distortion(um, hold, sign, planned_side.RATE) <= limit]
        return louder * held[-1]
    inner, outer = planned_side.holds(SIDE_BIAS)
    nominal = 100 / 3        # the plan's: it says for which speed its tones are engraved, whatever the deck is set to
    leak = -db(math.tan(math.radians(SIDE_LEAN)))
    turn = math.radians(min(SIDE_LEAN, i.number("azimuth.limit", "deg")))
    radius = i.number("record.radius", "mm", planned_side.lateral_radius())
    truth = {"side.found": 8.0, "side.missing": 0.0, "tone.frequency": (hz, 2e-3), "speed.mean": (nominal * hz / 1000, 2e-4),
             "channels.fault": "none", "channels.balance": (-i.number("record.balance", "dB", 0.0), 0.01), "channels.separation_left": (leak, 0.05),
             "channels.separation_right": (leak, 0.05),
             "azimuth.rotation": (SIDE_LEAN, 5e-3),
             "azimuth.shim": loose(i.number("azimuth.width", "mm") * math.tan(turn), 6e-3),
             "lowsweep.lateral": (planned_side.LATERAL_HZ, 0.08), "lowsweep.vertical": (planned_side.VERTICAL_HZ, 0.1),
             "lowsweep.q_lateral": (4.0, 0.2),
             "noise.rumble_lateral": side_rumble(i, SIDE_RUMBLE[0]), "noise.rumble_vertical": side_rumble(i, SIDE_RUMBLE[1]),
             "tracking.passed_left": passed(inner, -1), "tracking.passed_right": passed(outer, 1),
             "radius:once": (radius * math.cos(math.radians(i.number("arm.offset", "deg", 0.0))), 0.02)}
    if i.has("arm.effective_mass"):
        rest = i.number("cartridge.mass", "g") + i.number("cartridge.hardware_mass", "g")
        for name, at, arm in (("lateral", planned_side.LATERAL_HZ,
                               i.number("arm.lateral_mass", "g", i.number("arm.effective_mass", "g"))),
                              ("vertical", planned_side.VERTICAL_HZ, i.number("arm.effective_mass", "g"))):
            truth[f"lowsweep.compliance_{name}"] = loose(1e6 / ((2 * math.pi * at) ** 2 * (arm + rest)), 0.02)
    if i.has("channels.velocity"):
        volt = planned_side.SCALE * 3.5355 * math.cos(math.radians(SIDE_LEAN)) * i.number("channels.full_scale", "mV")
        truth["channels.sensitivity_left"] = loose(volt / (i.number("channels.velocity", "cm/s") / math.sqrt(2)), 3e-3)
        if i.has("cartridge.output"):
            truth["channels.output_left"] = (db(5 * truth["channels.sensitivity_left"][0] / i.number("cartridge.output", "mV")), 0.03)
    return truth


def side_more(sheet, _):
    return {"radius:once": 100 * sheet.value("revolution.eccentricity") / sheet.value("revolution.amplitude")}


# ----------------------------------------------------------------------------------------------------------- pressing
LOUDER_DB = 0.5         # of the second take's right channel


def pressing_recordings(prog, i):
    side_recordings(prog, i)
    def louder():
        left, right = planned_side.play(SIDE_LEAN, SIDE_BIAS, rumble=SIDE_RUMBLE)
        return left, right * 10 ** (LOUDER_DB / 20)
    def again():
        left, right = planned_side.play(SIDE_LEAN, SIDE_BIAS, rumble=SIDE_RUMBLE)
        return np.append(left, 1e-3), np.append(right, 1e-3)    # another take, whose bands are the same
    one = take(prog, "side", lambda: planned_side.play(SIDE_LEAN, SIDE_BIAS, rumble=SIDE_RUMBLE), planned_side.RATE)
    return [one, take(prog, "louder side", louder, planned_side.RATE), take(prog, "side again", again, planned_side.RATE)]


def pressing(i):
    """Of two decks each differs by half of what is between them, one up and one down."""
    second = i.word("pressing.decks").split(",")[1]
    return {"pressing.takes": 3.0, "share:two": ((0.5 if second == "two" else -0.5) * LOUDER_DB, 0.01)}


def pressing_more(sheet, i):
    two = "deck_1" if i.word("pressing.decks").startswith("two") else "deck_2"      # in the order that they are first named
    return {"share:two": next(row[two] for row in sheet.table("pressing.decks") if row["reading"].startswith("Channel balance"))}


MODELS = {"pressing": Model(pressing, pressing_recordings, pressing_more), "side": Model(side, side_recordings, side_more), "channels": Model(channels, bands_recordings),
          "azimuth": Model(azimuth, bands_recordings), "noise": Model(noise, noise_recordings, noise_more),
          "response": Model(response, response_recordings, response_more), "lowsweep": Model(lowsweep, lowsweep_recordings),
          "tracking": Model(tracking, tracking_recordings),
          "intermod": Model(intermod, lambda prog, i: [take(prog, "two-tones", takes.two_tones)])}
