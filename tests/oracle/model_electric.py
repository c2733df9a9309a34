# SPDX-License-Identifier: MIT
"""Truth of cartridge loading, replay equalisation and the arm's resonance.

The network is solved by its nodes' admittances, peaks and corners are searched for, hiss is integrated: Nyquist 1928, 4kT·Re Z.
Source (published): time constants 3180, 318, 75 µs (IEC 60098; published secondary text) and 7950 µs for the subsonic term.
"""
import functools
import math
import re

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from inputs import STANDARD_G, Model

BOLTZMANN = 1.380649e-23


class Network:
    """Coil in series with its resistance into a resistor and a capacitor; levels over the bass."""

    def __init__(self, henry, ohm, load, farad, tip=None):
        self.henry, self.ohm, self.load, self.farad, self.tip = henry, ohm, load, farad, tip

    def gain(self, hz):
        s = 2j * np.pi * np.asarray(hz, float)
        source = 1 / (self.ohm + s * self.henry)
        return np.abs(source / (source + 1 / self.load + s * self.farad))

    def db(self, hz):
        level = 20 * np.log10(self.gain(hz) / self.gain(1e-3))
        if self.tip:
            x = np.asarray(hz, float) / self.tip[0]
            level = level - 10 * np.log10((1 - x * x) ** 2 + (x / self.tip[1]) ** 2)
        return level

    def impedance(self, hz):
        s = 2j * np.pi * np.asarray(hz, float)
        return 1 / (1 / (self.ohm + s * self.henry) + 1 / self.load + s * self.farad)

    def peak(self):
        found = minimize_scalar(lambda x: -float(self.db(10 ** x)), bounds=(2.3, 6.5), method="bounded",
                                options={"xatol": 1e-9})
        return 10 ** found.x, -found.fun

    def corner(self):
        start = math.log10(max(self.peak()[0], 100.0))
        return 10 ** brentq(lambda x: float(self.db(10 ** x)) + 20 * math.log10(math.sqrt(2)), start, 8, xtol=1e-12)

    def natural(self):
        """Where the phase has turned by a quarter: found on the denominator, the source's numerator being a constant."""
        def real(log_hz):
            s = 2j * np.pi * 10 ** log_hz
            return ((self.ohm + s * self.henry) * (1 / self.load + s * self.farad) + 1).real
        hz = 10 ** brentq(real, 2, 8, xtol=1e-13)
        return hz, float(self.gain(hz) / self.gain(1e-3))     # a second-order low-pass stands at Q there

    def departure(self, top, every=1):
        return np.max(np.abs(self.db(audible(top)[::every])))


@functools.lru_cache(maxsize=None)
def audible(top):
    return np.geomspace(20, top, 4001)


def riaa_db(hz, subsonic=False):
    """Replay curve over 1 kHz."""
    def raw(f):
        w = 2 * np.pi * np.asarray(f, float)
        level = 10 * np.log10(1 + (w * 318e-6) ** 2) - 10 * np.log10(1 + (w * 3180e-6) ** 2) - 10 * np.log10(1 + (w * 75e-6) ** 2)
        return level - (10 * np.log10(1 + 1 / (w * 7950e-6) ** 2) if subsonic else 0)
    return raw(hz) - raw(1000.0)


# Source (published): IEC 61672-1:2013, table 3, from memory; nominal frequency and A-weighting [dB].
A_TABLE = ((20, -50.5), (25, -44.7), (31.5, -39.4), (40, -34.6), (50, -30.2), (63, -26.2), (80, -22.5), (100, -19.1), (125, -16.1),
           (160, -13.4), (200, -10.9), (250, -8.6), (315, -6.6), (400, -4.8), (500, -3.2), (630, -1.9), (800, -0.8), (1000, 0.0),
           (1250, 0.6), (1600, 1.0), (2000, 1.2), (2500, 1.3), (3150, 1.2), (4000, 1.0), (5000, 0.5), (6300, -0.1), (8000, -1.1),
           (10000, -2.5), (12500, -4.3), (16000, -6.6), (20000, -9.3))


def a_db(hz):
    """The standard's table, straight between its points over the logarithm of frequency: good to some 0.1 dB."""
    exact = [10 ** (round(10 * math.log10(nominal)) / 10) for nominal, _ in A_TABLE]
    return np.interp(np.log(hz), np.log(exact), [level for _, level in A_TABLE])


