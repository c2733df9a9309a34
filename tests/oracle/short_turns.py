#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What comes once a turn in takes of 6 to 28 s, of decks as the trade has them: how often the ± holds where a belt may turn nearly as often as
the platter, and that it stays told in a side's bands of 8 s.

Half of the decks have a belt, of a sub-platter or about the rim; its rate over the platter's is the driven rim's way round over the belt's
length, which is that of an open belt about two circles, written here from the tangents. Source (trade): sizes of rims, pulleys, gaps and of
what belts do to the speed are common practice.

Usage: short_turns.py PROGRAM [DECKS [SEED]]: more decks, and a table.
"""
import math
import pathlib
import sys
import tempfile

try:
    import numpy as np
    import scipy  # noqa: F401
except ImportError as missing:
    print(f"1..0 # SKIP {missing.name} is not installed for {sys.executable}")
    sys.exit(0)

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))

import tone_truth
from support import Tap
from tone_model import Deck, Line, Record, Take, Wander
from tone_sheet import Bench

KEYS = ("revolution.amplitude", "revolution.second", "revolution.phase", "revolution.eccentricity", "speed.error", "record.tone_error")


def log_uniform(draw, low, high):
    return float(math.exp(draw.uniform(math.log(low), math.log(high))))


def belt_ratio(rim, pulley, centre):
    """Turns of the belt for one of the platter: arcs on both circles and two straight parts between the points where it touches."""
    lean = math.asin((rim - pulley) / 2 / centre)
    touches = [np.array([radius * math.sin(lean), radius * math.cos(lean)]) for radius in (rim / 2, pulley / 2)]
    straight = math.dist(touches[0], touches[1] + np.array([centre, 0]))
    length = 2 * straight + rim * (math.pi / 2 + lean) + pulley * (math.pi / 2 - lean)
    return math.pi * rim / length


def drawn_belt(draw):
    """Rim, pulley, distance of centres, mm."""
    inner = draw.random() < 0.5
    rim = float(draw.uniform(100, 180) if inner else draw.uniform(280, 310))
    pulley = float(draw.uniform(9, 22))
    return rim, pulley, (rim + pulley) / 2 + log_uniform(draw, 8, 80)


def drawn(draw, near=None, told=False, seconds=None, wander=True):
    """Deck, record, take, words. NEAR: the belt's rate is off by within this; TOLD: the drive is described."""
    def angle():
        return float(draw.uniform(0, 360))
    lines, words, said = [Line(log_uniform(draw, 0.01, 0.15), ratio=1, phase=angle())], [], "no belt"
    if draw.random() < 0.4:
        lines.append(Line(log_uniform(draw, 0.005, 0.03), ratio=2, phase=angle()))
    if near or draw.random() < 0.55:
        belt = drawn_belt(draw)
        while near and not near[0] <= 1 - belt_ratio(*belt) <= near[1]:
            belt = drawn_belt(draw)
        ratio, size, fall = belt_ratio(*belt), log_uniform(draw, 0.01, 0.1), draw.uniform(0.3, 0.8)
        lines += [Line(size * fall ** n, ratio=ratio * (n + 1), phase=angle()) for n in range(int(draw.integers(1, 5)))]
        said = f"belt {100 * (1 - ratio):.2f} % slower, {size:.3f} %"
        if told:
            words += [f"drive.{key}={value:.2f}mm" for key, value in zip(("rim_diameter", "pulley_diameter", "centre_distance"), belt)]
            words += ["drive.belt_thickness=0.01mm", "drive.kind=belt"]
    lines.append(Line(log_uniform(draw, 0.005, 0.04), hz=float(draw.uniform(4, 20)), phase=angle()))
    deck = Deck(error=float(draw.uniform(-1, 1)), lines=lines, seed=int(draw.integers(1 << 30)))
    if wander and draw.random() < 0.6:
        deck.wander = Wander(log_uniform(draw, 0.003, 0.03), float(draw.uniform(0.3, 0.8)), float(draw.uniform(2, 20)))
    record = Record(tone_error=float(draw.uniform(-0.5, 0.5)), off_centre=log_uniform(draw, 0.01, 0.2), radius=float(draw.uniform(65, 145)),
                    direction=angle())
    take = Take(seconds=seconds or log_uniform(draw, 6, 28), rate=24000, channels=1, snr=float(draw.uniform(40, 75)), seed=int(draw.integers(1 << 30)))
    words += ["record.tone=3150Hz", "record.tone_tolerance=0.5%", f"record.radius={record.radius:.3f}mm"]
    return deck, record, take, words, said


