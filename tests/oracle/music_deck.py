# SPDX-License-Identifier: MIT
"""A deck plays the music of music.py: the groove passes the stylus with an exactly stated speed; then what preamplifier and recorder do.

The speed is a function of the groove passed, as it is where all parts run in gear: speed = mean × (1 + drift + wander + Σ a cos(k turn + phase)).
Time against groove is its reciprocal's integral (Simpson), the sound is a spline of order five through twice the samples.
"""
import json
import subprocess

import numpy as np
from scipy import interpolate, ndimage, signal

import music
import waves

STEP = 1 / 2000             # s of groove


class Deck:
    """How a record is turned. Lines are (times a turn, % peak, degrees of a cosine at the groove's time 0); drift in % a minute."""

    def __init__(self, rpm=100 / 3, error=0.0, drift=0.0, lines=(), wander=0.0, seed=0, skip=None):
        self.rpm, self.error, self.drift, self.lines = rpm, error, drift, list(lines)
        self.wander, self.seed, self.skip = wander, seed, skip          # skip: (groove time, turns forward)
        self.turn = 60 / rpm

    def speed(self, u, lines=True):
        draw = np.random.default_rng(self.seed)
        deviation = self.drift / 100 / 60 * u
        if self.wander:
            deviation = deviation + music.smooth_noise(u, draw, self.wander / 100, 0.02, 0.3)
        for times, percent, degrees in self.lines if lines else ():
            deviation = deviation + percent / 100 * np.cos(2 * np.pi * times * u / self.turn + np.radians(degrees))
        return (1 + self.error / 100) * (1 + deviation)

    def vector(self, times=1):
        """Of the lines at TIMES a turn, % peak as a complex number at the groove's time 0."""
        return sum(percent * np.exp(1j * np.radians(degrees)) for ratio, percent, degrees in self.lines if ratio == times)

    def times(self, begin, end, lines=True):
        """Groove times and when they pass, from BEGIN on."""
        u = np.arange(begin, end + STEP, STEP)
        at, middle = 1 / self.speed(u, lines), 1 / self.speed(u[:-1] + STEP / 2, lines)
        passed = np.concatenate([[0.0], np.cumsum((at[:-1] + 4 * middle + at[1:]) * STEP / 6)])
        return u, passed

    def mean(self, g):
        """Groove by time over the places G, % against nominal: the mean of what time each takes, beside the swings of turn and lines."""
        u = self.travelled(g)
        columns = [np.ones(u.size)] + [wave(2 * np.pi * times * u / self.turn) for times, _, _ in self.lines for wave in (np.cos, np.sin)]
        slowness = np.linalg.lstsq(np.stack(columns, axis=1), 1 / self.speed(u), rcond=None)[0][0]
        return 100 * (1 / slowness - 1)

    def trend(self, g):
        """Drift in % of the mean a minute of groove at G: a straight line through speed without its lines, wander and all."""
        speed = self.speed(self.travelled(g), lines=False)
        return 100 * np.polyfit(g / 60, speed / np.mean(speed), 1)[0]

    def travelled(self, g):
        """How far the platter has turned where the groove's places G pass."""
        return np.where(g >= self.skip[0], g - self.skip[1] * self.turn, g) if self.skip else g

    def groove(self, begin, end, rate=music.RATE):
        """Which groove passes at each sample of a recording that begins at BEGIN."""
        u, passed = self.times(begin, end)
        place = interpolate.CubicSpline(passed, u)(np.arange(int(passed[-1] * rate)) / rate)
        if self.skip:
            place = np.where(place >= self.skip[0], place + self.skip[1] * self.turn, place)
        return place


class Groove:
    """Rows of sound made ready for decks to play, however often."""

    def __init__(self, sound):
        self.rows = [dense(side) for side in sound]


def dense(sound):
    """SOUND (one row at music.RATE) as a spline of twice the samples."""
    return ndimage.spline_filter1d(music.twice_as_dense(sound), order=5, mode="mirror")


def warp(sound, place):
    """SOUND (one row at music.RATE) at the groove times PLACE."""
    return played(dense(sound), place)


def played(spline, place):
    """The SPLINE at the groove times PLACE."""
    out = np.empty(place.size)
    for first in range(0, place.size, 1 << 20):
        some = place[first:first + (1 << 20)] * 2 * music.RATE
        out[first:first + some.size] = ndimage.map_coordinates(spline, [some], order=5, mode="constant", prefilter=False)
    return out


