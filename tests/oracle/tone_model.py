# SPDX-License-Identifier: MIT
"""An imagined deck that plays the constant tone of a test record, written from first principles.

A deck is described by rates and amplitudes (Deck), the record by what is engraved (Record), the
recording by what is done to the sound on its way into a file (Take). The tone is the integral of
the speed, taken at the sampling clock: phase = 2 pi * tone * (groove seconds passed so far).
tone_truth.py tells what a perfect instrument would read of the same deck.

Nothing here is taken from the program. Speeds are ratios to the nominal speed, times are seconds
from the file's first sample as true seconds (the file's clock may be wrong), amplitudes peak.
"""
import dataclasses
import math
import wave

import numpy as np
from scipy import fft, signal
from scipy.interpolate import CubicSpline

import waves

GRID = 1009.0          # Hz; no fluctuation described here is faster than 200 Hz, none keeps step with a prime number
PAST = 24.0            # seconds for which the deck ran before the file begins


@dataclasses.dataclass
class Line:
    """A periodic fluctuation. RATIO ties it to the platter's turning, HZ leaves it a rate of its own."""
    percent: float
    ratio: float = 0.0
    hz: float = 0.0
    phase: float = 0.0         # degrees of a cosine at the file's first sample
    part: str = ""


def harmonics(percent, count, fall=0.5, seed=0, **rate):
    """A part's line and its harmonics, each FALL times the one before."""
    draw = np.random.default_rng(seed)
    scaled = [{key: value * order for key, value in rate.items() if key in ("ratio", "hz")} for order in range(1, count + 1)]
    return [Line(percent * fall**order, phase=float(draw.uniform(0, 360)), part=rate.get("part", ""), **scaled[order])
            for order in range(count)]


@dataclasses.dataclass
class Wander:
    """Noise-like fluctuation: flat between LOW and HIGH Hz, falling as 1/f in amplitude beyond, gone above 200 Hz."""
    percent_rms: float
    low: float = 0.4
    high: float = 6.0


@dataclasses.dataclass
class Deck:
    rpm: float = 100.0 / 3.0
    error: float = 0.0               # % at the file's first sample
    drift: float = 0.0               # %/min, a straight line
    settle: tuple = ()               # (% still to go at the first sample, time constant in s)
    steps: list = dataclasses.field(default_factory=list)      # (second, %)
    slides: list = dataclasses.field(default_factory=list)     # (from second, to second, %)
    hunting: tuple = ()              # (% peak at the first sample, Hz, time constant in s)
    lines: list = dataclasses.field(default_factory=list)
    wander: Wander = None
    seed: int = 1

    def slow(self, t):
        """Ratio of the speed without periodic and noise-like fluctuations at the times T [s]."""
        percent = self.error + self.drift * t / 60
        if self.settle:
            percent = percent - self.settle[0] * np.exp(-np.maximum(t, 0) / self.settle[1])
        for when, step in self.steps:
            percent = percent + step * (t >= when)
        for begin, end, slide in self.slides:
            percent = percent + slide * np.clip((t - begin) / (end - begin), 0, 1)
        return 1 + percent / 100


@dataclasses.dataclass
class Record:
    tone: float = 3150.0
    tone_error: float = 0.0          # % by which the engraved tone is off
    off_centre: float = 0.0          # mm
    direction: float = 0.0           # degrees; phase of the cosine at the file's first sample
    radius: float = 100.0            # mm
    bands: list = dataclasses.field(default_factory=list)      # (seconds of groove, Hz), after each other
    sweep: tuple = ()                # (Hz, Hz) over the whole take
    locked: bool = False             # the same turn again and again


