#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Faults between stylus and recorder: each has a name, a verdict and a place at the head of the sheet; what is read through it is
right where the fault leaves it readable, and nothing is called good while it stands.

The pickup is a matrix written here: two gains, two leaks, noise. A weak channel loses level behind the leak; a dead one carries
what its neighbour's leads couple into it; where the return that both coils share is open, the two coils lie in series between the
inputs, which get half their difference each, with opposite signs (Kirchhoff; equal input resistances); a strap gives both the mean.
"""
import functools
import math

import numpy as np

import planned_side
import program
import waves

RATE, HZ, SECONDS = 24000, 1000, 5


def heard(direction, gains, leaks, level=0.3):
    """The two channels of one band; leaks are into the right with left driven, into the left with right driven."""
    tone = waves.sine(HZ, SECONDS, RATE, level) * waves.fade(SECONDS * RATE, RATE)
    left, right = {"left": (tone, 0 * tone), "right": (0 * tone, tone), "lateral": (tone * waves.ROOT, tone * waves.ROOT),
                   "vertical": (tone * waves.ROOT, -tone * waves.ROOT)}[direction]
    return gains[0] * (left + leaks[1] * right), gains[1] * (right + leaks[0] * left)


def joined(parts, draw):
    gap = np.zeros(RATE)
    left, right = (np.concatenate([np.concatenate([part[c], gap]) for part in parts]) for c in (0, 1))
    seed = draw.randrange(1 << 30)
    return left + waves.noise(left.size, 2e-5, seed), right + waves.noise(left.size, 2e-5, seed + 1)


def drawn_bands(draw, gains=(1.0, 1.0)):
    """A pickup of drawn leaks; its bands, and its separations in dB."""
    leaks = [10 ** (-draw.uniform(22, 32) / 20) * draw.choice([-1, 1]) for _ in range(2)]
    directions = ["left", "right", "lateral"] + (["vertical"] if draw.random() < 0.5 else [])
    return [heard(direction, gains, leaks) for direction in directions], [-20 * math.log10(abs(leak)) for leak in leaks]


def judge(sheet, fault, exit_code):
    """The fault's name, its place, its verdict, and that nothing of the channels is called good."""
    first, wrong = sheet.raw["readings"][0], []
    if first["key"] != "channels.fault" or first["value"] != fault:
        wrong.append(f"the sheet begins with {first['key']} = {first['value']}, not channels.fault = {fault}")
    if first["verdict"] != "attention soon":    # the words send to clips, leads and plugs: nothing is to be replaced yet
        wrong.append(f"the fault's verdict is {first['verdict']}")
    asked = [row["label"] for row in sheet.raw["readings"] if "fault" in row["flags"] and sheet.said(f"whether {row['label']} keeps")]
    if asked:
        wrong.append(f"the fault withholds the verdict, but a longer recording is asked for: {', '.join(asked)}")
    if exit_code != 3:
        wrong.append(f"exit {exit_code}, not 3")
    good = [row["key"] for row in sheet.raw["readings"] if row["verdict"] in ("good", "serviceable")
            and row["key"].split(".")[0] in ("channels", "azimuth", "noise", "tracking", "response", "lowsweep")]
    if good:
        wrong.append(f"called good while the fault stands: {', '.join(good)}")
    return wrong


def read(prog, signals, *words, **operands):
    path = waves.write(prog.recording("channels.wav"), *signals, rate=RATE)
    sheet = prog.sheet("channels", path, *words, **operands)
    return sheet, sheet.code


def near(sheet, key, truth, within):
    return [] if abs(sheet.value(key) - truth) <= within else [f"{key} is {truth:+.2f}, told {sheet.value(key):+.2f}"]


def weak(prog, draw):
    """One channel 8 to 28 dB down: its balance and both separations are the pickup's own."""
    side, down = draw.choice([0, 1]), draw.uniform(8, 28)
    gains = [10 ** (-down / 20) if c == side else 1.0 for c in (0, 1)]
    parts, separation = drawn_bands(draw, gains)
    sheet, code = read(prog, joined(parts, draw))
    wrong = judge(sheet, f"{'right' if side else 'left'} weak", code)
    wrong += near(sheet, "channels.balance", -down if side else down, 0.1)
    wrong += near(sheet, "channels.separation_left", separation[0], 0.5) + near(sheet, "channels.separation_right", separation[1], 0.5)
    return "\n".join(wrong)


def dead(prog, draw):
    side, pick_up = draw.choice([0, 1]), 10 ** (-draw.uniform(22, 60) / 20)
    parts, _ = drawn_bands(draw)
    parts = [(pick_up * right, right) if side == 0 else (left, pick_up * left) for left, right in parts]
    sheet, code = read(prog, joined(parts, draw))
    return "\n".join(judge(sheet, f"{'right' if side else 'left'} dead", code))