def hiss_uv(network, kelvin, equalised, current=None, weighted=False):
    """Rms from 20 Hz to 20 kHz in µV: thermal, or of an amplifier's (voltage nV, current pA)."""
    hz = np.geomspace(20, 20000, 20001)
    z = network.impedance(hz)
    if current is None:
        density = 4 * BOLTZMANN * kelvin * z.real
    else:
        density = (current[0] * 1e-9) ** 2 + (current[1] * 1e-12 * np.abs(z)) ** 2
    weight = 10 ** (riaa_db(hz) / 10) if equalised else 1.0
    if weighted:
        weight = weight * 10 ** (a_db(hz) / 10)
    return 1e6 * math.sqrt(np.trapz(density * weight, hz))


def cable(i):
    if i.has("cable.capacitance"):
        return i.number("cable.capacitance", "pF")
    return i.number("cable.length", "m") * i.number("cable.capacitance_per_length", "pF/m")


def parts(i):
    henry, load_ohm = i.number("cartridge.inductance", "mH") * 1e-3, i.number("preamp.resistance", "kohm") * 1e3
    return henry, i.number("cartridge.resistance", "ohm"), load_ohm


def capacitance(i):
    """As the coil sees it, in farad: a step-up shows what lies behind it n² times, the arm's wire lies before it."""
    ratio = i.number("load.step_up", "", 1.0)
    arm, rest = i.number("arm.wire_capacitance", "pF"), cable(i) + i.number("preamp.capacitance", "pF")
    return (arm + rest * ratio ** 2) * 1e-12


def load(i):
    henry, ohm, resistor = parts(i)
    ratio = i.number("load.step_up", "", 1.0)
    total = i.number("arm.wire_capacitance", "pF") + cable(i) + i.number("preamp.capacitance", "pF")
    net = Network(henry, ohm, resistor / ratio ** 2, capacitance(i))
    kelvin = i.number("load.temperature", "degC") + 273.15
    natural, q = net.natural()
    truth = {"load.capacitance": total, "load.natural": natural, "load.q": q,
             "load.corner": (net.corner(), 1e-6 * net.corner()),
             "load.divider": 20 * math.log10(net.load / (net.load + ohm)),
             "load.at_top": (float(net.db(i.number("load.top", "Hz"))), 1e-6),
             "load.departure": (net.departure(i.number("load.top", "Hz")), 2e-4)}
    where, height = net.peak()
    if height > 1e-3:
        truth.update({"load.peak": (height, 1e-6), "load.peak_frequency": (where, 1e-4 * where)})
    for key, equal in (("load.noise_flat", False), ("load.noise", True)):
        truth[key] = (hiss_uv(net, kelvin, equal), 2e-4 * hiss_uv(net, kelvin, equal))
    by_ear = hiss_uv(net, kelvin, True, weighted=True)
    truth["load.noise_a"] = (by_ear, 0.005 * by_ear)     # the table is rounded to 0.1 dB, which evens out
    # A moving magnet's output is stated into the usual 47 kΩ, a moving coil's is the coil's own, before the transformer loads it.
    usual = 47e3 / (47e3 + ohm) if ratio == 1.0 else 1.0
    output = i.number("cartridge.output", "mV") * 1e3 * net.load / (net.load + ohm) / usual
    truth["load.signal_to_noise"] = (20 * math.log10(output / truth["load.noise"][0]), 2e-3)
    truth["load.signal_to_noise_a"] = (20 * math.log10(output / by_ear), 0.045)
    if ratio == 1.0:
        truth.update(load_best(i, net, henry, ohm, resistor, total))
    else:
        truth.update({"load.seen": net.load, "load.times": net.load / ohm,
                      "load.step_up_wanted": (step_up_wanted(i, ohm, resistor), 1e-4)})
    truth.update(load_faults(i, net, output, truth["load.noise"][0], by_ear))
    truth.update(load_spread(i, henry, ohm, net))
    truth.update(shelf(i, net, total))
    return truth


def shelf(i, net, total):
    """Every lead tried, with the capacitor that brings it to the maker's least; the one of the least departure that the maker allows."""
    if not i.has("load.lead"):
        return {}
    low, high, top = i.number("cartridge.load_low", "pF"), i.number("cartridge.load_high", "pF"), i.number("load.top", "Hz")
    tried = []
    for lead in i.numbers("load.lead", "pF"):
        whole = total - cable(i) + lead
        add = max(0.0, low - whole)
        tried.append((whole > high, Network(net.henry, net.ohm, net.load, (whole + add) * 1e-12).departure(top), lead, add))
    _, departure, lead, add = min(tried)
    return {"shelf:lead": lead, "shelf:departure": (departure, 2e-3), "shelf:add": add}