@dataclasses.dataclass
class Take:
    seconds: float = 60.0
    rate: int = 48000
    channels: int = 2
    bits: int = 24
    level: float = -12.0             # dBFS, a full-scale sine = 0
    snr: float = 70.0                # dB over half the sampling rate, each channel; None = without noise
    surface: float = 0.0             # share of the noise's power that falls towards high frequencies
    rumble: float = None             # dB below the tone, below 30 Hz
    hum: tuple = ()                  # (mains Hz, dB of the strongest harmonic against the tone)
    ticks: float = 0.0               # a second
    dropouts: float = 0.0            # a minute
    masked: float = 0.0              # share of the time for which the tone is gone
    buzz: tuple = ()                 # (clicks a second, height against the tone), as a dimmer makes them
    clip: float = None               # dBFS at which everything is cut off
    am: tuple = ()                   # (% peak, Hz)
    room: tuple = ()                 # (RT60 in s, direct against reverberant sound in dB)
    delay: float = 0.0               # seconds of padding that a codec puts ahead
    lead_in: float = 0.0             # seconds of talk and crackle before the tone
    clock: float = 0.0               # ppm by which the sampling clock is fast
    seed: int = 7


def at_half_rate(snr=70.0, rate=None, **how):
    """A take at 24 kHz, where no rate is stated, with as much noise a hertz as at 48 kHz: half as long to make and to read."""
    return Take(snr=snr, rate=rate, **how) if rate else Take(snr=snr + 10 * math.log10(2), rate=24000, **how)


class Course:
    """The deck's speed over time: grids of true seconds T, speed ratio, platter angle, groove seconds."""

    def __init__(self, deck, record, seconds):
        self.deck, self.record = deck, record
        count = fft.next_fast_len(int((seconds + PAST + 2) * GRID), True)
        self.t = np.arange(count) / GRID - PAST
        slow = deck.slow(self.t)
        self.turns_hz = deck.rpm / 60
        self.noise = wander_series(deck.wander, count, deck.seed)
        self.hunt = hunting_series(deck, self.t)
        platter = slow * (1 + self.noise + self.hunt)
        for _ in range(3):           # the platter's angle feels its own lines
            self.angle = 2 * np.pi * self.turns_hz * integral(platter)
            self.periodic = sum((self.line(line) for line in deck.lines), np.zeros(count))
            platter = slow * (1 + self.noise + self.hunt + self.periodic)
        self.slow, self.platter = slow, platter
        self.centre = record.off_centre / record.radius * np.cos(self.angle + math.radians(record.direction))
        self.speed = platter * (1 + self.centre)      # as the stylus sees it

    def line(self, line):
        turned = line.ratio * self.angle if line.ratio else 2 * np.pi * line.hz * self.t
        return line.percent / 100 * np.cos(turned + math.radians(line.phase))

    def groove(self, t):
        """Seconds of groove that have passed the stylus at the even times T [s]."""
        return spread(integral(self.speed), t)


# Lagrange's polynomial through eight even points: its integral over the middle step, and its value halfway across it
# (worked out by hand; both are exact up to the seventh power). By them a fluctuation of 100 Hz is played right within
# 0.004 %, one of 150 Hz within 0.07 %.
OVER_STEP = np.array([-191, 1879, -9531, 68323, 68323, -9531, 1879, -191]) / 120960
HALFWAY = np.array([-5, 49, -245, 1225, 1225, -245, 49, -5]) / 2048


def integral(values):
    """Integral over the grid from second 0; by the trapezium at the very ends, where no eight points lie about a step."""
    steps = (values[1:] + values[:-1]) / 2
    steps[3:-3] = np.convolve(values, OVER_STEP, "valid")
    whole = np.concatenate([[0], np.cumsum(steps / GRID)])
    return whole - whole[int(PAST * GRID)]


def spread(series, t):
    """SERIES on the grid, at the evenly spaced times T: a cubic spline through the points and those halfway between them, its
    cells one after another."""
    begin, end = int((t[0] + PAST) * GRID) - 6, int((t[-1] + PAST) * GRID) + 8
    points = series[begin:end]
    fine = np.empty(2 * len(points) - 13)
    fine[::2], fine[1::2] = points[3:-3], np.convolve(points, HALFWAY, "valid")
    grid = (begin + 3 + np.arange(len(fine)) / 2) / GRID - PAST
    return CubicSpline(grid, fine)(t)