def surface(count, decibels, ticks, draw):
    """What the groove adds: noise DECIBELS below rms 0.1, a rumble, ticks a second; two rows at music.RATE."""
    level = 0.1 * 10 ** (decibels / 20)
    b, a = signal.butter(1, 6000, fs=music.RATE)
    noise = signal.lfilter(b, a, draw.standard_normal((2, count)))
    low, high = signal.butter(1, (4, 40), "bandpass", fs=music.RATE)
    noise = noise / np.sqrt(np.mean(noise ** 2)) + 3 * signal.lfilter(low, high, draw.standard_normal((2, count)))
    noise *= level
    shape = np.exp(-np.arange(40) / 6) * np.cos(np.arange(40) * 0.9)
    for place in draw.integers(0, max(1, count - 40), int(ticks * count / music.RATE)):
        noise[:, place:place + 40] += draw.uniform(0.02, 0.4) * shape * draw.uniform(0.2, 1, (2, 1))
    return noise


def shelf(hz, decibels, rate, high):
    """A shelf of first order."""
    gain, w = 10 ** (decibels / 20), 2 * np.pi * hz
    if high:
        return signal.bilinear([gain, w], [1, w], fs=rate)
    return signal.bilinear([1, w * gain], [1, w], fs=rate)


class Chain:
    """What stands behind the stylus: filters of each channel, polarity, level, noise, mono, an edit, a codec."""

    def __init__(self, rate=music.RATE, level=0.0, reversed_=False, mono=False, noise=-70.0, shelves=(), loss=None, edit=None, codec=None):
        self.rate, self.level, self.reversed, self.mono, self.noise = rate, level, reversed_, mono, noise
        self.shelves, self.loss, self.edit, self.codec = list(shelves), loss, edit, codec

    def pass_on(self, rows, draw):
        for hz, decibels, high in self.shelves:
            rows = signal.lfilter(*shelf(hz, decibels, self.rate, high), rows)
        if self.loss:
            kept = 10 ** (-self.loss / 20)
            taps = signal.firwin2(301, [0, 6500, 8000, self.rate / 2], [1, 1, kept, kept], fs=self.rate)
            rows[1] = signal.fftconvolve(rows[1], taps, "same")
        if self.mono:
            rows = np.mean(rows, axis=0, keepdims=True)
        rows = rows * 10 ** (self.level / 20) * (-1 if self.reversed else 1)
        rows = rows + 10 ** (self.noise / 20) * np.sqrt(np.mean(rows ** 2)) * draw.standard_normal(rows.shape)
        if self.edit:       # what is left after it is heard for a second at least
            self.edit = (self.edit[0], min(self.edit[1], rows.shape[1] / self.rate - 1))
            rows = cut_out(rows, *[int(time * self.rate) for time in self.edit], int(0.005 * self.rate))
        return rows * min(1.0, 0.95 / np.max(np.abs(rows)))


def cut_out(rows, begin, end, fade):
    """Samples BEGIN to END left out, joined by a short fade."""
    ramp = np.linspace(0, 1, fade)
    joined = rows[:, begin - fade:begin] * (1 - ramp) + rows[:, end - fade:end] * ramp
    return np.concatenate([rows[:, :begin - fade], joined, rows[:, end:]], axis=1)


def record(path, sound, deck, chain, begin, end, seed):
    """Writes what was played of SOUND (rows or a Groove) from the groove's BEGIN to END; returns the file (an MP3 beside the WAV where the chain
    has a codec)."""
    place = deck.groove(begin, end, chain.rate)
    groove = sound if isinstance(sound, Groove) else Groove(sound)
    rows = chain.pass_on(np.stack([played(row, place) for row in groove.rows]), np.random.default_rng(seed))
    waves.write(path, *rows, rate=chain.rate)
    return encode(path, chain.codec) if chain.codec else path


def encode(path, kilobits):
    """MP3 by GStreamer; the WAV goes."""
    coded = path.with_suffix(".mp3")
    words = ["gst-launch-1.0", "-q", "filesrc", f"location={path}", "!", "wavparse", "!", "audioconvert", "!", "audioresample", "!", "lamemp3enc", "target=bitrate",
             f"bitrate={kilobits}", "cbr=true", "!", "filesink", f"location={coded}"]
    subprocess.run(words, check=True, capture_output=True)
    path.unlink()
    return coded


def truth_beside(path, truth):
    path.with_suffix(".json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