def load_more(sheet, inputs):
    """The lead that the sheet says to take, and its row."""
    if not inputs.has("load.lead"):
        return {}
    named = float(re.search(r"take the one of (\d+) pF", sheet.said("leads at hand")[0])[1])
    row = next(row for row in sheet.table("load.shelf") if round(row["lead"]) == named)
    return {"shelf:lead": named, "shelf:departure": row["departure"], "shelf:add": row["add"]}



@functools.lru_cache(maxsize=None)
def flattest(henry, ohm, resistor, tip, top):
    """Capacitance [pF] of the least departure, and that: every eighth frequency tells about where it lies."""
    depart = lambda farad, every=1: Network(henry, ohm, resistor, farad * 1e-12, tip).departure(top, every)
    start = min(np.linspace(20, 400, 381), key=lambda farad: depart(farad, 8))
    least = minimize_scalar(depart, bounds=(start - 2, start + 2), method="bounded", options={"xatol": 1e-4})
    return least.x, least.fun


def load_best(i, net, henry, ohm, resistor, total):
    """Maximally flat by search: no part of the response above the bass, and none lower at the knee."""
    def q_of(load_ohm, farad):
        return Network(henry, ohm, load_ohm, farad).natural()[1] - math.sqrt(0.5)
    best = brentq(lambda x: q_of(resistor, x * 1e-12), 5, 5000, xtol=1e-9)
    truth = {"load.best_capacitance": (best, 1e-5 * best),
             "load.best_resistance": (brentq(lambda x: q_of(x * 1e3, net.farad), 1, 500, xtol=1e-9), 1e-4)}
    tip = (i.number("cartridge.tip_resonance", "Hz"),
           i.number("cartridge.tip_q", "")) if i.has("cartridge.tip_resonance") else None
    top = i.number("load.top", "Hz")
    flat, departure = flattest(henry, ohm, resistor, tip, top)
    truth["load.least_departure"] = (departure, 3e-3)
    truth["load.least_capacitance"] = (flat, 0.4)
    # The maker's limit goes first, then the flattest with the stylus where that is known, then the flattest of the electrical part.
    limit = i.number("cartridge.load_high", "pF") if i.has("cartridge.load_high") else flat if tip else best
    loose = 0.4 if tip else 1e-3
    truth["load.room"] = (limit - total, loose)
    truth["load.room_length"] = ((limit - total) / i.number("cable.capacitance_per_length", "pF/m"), loose / 100)
    return truth


def step_up_wanted(i, ohm, resistor):
    """Turns that give 5 mV: n·R_L/(n²R + R_L) of the coil's own."""
    times = 5.0 / i.number("cartridge.output", "mV")
    return brentq(lambda n: n * resistor / (n * n * ohm + resistor) - times, 0.1, math.sqrt(resistor / ohm))


def load_faults(i, net, output, own, own_by_ear):
    truth = {}
    if i.has("cable.contact_resistance") or i.has("cable.leakage_resistance"):
        leak = i.number("cable.leakage_resistance", "kohm", 1e12) * 1e3
        worn = Network(net.henry, net.ohm + i.number("cable.contact_resistance", "ohm", 0.0), 1 / (1 / net.load + 1 / leak),
                       net.farad)
        for key, hz in (("load.lead_loss", 1e3), ("load.lead_loss_10k", 1e4)):
            truth[key] = (20 * math.log10(float(net.gain(hz) / worn.gain(hz))), 1e-6)
    if i.has("preamp.noise_voltage"):
        amplifier = hiss_uv(net, 0, True, (i.number("preamp.noise_voltage", "nV/rtHz"),
                                           i.number("preamp.noise_current", "pA/rtHz")))
        all_of_it = math.hypot(amplifier, own)
        by_ear = math.hypot(own_by_ear, hiss_uv(net, 0, True, (i.number("preamp.noise_voltage", "nV/rtHz"),
                                                               i.number("preamp.noise_current", "pA/rtHz")), weighted=True))
        truth.update({"load.preamp_noise": (amplifier, 2e-4 * amplifier),
                      "load.total_signal_to_noise": (20 * math.log10(output / all_of_it), 2e-3),
                      "load.total_signal_to_noise_a": (20 * math.log10(output / by_ear), 0.045),
                      "load.noise_added": (20 * math.log10(all_of_it / own), 2e-3)})
    return truth


