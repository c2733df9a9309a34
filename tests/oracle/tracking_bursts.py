#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Mistracking in bursts that come back once a turn, down to 2 % of the time, is mistracking; ticks, scratches and a single jolt are none.

Steps of a tone rise; from a drawn step on the tops of one channel's displacement are cut in bursts, the other's all the time from a
later step on; heard is the velocity. What the bursts distort is a sum over one period of the wave. Truth: which channel gives out
first and at which step.
"""
import numpy as np

import program
import waves

RATE, HZ, GAP_S, TURN_S = 24000, 300.0, 0.8, 1.8
STEPS = (50, 60, 70, 80, 90)
LIMIT = 0.05    # tracking.limit's preset


def cut(wave, share, both):
    """WAVE, of height 1, with the top SHARE of its height gone."""
    return np.clip(wave, -(1 - share) if both else -2, 1 - share)


def distortion(share, both):
    lines = abs(np.fft.rfft(cut(np.sin(2 * np.pi * np.arange(4096) / 4096), share, both))) * np.arange(2049)
    return np.sqrt(np.sum(lines[2:6] ** 2)) / lines[1]


def step(um, seconds, give, start):
    """The velocity. GIVE: None or (share of the displacement's height cut, both tops, part of each turn)."""
    time = np.arange(int(seconds * RATE)) / RATE
    wave = np.sin(2 * np.pi * HZ * time)
    if give:
        gone = ((time / TURN_S + start) % 1) < give[2]
        wave = np.where(gone, cut(wave, give[0], give[1]), wave)
    return 0.3 * um / STEPS[-1] * np.gradient(wave) * RATE / (2 * np.pi * HZ) * waves.fade(wave.size, RATE)


def side(seconds, fails, start):
    """FAILS: None or (number of the first step that gives way, what it does from there on)."""
    pieces = []
    for number, um in enumerate(STEPS):
        pieces += [step(um, seconds, fails[1] if fails and number >= fails[0] else None, start), np.zeros(int(GAP_S * RATE))]
    return np.concatenate(pieces)


def heard(prog, left, right, seed):
    path = waves.write(prog.recording("b.wav"), *(part + waves.noise(part.size, 3e-4, seed + n) for n, part in enumerate((left, right))), rate=RATE)
    done = prog.run("tracking", path, "record.tone=300Hz", *[f"tracking.level={um}um" for um in STEPS], "response.riaa=none", "--json")
    return program.Sheet("tracking", program.json.loads(done.stdout), done.stderr)


def drawn(prog, draw):
    seconds, both = draw.choice([4.0, 6.0, 9.0]), draw.random() < 0.5
    part = draw.choice([0.022, 0.03, 0.05, 0.1])
    share = draw.uniform(0.15, 0.4)     # 0.1 of distortion and more: a burst no longer than a frame is averaged over it
    first, later = draw.choice([(1, 3), (2, 4), (2, None)])
    fails = [(first, (share, both, part)), later and (later, (0.15, True, 1))]
    turned = draw.random() < 0.5
    start = draw.random()
    sides = [side(seconds, one, start) for one in fails]
    sheet = heard(prog, *(sides[::-1] if turned else sides), draw.randrange(1 << 30))
    names = ("right", "left") if turned else ("left", "right")
    wrong = []
    for name, one in zip(names, fails):
        true = STEPS[one[0] - 1] if one else STEPS[-1]
        if sheet.value(f"tracking.passed_{name}") != true:
            wrong.append(f"{name} passes {true} µm, told {sheet.value(f'tracking.passed_{name}')}")
        elif one:
            tops = "both tops" if one[1][1] else "the upper tops"
            if not any(tops in line for line in sheet.said(f"mistracking, {name}:")):
                wrong.append(f"{name}: {tops}, said {sheet.said(f'mistracking, {name}:')}")
    if not sheet.said(f"{names[0]} channel") or not sheet.said(("raise" if turned else "lower") + " the anti-skating"):
        wrong.append(f"{names[0]} first, said {sheet.said('anti-skating', 'passed')}")
    if not later and sheet.readings[f"tracking.passed_{names[1]}"]["flags"]:
        wrong.append(f"{names[1]} is a clean wave, flagged {sheet.readings[f'tracking.passed_{names[1]}']['flags']}")
    if wrong:
        wrong.append(f"({100 * part:.1f} % of the time, {100 * distortion(share, both):.0f} % of distortion, steps of {seconds:.0f} s)")
    return "; ".join(wrong)


def spoilt(prog, draw):
    """Ticks anywhere, a scratch once a turn, one jolt that bends the wave for 30 ms: nothing of it is mistracking."""
    seconds = draw.choice([4.0, 9.0])
    channels = [side(seconds, None, 0), side(seconds, None, 0)]
    count = channels[0].size
    for place in [draw.randrange(count - 50) for _ in range(30)] + [int((0.7 + k * TURN_S) * RATE) for k in range(int(count / RATE / TURN_S) - 1)]:
        long = draw.randrange(4, 24)
        channels[draw.randrange(2)][place:place + long] += draw.choice([-1, 1]) * draw.uniform(0.1, 0.5) * np.hanning(long + 2)[1:-1]
    jolt = int((3.5 * (seconds + GAP_S)) * RATE)
    channels[0][jolt:jolt + int(0.03 * RATE)] = cut(channels[0][jolt:jolt + int(0.03 * RATE)] / 0.27, 0.5, True) * 0.27
    sheet = heard(prog, *(np.clip(one, -0.95, 0.95) for one in channels), draw.randrange(1 << 30))
    passed = [sheet.value(f"tracking.passed_{name}") for name in ("left", "right")]
    return "" if passed == [STEPS[-1]] * 2 else f"nothing mistracks, told {passed}: {sheet.said('distort')}"


def run(prog, checks, names):
    draw = program.random.Random(41)
    for number in range(14):
        checks.attempt(f"bursts once a turn, {number + 1}", drawn, prog, draw)
    for number in range(6):
        checks.attempt(f"ticks, a scratch and a jolt, {number + 1}", spoilt, prog, draw)


if __name__ == "__main__":
    program.main(run)