def swapped(prog, draw):
    parts, separation = drawn_bands(draw)
    reverse = draw.choice([False, True])
    parts = [(right, -left if reverse else left) for left, right in parts]
    sheet, code = read(prog, joined(parts, draw))
    wrong = judge(sheet, "swapped and reversed" if reverse else "swapped", code)
    if not sheet.said("plan", "order"):
        wrong.append("nothing says that the order of the bands may be at fault instead")
    return "\n".join(wrong + near(sheet, "channels.separation_left", separation[0], 0.5))


def reversed_one(prog, draw):
    parts, separation = drawn_bands(draw)
    sheet, code = read(prog, joined([(left, -right) for left, right in parts], draw))
    return "\n".join(judge(sheet, "reversed", code) + near(sheet, "channels.separation_left", separation[0], 0.5))


def strapped(prog, draw):
    parts, _ = drawn_bands(draw)
    sheet, code = read(prog, joined([((left + right) / 2,) * 2 for left, right in parts], draw))
    return "\n".join(judge(sheet, "strapped", code))


def open_ground(prog, draw):
    gains = (1.0, draw.uniform(0.9, 1.1))
    parts, _ = drawn_bands(draw, gains)
    sheet, code = read(prog, joined([((left - right) / 2, (right - left) / 2) for left, right in parts], draw))
    return "\n".join(judge(sheet, "open ground", code))


def intermittent(prog, draw):
    """A channel that comes and goes while its neighbour plays on."""
    side = draw.choice([0, 1])
    parts, _ = drawn_bands(draw)
    left, right = joined(parts, draw)
    channels, at = [left, right], 0
    while at < left.size - RATE:
        at += int(RATE * draw.uniform(0.8, 2.2))
        length = int(RATE * draw.uniform(0.4, 0.9))
        channels[side][at:at + length] *= 0.003
        at += length
    sheet, code = read(prog, channels)
    return "\n".join(judge(sheet, f"{'right' if side else 'left'} intermittent", code))


def sound(prog, draw):
    """A pickup without a fault, up to 5 dB out of balance, is none of these."""
    gains = (1.0, 10 ** (draw.uniform(-5, 5) / 20))
    parts, separation = drawn_bands(draw, gains)
    sheet, code = read(prog, joined(parts, draw))
    wrong = near(sheet, "channels.balance", 20 * math.log10(gains[1]), 0.1) + near(sheet, "channels.separation_right", separation[1], 0.5)
    if sheet.value("channels.fault") != "none" or code != 0:
        wrong.append(f"fault {sheet.value('channels.fault')}, exit {code}")
    if sheet.value("channels.polarity") != "in phase":
        wrong.append(f"polarity {sheet.value('channels.polarity')}")
    return "\n".join(wrong)


SIDES = {
    "swapped": lambda left, right: (right, left),
    "reversed": lambda left, right: (left, -right),
    "swapped and reversed": lambda left, right: (right, -left),
    "strapped": lambda left, right: ((left + right) / 2,) * 2,
    "open ground": lambda left, right: ((left - right) / 2, (right - left) / 2),
    "right dead": lambda left, right: (left, 0.01 * left + waves.noise(left.size, 3e-5, 77)),
    "left dead": lambda left, right: (0.01 * right + waves.noise(left.size, 3e-5, 77), right),
    "right weak": lambda left, right: (left, 10 ** (-18 / 20) * right),
    "left weak": lambda left, right: (10 ** (-14 / 20) * left, right),
    "left ground open": lambda left, right: (0.02 * left + mains(left.size, 0.003), right),
}


def mains(count, level, hz=50):
    """A buzz: the mains and what stands above it."""
    time = np.arange(count) / planned_side.RATE
    return sum(level / order * np.sin(2 * np.pi * hz * order * time + order) for order in (1, 2, 3, 5))


@functools.lru_cache(maxsize=None)
def played(lean_deg=0.0, rumble=(0.0, 0.0)):
    """The same side for all its faults; not to be written into."""
    signals = planned_side.play(lean_deg=lean_deg, rumble=rumble)
    for one in signals:
        one.setflags(write=False)
    return signals


def side_of(prog, signals, bands=None):
    plan = prog.recording("short-side.plan")
    plan.write_text(planned_side.plan())
    path = waves.write(prog.recording("side.wav"), *signals, rate=planned_side.RATE)
    sheet = prog.sheet("side", path, f"record.plan={plan}", "response.riaa=none")
    return sheet, sheet.code


