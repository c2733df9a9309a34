# SPDX-License-Identifier: MIT
"""What makes a drive uneven, as a course of speed over time: each fault from the mechanics that makes it.

A fault's maker takes the Turning (angles of all parts over time) and gives a series whose size is set afterwards: how large
a fault is heard is drawn, how it looks is physics. PARTS names what a technician would have to look at for each.
"""
import math

import numpy as np
from scipy import signal

import tone_model

WHOLE = 4096                   # places round a part's turn


class Turning:
    """Angles [turns] of the parts of DRIVE over the times T, the motor held by the mains or its servo."""

    def __init__(self, drive, t, wander):
        self.drive, self.t, self.draw = drive, t, drive.draw
        steady = t + tone_model.integral(wander)
        self.turns = {part: hz * steady + self.draw.random() for part, hz in drive.rates.items()}
        self.random = np.random.default_rng(self.draw.randrange(1 << 30))

    def cosine(self, part, order=1):
        return np.cos(2 * np.pi * (order * self.turns[part] + self.draw.random()))

    def round(self, part, shape):
        """A waveform over one turn of PART, WHOLE places, laid out in time."""
        place = np.mod(self.turns[part], 1) * WHOLE
        return np.interp(place, np.arange(WHOLE + 1), np.append(shape, shape[0]))

    def through_belt(self, series):
        """What platter and belt, a mass on a spring, let pass (an idler's rubber is a stiffer spring)."""
        hz, damping = self.drive.resonance
        w = 2 * np.pi * hz
        return signal.lfilter(*signal.bilinear([2 * damping * w, w * w], [1, 2 * damping * w, w * w], tone_model.GRID), series)


def window(width):
    """An arc of WIDTH (a share of the turn) over which a touching surface takes the mean."""
    arc = np.zeros(WHOLE)
    arc[:max(1, int(width * WHOLE))] = 1
    return arc / arc.sum()


def passed(shape, width, late):
    """SHAPE as an arc of contact feels it, LATE turns later."""
    return np.roll(np.fft.irfft(np.fft.rfft(shape) * np.fft.rfft(window(width)), WHOLE), int(late * WHOLE))


def bump(width):
    """A raised cosine of WIDTH of a turn."""
    place = np.arange(WHOLE) / WHOLE
    return np.where(place < width, 0.5 - 0.5 * np.cos(2 * np.pi * np.minimum(place / width, 1)), 0.0)


# Belts: what is thicker than the rest lifts the belt's middle from the pulley, a while later from the rim

def belt_thickness(turning, shape, part):
    pulley, rim, wraps, length = turning.drive.belts[part]
    on_pulley, on_rim = wraps[0] * pulley / 2 / length, wraps[1] * rim / 2 / length
    felt = passed(shape, on_pulley, 0) / pulley - passed(shape, on_rim, (1 - on_pulley - on_rim) / 2 + on_pulley) / rim
    return turning.through_belt(turning.round(part, felt - felt.mean()))


def belt_hump(turning, part="belt"):
    return belt_thickness(turning, bump(turning.draw.uniform(3, 12) / turning.drive.belts[part][3]), part)


def belt_wave(turning, part="belt"):
    place = 2 * np.pi * np.arange(WHOLE) / WHOLE
    return belt_thickness(turning, np.cos(place) + turning.draw.uniform(0, 0.5) * np.cos(2 * place + turning.draw.uniform(0, 6)), part)


def first_belt(turning):
    """The belt from the motor to a wheel between: a hump as often as a wave."""
    return (belt_hump if turning.draw.random() < 0.5 else belt_wave)(turning, "first belt")


def stick_slip(turning):
    """The belt holds and lets go at times of its own: each time the platter falls behind and is caught up."""
    t, draw = turning.t, turning.draw
    series, now, mean = np.zeros(len(t)), t[0], draw.uniform(0.8, 4)
    while now < t[-1]:
        now += mean * draw.gammavariate(3, 1 / 3)
        since = t - now
        series -= draw.uniform(0.4, 1) * np.where(since > 0, np.exp(-np.maximum(since, 0) / draw.uniform(0.15, 0.4)), 0)
    return turning.through_belt(series - series.mean())


# Wheels

def pulley(turning):
    return turning.through_belt(turning.cosine("motor") + turning.draw.uniform(0, 0.15) * turning.cosine("motor", 2))


def another_pulley(turning):
    """Of another motor on the same belt."""
    return turning.through_belt(turning.cosine("another motor") + turning.draw.uniform(0, 0.15) * turning.cosine("another motor", 2))


def wheel_between(turning):
    """A pulley between motor and platter, out of centre in one step or both."""
    return turning.through_belt(turning.cosine("idler") + turning.draw.uniform(0, 0.3) * turning.cosine("idler", 2))


def platter(turning):
    return turning.cosine("platter") + turning.draw.uniform(0, 0.2) * turning.cosine("platter", 2)


def record(turning):
    return turning.cosine("platter")


def warp(turning):
    """A record of three waves a turn: the groove runs up and down, three times mostly."""
    draw = turning.draw
    return (turning.cosine("platter", 3) + draw.uniform(0.05, 0.35) * turning.cosine("platter", 1)
            + draw.uniform(0, 0.3) * turning.cosine("platter", 2) + draw.uniform(0, 0.25) * turning.cosine("platter", 6))


def idler_dent(turning):
    """A flat on the rubber, felt where it meets the shaft and, part of a turn later and the other way, where it meets the rim."""
    dent = bump(turning.draw.uniform(0.04, 0.12))
    felt = dent - turning.draw.uniform(0.7, 1) * np.roll(dent, int(turning.draw.uniform(0.35, 0.65) * WHOLE))
    return turning.through_belt(turning.round("idler", felt - felt.mean()))


