#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Named recordings that have fooled a speed measurement, each with its truth and with what is right.

Usage: tone_cases.py PROGRAM [ENCODER]. PROGRAM is deckwright; ENCODER writes M4A and MP3 (tests/cli/encode).
Prints TAP. scripts/coverage prints the same cases as a table.
"""
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

try:
    import numpy as np
    import scipy
except ImportError as missing:
    print(f"1..0 # SKIP {missing.name} is not installed for {sys.executable}")
    sys.exit(0)

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))

import tone_model as model
from support import Tap
from tone_model import Deck, Line, Record, Wander, at_half_rate as Take, harmonics
from tone_sheet import Bench
import tone_room
import tone_said

TONE = "record.tone=3150Hz"
KNOWN_CLOCK = "chain.clock_error=0ppm"


class Skip(str):
    """A trouble that is none: why the check could not be made."""


def turning(percent=0.1, **more):
    """A plain deck: once a turn, and a motor that hums along."""
    lines = [Line(percent, ratio=1, phase=40), Line(0.02, hz=6.87, phase=10)]
    return Deck(lines=lines + more.pop("lines", []), **more)


def holds(sheet, key, truth, least=0.0, at_most=None):
    """'' when KEY's interval (at least LEAST wide) holds TRUTH and is no wider than AT_MOST."""
    value, half = sheet.value(key), sheet.half(key)
    if value is None:
        return f"{key} is not on the sheet (exit {sheet.code}): {sheet.err.strip()[:160]}"
    if not abs(value - truth) <= max(half or 0, least):
        return f"{sheet.shown(key)}, true {truth:.5g}"
    if at_most is not None and (half is None or half > at_most):
        return f"{sheet.shown(key)}: the ± should be at most {at_most}"
    return ""


def near(sheet, key, truth, within):
    """'' when KEY is within WITHIN of TRUTH, whatever its ± says."""
    value = sheet.value(key)
    if value is not None and abs(value - truth) <= within:
        return ""
    return f"{sheet.shown(key)}, true {truth:.5g}, wanted within {within:.3g} (exit {sheet.code}) {sheet.err.strip()[:160]}"


def this_take(sheet, quasi=False):
    """What is true of the stretch that was measured; QUASI: of the quasi-peak meter, too."""
    return sheet.truth(ever=False, quasi=quasi)


def stretches(sheet, least):
    count = len(sheet.rows("tone.stretches"))
    return "" if count >= least else f"table tone.stretches has {count} rows, wanted {least} or more"


def says(sheet, pattern, what):
    """'' when a sentence matches PATTERN."""
    if re.search(pattern, sheet.words(), re.IGNORECASE):
        return ""
    return f"no sentence {what}; exit {sheet.code}, {sheet.shown('speed.error')}"


def withheld(sheet, key, truth):
    """'' when KEY is not printed, or is right within its ±."""
    if sheet.refused or sheet.value(key) is None:
        return ""
    return holds(sheet, key, truth)


def case_bands(bench):
    """Two bands, steps, slides and sweeps"""
    deck, two = turning(error=-0.61), Record(bands=[(20 * 0.9939, 3000), (99, 3150)])
    for stated, place in ((3150, "second"), (3000, "first")):
        sheet = bench.measure(deck, two, Take(seconds=40), f"record.tone={stated}Hz")
        yield f"20 s of 3000 Hz, then 3150 Hz, {stated} Hz stated: the {place}'s speed", holds(sheet, "speed.error", -0.61, 0.01, 0.1)
        yield f"the same, {stated} Hz stated: both are listed", stretches(sheet, 2)
        start = sheet.value("tone.start")
        late = start is not None and start > 18
        yield f"the same, {stated} Hz stated: the {place} is measured", "" if late == (stated == 3150) else f"measured from {start} s"
    sheet = bench.measure(deck, two, Take(seconds=40))
    yield "the same, no tone stated: one of the two", holds(sheet, "speed.error", -0.61, 0.01, 0.1)
    sheet = bench.measure(turning(error=0.2, steps=[(20, 5)]), Record(), Take(seconds=40), TONE)
    either = [holds(sheet, "speed.error", true, 0.01, 0.1) for true in (0.2, 5.2)]
    yield "a step of 5 % half way: the speed before or after it", "" if "" in either else either[0]
    yield "a step of 5 % half way: both are listed", stretches(sheet, 2)
    sheet = bench.measure(turning(slides=[(0, 40, 4)]), Record(), Take(seconds=40), TONE)
    slid = sheet.refused or sheet.flagged("speed.error", "unsteady") or sheet.flagged("speed.mean", "unsteady")
    yield "a slide of 4 % over 40 s: unsteady, or refused", "" if slid else f"{sheet.shown('speed.error')}, exit {sheet.code}"
    for operands in ([TONE], []):
        sheet = bench.measure(turning(), Record(sweep=(2800, 3500)), Take(seconds=40), *operands)
        named = sheet.refused and "sweep" in sheet.err.lower()
        trouble = "" if named else f"{sheet.shown('speed.error')}, exit {sheet.code} {sheet.err.strip()[:160]}"
        yield f"a sweep from 2800 to 3500 Hz, {'tone' if operands else 'no tone'} stated: refused, and called a sweep", trouble