def off(key, value, truth):
    return abs((value - truth + 180) % 360 - 180) if key == "revolution.phase" else abs(value - truth)


def true_of(sheet):
    """KEYS of the stretch that was measured; its flutter, which takes most of the time, is not asked for."""
    begin, length = sheet.value("tone.start"), sheet.value("tone.length")
    if begin is None or length is None or length < 2:
        return {}
    deck, record, take = sheet.parts
    error, _ = tone_truth.speeds(sheet.course, begin - take.delay, begin + length - take.delay, False)
    return {**tone_truth.of_a_turn(deck, record), "speed.error": error, "record.tone_error": record.tone_error}


def measured(bench, cases):
    """(key, value, half, truth, what was drawn) of all."""
    for deck, record, take, words, said in cases:
        sheet = bench.measure(deck, record, take, *words)
        truth = true_of(sheet)
        for key in KEYS:
            yield key, sheet.value(key), sheet.half(key), truth.get(key), f"{take.seconds:.0f} s, {said}"


def share(rows, key):
    """How many hold, are told, and were drawn; those outside."""
    some = [row for row in rows if row[0] == key and row[3] is not None]
    told = [row for row in some if row[1] is not None and row[2] is not None]
    outside = [f"{row[1]:.4g} ± {row[2]:.2g}, true {row[3]:.4g} ({row[4]})" for row in told if off(key, row[1], row[3]) > row[2]]
    return len(told) - len(outside), len(told), len(some), outside


def table(bench, decks, seed):
    groups = {"as the trade has them": {}, "1 to 2 % off": {"near": (0.0, 0.02)}, "1 to 2 % off, described": {"near": (0.0, 0.02), "told": True}}
    for name, how in groups.items():
        draw = np.random.default_rng((seed, len(name)))
        rows = list(measured(bench, (drawn(draw, **how) for _ in range(decks if not how else decks // 3))))
        for key in KEYS:
            held, told, count, outside = share(rows, key)
            widths = sorted(row[2] / max(abs(row[3]), 1e-9) for row in rows if row[0] == key and row[1] is not None and row[2] is not None)
            print(f"# {name:<24} {key:<24} {held:>4} of {told:>4} hold ({100 * held / max(1, told):.1f} %), {count} drawn, "
                  f"median ± {widths[len(widths) // 2] if widths else 0:.3f} of it, e.g. {outside[:2]}")


def judge(tap, what, rows, keys, least, all_told):
    for key in keys:
        held, told, count, outside = share(rows, key)
        good = held >= least * told and (told == count or not all_told)
        tap.say(f"{what}: {key}", "" if good else f"{held} of {told} of {count} hold: {outside[:4]}")


def main():
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(sys.argv[1], folder)
        if len(sys.argv) > 2:
            table(bench, int(sys.argv[2]), int(sys.argv[3]) if len(sys.argv) > 3 else 1)
            return
        draw = np.random.default_rng((2, 23))
        rows = list(measured(bench, (drawn(draw) for _ in range(40))))
        judge(tap, "as the trade has them", rows, [key for key in KEYS if key not in ("revolution.second", "record.tone_error")], 0.9, True)
        rows = list(measured(bench, (drawn(draw, near=(0.0, 0.02), told=True) for _ in range(10))))
        judge(tap, "a belt beside the platter that is described", rows, KEYS[:1] + KEYS[2:5], 0.8, True)
        rows = list(measured(bench, (drawn(draw, seconds=8.0, wander=False) for _ in range(6))))
        told = [row for row in rows if row[0] == "revolution.eccentricity" and row[1] is not None]
        tap.say("off-centre is told in bands of 8 s", "" if len(told) == 6 else f"in {len(told)} of 6")
    tap.end()


if __name__ == "__main__":
    main()