def hunting_series(deck, t):
    if not deck.hunting:
        return np.zeros(len(t))
    percent, hertz, constant = deck.hunting
    return percent / 100 * np.exp(-np.maximum(t, 0) / constant) * np.sin(2 * np.pi * hertz * t)


def wander_series(wander, count, seed):
    """Gaussian, with WANDER's spectrum, as a ratio."""
    if wander is None:
        return np.zeros(count)
    draw = np.random.default_rng((seed, 11))
    hertz = np.fft.rfftfreq(count, 1 / GRID)
    with np.errstate(divide="ignore"):
        shape = 1 / np.sqrt(1 + (hertz / wander.high)**2) / np.sqrt(1 + (wander.low / hertz)**8)
    shape[hertz > 190] = 0
    shape[0] = 0
    scale = wander.percent_rms / 100 / math.sqrt(2 * (shape**2).sum() / count)
    white = np.fft.rfft(draw.standard_normal(count))
    return np.fft.irfft(white * shape, count) * scale


# From the course to samples

def engraved_phase(record, u, seconds, turn):
    """Phase [cycles] of the engraved tone at the groove seconds U."""
    scale = 1 + record.tone_error / 100
    if record.locked:
        u = np.mod(u, turn)
    if record.sweep:
        low, high = record.sweep
        return scale * (low * u + (high - low) * u**2 / (2 * seconds))
    if not record.bands:
        return scale * record.tone * u
    phase, begin, done = np.zeros(len(u)), 0.0, 0.0
    for place, (length, tone) in enumerate(record.bands):
        last = place == len(record.bands) - 1
        inside = (u >= begin) & ((u < begin + length) | last) if place else (u < begin + length) | last
        phase[inside] = done + tone * (u[inside] - begin)
        done, begin = done + tone * length, begin + length
    return scale * phase


def dips(t, draw, per_minute, seconds, depth):
    """A gain that falls to DEPTH for 5 to 60 ms now and then."""
    gain = np.ones(len(t))
    for begin in draw.uniform(0, seconds, draw.poisson(per_minute * seconds / 60)):
        gain[(t >= begin) & (t < begin + draw.uniform(0.005, 0.06))] = depth
    return gain


def masking(t, share):
    """A gain that leaves 1 - SHARE of the time: some tone, then none, ten times in 4 s."""
    return np.where(np.mod(t, 0.4) < 0.4 * (1 - share), 1.0, 0.0)


def coloured(draw, count, surface, rate):
    """Noise of power 1; the share SURFACE of it falls by 6 dB an octave above 500 Hz."""
    white = draw.standard_normal(count)
    if not surface:
        return white
    pole = math.exp(-2 * math.pi * 500 / rate)
    red = signal.lfilter([math.sqrt(1 - pole**2)], [1, -pole], draw.standard_normal(count))
    return math.sqrt(1 - surface) * white + math.sqrt(surface) * red


def room_response(take, draw):
    """Direct sound 1, then noise that falls by 60 dB in RT60."""
    time, ratio = take.room
    count = int(time * 1.2 * take.rate)
    tail = draw.standard_normal(count) * 10 ** (-3 * np.arange(count) / take.rate / time)
    tail[:int(0.003 * take.rate)] = 0
    tail *= math.sqrt(10 ** (-ratio / 10) / (tail**2).sum())
    tail[0] = 1
    return tail