def side(prog, draw, fault):
    """A whole side with a fault: named first, what can be read through it is the record's, nothing of it called good."""
    signals = SIDES[fault](*played(1.0, (0.006, 0.001)))
    sheet, code = side_of(prog, signals)
    wrong = judge(sheet, fault, code)
    for key, truth in (("lowsweep.lateral", planned_side.LATERAL_HZ), ("lowsweep.vertical", planned_side.VERTICAL_HZ)):
        if sheet.has(key):
            wrong += near(sheet, key, truth, 0.3)
    if sheet.has("noise.rumble_lateral") and sheet.value("noise.rumble_lateral") > sheet.value("noise.rumble_vertical") - 6:
        wrong.append("the rumble is sideways, and told otherwise")
    if "weak" in fault:
        wrong += near(sheet, "channels.balance", -18 if fault == "right weak" else 14, 0.2)
        wrong += near(sheet, "channels.separation_left", 20 * math.log10(1 / math.tan(math.radians(1))), 0.6)
        if sheet.value("side.missing") > 0:
            wrong.append(f"{sheet.value('side.missing')} bands missing")
    return "\n".join(wrong)


def side_noisy(prog, draw):
    """A dead channel far louder than the other in the silent groove: hiss alone is no open return, and two causes are named with what
    tells them apart; a line of the mains is one; a little of each may be either."""
    side, hiss = draw.choice([0, 1]), 3e-5 * 10 ** (draw.uniform(14, 40) / 20)
    hum = draw.choice([0, 0, draw.uniform(2, 6), draw.uniform(0.3, 0.5)]) * hiss
    signals = list(played(rumble=(0.0006, 0.0006)))
    if draw.random() < 0.5:     # no silent groove on the record: it is heard between the bands
        signals = [one[:int(-13 * planned_side.RATE)] for one in signals]
    count = signals[0].size
    signals[side] = draw.choice([0, 0.004]) * signals[1 - side] + waves.noise(count, hiss, draw.randrange(1 << 30)) + mains(count, hum, draw.choice([50, 60.02]))
    path = waves.write(prog.recording("side.wav"), *signals, rate=planned_side.RATE)
    prog.recording("short-side.plan").write_text(planned_side.plan())
    sheet = prog.sheet("side", path, "record.plan=short-side.plan")     # behind a replay curve, which leaves hiss as it is
    name = ("left", "right")[side]
    fault, wrong = str(sheet.value("channels.fault")), []
    if fault != (f"{name} ground open" if hum > hiss else f"{name} dead"):
        wrong.append(f"{name} is dead, hiss {hiss:.5f} and hum {hum:.5f}: called {fault}")
    said = sheet.said("noisy input")
    if hum < hiss and not (said and "coil" in said[0] and "plugs" in said[0] and ("return" in said[0]) == (hum > 0)):
        wrong.append(f"what may hiss, and what tells it: said {said}")
    if hum > hiss and said:
        wrong.append(f"it hums, said {said}")
    return "\n".join(wrong)


def side_missing(prog, draw):
    """A side that is cut off: what is missing is flagged, and the exit says so."""
    left, right = played()
    keep = int(left.size * draw.uniform(0.4, 0.6))
    sheet, code = side_of(prog, (left[:keep], right[:keep]))
    missing = sheet.readings["side.missing"]
    return "" if code == 3 and missing["value"] > 1 and missing["flags"] else f"exit {code}, {missing}"


def side_sound(prog, draw):
    sheet, code = side_of(prog, played(rumble=(0.006, 0.001)))
    flagged = [row["key"] for row in sheet.raw["readings"] if "fault" in row["flags"]]
    return "" if sheet.value("channels.fault") == "none" and not flagged else f"{sheet.value('channels.fault')}, {flagged}, exit {code}"


CHECKS = [("a sound pickup", sound, 4), ("one channel weak", weak, 8), ("one channel dead", dead, 4), ("leads swapped", swapped, 3),
          ("one channel reversed", reversed_one, 2), ("channels strapped", strapped, 2), ("the common return open", open_ground, 3),
          ("one channel comes and goes", intermittent, 4)]
CHECKS += [(f"a side, {fault}", lambda p, d, f=fault: side(p, d, f), 1) for fault in SIDES]
CHECKS += [("a side, a dead channel louder than the other", side_noisy, 12)]
CHECKS += [("a side cut off", side_missing, 1), ("a sound side", side_sound, 1)]


def run(prog, checks, names):
    for what, function, count in CHECKS:
        if not names or any(name in what for name in names):
            for number, draw in enumerate(program.draws(what, count), 1):
                checks.attempt(f"{what}, drawn case {number}", function, prog, draw)


if __name__ == "__main__":
    program.main(run)