def idler_eccentric(turning):
    return turning.through_belt(turning.cosine("idler") + turning.draw.uniform(0, 0.2) * turning.cosine("idler", 2))


def motor_bearing(turning):
    """A dry sleeve: once and twice a turn, its size and place never quite the same."""
    count = len(turning.t)
    slow = signal.lfilter([1], [1, -(1 - 1 / tone_model.GRID)], turning.random.standard_normal((3, count)))
    slow /= slow.std(axis=1, keepdims=True)
    turn = 2 * np.pi * turning.turns["motor"]
    return (1 + 0.3 * slow[0]) * np.cos(turn + 0.3 * slow[1]) + 0.5 * np.cos(2 * turn + 0.5 * slow[2])


def platter_bearing(turning):
    """A tight place once a turn, a little different each time, and the roughness of a dry ball."""
    count = len(turning.t)
    place = turning.round("platter", bump(turning.draw.uniform(0.15, 0.4)) - 0.1)
    rough = tone_model.wander_series(tone_model.Wander(1.0, 0.5, 8.0), count, turning.draw.randrange(1 << 30))
    held = -place + 0.15 * rough / rough.std() * place.std()
    return held - held.mean()


def commutation(turning):
    """Brushes over an odd number of bars short two at a time: twice the bars a turn, and some at the bars and once."""
    bars = turning.drive.bars = turning.draw.choice([3, 5])
    return (turning.cosine("motor", 2 * bars) + turning.draw.uniform(0.1, 0.4) * turning.cosine("motor", bars)
            + turning.draw.uniform(0.3, 0.6) * turning.cosine("motor", 1))


def mains_shake(turning):
    """A mains motor's poles shake it at twice the mains."""
    return turning.cosine("mains", 2) + turning.draw.uniform(0, 0.15) * turning.cosine("mains", 1)


def cogging(turning):
    """Cogs at the least common multiple; unequal magnets add the poles, unequal teeth the slots."""
    drive, draw = turning.drive, turning.draw
    return (turning.cosine("platter", drive.cogs) + draw.uniform(0, 0.3) * turning.cosine("platter", drive.poles)
            + draw.uniform(0, 0.3) * turning.cosine("platter", drive.slots))


def tacho(turning):
    """A tacho disc out of centre and with unequal lines: its servo follows once a turn of the lines."""
    return turning.cosine("platter", turning.drive.tacho) + 0.1 * turning.cosine("platter", 1)


def hunting(turning):
    """A servo with too little damping rings on noise: a band, no line."""
    hz, quality = turning.draw.uniform(0.7, 4), turning.draw.uniform(3, 9)
    passing = signal.iirpeak(hz, quality, tone_model.GRID)
    return signal.lfilter(*passing, turning.random.standard_normal(len(turning.t)))


def footfall(turning):
    """Steps in the room: the sprung deck swings and dies away; somebody walks by a few times."""
    t, draw = turning.t, turning.draw
    hz, damping = draw.uniform(2, 6), draw.uniform(0.06, 0.2)
    series, length = np.zeros(len(t)), t[-1]
    for _ in range(draw.randint(2, 4)):
        begin, steps = draw.uniform(1, length - 6), draw.randint(1, 4)
        for step in range(steps):
            since = np.maximum(t - begin - step * draw.uniform(0.5, 0.7), 0)
            series += draw.uniform(0.5, 1) * np.exp(-damping * 2 * np.pi * hz * since) * np.sin(2 * np.pi * hz * since)
    return series


MAKERS = {"belt hump": belt_hump, "belt wave": belt_wave, "stick-slip": stick_slip, "pulley": pulley, "platter": platter,
          "record": record, "warp": warp, "idler dent": idler_dent, "idler eccentric": idler_eccentric,
          "motor bearing": motor_bearing, "platter bearing": platter_bearing, "commutation": commutation,
          "mains shake": mains_shake, "cogging": cogging,
          "tacho": tacho, "first belt": first_belt, "another pulley": another_pulley, "wheel between": wheel_between, "hunting": hunting, "footfall": footfall}
# What would have to be named: words that the name of a suspect may hold. Nothing: no part is at fault, the cause is said in words.
PARTS = {"belt hump": ["belt"], "belt wave": ["belt"], "stick-slip": [], "pulley": ["motor", "pulley"],
         "platter": ["platter", "record"], "record": ["platter", "record"], "warp": ["platter", "record"],
         "idler dent": ["idler"], "idler eccentric": ["idler"], "motor bearing": ["motor"], "platter bearing": ["platter", "record"],
         "commutation": ["motor", "commutat"], "mains shake": ["mains", "motor"], "cogging": ["pole", "slot", "cog"],
         "tacho": ["tacho"], "first belt": ["belt"], "another pulley": ["motor", "pulley"], "wheel between": ["idler"], "hunting": [], "footfall": []}
# The least peak that is a fault, and the most, in per cent of the speed.
SIZES = {"cogging": (0.03, 0.15), "commutation": (0.06, 0.2), "mains shake": (0.03, 0.12), "tacho": (0.03, 0.1),
         "footfall": (0.15, 0.6), "stick-slip": (0.15, 0.5), "hunting": (0.1, 0.5), "record": (0.08, 0.4),
         "motor bearing": (0.1, 0.3), "belt hump": (0.12, 0.4), "first belt": (0.12, 0.4), "idler dent": (0.12, 0.4)}
COMMON = (0.06, 0.3)