def load_spread(i, henry, ohm, net):
    """The peak's ± by moving inductance and capacitance; measured parts ±5 pF each, presets as docs/methods.md states them."""
    off = math.sqrt(sum((5 if i.has(key) else preset) ** 2
                        for key, preset in (("arm.wire_capacitance", 20), ("preamp.capacitance", 85)))
                    + (5 if i.has("cable.capacitance") else 0) ** 2)
    tolerance = i.number("cartridge.inductance_tolerance", "%") / 100
    if i.has("load.step_up"):
        return {}
    truth = {"load.capacitance±": (off, 0.02 * off)} if i.has("cable.capacitance") else {}
    at = lambda coil, farad: Network(coil, ohm, net.load, farad).natural()[0]
    middle = at(henry, net.farad)
    # The wider side of each.
    by_coil = max(abs(at(henry * (1 + sign * tolerance), net.farad) - middle) for sign in (-1, 1))
    by_lead = max(abs(at(henry, net.farad + sign * off * 1e-12) - middle) for sign in (-1, 1))
    both = math.hypot(by_coil, by_lead)
    if i.has("cable.capacitance"):
        truth["load.natural±"] = (both, 0.08 * both)
    return truth


def riaa(i):
    truth = {"riaa.corner_bass": 1 / (2 * math.pi * 3180e-6), "riaa.corner_middle": 1 / (2 * math.pi * 318e-6),
             "riaa.corner_treble": 1 / (2 * math.pi * 75e-6),
             "riaa.corner_subsonic": 1 / (2 * math.pi * 7950e-6)}
    for number, hz in enumerate(i.numbers("riaa.frequency", "Hz")):
        truth[f"row{number}:replay"], truth[f"row{number}:recording"] = (float(riaa_db(hz)), 1e-6), (-float(riaa_db(hz)), 1e-6)
        truth[f"row{number}:replay_subsonic"] = (float(riaa_db(hz, True)), 1e-6)
    for number, (hz, level) in enumerate(i.pairs("riaa.measured", "Hz", "dB")):
        truth[f"measured{number}:deviation"] = (level - float(riaa_db(hz)), 1e-6)
        truth[f"measured{number}:deviation_subsonic"] = (level - float(riaa_db(hz, True)), 1e-6)
    off = [truth[key][0] for key in truth if key.endswith(":deviation")]
    if off:
        truth["riaa.deviation"] = (max(map(abs, off)), 1e-6)
        truth["riaa.deviation_subsonic"] = (max(abs(truth[key][0]) for key in truth if key.endswith(":deviation_subsonic")),
                                            1e-6)
    return truth


def riaa_more(sheet, i):
    more = {}
    for number in range(len(i.words.get("riaa.frequency", []))):
        row = sheet.table("riaa.table")[number]
        more.update({f"row{number}:{key}": row[key] for key in ("replay", "replay_subsonic", "recording")})
    for number in range(len(i.words.get("riaa.measured", []))):
        row = sheet.table("riaa.measured")[number]
        more.update({f"measured{number}:{key}": row[key] for key in ("deviation", "deviation_subsonic")})
    return more


def likely_share(i):
    """How a stated compliance counts at 10 Hz: least, likely, most (rules of thumb, as docs/methods.md states them)."""
    if not i.has("cartridge.compliance_frequency"):
        return 0.4, 1.0, 2.0
    at = i.number("cartridge.compliance_frequency", "Hz")
    return {10.0: (1.0, 1.0, 1.0), 100.0: (1.5, math.sqrt(3.0), 2.0), 0.0: (0.4, 0.5, 1.0)}[at]


def resonance_hz(mass_g, compliance):
    return 1 / (2 * math.pi * math.sqrt(mass_g * 1e-3 * compliance * 1e-3))