def case_turn(bench):
    """Once a turn, with an engraved tone that is off"""
    long = Take(seconds=900, rate=8000, channels=1, bits=16, snr=51.4)
    for off in (0.5, -0.5):
        sheet = bench.measure(Deck(error=0.2, lines=[Line(0.15, ratio=1, phase=40)]), Record(tone_error=off), long, TONE)
        yield f"0.150 % once a turn, tone {off:+} %, 900 s: its amplitude", near(sheet, "revolution.amplitude", 0.15, 0.003)
        yield f"the same, tone {off:+} %: the record's own error", holds(sheet, "record.tone_error", off, 0, 0.05)
        yield f"the same, tone {off:+} %: the deck's own speed", holds(sheet, "speed.error", 0.2, 0, 0.55)
    for seconds in (40, 120):
        sheet = bench.measure(turning(), Record(tone_error=0.1), Take(seconds=seconds), TONE)
        yield f"tone +0.1 %, {seconds} s: phase within 2°", near(sheet, "revolution.phase", 40, 2)
    sheet = bench.measure(turning(), Record(tone_error=0.007, locked=True), Take(seconds=40), TONE)
    yield "a locked groove is recognised", says(sheet, "locked", "says that the groove is locked")


def case_room(bench):
    """A recording through a room"""
    deck = Deck(error=0.3, lines=[Line(0.12, ratio=1, phase=40)] + harmonics(0.06, 3, hz=4.17) + [Line(0.03, hz=11.3)])
    for time, ratio in ((0.55, -5), (0.35, -2), (0.9, -8), (0.22, -3), (0.46, -6)):
        take = model.Take(seconds=60, room=(time, ratio), snr=55, level=-22)
        sheet = bench.measure(deck, Record(), take, TONE)
        truth = this_take(sheet)
        for key in ("flutter.weighted.two_sigma", "flutter.unweighted.two_sigma"):
            trouble = withheld(sheet, key, truth.get(key, (np.nan,))[0])
            yield f"reverberation {time} s, direct {ratio} dB: {key} right or not printed", trouble
        for key in ("revolution.amplitude", "speed.error"):
            yield f"reverberation {time} s, direct {ratio} dB: {key}", holds(sheet, key, truth.get(key, (np.nan,))[0])
        begin = sheet.value("tone.start")
        spread = tone_room.spread(deck, Record(), take, begin, begin + sheet.value("tone.length"))
        yield f"reverberation {time} s, direct {ratio} dB: how far it spreads the tone", holds(sheet, "room.reverberation", 1000 * spread)
        heard = sheet.refused or sheet.value("room.swing") is not None
        yield f"reverberation {time} s, direct {ratio} dB: heard", "" if heard else "no room.swing"
        yield f"reverberation {time} s, direct {ratio} dB: said", says(sheet, "through a room|steady|spoilt", "says that a room is heard")
    slow = Deck(error=0.2, lines=[Line(0.09, ratio=1, phase=40)])
    for time, ratio in ((0.38, -4), (0.6, -6), (0.3, 2), (0.64, 1)):
        sheet = bench.measure(slow, Record(), model.Take(seconds=60, room=(time, ratio), snr=55, level=-25), TONE)
        truth = this_take(sheet)
        for key in ("revolution.amplitude", "speed.error"):
            yield f"nothing but once a turn, direct {ratio} dB: {key}", holds(sheet, key, truth.get(key, (np.nan,))[0])
        for key in ("flutter.weighted.two_sigma", "flutter.unweighted.two_sigma"):
            trouble = withheld(sheet, key, truth.get(key, (np.nan,))[0])
            yield f"nothing but once a turn, direct {ratio} dB: {key} right or not printed", trouble
    dry_ones = [("from the arm's leads", model.Take(seconds=60)), ("on a warped record", model.Take(seconds=60, am=(1.5, 1.1)))]
    for name, take in dry_ones:
        sheet = bench.measure(deck, Record(), take, TONE)
        yield f"{name} no room is heard", "" if sheet.value("room.swing") is None else sheet.shown("room.swing")


