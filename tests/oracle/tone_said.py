# SPDX-License-Identifier: MIT
"""What `deckwright speed` says in sentences of an imagined deck, and must not say. Cases for tone_cases.py."""
import math
import re

import numpy as np

import waves
from tone_model import Deck, Line, Record, Wander, at_half_rate as Take

TONE = "record.tone=3150Hz"
DIRECT = ("drive.kind=direct", "drive.motor_kind=dc")


def unsaid(sheet, pattern, what):
    """'' when no sentence matches PATTERN."""
    found = re.search(pattern, sheet.words(), re.IGNORECASE)
    return f"{what}: {found.group(0)}" if found else ""


def said(sheet, pattern, what):
    if re.search(pattern, sheet.words(), re.IGNORECASE):
        return ""
    return f"no sentence {what} (exit {sheet.code}): {sheet.words()[:300]}"


def judged_good(sheet):
    """'' when nothing is called good."""
    good = [key for key, row in sheet.readings.items() if row.get("verdict") == "good"]
    return f"called good: {', '.join(good)}" if good else ""


def plain(percent=0.05, **more):
    return Deck(lines=[Line(percent, ratio=1, phase=40)] + more.pop("lines", []), **more)


def case_jump(bench):
    """A deck that changes its speed in mid-take"""
    take = Take(seconds=40, snr=55)
    for step in (3, -2):
        sheet = bench.measure(plain(steps=[(20, step)]), Record(), take, TONE)
        yield f"{step:+} % at 20 s: nothing is called good", judged_good(sheet)
        trouble = said(sheet, rf"at (19\.[89]|20\.[0-2]) s the speed jumps by \{step:+}\.\d\d %", "says when it jumps and by how much")
        yield f"{step:+} % at 20 s: the jump is said", trouble
        yield f"{step:+} % at 20 s: the speed after it is said", said(sheet, rf"{100 / 3 * (1 + step / 100):.2f} rpm", "names the second speed")
    sheet = bench.measure(plain(slides=[(0, 22, 2)], error=-2), Record(), take, TONE)
    yield "-2 % that creeps up for 22 s: nothing is called good", judged_good(sheet) if not sheet.refused else ""
    sheet = bench.measure(plain(), Record(bands=[(20, 3000), (99, 3150)]), take, TONE)
    verdict = sheet.readings.get("speed.error", {}).get("verdict")
    yield "two bands of a record at one speed: judged all the same", "" if verdict == "good" else f"verdict {verdict}"
    yield "two bands of a record at one speed: the other is named", said(sheet, "3000 Hz", "names 3000 Hz")
    yield "two bands of a record at one speed: no jump", unsaid(sheet, "jumps", "a jump is told")
    sheet = bench.measure(plain(), Record(), take, TONE)
    yield "a deck that holds its speed: no jump", unsaid(sheet, "jumps|changes by|did not hold", "a jump is told")
    yield "a deck that holds its speed: judged", "" if judged_good(sheet) else "nothing is called good"


def case_causes(bench):
    """Parts that a deck has not, and what was stated for nothing"""
    slow, take = plain(error=-100 / 6), Take(seconds=30, snr=55)
    pulley = "Hz pulley"
    yield "a direct drive 16.7 % slow: no pulley", unsaid(bench.measure(slow, Record(), take, TONE, *DIRECT), pulley, "accused")
    belt = ("drive.kind=belt", "drive.motor_kind=dc", "drive.motor_speed=500rpm")
    yield "a motor on direct current 16.7 % slow: no pulley", unsaid(bench.measure(slow, Record(), take, TONE, *belt), pulley, "accused")
    sheet = bench.measure(slow, Record(), take, TONE, "deck.mains=60Hz")
    yield "on 60 Hz 16.7 % slow: not a pulley for 60 Hz", unsaid(sheet, pulley, "accused")
    for operands in ((), ("deck.mains=50Hz",), ("drive.kind=belt", "drive.motor_kind=synchronous")):
        sheet = bench.measure(slow, Record(), take, TONE, *operands)
        yield f"16.7 % slow, {operands or 'nothing stated'}: a pulley for 60 Hz may be it", said(sheet, "60 Hz pulley on 50 Hz", "names it")
    fast = bench.measure(plain(error=20), Record(), take, TONE, "deck.mains=60Hz")
    yield "20 % fast on 60 Hz: a pulley for 50 Hz may be it", said(fast, "50 Hz pulley on 60 Hz", "names it")
    needless = ("drive.belt_length=500mm", "drive.pulley_diameter=20mm", "drive.motors=2", "drive.idler_diameter=40mm")
    sheet = bench.measure(plain(), Record(), take, TONE, *DIRECT, *needless)
    for operand in needless:
        yield f"a direct drive, {operand}: said not to be used", said(sheet, f"Not used.*{operand.partition('=')[0]}", "names it")
    yield "a direct drive on direct current: no word against it", unsaid(sheet, "Not used[^.]*motor_kind", "said")
    sheet = bench.measure(plain(lines=[Line(0.15, hz=100)]), Record(), take, TONE, *DIRECT, "drive.poles=8")
    yield "a line at 100 Hz: the mains turn nothing", unsaid(sheet, r"mains \([^)]*turns at this rate", "said")
    yield "a line at 100 Hz: twice the mains", said(sheet, "twice the mains frequency", "says so")
    sheet = bench.measure(plain(lines=[Line(0.1, hz=3.98), Line(0.05, hz=7.96)]), Record(), take, TONE, "drive.kind=belt", "drive.motor_kind=dc")
    count = len(re.findall("^Unexplained", sheet.words(), re.MULTILINE))
    yield "a line and its double: one thing", "" if count == 1 else f"unexplained {count} times"
    for snr in (45, 55, 70):
        sheet = bench.measure(plain(), Record(), Take(seconds=30, snr=snr, channels=1), TONE, "drive.kind=belt")
        yield f"once a turn and {snr} dB of noise: no part is accused of it", unsaid(sheet, "is in no line", "said")
        yield f"once a turn and {snr} dB of noise: figures that people read", unsaid(sheet, r"\de[+-]\d", "a power of ten")