def resonance(i):
    rest = i.number("cartridge.mass", "g") + i.number("cartridge.hardware_mass", "g")
    arm, likely = i.number("arm.effective_mass", "g"), likely_share(i)[1]
    sideways = i.number("cartridge.compliance", "um/mN") * likely
    upright = i.number("cartridge.compliance_vertical", "um/mN", i.number("cartridge.compliance", "um/mN")) * likely
    lateral = resonance_hz(i.number("arm.lateral_mass", "g", arm) + rest, sideways)
    vertical = resonance_hz(arm + rest, upright)
    target, q, mass = i.number("resonance.target", "Hz"), i.number("resonance.q", ""), arm + rest
    found = resonance_found(i, rest)
    if found:    # what a sweep of this very arm found is what it has
        vertical, mass, upright = i.number("resonance.found", "Hz"), found["resonance.mass"], found["resonance.compliance"]
        lateral = resonance_hz(mass + i.number("arm.lateral_mass", "g", arm) - arm, upright)
    wanted = 1e6 / ((2 * math.pi * target) ** 2 * upright)
    truth = {"resonance.lateral": lateral, "resonance.vertical": vertical, "resonance.added": wanted - mass}
    # The stylus's swing against the arm over the groove's: the arm as a mass on a spring with a loss.
    def level(x):
        return 20 * math.log10(abs(-x * x / (1 - x * x + 1j * x / q)))
    top = minimize_scalar(lambda x: -level(x), bounds=(0.7, 3), method="bounded", options={"xatol": 1e-10})
    truth["resonance.peak"] = (-top.fun, 1e-6)
    truth["resonance.at_20hz"] = (level(20 / vertical), 1e-6)
    reading = 1.96 * i.number("resonance.found_error", "Hz")
    truth["size:vertical±"] = (reading, 0.03 * reading) if found else resonance_spread(i, arm + rest, upright, likely_share(i))
    truth.update(found)
    if i.has("force.target"):
        for number, (height, hz) in enumerate(((1.0, 0.556), (1.0, 1.111))):
            pull = warp_force(height, hz, arm + rest, vertical, q)
            truth[f"warp{number}:share"] = 100 * pull / (i.number("force.target", "g") * STANDARD_G)
    return truth


def warp_force(height, hz, mass, resonance_at, q):
    """Peak force in mN on the stylus by a warp of a height from bottom to top: the arm's mass times its acceleration."""
    x = hz / resonance_at
    swing = height / 2 * abs((1 + 1j * x / q) / (1 - x * x + 1j * x / q))
    return mass * 1e-3 * swing * (2 * math.pi * hz) ** 2


def resonance_spread(i, mass, compliance, share):
    """The wider side of a band: mass and sample spread as squares, the rule of thumb's band as its own end."""
    low, likely, high = share
    middle = resonance_hz(mass, compliance)
    heavier = resonance_hz(mass + i.number("arm.mass_tolerance", "g"), compliance) - middle
    lighter = resonance_hz(mass - i.number("arm.mass_tolerance", "g"), compliance) - middle
    spread = i.number("cartridge.compliance_tolerance", "%") / 100
    softer, stiffer = resonance_hz(mass, compliance * (1 + spread)) - middle, resonance_hz(mass, compliance * (1 - spread)) - middle
    rule = resonance_hz(mass, compliance * low / likely) - middle, resonance_hz(mass, compliance * high / likely) - middle
    up = math.sqrt(lighter ** 2 + stiffer ** 2 + rule[0] ** 2)
    down = math.sqrt(heavier ** 2 + softer ** 2 + rule[1] ** 2)
    wide = max(up, down)
    return wide, 0.2 * wide        # a spread in percent may be taken off, or divided by: that much lies between


def resonance_found(i, rest):
    """Two resonances on one spring: the known mass, and what the counterweight adds as it goes out to balance it, are the difference."""
    if not i.has("resonance.found_loaded"):
        return {}
    one, two = i.number("resonance.found", "Hz"), i.number("resonance.found_loaded", "Hz")
    added = i.number("resonance.added_mass", "g")
    if i.has("arm.counterweight_position"):
        length, place = i.number("arm.effective_length", "mm"), i.number("arm.counterweight_position", "mm")
        weight = i.number("arm.counterweight_mass", "g")
        out = place + added * length / weight
        added = added + weight * (out ** 2 - place ** 2) / length ** 2
    def masses(f1, f2):
        mass = added / ((f1 / f2) ** 2 - 1)
        return mass, 1e6 / ((2 * math.pi * f1) ** 2 * mass)
    mass, compliance = masses(one, two)
    error = i.number("resonance.found_error", "Hz")
    step = 1e-4
    slope = [(masses(one + step, two)[0] - mass) / step, (masses(one, two + step)[0] - mass) / step]
    spread = 1.96 * error * math.hypot(*slope)
    return {"resonance.mass": mass, "resonance.compliance": compliance, "resonance.arm_mass": mass - rest,
            "resonance.mass±": (spread, 0.03 * spread)}


def resonance_more(sheet, i):
    warps = sheet.table("resonance.warps") if i.has("force.target") else []
    return {"size:vertical±": sheet.readings["resonance.vertical"]["uncertainty"],
            **{f"warp{number}:share": row["share"] for number, row in enumerate(warps[:2])}}


MODELS = {"load": Model(load, more=load_more), "riaa": Model(riaa, more=riaa_more), "resonance": Model(resonance, more=resonance_more)}