def case_sliders(bench):
    """Decks whose slider goes to 8 % and beyond"""
    for error in (6.5, -6.5, 8.0, -8.0, 9.7, -9.7, 15.0, -17.0, -40.0, 50.0):
        sheet = bench.measure(turning(error=error), Record(), Take(seconds=30), TONE)
        yield f"{error:+} %, 3150 Hz stated", holds(sheet, "speed.error", error, 0.005)
    sheet = bench.measure(turning(error=-4), Record(), Take(seconds=40))
    trouble = "" if sheet.refused or sheet.value("speed.error") is None else holds(sheet, "speed.error", -4, 0.005)
    yield "-4 %, no tone stated: not taken for 3000 Hz", trouble


def case_belt(bench):
    """A belt that turns nearly with the platter"""
    for seconds, ratio in ((30, 0.85), (30, 0.87), (40, 0.9), (45, 0.87)):
        belt = harmonics(0.06, 3, fall=0.6, seed=3, ratio=ratio, part="belt")
        deck = Deck(error=0.2, lines=[Line(0.1, ratio=1, phase=40)] + belt + [Line(0.02, hz=6.87)], wander=Wander(0.005))
        sheet = bench.measure(deck, Record(), Take(seconds=seconds), TONE)
        true = 1.002 * 100 / 180 * ratio
        rows = sheet.rows("flutter.lines")
        found = [row for row in rows if abs(row["frequency"] - true) < 0.3 / seconds and abs(row["amplitude"] / 0.06 - 1) < 0.15]
        listed = ", ".join(f"{row['frequency']:.3f} Hz {row['amplitude']:.4f}" for row in rows[:5])
        trouble = "" if found else f"{true:.3f} Hz 0.0600 is not among {listed}"
        yield f"belt at {ratio} of the platter, {seconds} s: its line stands in the table", trouble
        yield f"belt at {ratio} of the platter, {seconds} s: once a turn", holds(sheet, "revolution.amplitude", 0.1, 0.0005, 0.01)


def case_neighbours(bench):
    """A belt that is stronger than the platter, in a short take"""
    belt = [Line(0.0708, ratio=0.9603, phase=105, part="belt"), Line(0.0368, ratio=1.9206, phase=94, part="belt")]
    weak = Deck(error=-1.17, lines=[Line(0.019, ratio=1, phase=350)] + belt)
    sheet = bench.measure(weak, Record(off_centre=0.0488, radius=85, direction=346), Take(seconds=28.5, snr=45), TONE)
    truth = this_take(sheet)
    for key, least in (("revolution.amplitude", 0.0005), ("speed.error", 0.0), ("record.tone_error", 0.0)):
        yield f"belt at 0.96, 28 s: {key} is the platter's", holds(sheet, key, truth.get(key, (np.nan,))[0], least)
    fast = Deck(rpm=45, error=-1.3, lines=[Line(0.03, ratio=1, phase=150), Line(0.1, hz=17.3)])
    sheet = bench.measure(fast, Record(), Take(seconds=30, snr=75), TONE)
    yield "a motor at 17 Hz bends no phase", holds(sheet, "revolution.phase", 150, 0.0, 0.2)
    for way in (90, 270):
        record = Record(off_centre=0.3, radius=70, direction=way)
        sheet = bench.measure(Deck(error=0.2), record, Take(seconds=60), TONE)
        yield f"a record off its centre, {way}°: phase within its ±", holds(sheet, "revolution.phase", way, 0.0, 0.5)