def disturbance(take, draw, t, amplitude):
    """What is added to one channel."""
    sound = np.zeros(len(t))
    power = amplitude**2 / 2
    if take.snr is not None:
        sound += coloured(draw, len(t), take.surface, take.rate) * math.sqrt(power * 10 ** (-take.snr / 10))
    if take.rumble is not None:
        below = signal.sosfilt(signal.butter(2, [5, 30], "bandpass", fs=take.rate, output="sos"), draw.standard_normal(len(t)))
        sound += below / below.std() * math.sqrt(power * 10 ** (-take.rumble / 10))
    if take.hum:
        mains, level = take.hum
        for order, share in ((1, 1.0), (2, 0.5), (3, 0.7), (4, 0.2), (5, 0.4), (6, 0.15), (7, 0.25), (9, 0.15)):
            sound += amplitude * 10 ** (level / 20) * share * np.cos(2 * np.pi * mains * order * t + draw.uniform(0, 6.28))
    if take.ticks:
        for place in draw.integers(0, len(t) - 200, draw.poisson(take.ticks * take.seconds)):
            ring = np.arange(150)
            sound[place:place + 150] += amplitude * draw.uniform(0.5, 4) * np.exp(-ring / 25) * np.cos(ring * draw.uniform(0.3, 1.5))
    if take.buzz:
        clicks, ring = np.zeros(len(t)), np.arange(200)
        clicks[::int(take.rate / take.buzz[0])] = amplitude * take.buzz[1]
        sound += signal.oaconvolve(clicks, np.exp(-ring / 25) * np.cos(0.9 * ring))[:len(t)]
    return sound


def lead_in(take, draw, count):
    """Talk-like noise in syllables, and crackle."""
    t = np.arange(count) / take.rate
    voice = signal.sosfilt(signal.butter(2, [200, 2500], "bandpass", fs=take.rate, output="sos"), draw.standard_normal(count))
    voice *= 0.05 * np.clip(np.sin(2 * np.pi * 3.1 * t), 0, 1) / voice.std()
    voice[draw.integers(0, count, count // 8000)] += 0.2
    return voice


def render(deck, record, take, course=None):
    """Samples [channels][n], full scale 1, and the Course they were played from (another model's, where one is given)."""
    draw = np.random.default_rng((take.seed, deck.seed))
    clock = take.rate * (1 + take.clock * 1e-6)
    count = int(take.seconds * take.rate)
    t = np.arange(count) / clock
    course = course or Course(deck, record, t[-1] + 1)
    amplitude = 10 ** (take.level / 20)
    phase = engraved_phase(record, course.groove(t), take.seconds, 60 / deck.rpm)
    tone = amplitude * np.cos(2 * np.pi * np.mod(phase, 1))
    if take.am:
        tone *= 1 + take.am[0] / 100 * np.cos(2 * np.pi * take.am[1] * t)
    if take.dropouts:
        tone *= dips(t, draw, take.dropouts, take.seconds, 0.05)
    if take.masked:
        tone *= masking(t, take.masked)
    if record.locked:
        tone *= 1 - 0.9 * (np.mod(course.groove(t), 60 / deck.rpm) < 0.004)
    quiet = int(take.lead_in * take.rate)
    if quiet:
        tone[:quiet] = lead_in(take, draw, quiet)
    if take.room:
        tone = signal.oaconvolve(tone, room_response(take, draw))[:count]
    sound = np.stack([tone + disturbance(take, draw, t, amplitude) for _ in range(take.channels)])
    if take.clip is not None:
        np.clip(sound, -10 ** (take.clip / 20), 10 ** (take.clip / 20), out=sound)
    if take.delay:
        sound = np.concatenate([np.zeros((take.channels, int(take.delay * take.rate))), sound], axis=1)
    return sound, course


def write_wav(path, sound, take):
    """16 or 24 bit, rounded after dither of triangular density."""
    full = 2.0 ** (take.bits - 1)
    samples = sound.T * full
    if take.bits == 16:
        draw = np.random.default_rng(take.seed)
        samples += draw.random(samples.shape) - draw.random(samples.shape)
    whole = np.clip(np.round(samples, out=samples), -full, full - 1, out=samples).astype("<i4", order="C")
    with wave.open(str(path), "wb") as out:
        out.setnchannels(take.channels)
        out.setsampwidth(take.bits // 8)
        out.setframerate(take.rate)
        out.writeframes(waves.packed(whole, take.bits // 8))


def record_to(path, deck, record, take, course=None):
    """Writes the recording. Returned: the Course that was played."""
    sound, course = render(deck, record, take, course)
    write_wav(path, sound, take)
    return course
