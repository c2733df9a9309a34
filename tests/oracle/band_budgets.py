#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The ± of band readings is a claim: how often it holds on drawn pickups, arms and records, and what is said where it cannot be known.

A record leaks by itself: its cutter's leaks are drawn evenly within what record.crosstalk states. The pickup leans and leaks. The
arm passes x²/(1 − x² + jx/Q) of a sweep; the sweep's level wanders by a drawn slope. Expected: a 95 % interval holds on 93 to 97 %
of many cases; of as few as are drawn here, on 87 to 100 %, and the errors fill it (their rms is near half of it).
"""
import math

import numpy as np
from scipy import signal

import program
import waves

RATE = 12000


def fills(errors, halves):
    """What is wrong with a list of errors against their claimed half-widths."""
    held = sum(abs(error) <= half for error, half in zip(errors, halves)) / len(errors)
    size = math.sqrt(sum((error / half) ** 2 for error, half in zip(errors, halves)) / len(errors)) * 1.96
    return "" if held >= 0.87 and 0.5 < size < 1.3 else f"holds in {100 * held:.0f} %; errors are {size:.2f} of what is claimed"


def pickup_bands(draw, lean_deg, cutter, leak=0.0):
    lean = math.radians(lean_deg)
    back = np.array([[math.cos(lean), -math.sin(lean)], [math.sin(lean), math.cos(lean)]])
    left, right = [], []
    for own, other, crosstalk in ((waves.A_LEFT, waves.A_RIGHT, cutter[0]), (waves.A_RIGHT, waves.A_LEFT, cutter[1])):
        tone = waves.sine(1000, 3, RATE, 0.3) * waves.fade(3 * RATE, RATE)
        swing = np.outer(own + crosstalk * other, tone)
        one, two = (back @ waves.A_LEFT) @ swing, (back @ waves.A_RIGHT) @ swing
        left += [one + leak * two, np.zeros(RATE)]
        right += [two + leak * one, np.zeros(RATE)]
    both = waves.groove("lateral", waves.sine(1000, 3, RATE, 0.3) * waves.fade(3 * RATE, RATE))
    left.append((back @ waves.A_LEFT) @ both)
    right.append((back @ waves.A_RIGHT) @ both)
    left, right = np.concatenate(left), np.concatenate(right)
    seed = draw.randrange(1 << 30)
    return left + waves.noise(left.size, 1e-4, seed), right + waves.noise(left.size, 1e-4, seed + 1)


def azimuth(prog, draw):
    errors, halves = [], []
    for _ in range(40):
        stated = draw.choice([30, 35, 40])
        most = 10 ** (-stated / 20)
        lean = draw.uniform(-2.5, 2.5)
        signals = pickup_bands(draw, lean, (draw.uniform(-most, most), draw.uniform(-most, most)))
        sheet = prog.sheet("azimuth", waves.write(prog.recording("a.wav"), *signals, rate=RATE), record__crosstalk=f"{stated}dB")
        if sheet.readings["azimuth.rotation"]["uncertainty"] < abs(lean) / 2:   # a leak one way is another case
            errors.append(sheet.value("azimuth.rotation") - lean)
            halves.append(sheet.readings["azimuth.rotation"]["uncertainty"])
    return fills(errors, halves)


def pressed(prog, draw):
    """Nothing stated of the record: its bands are off by 0.1 dB, its cut leaks by 48 dB, both rms; one pickup in two leaks, of those one
    in two one way only. The ± is that of the pickup; no turn is advised inside it, and none called right that is known worse than 2°."""
    errors, halves, away, hasty = [], [], [], 0
    for number in range(48):
        lean, leak = draw.uniform(-2, 2), (0.0, 0.0)
        if number % 2:
            size = draw.choice([-1, 1]) * draw.uniform(0.01, 0.05)
            leak = draw.choice([(size, size), (size, 0.0), (0.0, size)])
        cutter, off = [draw.gauss(0, 0.004) for _ in range(2)], [10 ** (draw.gauss(0, 0.1) / 20) for _ in range(2)]
        turn = math.radians(lean)
        back = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        axes = np.stack([back @ waves.A_LEFT, back @ waves.A_RIGHT])
        matrix = np.array([[1, leak[1]], [leak[0], 1]]) @ axes
        tone = waves.sine(1000, 3, RATE, 0.3) * waves.fade(3 * RATE, RATE)
        parts = []
        for band, (own, other) in enumerate(((waves.A_LEFT, waves.A_RIGHT), (waves.A_RIGHT, waves.A_LEFT))):
            parts += [np.outer(matrix @ (off[band] * (own + cutter[band] * other)), tone), np.zeros((2, RATE))]
        parts.append(np.outer(matrix @ waves.groove("lateral", np.ones(1))[:, 0], tone))
        left, right = np.concatenate(parts, axis=1) + np.stack([waves.noise(11 * RATE, 1e-4, draw.randrange(1 << 30)) for _ in range(2)])
        path = waves.write(prog.recording("p.wav"), left, right, rate=RATE)
        sheet, balance = prog.sheet("azimuth", path), prog.sheet("channels", path).readings["channels.balance"]
        rotation = sheet.readings["azimuth.rotation"]
        hasty += bool(sheet.said("turn the headshell")) and abs(rotation["value"]) <= rotation["uncertainty"]
        hasty += bool(sheet.said("azimuth is right within")) and rotation["uncertainty"] > 2
        away.append(abs(rotation["value"] - lean) <= rotation["uncertainty"])
        in_left, in_right = matrix @ waves.A_LEFT, matrix @ waves.A_RIGHT
        errors.append(balance["value"] - 20 * math.log10(abs(in_right[1] / in_left[0])))
        halves.append(balance["uncertainty"])
    wrong = fills(errors, halves)
    held = sum(away) / len(away)
    advised = f"{hasty} pickups advised on inside the ±" if hasty else ""
    return "\n".join(line for line in (advised, f"balance {wrong}" if wrong else "", f"turn holds in {100 * held:.0f} %" if held < 0.9 else "") if line)


def clicked_hum(prog, draw):
    """Hum among ticks is the hum without them, within its ±."""
    errors, halves, count = [], [], 16 * RATE
    time = np.arange(count) / RATE
    for _ in range(12):
        hz, level = draw.choice([50, 60]) + draw.gauss(0, 0.01), 10 ** (draw.uniform(-70, -56) / 20)
        one = level * np.sin(2 * np.pi * hz * time) + 0.3 * level * np.sin(4 * np.pi * hz * time + 1)
        left, right = (one + waves.noise(count, 1e-4, draw.randrange(1 << 30)) for _ in range(2))
        for place in (draw.randrange(200, count - 200) for _ in range(draw.randrange(0, 14))):
            for channel in (left, right):
                channel[place:place + 6] += 0.1 * np.hanning(8)[1:-1]
        sheet = prog.sheet("noise", waves.write(prog.recording("h.wav"), left, right, rate=RATE), noise__reference_level="-12dB",
                           noise__reference_velocity="10cm/s", record__start="0s", record__end="16s")
        reading, datum = sheet.readings["noise.hum"], 10 ** (-12 / 20)
        if reading["uncertainty"] is None:
            return "noise.hum has no ±"
        errors.append(reading["value"] - 20 * math.log10(datum / (level * math.sqrt(1.09))))
        halves.append(max(reading["uncertainty"], 0.02))
    held = sum(abs(error) <= half for error, half in zip(errors, halves)) / len(errors)
    return "" if held >= 0.8 else f"holds in {100 * held:.0f} %: " + " ".join(f"{e:+.3f} of {h:.3f}" for e, h in zip(errors, halves))


def one_way(prog, draw):
    """4 % from left into right, nothing back, no lean: the ± reaches to nothing, and a caution says what it is."""
    tone = waves.sine(1000, 4, RATE, 0.3) * waves.fade(4 * RATE, RATE)
    gap = np.zeros(RATE)
    share = draw.choice([-1, 1]) * 0.04
    left = np.concatenate([tone, gap, 0 * tone, gap, tone])
    right = np.concatenate([share * tone, gap, tone, gap, tone])
    seed = draw.randrange(1 << 30)
    signals = left + waves.noise(left.size, 2e-5, seed), right + waves.noise(left.size, 2e-5, seed + 1)
    sheet = prog.sheet("azimuth", waves.write(prog.recording("a.wav"), *signals, rate=RATE))
    rotation = sheet.readings["azimuth.rotation"]
    wrong = []
    if abs(rotation["value"]) > rotation["uncertainty"]:
        wrong.append(f"no lean at all, told {rotation['value']:.2f} ± {rotation['uncertainty']:.2f}")
    if not any("leaks into the other" in caution for caution in sheet.raw["cautions"]):
        wrong.append("no caution says that a tilt is not the cause")
    if abs(sheet.value("azimuth.explained") - 50) > 3:
        wrong.append(f"half of a one-way leak passes for a tilt, told {sheet.value('azimuth.explained')} %")
    return "\n".join(wrong)


def swept(draw, f0, q, seconds, wander_db=0.0, down=True):
    """A sweep of constant velocity through the arm; its level slopes by wander_db over an octave."""
    count = seconds * RATE // 2
    time, first, last = np.arange(count) / (RATE // 2), 30.0, 4.0
    if not down:
        first, last = last, first
    octaves = math.log(last / first)
    phase = 2 * math.pi * first * seconds / octaves * (np.exp(octaves * time / seconds) - 1)
    hz = first * np.exp(octaves * time / seconds)
    level = 10 ** (wander_db * np.log2(hz / f0) / 20)
    gap = np.zeros(RATE // 2)
    warped = RATE * math.tan(math.pi * f0 / (RATE // 2))
    b, a = signal.bilinear([1, 0, 0], [1, warped / q, warped * warped], fs=RATE // 2)
    out = 0.02 * signal.lfilter(b, a, np.concatenate([gap, level * np.sin(phase), gap]))
    return out + waves.noise(out.size, 5e-5, draw.randrange(1 << 30))


def sweeps(prog, draw):
    """Drawn arms and sweeps, fast ones among them; the speed is off by up to 0.3 %."""
    errors, halves, wrong = [[], []], [[], []], []
    for _ in range(30):
        f0, q, seconds = draw.uniform(7, 13), draw.uniform(1.5, 9), draw.choice([8, 12, 20, 30])
        one = swept(draw, f0, q, seconds, draw.gauss(0, 0.1), draw.random() < 0.5)
        path = waves.write(prog.recording("s.wav"), one, one, rate=RATE // 2)
        try:
            sheet = prog.sheet("lowsweep", path, response__riaa="none", lowsweep__order="lateral_first")
        except program.Refused:     # nothing of it can be read, and that is said: it is counted below
            continue
        rows = [sheet.readings.get("lowsweep.lateral"), sheet.readings.get("lowsweep.q_lateral")]
        for k, truth in ((0, f0), (1, q)):
            if rows[k]:
                errors[k].append(rows[k]["value"] - truth)
                halves[k].append(rows[k]["uncertainty"])
    for k, name in ((0, "resonance"), (1, "Q")):
        if len(errors[k]) < 24:
            wrong.append(f"{name}: read in {len(errors[k])} of 30 cases")
        held = sum(abs(error) <= half for error, half in zip(errors[k], halves[k])) / len(errors[k])
        if held < 0.87:
            worst = max(zip(errors[k], halves[k]), key=lambda pair: abs(pair[0]) / pair[1])
            wrong.append(f"{name}: holds in {100 * held:.0f} %, worst {worst[0]:+.3f} of ± {worst[1]:.3f}")
    return "\n".join(wrong)


def too_fast(prog, draw):
    """A sharp resonance passed in a moment: flagged, or not read at all, and never wrong beyond its ±."""
    one = swept(draw, 11.2, 10, 10)
    sheet = prog.sheet("lowsweep", waves.write(prog.recording("s.wav"), one, one, rate=RATE // 2), response__riaa="none",
                       lowsweep__order="lateral_first")
    resonance = sheet.readings["lowsweep.lateral"]
    wrong = []
    if abs(resonance["value"] - 11.2) > resonance["uncertainty"] or not resonance["flags"]:
        wrong.append(f"11.2 Hz, told {resonance['value']:.2f} ± {resonance['uncertainty']:.3f} {resonance['flags']}")
    if sheet.has("lowsweep.q_lateral") and abs(sheet.value("lowsweep.q_lateral") - 10) > sheet.readings["lowsweep.q_lateral"]["uncertainty"]:
        wrong.append(f"Q 10, told {sheet.value('lowsweep.q_lateral'):.2f}")
    return "\n".join(wrong)


def alone(prog, draw):
    """A sweep by itself: one channel is of either direction, two are told apart only where nothing can be reversed; that is said."""
    one = swept(draw, 10.0, 4, 20)
    wrong = []
    sheet = prog.sheet("lowsweep", waves.write(prog.recording("m.wav"), one, rate=RATE // 2), response__riaa="none")
    if sheet.has("lowsweep.lateral") or sheet.has("lowsweep.vertical"):
        wrong.append("one channel alone is called lateral or vertical")
    if abs(sheet.value("lowsweep.either") - 10) > sheet.readings["lowsweep.either"]["uncertainty"]:
        wrong.append(f"10 Hz, told {sheet.value('lowsweep.either'):.2f}")
    sheet = prog.sheet("lowsweep", waves.write(prog.recording("s.wav"), one, -one, rate=RATE // 2), response__riaa="none")
    if not sheet.said("reversed"):
        wrong.append("nothing says that a reversed channel would exchange lateral and vertical")
    return "\n".join(wrong)


def rumble_alone(prog, draw):
    """The noise of a groove by itself: which way the rumble goes hangs on the wiring, and that is said."""
    count = 20 * RATE
    sos = signal.butter(2, [12, 40], "bandpass", fs=RATE, output="sos")
    side = signal.sosfilt(sos, waves.noise(count, 0.02, draw.randrange(1 << 30)))
    left, right = (side + waves.noise(count, 3e-5, draw.randrange(1 << 30)) for _ in range(2))
    sheet = prog.sheet("noise", waves.write(prog.recording("n.wav"), left, -right, rate=RATE), noise__reference_level="-12dB",
                       noise__reference_velocity="10cm/s")
    lines = sheet.said("mostly vertical", "mostly lateral")
    return "" if lines and all("reversed" in line for line in lines) else f"asserted without a condition: {lines}"


def hum(prog, draw, hz, stated):
    """Hum names its own mains, whatever was stated; a statement that is not so is told."""
    count = 20 * RATE
    time = np.arange(count) / RATE
    tone = sum(0.002 / order * np.sin(2 * np.pi * order * hz * time + order) for order in (1, 2, 3, 5))
    tone += sum(0.0006 * np.sin(2 * np.pi * (2 * hz + off) * time) for off in (-3.4, 3.4))
    left, right = (tone + waves.noise(count, 2e-5, draw.randrange(1 << 30)) for _ in range(2))
    words = {"deck__mains": f"{stated}Hz"} if stated else {}
    sheet = prog.sheet("noise", waves.write(prog.recording("h.wav"), left, right, rate=RATE), noise__reference_level="-12dB",
                       noise__reference_velocity="10cm/s", record__start="0s", record__end="20s", **words)
    wrong, causes = [], [row["cause"] for row in sheet.table("noise.lines")]
    mains = sheet.readings["noise.mains"]
    if abs(mains["value"] - hz) > mains["uncertainty"] or mains["uncertainty"] > 0.1:
        wrong.append(f"{hz} Hz, told {mains['value']} ± {mains['uncertainty']}")
    if sum("mains" in cause for cause in causes) < 4 or "noisy" in sheet.readings["noise.hum"]["flags"]:
        wrong.append(f"hum not named: {causes}")
    if sum("slip" in cause for cause in causes) != 2:
        wrong.append(f"slip not named: {causes}")
    if bool(sheet.said("but the hum")) != (stated not in (None, hz) and hz in (50, 60)):
        wrong.append(f"stated {stated}, heard {hz}: {sheet.said('hum')}")
    if bool(sheet.said("neither")) != (hz not in (50, 60)):
        wrong.append(f"heard {hz}: {sheet.said('hum')}")
    return "\n".join(wrong)


def unjudged(prog, draw):
    """Without a velocity for the reference there is no datum: no limit of a standard applies."""
    count = 12 * RATE
    left, right = (waves.noise(count, 1e-3, draw.randrange(1 << 30)) for _ in range(2))
    path = waves.write(prog.recording("n.wav"), left, right, rate=RATE)
    sheets = [prog.sheet("noise", path, noise__reference_level="-12dB", **words) for words in ({}, {"noise__reference_velocity": "10cm/s"})]
    verdicts = [sheet.readings["noise.rumble_unweighted"]["verdict"] for sheet in sheets]
    return "" if verdicts[0] is None and verdicts[1] else f"verdicts {verdicts}"


def bursts(prog, draw):
    """A step that mistracks three tenths of the time, a fifth of a second at a time, fails by those moments, not by the mean."""
    rate, onset, side, way = 24000, draw.choice([60, 70, 80]), draw.choice([0, 1]), draw.choice([-1, 1])
    channels, truth = [[], []], {}
    for step in (50, 60, 70, 80, 90):
        time = np.arange(5 * rate) / rate
        place = step * np.cos(2 * np.pi * 300 * time)
        bent = way * np.minimum(way * place, 0.72 * step)
        lost = (time % 0.7) < 0.21
        shapes = [place, np.where(lost, bent, place) if step >= onset else place]
        for c, shape in ((1 - side, shapes[0]), (side, shapes[1])):
            channels[c] += [np.gradient(shape) * rate * 2e-6, np.zeros(rate)]
        spectrum = np.abs(np.fft.rfft(np.gradient(bent)[:rate]))     # one second of nothing but the burst
        truth[step] = math.sqrt(sum(spectrum[300 * h] ** 2 for h in (2, 3, 4, 5))) / spectrum[300]
    left, right = (np.concatenate(parts) for parts in channels)
    seed = draw.randrange(1 << 30)
    path = waves.write(prog.recording("t.wav"), left + waves.noise(left.size, 3e-5, seed), right + waves.noise(left.size, 3e-5, seed + 1),
                       rate=rate)
    sheet = prog.sheet("tracking", path, tracking__level=[f"{step}um" for step in (50, 60, 70, 80, 90)], tracking__limit="8%",
                       response__riaa="none")
    name, other = ("right", "left") if side else ("left", "right")
    wrong = []
    if sheet.value(f"tracking.passed_{name}") != onset - 10 or sheet.value(f"tracking.passed_{other}") != 90:
        wrong.append(f"{name} fails from {onset} um on, told {sheet.value('tracking.passed_' + name)}, {sheet.value('tracking.passed_' + other)}")
    found = sheet.readings[f"tracking.onset_{name}"]
    if not onset - 10 <= found["value"] <= onset or abs(found["uncertainty"] - np.hypot(5, 0.0228 * onset)) > 0.1:
        wrong.append(f"onset {found}")
    for row in sheet.table("tracking.steps"):
        if row["level"] < onset:
            continue
        if abs(row[f"{name}_worst"] / 100 / truth[row["level"]] - 1) > 0.1:
            wrong.append(f"{row['level']} um: {100 * truth[row['level']]:.1f} % in a burst, told {row[name + '_worst']:.1f}")
        if row[f"{name}_side"] != ("the upper" if way > 0 else "the lower"):
            wrong.append(f"{row['level']} um: side {row[name + '_side']}, bent {way:+d}")
        if abs(row["velocity"] - 2 * math.pi * 300 * row["level"] * 1e-4) > 0.01 * row["velocity"]:
            wrong.append(f"{row['level']} um: {row['velocity']} cm/s")
    if any("clipped" in row["flags"] for row in sheet.raw["readings"]):
        wrong.append("called clipped")
    return "\n".join(wrong)


def pair(prog, draw, low, high):
    """A pair of tones whose high one is bent in level by the low one: m in level is two side tones of m/2."""
    rate, share = 48000, draw.uniform(0.005, 0.03)
    time = np.arange(6 * rate) / rate
    slow = np.sin(2 * np.pi * low * time)
    one = 0.3 * slow + 0.075 * (1 + share * slow) * np.sin(2 * np.pi * high * time)
    left, right = (one + waves.noise(one.size, 1e-5, draw.randrange(1 << 30)) for _ in range(2))
    sheet = prog.sheet("intermod", waves.write(prog.recording("i.wav"), left, right, rate=rate), intermod__low=f"{low}Hz", intermod__high=f"{high}Hz")
    wrong = near(sheet, "intermod.left", 100 * share, 0.05 + 3 * share)
    return "\n".join(wrong)


def near(sheet, key, truth, within):
    return [] if abs(sheet.value(key) - truth) <= within else [f"{key} is {truth:.3f}, told {sheet.value(key):.3f}"]


CHECKS = [("azimuth: the ± holds", azimuth, 1), ("azimuth: a leak one way", one_way, 2),
          ("pressings: the ± is the pickup's", pressed, 1), ("hum among ticks", clicked_hum, 1), ("arm's resonance and Q: the ± holds", sweeps, 1),
          ("arm's resonance: a sweep too fast", too_fast, 1), ("arm's resonance: a sweep alone", alone, 1),
          ("noise: a groove alone", rumble_alone, 1), ("noise: no datum, no verdict", unjudged, 1)]
CHECKS += [("tracking: bursts", bursts, 3)]
CHECKS += [(f"intermodulation of {low} and {high} Hz", lambda p, d, a=low, b=high: pair(p, d, a, b), 1)
           for low, high in ((60, 7000), (250, 8000), (400, 4000), (50, 3000))]
CHECKS += [(f"mains: {hz} Hz, {stated} stated", lambda p, d, h=hz, s=stated: hum(p, d, h, s), 1)
           for hz, stated in ((50, None), (60, None), (60, 50), (50, 60), (53.4, None))]


def run(prog, checks, names):
    for what, function, count in CHECKS:
        if not names or any(name in what for name in names):
            for number, draw in enumerate(program.draws(what, count), 1):
                checks.attempt(f"{what}, drawn case {number}", function, prog, draw)


if __name__ == "__main__":
    program.main(run)