def case_statements(bench):
    """A wrong tone or a wrong speed stated"""
    take = Take(seconds=60)
    deck = turning(0.12, error=-0.4, lines=[Line(0.03, ratio=2)])
    sheet = bench.measure(deck, Record(tone=3150), take, "record.tone=3000Hz")
    yield "3150 Hz played, 3000 Hz stated: named", says(sheet, r"31[45]\d", "names 3150 Hz")
    sheet = bench.measure(deck, Record(tone=3000), take, "record.tone=3150Hz")
    yield "3000 Hz played, 3150 Hz stated: named", says(sheet, r"(?<!\d)(2[89]\d\d|30\d\d)(\.\d+)? ?Hz", "names 3000 Hz")
    sheet = bench.measure(deck, Record(), take, TONE, "deck.speed=45rpm")
    yield "33⅓ rpm played, 45 rpm stated: named", says(sheet, "33", "names 33⅓ rpm")
    sheet = bench.measure(turning(0.12, rpm=45), Record(), take, TONE, "deck.speed=33.333333rpm")
    yield "45 rpm played, 33⅓ rpm stated: named", says(sheet, r"\b4[45]\b", "names 45 rpm")
    for seconds in (40, 120):
        sheet = bench.measure(deck, Record(), Take(seconds=seconds), TONE, "deck.speed=34rpm")
        yield f"34 rpm stated, 33⅓ played, {seconds} s: the speed, or a ± that reaches it", holds(sheet, "speed.mean", 33.2, 0.002)
        yield f"34 rpm stated, 33⅓ played, {seconds} s: said", says(sheet, r"33\.2\d rpm", "names what comes once a turn")
    sheet = bench.measure(deck, Record(), take, TONE)
    wrong = re.search(r"wrong (tone|speed)|another (tone|speed)", sheet.words(), re.IGNORECASE)
    yield "what is stated rightly is not doubted", f"says: {wrong.group(0)}" if wrong else ""


def case_noise(bench):
    """A noisy recording"""
    deck = Deck(error=0.3, lines=[Line(0.1, ratio=1, phase=40), Line(0.05, hz=4.17), Line(0.07, hz=27.3)], wander=Wander(0.02))
    for snr in (20, 26):
        sheet = bench.measure(deck, Record(), model.Take(seconds=60, snr=snr, channels=1), TONE)
        truth = this_take(sheet, quasi=True)
        for key in ("two_sigma", "rms", "average", "quasi_peak"):
            key = f"flutter.unweighted.{key}"
            yield f"signal to noise {snr} dB: {key}", holds(sheet, key, truth.get(key, (np.nan,))[0])
        noise = truth.get("tone.noise", (np.nan,))[0]
        low, high = noise / 1.96 * 0.8, noise * 1.2       # rms or two-sigma of the noise alone
        found = sheet.value("tone.noise")
        right = found is not None and low <= found <= high
        yield f"signal to noise {snr} dB: tone.noise", "" if right else f"tone.noise {found}, wanted {low:.3f} to {high:.3f} %"


def case_gaps(bench):
    """Dropouts that hide a few thousandths of the take"""
    deck = Deck(lines=[Line(0.1456, ratio=1, phase=30), Line(0.0512, ratio=0.9265, phase=10, part="belt")])
    for seed in (4, 5, 6):
        sheet = bench.measure(deck, Record(), model.Take(seconds=38, snr=79, dropouts=2.1, seed=seed), TONE)
        truth = this_take(sheet)
        for key in ("flutter.unweighted.rms", "flutter.unweighted.average"):
            yield f"dropouts, no. {seed}: {key} within its ±", holds(sheet, key, truth.get(key, (np.nan,))[0], 0.0, 0.0006)


