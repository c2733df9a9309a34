#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Sheets that once misled, each again on a recording made here.

Wiring of whole sides: wiring_faults.py and drawn_sides.py; ticks: silent_ticks.py; mains, bursts, pairs of tones, doubts of
azimuth and of fast sweeps: band_budgets.py; hum in two places: hum_place.py. What is left of them stands here.
"""
import numpy as np

import planned_side
import program
import waves

RATE = 48000


def bands(directions, leak, noise, seed, hz=1000, seconds=5, level=0.3):
    """Tone bands one after another of a pickup that leaks so much both ways."""
    tone = waves.sine(hz, seconds, RATE, level) * waves.fade(seconds * RATE, RATE)
    parts = {"left": (tone, leak * tone), "right": (leak * tone, tone), "lateral": (tone * waves.ROOT, tone * waves.ROOT)}
    left, right = (np.concatenate([np.concatenate([parts[one][c], np.zeros(RATE)]) for one in directions]) for c in (0, 1))
    return left + waves.noise(left.size, noise, seed), right + waves.noise(left.size, noise, seed + 1)


def large_separation(prog, draw):
    """A leak that lies in the noise is "at least", without a flag, and the exit is that of a sound take."""
    path = waves.write(prog.recording("apart.wav"), *bands(["left", "right", "lateral"], 0.0, 1e-5, draw.randrange(1 << 30)), rate=RATE)
    sheet = prog.sheet("channels", path)
    wrong = []
    for side in ("left", "right"):
        reading = sheet.readings[f"channels.separation_{side}"]
        if "at least" not in reading["label"] or reading["flags"] or not reading["value"] > 60:
            wrong.append(f"{reading['label']}: {reading['value']:.1f} {reading['flags']}")
    code = prog.run("channels", path).returncode
    return "\n".join(wrong + ([f"exit {code}"] if code else []))


def polarity(prog, draw):
    path = waves.write(prog.recording("apart.wav"), *bands(["left", "right", "lateral"], 0.03, 1e-5, draw.randrange(1 << 30)), rate=RATE)
    said = prog.sheet("channels", path).value("channels.polarity")
    return "" if said == "in phase" else f"polarity is {said}"


def side_without(prog, channel):
    left, right = planned_side.play(lean_deg=0.5)
    signals = [left, right]
    signals[channel] = waves.noise(left.size, 2e-5, 11)
    plan = prog.recording("side.plan")
    plan.write_text(planned_side.plan(), encoding="utf-8")
    path = waves.write(prog.recording("side.wav"), *signals, rate=planned_side.RATE)
    return prog.sheet("side", path, record__plan=plan, response__riaa="none")


def dead_channel(prog, draw):
    """One channel alone has no asymmetry of the two, no balance and no azimuth to be told."""
    sheet = side_without(prog, draw.choice([0, 1]))
    told = [key for key in sheet.readings if key.startswith(("tracking.asymmetry", "azimuth.", "channels.balance", "channels.separation"))]
    wide = [key for key, row in sheet.readings.items() if row["uncertainty"] and isinstance(row["value"], float)
            and row["uncertainty"] > 5 * abs(row["value"]) + 10]
    return "\n".join([f"told of one channel: {' '.join(told)}"] * bool(told) + [f"a ± beyond sense: {' '.join(wide)}"] * bool(wide))


def missing_names(prog, draw):
    """What was not measured is named in words, not by the program's own keys."""
    text = prog.run("side", prog.recording("side.wav"), f"record.plan={prog.recording('side.plan')}", "response.riaa=none").stdout
    part = text.split("Not measured", 1)[-1]
    raw = [line for line in part.splitlines() if line.startswith("- ") and ("_" in line.split(":")[0] or "." in line.split(":")[0])]
    return "\n".join(raw[:3])


def level_in_microns(prog, draw):
    """A step's level with its unit is the same as the bare number."""
    seconds = 3.0
    time = np.arange(int(seconds * RATE)) / RATE
    tone = 0.2 * np.sin(2 * np.pi * 315 * time) * waves.fade(time.size, RATE)
    signal = np.concatenate([np.zeros(RATE), tone, np.zeros(RATE)])
    path = waves.write(prog.recording("step.wav"), signal + waves.noise(signal.size, 1e-5, 3), signal + waves.noise(signal.size, 1e-5, 4), rate=RATE)
    sheets = [prog.sheet("tracking", path, tracking__level=word) for word in ("50um", "50")]
    one, two = ({key: row["value"] for key, row in sheet.readings.items()} for sheet in sheets)
    return "" if one == two and one else f"{one} and {two}"


def same_tone(prog, draw):
    """A tone that comes again after a gap is the same tone; one of another pitch is another band."""
    seconds, gap, wrong = draw.uniform(9, 11), draw.uniform(2, 4), []
    for hz, use in [(3150.0, "the same tone, left out"), (3000.0, "another band")]:
        signal = np.concatenate([waves.sine(hz, round(seconds), 24000, 0.2), np.zeros(int(gap * 24000)), waves.sine(3150.0, 26, 24000, 0.2)])
        signal += waves.noise(signal.size, 3e-4, draw.randrange(1 << 30))
        sheet = prog.sheet("speed", waves.write(prog.recording("gap.wav"), signal, signal, rate=24000), record__tone="3150Hz", record__radius="100mm")
        uses = [row["use"] for row in sheet.table("tone.stretches")]
        if sorted(uses) != sorted(["measured", use]):
            wrong.append(f"{hz} Hz before 3150 Hz: {uses}")
    return "\n".join(wrong)


CHECKS = [("a tone that comes again", same_tone, 2), ("a separation beyond the noise", large_separation, 2), ("polarity in words", polarity, 1), ("one channel dead", dead_channel, 2),
          ("names of what was not measured", missing_names, 1), ("a level in microns", level_in_microns, 1)]


def run(prog, checks, names):
    for what, function, count in CHECKS:
        if not names or any(name in what for name in names):
            for number, draw in enumerate(program.draws(what, count), 1):
                checks.attempt(f"{what}, drawn case {number}", function, prog, draw)


if __name__ == "__main__":
    program.main(run)