def switched(course, seconds):
    """Samples of a deck whose speed over time is COURSE(t), a ratio to the nominal one."""
    t = np.arange(0, seconds, 0.002)
    speed = course(t)
    sound = waves.speed_tone(3150.0, 1.0, seconds, 12000, lambda u: np.interp(u, t, speed))
    return sound + waves.noise(sound.size, 0.25 / math.sqrt(2) * 10 ** (-51 / 20), 3)


def case_switch(bench):
    """A deck that is switched on, hunts, and is switched off again"""
    def start_stop(t):
        return np.clip(1 - np.exp(-(t - 2) / 0.8), 0, None) * np.clip(1 - (t - 20) / 9, 0, 1)

    def hunting(percent):
        def course(t):
            swing = percent / 100 * np.sin(2 * np.pi * 0.8 * (t - 4)) * np.exp(-(t - 4) / 30) * (t > 4)
            return np.clip((t - 2) / 2, 0, 1) * (1 + swing)
        return course
    path = bench.folder / "start.wav"
    waves.write(path, switched(start_stop, 32), rate=12000)
    sheet = bench.of("startup", path.name, TONE)
    true = 0.8 * math.log(100)              # to within 1 %
    for key in ("startup.time", "startup.settle"):
        value, half = sheet.value(key), sheet.half(key)
        trouble = "" if value is not None and abs(value - true) <= half <= 0.1 else f"{sheet.shown(key)}, true {true:.3f} s"
        yield f"on at 2 s, off at 20 s: {key}", trouble
    yield "on at 2 s, off at 20 s: no swing is told", unsaid(sheet, "still swings|let it run", "said")
    yield "on at 2 s, off at 20 s: the run-down is named", said(sheet, r"switched off (19\.[89]|20\.[0-2]) s", "says when it was switched off")
    sheet = bench.sheet(path.name, TONE)
    rows = [row for row in sheet.rows("tone.stretches") if row["use"] == "measured"]
    yield "the same, its speed: the run-down is left out", "" if rows and rows[0]["end"] <= 20.1 else f"measured {rows}"
    yield "the same, its speed: no jump, for it was switched off", unsaid(sheet, "jumps", "a jump is told")
    for percent in (2, 5, 8):
        waves.write(path, switched(hunting(percent), 40), rate=12000)
        sheet = bench.of("startup", path.name, TONE)
        yield f"hunting of {percent} %: said", said(sheet, r"hunting at 0\.(79|80|81) Hz", "names the hunting and its rate")
    path.unlink()


def case_remainder(bench):
    """What is in no line"""
    take = Take(seconds=60, snr=60, channels=1)
    for percent in (0.03, 0.01):
        sheet = bench.measure(plain(lines=[Line(0.04, hz=12.5)], wander=Wander(percent)), Record(), take, TONE)
        true, value = sheet.truth(ever=False, quasi=False).get("flutter.remainder", (math.nan,))[0], sheet.value("flutter.remainder")
        close = value is not None and abs(value / true - 1) < 0.06
        yield f"{percent} % of noise-like flutter beside two lines", "" if close else f"{value}, true {true:.4f} %"
        curve, floor = (sheet.curve(f"remainder.{name}") for name in ("spectrum", "floor"))
        above = [y > 3 * low for x, y, low in zip(curve[0], curve[1], floor[1]) if y is not None and 0.5 < x < 6]
        yield f"{percent} % of noise-like flutter: its spectrum stands above the floor", "" if above and all(above) else f"{curve} {floor}"
    sheet = bench.measure(plain(lines=[Line(0.04, hz=12.5)]), Record(), take, TONE)
    value = sheet.value("flutter.remainder")
    yield "lines alone: next to nothing is left", "" if value is not None and value < 0.001 else f"{value} %"


CASES = [case_jump, case_causes, case_switch, case_remainder]