def case_unfit(bench):
    """Recordings that are not fit for measuring"""
    deck = Deck(error=0.3, lines=[Line(0.1, ratio=1, phase=40), Line(0.04, hz=4.17)])
    key = "flutter.weighted.two_sigma"
    gone = [("97 % of the tone gone", model.Take(masked=0.97)), ("a buzz of 50 clicks a second", model.Take(buzz=(50, 3), channels=1))]
    for name, take in gone:
        sheet = bench.measure(deck, Record(), take, TONE)
        printed = sheet.value(key) is not None
        yield f"{name}: no flutter printed", f"{sheet.shown('tone.excluded')}: {sheet.shown(key)}" if printed else ""
    poor = [("the level swings by 95 %, three times a second", model.Take(am=(95, 3))), ("200 ticks a second", model.Take(ticks=200)),
            ("noise 5 dB above the tone", model.Take(snr=-5, channels=1)), ("noise as strong as the tone", model.Take(snr=0, channels=1))]
    for name, take in poor:
        sheet = bench.measure(deck, Record(), take, TONE)
        yield f"{name}: right or not printed", withheld(sheet, key, this_take(sheet).get(key, (np.nan,))[0])
    for mains, level in ((50, -30), (50, -40), (60, -35), (50, -58), (60, -58), (50, -66), (60, -71), (50, -75)):
        sheet = bench.measure(deck, Record(tone=315), model.Take(hum=(mains, level)), "record.tone=315Hz", f"deck.mains={mains}Hz")
        truth = this_take(sheet)
        for key in ("flutter.unweighted.two_sigma", "flutter.weighted.two_sigma"):
            trouble = withheld(sheet, key, truth.get(key, (np.nan,))[0])
            yield f"315 Hz with {mains} Hz hum {level} dB: {key} right or not printed", trouble
    sheet = bench.measure(deck, Record(), model.Take(seconds=30, clip=-18), TONE)
    flagged = sheet.flagged("tone.level", "clipped")
    yield "clipped: said", "" if flagged else says(sheet, "clip|overload|too loud", "says that it is clipped")


def contradicts(sheet, tone_given):
    """What is said against itself."""
    words = sheet.words()
    only = re.search(r"only ([\d.]+) s.*?at least ([\d.]+) s", words, re.IGNORECASE | re.DOTALL)
    if only and float(only.group(1)) >= float(only.group(2)):
        return f"says: {only.group(0)}"
    if tone_given and re.search(r"give record\.tone\b", words):
        return f"asks for record.tone, which was given: {words.strip()[-200:]}"
    if not sheet.readings and not sheet.err.strip():
        return f"exit {sheet.code} without a word"
    return ""


def case_messages(bench):
    """Messages that contradict themselves"""
    deck = turning()
    plays = [("all noise", deck, Record(), Take(seconds=40, level=-60, snr=-20)),
             ("a tone far from the one stated", deck, Record(tone=1870), Take(seconds=40)),
             ("a sweep", deck, Record(sweep=(2000, 4500)), Take(seconds=40)),
             ("a slide of 40 %", turning(slides=[(0, 40, 40)]), Record(), Take(seconds=40)),
             ("mostly masked", deck, Record(), Take(seconds=40, masked=0.98)),
             ("half masked", deck, Record(), Take(seconds=40, masked=0.5)),
             ("a very faint tone", deck, Record(), Take(seconds=40, level=-85, snr=10)),
             ("steps of 8 % every 4 s", turning(steps=[(4 * k, 8 * (-1)**k) for k in range(1, 10)]), Record(), Take(seconds=40)),
             ("a deck at 45 % of its speed", turning(error=-55), Record(), Take(seconds=40)),
             ("315 Hz with strong hum", deck, Record(tone=315), Take(seconds=60, hum=(50, -10))),
             ("the level swings", deck, Record(), Take(seconds=60, am=(70, 12))),
             ("hum alone", deck, Record(), Take(seconds=40, level=-70, snr=30, hum=(50, 40)))]
    for name, played, record, take in plays:
        stated = f"record.tone={315 if record.tone == 315 else 3150}Hz"
        yield f"{name}, tone stated", contradicts(bench.measure(played, record, take, stated), True)


def judged(sheet):
    """A verdict 'good' whose interval leaves the good range, or has none."""
    for key, row in sheet.readings.items():
        limit, half, value = row.get("limit"), row.get("uncertainty"), row.get("value")
        if row.get("verdict") != "good" or not limit:
            continue
        if half is None:
            return f"{sheet.shown(key)} is called good without a ±"
        ends = [(limit.get(f"good_{end}"), limit.get(end)) for end in ("low", "high")]
        low, high = (outer if inner is None else inner for inner, outer in ends)
        if (low is not None and value - half < low) or (high is not None and value + half > high):
            return f"{sheet.shown(key)} is called good, good is {low} to {high}"
    return ""


