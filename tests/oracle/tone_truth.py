# SPDX-License-Identifier: MIT
"""What a perfect instrument reads of the decks of tone_model.py.

Every reading has two truths. "take": the value that this very stretch of the course has. "deck": the value
of the deck as described, the mean over a long run, which is what a customer is told about; where a fluctuation
is noise-like or two lines beat they differ by what chance does in a short take.

Definitions. Source (memory): the weighting, by the points of IEC 60386:1972 Table I (AES6 Table 1, DIN 45 507), joined by a cubic
spline over the logarithm of the frequency, with the least phase that goes with it (as any network of the
kind has); other ways of joining the points differ by at most 0.2 dB between them, at 2.5 to 3.2 Hz.
Two-sigma: the magnitude exceeded for 5 % of the time. Quasi-peak: followers of the positive and the negative
peak (25 ms on the excess, 0.55 s decay), half their sum, 160 ms, a 4 Hz sine reads its peak; exceeded for
5 % of the time. Average: rectified, scaled to the rms of a sine. Unweighted: flat, with a second-order
high-pass that is 0.45 dB down at 0.2 Hz. What is below 0.2 Hz or is drift, step and slide is not flutter.
"""
import dataclasses
import math

import numpy as np
from scipy import signal
from scipy.interpolate import CubicSpline

import tone_model as model

TABLE_HZ = [0.1, 0.2, 0.315, 0.4, 0.63, 0.8, 1.0, 1.6, 2.0, 4.0, 6.3, 10, 20, 40, 63, 100, 200]
TABLE_DB = [-48.0, -30.6, -19.7, -15.0, -8.4, -6.0, -4.2, -1.8, -0.9, 0.0, -0.9, -2.1, -5.9, -10.4, -14.2, -17.3, -23.0]
HIGH_PASS = 0.115          # Hz; 0.45 dB at 0.2 Hz, 0.09 dB at 0.3 Hz
SPLIT = 6.0
LONG = 400.0               # seconds that stand for the deck's long run
CURVE = CubicSpline(np.log(TABLE_HZ), TABLE_DB)


def weighting_db(hertz):
    """The table's curve; beyond its ends it goes on as steeply as between the last two points."""
    inside = np.clip(hertz, TABLE_HZ[0], TABLE_HZ[-1])
    steep = (TABLE_DB[1] - TABLE_DB[0]) / math.log(2)
    fall = (TABLE_DB[-1] - TABLE_DB[-2]) / math.log(2)
    below = np.minimum(np.log(np.maximum(hertz, 1e-3) / TABLE_HZ[0]), 0) * steep
    return CURVE(np.log(inside)) + below + np.maximum(np.log(np.maximum(hertz, 1e-3) / TABLE_HZ[-1]), 0) * fall


