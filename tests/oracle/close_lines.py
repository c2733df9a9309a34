#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A slow wander is no line: two that are fitted to it close to each other may undo each other within the take and grow beyond all measure
before it begins, where the filters settle, so that a steady deck reads five times its flutter and its speed is told within half a percent.

Nor is a control that hunts near a multiple of the platter's rate the record's fault: the platter's multiples lie where its own line says, to a
hundredth of a hertz, whatever the tone's tolerance.

Source (worked apart): the drawn course of the speed itself, behind the edge of the unweighted reading by scipy (IEC 60386:1972). The first take is
one in which the fit met such a pair.
"""
import numpy as np
from scipy import signal

import program
import waves

RATE, TONE, SECONDS = 44100, 3150.0, 60
TURN_HZ, EDGE_HZ = 100 / 180, 0.115     # of the platter; of a second-order high-pass that is 0.45 dB down at 0.2 Hz
TAKES = ((12, 0), (12, 1), (31, 31))
HUNTING = range(1, 9)
MOST, MEAN_MOST = 0.03, 0.02            # of the reading; % that a quiet take may leave the mean speed in doubt


def course(number, seconds):
    """The speed's deviation, as a fraction: platter, the poles of a direct drive, and a slow wander."""
    chance = np.random.default_rng(number)
    slow = np.random.default_rng(number).standard_normal(SECONDS * 10 + 19 + 200)
    slow = signal.sosfilt(signal.butter(2, 0.05, "low", fs=10, output="sos"), slow)[200:]
    slow = 8e-5 * np.interp(seconds, np.arange(len(slow)) / 10, slow / slow.std())
    once = 3e-4 * chance.uniform(0.7, 1.3) * np.sin(2 * np.pi * TURN_HZ * seconds + chance.uniform(0, 6))
    return once + 6e-5 * np.sin(4 * np.pi * TURN_HZ * seconds + 1) + slow + 1.2e-3 * np.sin(24 * np.pi * TURN_HZ * seconds)


def surface(seed, count):
    """What the groove adds: hiss, rumble and a few ticks, left and right."""
    chance = np.random.default_rng(seed)
    noise = 6e-4 * chance.standard_normal((2, count))
    rumble = signal.sosfilt(signal.butter(2, [10, 40], "band", fs=RATE, output="sos"), chance.standard_normal((2, count)), axis=1)
    noise += 0.002 * rumble / rumble.std()
    tick = 0.3 * np.hanning(30) * np.sin(np.arange(30) * 0.5)
    for _ in range(chance.poisson(6 * SECONDS / 60)):
        at = chance.integers(0, count - 50)
        noise[:, at:at + 30] += tick
    return noise


def expected(deviation):
    """Its unweighted two-sigma, %: the 95th percentile of what is above the edge."""
    slow = deviation[::RATE // 900]
    at = np.arange(len(slow))
    slow = slow - np.polyval(np.polyfit(at, slow, 1), at)
    high = signal.sosfiltfilt(signal.butter(1, EDGE_HZ, "high", fs=900, output="sos"), slow)
    return 100 * np.quantile(np.abs(high[2700:-900]), 0.95)


def one(prog, number, seed):
    seconds = np.arange(SECONDS * RATE) / RATE
    deviation = course(number, seconds)
    turned = 2 * np.pi * TONE * np.cumsum(1 + deviation) / RATE
    tracks = np.stack([0.2 * np.sin(turned), 0.2 * np.sin(turned + 0.02)]) + surface(seed, len(seconds))
    sheet = prog.sheet("speed", waves.write(prog.recording("close.wav"), *tracks, rate=RATE), record__tone="3150Hz")
    wrong, truth = [], expected(deviation)
    read = sheet.value("flutter.unweighted.two_sigma")
    if abs(read / truth - 1) > MOST:
        wrong.append(f"unweighted {read:.4f} %, not {truth:.4f}")
    if sheet.readings["speed.error"]["uncertainty"] > MEAN_MOST:
        wrong.append(f"speed ± {sheet.readings['speed.error']['uncertainty']:.3f} %")
    wrong += sheet.said("in no line", "jolted")
    return "\n".join(wrong)


def hunting(prog, number):
    """A direct drive whose control wanders about 2.2 Hz, 0.1 Hz wide; four times the platter's rate is 2.222."""
    seconds, chance = np.arange(SECONDS * RATE) / RATE, np.random.default_rng(number)
    wander = signal.sosfilt(signal.butter(1, [2.15, 2.25], "band", fs=50, output="sos"), chance.standard_normal(SECONDS * 50 + 2000))[1000:]
    hunts = 8e-4 * np.interp(seconds, np.arange(len(wander)) / 50, wander / wander.std())
    turned = 2 * np.pi * TONE * np.cumsum(1 + hunts + 3e-4 * np.sin(2 * np.pi * TURN_HZ * seconds)) / RATE
    tracks = np.stack([0.2 * np.sin(turned), 0.2 * np.sin(turned + 0.02)]) + surface(number, len(seconds))
    sheet = prog.sheet("speed", waves.write(prog.recording("hunts.wav"), *tracks, rate=RATE), record__tone="3150Hz",
                       drive__kind="direct", drive__motor_kind="quartz", drive__poles="12", drive__slots="9")
    return "\n".join(sheet.said("Suspected: platter"))


def run(prog, checks, _):
    for number in HUNTING:
        checks.attempt(f"a control that hunts, {number}", hunting, prog, number)
    for number, seed in TAKES:
        checks.attempt(f"deck {number}, surface {seed}", one, prog, number, seed)


if __name__ == "__main__":
    program.main(run)