def case_judgement(bench):
    """How sure a number is, and the verdict that goes with it"""
    belt = harmonics(0.06, 3, ratio=0.87, part="belt")
    deck = Deck(error=0.12, lines=[Line(0.1, ratio=1, phase=40)] + belt, wander=Wander(0.02))
    for seconds in (8, 12, 15, 20):
        yield f"{seconds} s: good only if the ± lies within good", judged(bench.measure(deck, Record(), Take(seconds=seconds), TONE))
    unsure = [bench.measure(deck, Record(), Take(seconds=seconds, snr=30), TONE) for seconds in (6, 8, 12)]
    told = any(row.get("verdict") == "cannot tell" for sheet in unsure for row in sheet.readings.values())
    trouble = "" if told else "no reading of three short takes has the verdict cannot tell"
    yield "a take too short to tell is one of which it cannot tell", trouble
    still = Deck(error=0.12, drift=0.08, lines=[Line(0.1, ratio=1, phase=40)] + belt)
    sheet = bench.measure(still, Record(), Take(seconds=60), TONE, KNOWN_CLOCK)
    for key, most in (("speed.drift", 0.004), ("speed.error", 0.002)):
        true = this_take(sheet).get(key, (np.nan,))[0]
        yield f"60 s, lines alone: {key} and its ±", holds(sheet, key, true, 0, most)
    points = ((0.4, -15), (0.63, -8.4), (1.6, -1.8), (6.3, -0.9), (20, -5.9), (40, -10.4), (63, -14.2), (100, -17.3))
    for hertz, decibels in points:
        sheet = bench.measure(Deck(lines=[Line(0.1, hz=hertz)]), Record(), Take(seconds=24, channels=1), TONE)
        true = 0.09969 * 10 ** (decibels / 20)
        yield f"weighting at {hertz} Hz within 0.1 dB of the table", near(sheet, "flutter.weighted.two_sigma", true, true * 0.0117)


def case_range(bench):
    """Every sampling rate, tone and speed"""
    for rate in (44100, 48000, 96000, 192000):
        take = Take(seconds=15, rate=rate, snr=85, channels=1)
        sheet = bench.measure(turning(), Record(), take, TONE)
        truth = this_take(sheet)
        yield f"signal to noise of 85 dB at {rate} Hz", near(sheet, "tone.snr", truth.get("tone.snr", (85,))[0], 1.5)
        floor = truth.get("flutter.floor", (np.nan,))[0]
        yield f"floor at {rate} Hz", near(sheet, "flutter.floor", floor, floor * 0.3)
    for tone in (300, 8000, 10000, 15000):
        sheet = bench.measure(turning(error=0.4), Record(tone=tone), model.Take(seconds=30), f"record.tone={tone}Hz")
        yield f"a tone of {tone} Hz", holds(sheet, "speed.error", 0.4, 0.005)
    for rate in (44100, 48000, 96000):
        record, take = Record(tone=3150 * 78 * 3 / 100), Take(seconds=20, rate=rate)
        sheet = bench.measure(turning(rpm=78), record, take, TONE, "deck.speed=33.333333rpm")
        yield f"a 33⅓ record at 78 rpm, {rate} Hz", says(sheet, r"\b78\b", "names 78 rpm") or near(sheet, "speed.mean", 78, 0.1)
    for ppm in (80, -60):
        sheet = bench.measure(turning(error=0.4), Record(), Take(seconds=30, clock=ppm), TONE, f"chain.clock_error={ppm}ppm")
        yield f"a sampling clock {ppm:+} ppm off, stated", holds(sheet, "speed.error", 0.4, 0.0006)
        sheet = bench.measure(turning(error=0.4), Record(), Take(seconds=30, clock=ppm), TONE)
        yield f"a sampling clock {ppm:+} ppm off, not stated", holds(sheet, "speed.error", 0.4, 0.0, 0.02)
    for percent in (3, 10):
        sheet = bench.measure(Deck(lines=[Line(percent, ratio=1, phase=40)]), Record(), Take(seconds=40), TONE)
        true = this_take(sheet).get("revolution.amplitude", (percent,))[0]
        yield f"{percent} % once a turn", near(sheet, "revolution.amplitude", true, true * 0.02)


