#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""`ears` on two recordings drawn apart: all four pieces equally loud by BS.1770 written anew here, the passage the same groove in both, and no turn
much worse than the one called worst."""
import re
import subprocess

import numpy as np
from scipy import signal
from scipy.io import wavfile

import music_run
import program

PIECES = ("worst-turn.wav", "best-turn.wav", "as-received.wav", "as-left.wav")


def weighted(sound, rate):
    """Source (published): K-weighting (ITU-R BS.1770-4, annex 1): the shelf and the high-pass by their analogue prototypes, as EBU Tech 3341's readers do (from memory)."""
    f0, gain, q = 1681.974450955533, 3.999843853973347, 0.7071752369554196
    k, vh = np.tan(np.pi * f0 / rate), 10 ** (gain / 20)
    vb = vh ** 0.4996667741545416
    a0 = 1 + k / q + k * k
    shelf = ([(vh + vb * k / q + k * k) / a0, 2 * (k * k - vh) / a0, (vh - vb * k / q + k * k) / a0], [1, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0])
    f0, q = 38.13547087602444, 0.5003270373238773
    k = np.tan(np.pi * f0 / rate)
    a0 = 1 + k / q + k * k
    high = ([1, -2, 1], [1, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0])
    return signal.lfilter(*high, signal.lfilter(*shelf, sound, axis=0), axis=0)


def loudness(sound, rate):
    """Integrated, of blocks of 400 ms that overlap by three quarters, gated at -70 LUFS and 10 LU under the mean."""
    squares, step, size = weighted(sound, rate) ** 2, rate // 10, 4 * (rate // 10)
    blocks = np.array([squares[at:at + size].mean(axis=0).sum() for at in range(0, len(squares) - size + 1, step)])
    blocks = blocks[-0.691 + 10 * np.log10(blocks + 1e-20) > -70]
    kept = blocks[blocks > blocks.mean() / 10]
    return -0.691 + 10 * np.log10(kept.mean())


def read(path):
    rate, sound = wavfile.read(path)
    return rate, sound.reshape(len(sound), -1) / 32768.0


def sine_is_as_published():
    """Source (published): EBU Tech 3341, case 1: 1 kHz in both channels at -23 dBFS is -23 LUFS, within 0.1."""
    tone = 10 ** (-23 / 20) * np.sin(2 * np.pi * 1000 * np.arange(48000 * 20) / 48000)
    told = loudness(np.stack([tone, tone], axis=1), 48000)
    return "" if abs(told + 23) < 0.1 else f"{told:.2f} LUFS"


def worst_of(case, turn_s):
    """Time in the first recording of each tenth of a second, and the rms of one speed against the other over the turn that begins there."""
    first, second = case.decks
    u, passed = first.times(case.begins[0], case.ends[0] * 1.02)
    t = np.arange(0, case.seconds - 6, 0.1)
    g = np.interp(t, passed, u)
    off = first.speed(g) / second.speed(g)
    off = off / off.mean() - 1
    n = round(turn_s / 0.1)
    return t, np.array([np.sqrt(np.mean(off[i:i + n] ** 2)) for i in range(len(t) - n)])


def make(prog, files, folder, case):
    return subprocess.run([prog.path, "ears", *map(str, files), "--out", str(folder), f"deck.speed={case.rpm:.6f}rpm"], capture_output=True, text=True)


def run(prog, checks, names):
    checks.attempt(sine_is_as_published.__doc__, sine_is_as_published)
    case = music_run.Twin(71, 3, "received and left", 45.0)
    for which, deck in enumerate(case.decks):
        deck.skip, deck.lines = None, [(1, 0.2 - 0.15 * which, 40), (0.9, 0.1 - 0.08 * which, 0)]     # which beat against one another
    for chain in case.chains:
        chain.edit = chain.codec = None
        chain.mono = chain.reversed = False
    files = case.record([prog.recording(f"ears-{which}.wav") for which in ("first", "second")])
    folder = prog.recording("heard")
    done = make(prog, files, folder, case)
    if not checks.that(done.returncode == 0, "ears writes its files", done.stderr):
        return
    checks.that("The first is the worse of the two" in done.stdout, "the one that wows 0.2 % is named", done.stdout)
    exchanged = make(prog, files[::-1], prog.recording("exchanged"), case)
    checks.that("second, given as left, is the worse" in exchanged.stdout, "and where it is given as left, it is asked", exchanged.stdout + exchanged.stderr)
    sounds = {name: read(folder / name) for name in PIECES}
    told = {name: loudness(sound, rate) for name, (rate, sound) in sounds.items()}
    checks.that(max(told.values()) - min(told.values()) < 0.3, "all are equally loud", str(told))
    checks.that(max(np.abs(sound).max() for _, sound in sounds.values()) < 1, "none is clipped", "")
    at = float(re.search(r"most in the turn at ([0-9.]+) s", done.stdout).group(1))
    t, rms = worst_of(case, 60 / case.rpm)
    here = rms[int(round(at / 0.1))] if round(at / 0.1) < len(rms) else 0
    checks.that(here > 0.85 * rms.max(), "no turn is much worse than the one called worst", f"at {at} s {here:.6f} of {rms.max():.6f}")
    (rate, one), (other_rate, two) = sounds["as-received.wav"], sounds["as-left.wav"]
    env = [np.sqrt(np.convolve((sound ** 2).sum(axis=1), np.ones(r // 50), "same")[::r // 100]) for r, sound in ((rate, one), (other_rate, two))]
    n = min(map(len, env))
    lag = np.argmax(signal.correlate(env[0][:n] - env[0][:n].mean(), env[1][:n] - env[1][:n].mean())) - (n - 1)
    checks.that(abs(lag) <= 12, "the passage is the same groove in both", f"{lag / 100:.2f} s apart")


if __name__ == "__main__":
    program.main(run)