def least_phase():
    """Frequencies [Hz] and least phase [rad] that goes with the curve, through the cepstrum.

    On a grid of a thousandth of a hertz: the curve falls so steeply towards 0 Hz that the length of a take would not do."""
    count = 1 << 20
    hertz = np.fft.rfftfreq(count, 1 / model.GRID)
    cepstrum = np.fft.irfft(weighting_db(hertz) * (math.log(10) / 20), count)
    cepstrum[1:count // 2] *= 2
    cepstrum[count // 2 + 1:] = 0
    return hertz, np.fft.rfft(cepstrum).imag


PHASE = least_phase()


def weighting(hertz):
    """Complex response of the weighting."""
    return 10 ** (weighting_db(hertz) / 20) * np.exp(1j * np.interp(hertz, *PHASE))


def responses(count):
    """What each kind of reading passes, over rfft's frequencies of COUNT grid points."""
    hertz = np.fft.rfftfreq(count, 1 / model.GRID)
    s = 1j * hertz
    flat = s**2 / (s**2 + math.sqrt(2) * HIGH_PASS * s + HIGH_PASS**2)
    first, second = (1 / (s**2 / SPLIT**2 + s / SPLIT / q + 1) for q in (0.541196, 1.306563))
    return {"weighted": weighting(hertz), "unweighted": flat, "wow": flat * first * second,
            "flutter": flat * first * second * (s / SPLIT)**4}


def two_sigma(x):
    return float(np.quantile(np.abs(x), 0.95))


def followed(x):
    """Deflection of the quasi-peak meter for several stretches X [stretches][n] at once."""
    step = 1 / model.GRID
    attack, decay, smooth = (1 - math.exp(-step / constant) for constant in (0.025, 0.55, 0.16))
    both = np.ascontiguousarray(np.concatenate([x, -x]).T)
    held = np.zeros(both.shape[1])
    peaks = np.empty_like(both)
    for now, held_now in zip(both, peaks):
        held *= 1 - decay
        held += attack * np.maximum(now - held, 0)
        held_now[:] = held
    half = (peaks[:, :len(x)] + peaks[:, len(x):]) / 2
    passed, _ = signal.lfilter([smooth], [1, smooth - 1], half, axis=0, zi=(1 - smooth) * half[:1])
    return passed.T


def quasi_peak(x, past):
    """Exceeded for 5 % of the time; X has PAST points of run-in. Cut into stretches that run side by side."""
    length = len(x) - past
    parts = max(1, length // int(4 * model.GRID))
    each = length // parts
    rows = np.stack([x[part * each:part * each + past + each] for part in range(parts)])
    return float(np.quantile(followed(rows)[:, past:], 0.95)) / QUASI_SCALE


def quasi_scale():
    t = np.arange(int(12 * model.GRID)) / model.GRID
    return float(np.mean(followed(np.sin(2 * np.pi * 4 * t)[None])[:, int(8 * model.GRID):]))


QUASI_SCALE = quasi_scale()


def flutter(course, begin, end, quasi=True):
    """The flutter readings in % of COURSE between the seconds BEGIN and END; without QUASI not the meter's, which take long."""
    series = course.speed / course.slow - 1
    spectrum = np.fft.rfft(series - series.mean())
    first, last = (int((second + model.PAST) * model.GRID) for second in (begin, end))
    past = int(4 * model.GRID)
    found = {}
    answers = responses(len(series))
    rest = np.fft.irfft(np.fft.rfft(course.noise) * answers["unweighted"], len(series))[first:last]
    found["flutter.remainder"] = float(np.sqrt(np.mean(rest**2))) * 100
    for kind, response in answers.items():
        passed = np.fft.irfft(spectrum * response, len(series)) * 100
        inside = passed[first:last]
        if kind in ("wow", "flutter"):
            found[f"flutter.{kind}"] = two_sigma(inside)
            continue
        found[f"flutter.{kind}.two_sigma"] = two_sigma(inside)
        if quasi:
            found[f"flutter.{kind}.quasi_peak"] = quasi_peak(passed[first - past:last], past)
        found[f"flutter.{kind}.rms"] = float(np.sqrt(np.mean(inside**2)))
        found[f"flutter.{kind}.average"] = float(np.mean(np.abs(inside)) * math.pi / math.sqrt(8))
    return found


def noise(take, tone):
    """Signal to noise [dB] beside the tone with the channels joined, and what that noise reads as flutter [%]."""
    density = 1 - take.surface
    if take.surface:
        pole = math.exp(-2 * math.pi * 500 / take.rate)
        density += take.surface * (1 - pole**2) / abs(1 - pole * np.exp(-2j * math.pi * tone / take.rate))**2
    rounding = 2.0 ** (2 - 2 * take.bits) * (3 if take.bits == 16 else 1) / 12      # dither triples it
    power = density * 10 ** (-take.snr / 10) + rounding / (10 ** (take.level / 10) / 2)
    snr = 10 * math.log10(take.channels / power)
    hertz = np.linspace(0.2, 200, 20000)
    spectrum = 2 * hertz**2 / (10 ** (snr / 10) * take.rate) / tone**2       # Source (published): S. O. Rice 1948, one-sided
    step = hertz[1] - hertz[0]
    weighted = math.sqrt((spectrum * 10 ** (weighting_db(hertz) / 10)).sum() * step)
    flat = math.sqrt(spectrum.sum() * step)
    return {"tone.snr": snr, "flutter.floor": 196 * weighted, "tone.noise": 196 * flat}


def revolution(deck, record):
    """Once and twice a turn over time: phasors [%] at the file's first sample.

    Over time and not over the platter's angle: a platter that turns unevenly bends its own cosine a little."""
    own = [line for line in deck.lines if line.ratio and line.ratio == round(line.ratio)]
    alone = model.Course(model.Deck(rpm=deck.rpm, lines=own), record, 40)
    length = 20 * 60 / deck.rpm / own_mean(own)
    t = np.linspace(0, length, 8192, endpoint=False)
    speed = model.spread(alone.speed, t)
    return {order: complex(200 * np.mean(speed * np.exp(-2j * np.pi * 20 * order * t / length))) for order in (1, 2)}


def own_mean(lines):
    """Mean over time of a platter whose speed has LINES over its angle: it lingers where it is slow."""
    angle = np.linspace(0, 2 * np.pi * 400, 200000, endpoint=False)
    bound = [line for line in lines if line.ratio]
    p = sum((line.percent / 100 * np.cos(line.ratio * angle + math.radians(line.phase)) for line in bound), np.zeros(len(angle)))
    return float(1 / np.mean(1 / (1 + p)))


def speeds(course, begin, end, without_chance):
    """Mean error [%] and drift [% of the mean speed a minute] between BEGIN and END."""
    first, last = (int((second + model.PAST) * model.GRID) for second in (begin, end))
    steady = course.slow if without_chance else course.slow * (1 + course.noise + course.hunt)
    part, t = steady[first:last] * own_mean(course.deck.lines), course.t[first:last]
    slope = np.polyfit(t - t.mean(), part, 1)[0]
    return float(part.mean() - 1) * 100, float(slope / part.mean()) * 6000


def long_run(deck, record):
    """The course of a deck that goes on and on."""
    ever = dataclasses.replace(deck, drift=0, settle=(), hunting=(), steps=[], slides=[], seed=deck.seed + 500000)
    return model.Course(ever, record, LONG)


def of_a_turn(deck, record):
    """What comes once and twice a turn, by key."""
    turn = revolution(deck, record)
    found = {"revolution.amplitude": abs(turn[1]), "revolution.second": abs(turn[2]),
             "revolution.eccentricity": abs(turn[1]) / 100 * record.radius}
    if abs(turn[1]) > 0:
        found["revolution.phase"] = math.degrees(np.angle(turn[1])) % 360
    return found


def truth(deck, record, take, course, begin, end, ever=True, quasi=True):
    """Readings by key: (take, deck). BEGIN and END are the measured stretch's seconds in the file; without EVER the take's
    flutter stands for the deck's, without QUASI there is none of the quasi-peak meter."""
    begin, end = begin - take.delay, end - take.delay
    run_in = min(3.0, (end - begin) / 10)
    here = flutter(course, begin + run_in, end, quasi)
    long = flutter(long_run(deck, record), 2, LONG, quasi) if ever and (deck.wander or len(deck.lines) > 1) else here
    found = {key: (here[key], long[key]) for key in here}
    mean, drift = zip(*(speeds(course, begin, end, chance) for chance in (False, True)))
    tone = [record.tone * (1 + record.tone_error / 100) * (1 + error / 100) / (1 + take.clock * 1e-6) for error in mean]
    found.update({"speed.error": mean, "speed.drift": drift, "tone.frequency": tuple(tone),
                  "speed.mean": tuple(deck.rpm * (1 + error / 100) for error in mean),
                  "record.tone_error": (record.tone_error,) * 2})
    found.update({key: (value,) * 2 for key, value in of_a_turn(deck, record).items()})
    if take.snr is not None:
        found.update({key: (value,) * 2 for key, value in noise(take, tone[0]).items()})
    return found


def lines(deck, course, begin, end):
    """Each line's frequency [Hz] and amplitude [% peak] between BEGIN and END."""
    first, last = (int((second + model.PAST) * model.GRID) for second in (begin, end))
    turns = (course.angle[last] - course.angle[first]) / (2 * np.pi) / (course.t[last] - course.t[first])
    return [(line.ratio * turns if line.ratio else line.hz, line.percent, line.part) for line in deck.lines]