def case_files(bench, encoder=None):
    """What a codec, a chart and a paper do to it"""
    deck, take = turning(), Take(seconds=40, rate=44100)
    path = bench.folder / "plain.wav"
    model.record_to(path, deck, Record(), take)
    for kind, words in (("m4a", "avenc_aac bitrate=192000 ! mp4mux"), ("mp3", "lamemp3enc target=bitrate bitrate=192")):
        name = f"{kind.upper()}: the phase is that of the sound, not of the padding"
        coded = bench.folder / f"plain.{kind}"
        if not encoder or not encode(encoder, path, coded, words):
            yield name, Skip("no encoder")
            continue
        yield name, holds(bench.sheet(coded.name, TONE), "revolution.phase", 40, 1.5, 8)
        coded.unlink()
    bench.run("speed", path.name, TONE, "--chart", "plain.pdf")
    pages = pdf_pages(bench.folder / "plain.pdf")
    path.unlink()
    if pages is None:
        yield "the chart", Skip("pdftotext is not installed")
        return
    bare = [str(number) for number, page in enumerate(pages, 1) if "plain.wav" not in page]
    yield "every page has the file's name", f"not on page {', '.join(bare)} of {len(pages)}" if bare else ""
    dated = re.compile(r"\b20\d\d\b")
    bare = [str(number) for number, page in enumerate(pages, 1) if not dated.search(page)]
    yield "every page has the date", f"not on page {', '.join(bare)} of {len(pages)}" if bare else ""
    for hertz in (0.63, 0.92, 2.31):
        model.record_to(path, Deck(error=0.31, lines=[Line(0.1, hz=hertz)]), Record(), Take())
        sheet = bench.sheet(path.name, TONE)
        bench.run("speed", path.name, TONE, "--chart", "plain.pdf")
        words = " ".join(" ".join(pdf_pages(bench.folder / "plain.pdf")).split())
        yield f"the spectrum's sentence says what the table says, a line at {hertz} Hz", spectrum_sentence(words, sheet)


def encode(encoder, source, coded, words):
    return subprocess.run([encoder, source, coded, words], stdout=subprocess.PIPE, check=False).returncode == 0


def pdf_pages(path):
    """The text of each page, or None where there is no tool for it."""
    if not shutil.which("pdftotext"):
        return None
    done = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=False)
    return [page for page in done.stdout.split("\f") if page.strip()]


def spectrum_sentence(words, sheet):
    said = re.search(r"largest at ([\d.]+) Hz with ([\d.]+) % peak", words)
    rows = sheet.rows("flutter.lines")
    if not said or not rows:
        return "no sentence or no table"
    hertz, percent = map(float, said.groups())
    first = max(rows, key=lambda row: row["amplitude"])
    if abs(hertz - first["frequency"]) > 0.006 or abs(percent / first["amplitude"] - 1) > 0.02:
        return f"says {hertz} Hz {percent} %, the table {first['frequency']:.3f} Hz {first['amplitude']:.4f} %"
    return ""


CASES = [case_bands, case_turn, case_room, case_sliders, case_belt, case_neighbours, case_statements, case_noise, case_gaps, case_unfit, case_messages,
         case_judgement, case_range, case_files, *tone_said.CASES]


# The twelve ways in which a speed was once fooled, and the cases that try each.
TWELVE = [
    ("two bands, a step, a slide or a sweep become one speed", [case_bands]),
    ("once a turn vanishes where the engraved tone is off", [case_turn]),
    ("a room goes unheard, or moves a reading by more than its ±", [case_room]),
    ("a slider's range is refused, or taken for another tone", [case_sliders]),
    ("a belt beside the platter is missed in a short take", [case_belt, case_neighbours]),
    ("a wrong tone or speed that was stated goes unnoticed", [case_statements]),
    ("noise and gaps move a reading by more than its ±", [case_noise, case_gaps]),
    ("a tone that is mostly gone, or under hum, is measured all the same", [case_unfit]),
    ("a message contradicts itself", [case_messages]),
    ("a ± is too wide, or a verdict ignores it", [case_judgement]),
    ("signal to noise saturates, high tones fail, 78 for 33⅓ fails", [case_range]),
    ("a codec shifts the phase, a chart contradicts its table, a page has no name or day", [case_files]),
]


def checks(number, program, encoder=None):
    """Case NUMBER (from 1): its title and (name, trouble) of each check."""
    case = CASES[number - 1]
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(program, folder)
        found = list(case(bench, encoder) if case is case_files else case(bench))
    return case.__doc__, found


def main(program, encoder=None):
    tap = Tap()
    for number in range(1, len(CASES) + 1):
        title, found = checks(number, program, encoder)
        for name, trouble in found:
            if isinstance(trouble, Skip):
                tap.skip(f"{title}: {name}", trouble)
            else:
                tap.say(f"{title}: {name}", trouble)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
