# SPDX-License-Identifier: MIT
"""What a room does to the tone of a recording, by a demodulator of its own.

A room's gain and delay differ from one frequency to the next, so that the level of a tone whose speed wanders
follows its frequency. `spread` is by how much: the rms of the level's logarithm over that of the angular
frequency, both from 0.2 to 20 Hz, in seconds. For an echo much weaker than the direct sound it is its delay
times its strength (the slope of log |1 + a exp(-i w d)| over w).
"""
import dataclasses

import numpy as np
from scipy import signal

import tone_model as model

LOW, HIGH = 0.2, 20.0


def demodulated(sound, rate, hertz):
    """Log of the level and frequency [Hz] off HERTZ, and their rate."""
    t = np.arange(len(sound)) / rate
    step = int(rate / 800)
    low_pass = signal.firwin(2 * int(rate / 30) + 1, 100, fs=rate)
    base = signal.oaconvolve(sound * np.exp(-2j * np.pi * hertz * t), low_pass, "same")[::step]
    fs = rate / step
    turned = np.angle(base[1:] * np.conj(base[:-1])) * fs / (2 * np.pi)
    level = np.log(np.abs(base) + 1e-12)
    return (level[1:] + level[:-1]) / 2, turned, fs


def band_rms(x, fs):
    spectrum = np.fft.rfft(signal.detrend(x) * np.hanning(len(x)))
    hertz = np.fft.rfftfreq(len(x), 1 / fs)
    return float(np.sqrt((np.abs(spectrum[(hertz >= LOW) & (hertz < HIGH)])**2).sum()))


def spread(deck, record, take, begin, end):
    """Seconds, between BEGIN and END of the recording."""
    sound, _ = model.render(deck, record, dataclasses.replace(take, snr=None))
    inside = sound[0][int(begin * take.rate):int(end * take.rate)]
    level, off, fs = demodulated(inside, take.rate, record.tone * (1 + deck.error / 100))
    edge = int(0.2 * fs)
    return band_rms(level[edge:-edge], fs) / band_rms(2 * np.pi * off[edge:-edge], fs)
