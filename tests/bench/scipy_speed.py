#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The plain way to weighted flutter: analytic signal, unwrapped phase, decimate, weight, read.

Worked in pieces of half a minute, because the analytic signal of a whole side would not fit in memory.
"""
import sys

import numpy as np
from scipy import signal
from scipy.io import wavfile

PIECE_S, SERIES_HZ = 30, 1000


def weighting(rate):
    """The pole-zero law of the weighting curve as second-order sections, 0 dB at 4 Hz."""
    corner = 2 * np.pi * 0.4435
    high = np.roots([1, corner / 0.6494, corner**2])
    zeros = [0, 0, 0, -2 * np.pi * 31.3161]
    poles = [*high, -2 * np.pi * 1.4979, -2 * np.pi * 8.5197, -2 * np.pi * 43.5026]
    sections = signal.zpk2sos(*signal.bilinear_zpk(zeros, poles, 1, rate))
    return sections / np.array([[abs(signal.sosfreqz(sections, [4], fs=rate)[1][0])] * 3 + [1] * 3] + [[1] * 6] * (
        len(sections) - 1))


def main(path):
    rate, samples = wavfile.read(path, mmap=False)
    band = signal.butter(4, [2800, 3500], "bandpass", fs=rate, output="sos")
    step = rate // SERIES_HZ
    series = []
    for start in range(0, len(samples), PIECE_S * rate):
        piece = samples[start:start + PIECE_S * rate].astype(float).mean(axis=1)
        phase = np.unwrap(np.angle(signal.hilbert(signal.sosfiltfilt(band, piece))))
        frequency = np.diff(phase) * rate / (2 * np.pi)
        for factor in (8, step // 8):
            frequency = signal.decimate(frequency, factor, ftype="fir")
        series.append(frequency)
    frequency = np.concatenate(series)
    mean = frequency.mean()
    weighted = signal.sosfilt(weighting(SERIES_HZ), frequency / mean - 1)
    print(f"{mean:.4f} Hz, weighted two-sigma {100 * np.percentile(abs(weighted[5 * SERIES_HZ:]), 95):.4f} %")


if __name__ == "__main__":
    main(sys.argv[1])
