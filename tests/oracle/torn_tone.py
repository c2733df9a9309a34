#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A live tone that a busy computer tears to pieces: blocks of it fail to come, come as silence, or are held back by silence.
No figure of now may stand there without a mark and be wrong, however many pieces there are; and beside the tear, and with noise
alone, the figures stand.

The tone is made here: 3150 Hz played 0.4 % fast, with 0.2 % once a turn in half of the cases, whose mean over a turn is nothing.
What comes and what does not is drawn. live-feed (tests/measure) hands it to the meter and prints its figures.
"""
import os
import subprocess
import sys
import tempfile

import numpy as np

RATE, SECONDS, TONE_HZ, FAST, TURN_HZ = 48000, 14, 3150, 0.4, 100 / 180
BURSTS = {"all of it": (0, SECONDS), "three seconds": (4, 7), "half a second": (5, 5.5), "none": (0, 0)}
WITHIN = 0.02  # % of speed
SEED = int(os.environ.get("DECKWRIGHT_SEED", "1"))


def tone(frames, wow, snr_db, draw):
    """Two channels of the tone at FRAMES, which are places in what was played."""
    time_s = frames / RATE
    swing = wow / 100 / (2 * np.pi * TURN_HZ) * np.cos(2 * np.pi * TURN_HZ * time_s)
    left = 0.25 * np.sin(2 * np.pi * TONE_HZ * ((1 + FAST / 100) * time_s - swing))
    noise = 0.25 / np.sqrt(2) * 10 ** (-snr_db / 20) * draw.standard_normal((len(frames), 2))
    return left[:, None] + noise


def torn(draw, block, each_s, kinds, burst, wow, snr_db):
    """EACH_S blocks a second, at most all, are torn within BURST."""
    pieces, place = [], 0
    for i in range(SECONDS * RATE // block):
        at_s = i * block / RATE
        kind = draw.choice(kinds) if burst[0] <= at_s < burst[1] and draw.random() < each_s * block / RATE else "sound"
        if kind == "missing":
            place += block
        frames = np.arange(place, place + block)
        sound = tone(frames, wow, snr_db, draw)
        pieces.append(np.zeros((block, 2)) if kind in ("held back", "silent") else sound)
        if kind != "held back":
            place += block
    return np.concatenate(pieces)


def figures(feed, samples):
    """Rows of time, whether all is well, and for the turn's speed, the settled one: value, half-width, whether it is of now."""
    with tempfile.NamedTemporaryFile(suffix=".raw") as raw:
        raw.write(samples.astype("<f4").tobytes())
        raw.flush()
        said = subprocess.run([feed, raw.name, str(RATE)], capture_output=True, text=True, check=True).stdout
    return [[float(word) for word in line.split()] for line in said.splitlines()]


def wrong(rows, within=1.5):
    """What stands as of now and is wrong, by more than WITHIN times its own half-width."""
    found = []
    for time_s, is_well, turn, turn_off, turn_now, mean, mean_off, mean_now in rows:
        for name, value, off, now in [("turn", turn, turn_off, turn_now), ("mean", mean, mean_off, mean_now)]:
            if is_well and now and not abs(value - FAST) <= max(WITHIN, within * off):
                found.append((time_s, name, value, off))
    return found


def cases(draw):
    for block in (64, 128, 256, 441, 512, 1024):
        for kinds in (["held back"], ["missing"], ["held back", "missing", "silent"]):
            for burst in ("all of it", "three seconds", "half a second"):
                yield block, float(draw.choice([5, 20, 40, 80, 150, 300])), kinds, burst


def main(feed):
    draw = np.random.default_rng(SEED)
    print("# seed", SEED)
    count, failed, stood, beyond = 0, False, 0, 0
    for i, (block, each_s, kinds, burst) in enumerate(cases(draw)):
        rows = figures(feed, torn(draw, block, each_s, kinds, BURSTS[burst], 0.2 * (i % 2), 50))
        bad, count = wrong(rows), count + 1
        stood += sum(row[1] and row[4] for row in rows)
        beyond += len(wrong(rows, 1))
        failed = failed or bool(bad)
        print(f"{'not ok' if bad else 'ok'} {count} - {'/'.join(kinds)}, blocks of {block}, {each_s:.0f} a second, {burst}"
              + (f": {len(bad)} of {len(rows)}, {bad[0]}" if bad else ""), flush=True)
    count, failed = count + 1, failed or beyond > 0.05 * stood
    print(f"{'not ok' if beyond > 0.05 * stood else 'ok'} {count} - of {stood:.0f} figures of a turn {beyond} lie beyond their half-width")
    for snr_db in (60, 40, 30, 20):
        rows = figures(feed, torn(draw, 480, 0, ["missing"], BURSTS["none"], 0.2, snr_db))
        stood = sum(row[1] and row[4] for row in rows[80:])
        count += 1
        is_well = not wrong(rows) and stood == len(rows[80:])
        failed = failed or not is_well
        print(f"{'ok' if is_well else 'not ok'} {count} - with noise {snr_db} dB below, the figures stand and are right"
              + ("" if is_well else f": {stood:.0f} of {len(rows[80:])}, {wrong(rows)[:2]}"))
    print(f"1..{count}")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
