#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Which step is which where no seconds are given and a channel mistracks steadily: its tone falls below that of lower steps, and loudness
no longer tells the steps apart.

Steps of a tone, rising or falling on the record or in any order; from a drawn height on a channel's displacement is cut to what is left of
it, so that its tone falls by the share that tracking_bursts.py's wave loses. Truth: which steps each channel passes, and which first.
"""
import numpy as np

import program
import tracking_bursts as waveform
import waves

RATE, HZ, GAP_S = 24000, 300.0, 0.8
UNKNOWN = "the places are said to be unknown"
RECORDS = ((50, 60, 70, 80, 90), (40, 50, 60, 70, 80), (50, 60, 70, 80))


def fall(share):
    """What is left of the fundamental."""
    wave = np.sin(2 * np.pi * np.arange(4096) / 4096)
    return abs(np.fft.rfft(waveform.cut(wave, share, True))[1]) * 2 / 4096


def step(um, seconds, share):
    wave = np.sin(2 * np.pi * HZ * np.arange(int(seconds * RATE)) / RATE)
    bent = waveform.cut(wave, share, True) if share else wave
    return 0.3 * um / 90 * np.gradient(bent) * RATE / (2 * np.pi * HZ) * waves.fade(wave.size, RATE)


def channel(order, seconds, first, share):
    """FIRST: the height from which on it gives way, None: nowhere."""
    return np.concatenate([np.concatenate([step(um, seconds, share if first and um >= first else 0), np.zeros(int(GAP_S * RATE))]) for um in order])


def judge(sheet, record, firsts):
    """FIRSTS of left and right. Rightly placed, or the places said to be unknown and nothing advised."""
    wrong = []
    unknown = sheet.said("which step is which") + [why for why in sheet.not_measured.values() if "which step is which" in why.lower()]
    advised = sheet.said("raise the tracking force", "anti-skating force")
    if unknown and not any(sheet.has(f"tracking.passed_{name}") for name in ("left", "right")):
        return [f"the places are unknown, yet advised {advised}"] if advised else [UNKNOWN]
    for name, first in zip(("left", "right"), firsts):
        true = record[record.index(first) - 1] if first else record[-1]
        key = f"tracking.passed_{name}"
        told = sheet.value(key) if sheet.has(key) else None
        if told != (true if first != record[0] else None):
            wrong.append(f"{name} passes {true if first != record[0] else 'none'}, told {told}")
    for row in sheet.table("tracking.steps"):
        true = row["level"]
        for name, first in zip(("left", "right"), firsts):
            if row["start"] is not None and (row[name] > 10) != bool(first and true >= first):
                wrong.append(f"{true:g} µm from {row['start']:.1f} s: {name} {row[name]:.1f} %")
    return wrong


def tried(prog, draw, order_of):
    record = draw.choice(RECORDS)
    order = order_of(draw, list(record))
    share = draw.uniform(0.2, 0.45)         # a third of distortion and more
    first = draw.choice(record[1:])
    other = draw.choice([None, first, first, *[um for um in record if um > first]])
    firsts = [first, other] if draw.random() < 0.5 else [other, first]
    seconds = draw.choice([2.5, 4.0])
    gains = 1.0, draw.uniform(0.7, 1.0)
    sides = [gain * channel(order, seconds, one, share) for gain, one in zip(gains, firsts)]
    path = waves.write(prog.recording("b.wav"), *(part + waves.noise(part.size, 2e-4, draw.randrange(1 << 30)) for part in sides), rate=RATE)
    stated = list(record)
    draw.shuffle(stated)
    if draw.random() < 0.5:
        stated.sort()
    sheet = prog.sheet("tracking", path, "record.tone=300Hz", *[f"tracking.level={um}um" for um in stated], "response.riaa=none")
    wrong = judge(sheet, record, firsts)
    if wrong == [UNKNOWN] and order_of is shuffled:      # a record whose steps rise or fall as it plays tells them by their order
        return ""
    return "; ".join(wrong[:4] + ([f"(on the record {order}, left gives way from {firsts[0]}, right {firsts[1]}, {100 * fall(share):.0f} % of the tone left)"] if wrong else []))


def unlevelled(prog, draw):
    """No levels stated: steps are counted from the quietest, which may be one that mistracks."""
    record = list(draw.choice(RECORDS))
    sides = [channel(record, 3.0, record[-draw.choice([1, 2])], 0.5) for _ in range(2)]
    path = waves.write(prog.recording("b.wav"), *(part + waves.noise(part.size, 2e-4, draw.randrange(1 << 30)) for part in sides), rate=RATE)
    sheet = prog.sheet("tracking", path, "record.tone=300Hz", "response.riaa=none")
    told = [key for key in sheet.readings if key.startswith(("tracking.passed", "tracking.onset"))]
    said = [why for why in sheet.not_measured.values() if "which step is which" in why.lower()]
    return "" if said and not told and not sheet.said("tracking force", "anti-skating") else f"told {told}, said {said or sheet.remarks}"


def rising(draw, record):
    return record


def falling(draw, record):
    return record[::-1]


def shuffled(draw, record):
    draw.shuffle(record)
    return record


def run(prog, checks, names):
    draw = program.random.Random(35)
    for name, order_of, times in (("rising", rising, 16), ("falling", falling, 6), ("in any order", shuffled, 10)):
        for number in range(times):
            checks.attempt(f"steps {name}, {number + 1}", tried, prog, draw, order_of)
    for number in range(3):
        checks.attempt(f"no levels stated, {number + 1}", unlevelled, prog, draw)


if __name__ == "__main__":
    program.main(run)
