#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Taking a recording's noise out of its flutter leaves the lines as they are: what is taken out about some does not show on the others.

The truth is tone_truth's. What is asked is as much as all of the noise, left in, would add to the rms.
"""
import program
import tone_model as model
import tone_truth

SNR, MOST = 39.0, 0.03      # dB; % of the reading


def one(prog, draw):
    """A wow of the platter, and a motor whose lines stand out of the noise."""
    motor = draw.uniform(18, 26)
    lines = [model.Line(draw.uniform(0.1, 0.2), ratio=1, phase=draw.uniform(0, 360))]
    lines += model.harmonics(draw.uniform(0.01, 0.02), 2, 0.5, draw.randrange(1 << 30), hz=motor)
    deck = model.Deck(error=draw.uniform(-0.5, 0.5), lines=lines, seed=draw.randrange(1 << 30))
    take = model.Take(seconds=22, rate=44100, snr=SNR, seed=draw.randrange(1 << 30))
    record, path = model.Record(), prog.recording("noisy.wav")
    course = model.record_to(path, deck, record, take)
    sheet = prog.sheet("speed", path, record__tone="3150Hz")
    begin = sheet.value("tone.start")
    truth = tone_truth.truth(deck, record, take, course, begin, begin + sheet.value("tone.length"), ever=False, quasi=False)
    wrong = []
    for key in ("flutter.unweighted.rms", "flutter.unweighted.average"):
        off = 100 * (sheet.value(key) / truth[key][0] - 1)
        wrong += [] if abs(off) < MOST else [f"{key} off by {off:+.3f} %"]
    return "; ".join(wrong)


def run(prog, checks, _):
    for number, draw in enumerate(program.draws("noisy wow", 6), 1):
        checks.attempt(f"drawn deck {number}", one, prog, draw)


if __name__ == "__main__":
    program.main(run)
