# SPDX-License-Identifier: MIT
"""The recordings of the truth matrix: short, deterministic, made once for a run and kept by name.

Each take states its truth as constants beside the code that makes it; the models read those.
"""
import math

import numpy as np
from scipy import signal

import waves

RATE = 12000
TONE = 3150.0
# The deck of the speed takes: 1.2 % fast, with wow once and twice a turn, one line of flutter.
FAST = 1.012
TURN_HZ = FAST * (100 / 3) / 60
ONCE, ONCE_DEG = 0.15, 50.0          # % peak, degrees of a cosine at the recording's start
TWICE, TWICE_DEG = 0.06, 200.0
LINE, LINE_HZ = 0.04, 12.3
SPEED_SECONDS = 40


def deviation(time):
    """Relative to the mean speed."""
    return (ONCE / 100 * np.cos(2 * np.pi * TURN_HZ * time + math.radians(ONCE_DEG))
            + TWICE / 100 * np.cos(4 * np.pi * TURN_HZ * time + math.radians(TWICE_DEG))
            + LINE / 100 * np.cos(2 * np.pi * LINE_HZ * time + 1.0))


def both(sound, level=1e-4):
    return sound + waves.noise(sound.size, level, 2), sound + waves.noise(sound.size, level, 3)


def speed(seconds=SPEED_SECONDS):
    return both(waves.speed_tone(TONE, 1.0, seconds, RATE, lambda t: FAST * (1 + deviation(t))))


def still():
    """A tone of 3159.767 Hz by the file's clock, nothing else."""
    return both(waves.speed_tone(3159.767, 1.0, 30, RATE, np.ones_like))


def lines(rates, amplitude=0.1, seconds=60):
    """A deck that is right, with lines of flutter."""
    def course(t):
        return 1 + sum(amplitude / 100 * np.cos(2 * np.pi * hz * t + hz) for hz in rates)
    return both(waves.speed_tone(TONE, 1.0, seconds, RATE, course))


# A servo's start: a second-order system let go one second into the recording.
START_AT, START_RATE, START_DAMPING = 1.0, 1.8, 0.55


def start_course(t):
    shown = np.clip(np.asarray(t) - START_AT, 0, None)
    damped = START_RATE * math.sqrt(1 - START_DAMPING ** 2)
    decay = START_DAMPING * START_RATE
    return 1 - np.exp(-decay * shown) * (np.cos(damped * shown) + decay / damped * np.sin(damped * shown))


def start():
    return both(waves.speed_tone(TONE, 1.0, 16, RATE, start_course))


# A platter running down: viscous drag alone and a dry part.
DOWN_VISCOUS, DOWN_DRY = 0.02, 0.12      # 1/s, rad/s²
DOWN_FROM = 3.0


def down_course(t):
    begun = (100 / 3) * math.pi / 30
    since = np.clip(np.asarray(t) - DOWN_FROM, 0, None)
    omega = (begun + DOWN_DRY / DOWN_VISCOUS) * np.exp(-DOWN_VISCOUS * since) - DOWN_DRY / DOWN_VISCOUS
    return np.clip(omega, 0, None) / begun


def down():
    return both(waves.speed_tone(TONE, 1.0, 22, RATE, down_course))


# Two seatings of one record: the platter's share stands, the record's turns with it.
DECK_SHARE, DECK_DEG = 0.12, 30.0
RECORD_SHARE, RECORD_DEG = 0.08, 250.0
SEAT_ANGLES, SEAT_MARKS = (0.0, 120.0), (1.2, 0.7)
SEAT_FAST = 1.003
SEAT_HZ = SEAT_FAST * (100 / 3) / 60


def seating(number):
    def course(t):
        place = 2 * np.pi * SEAT_HZ * (t - SEAT_MARKS[number])
        return SEAT_FAST * (1 + DECK_SHARE / 100 * np.cos(place + math.radians(DECK_DEG))
                            + RECORD_SHARE / 100 * np.cos(place + math.radians(SEAT_ANGLES[number] + RECORD_DEG)))
    return both(waves.speed_tone(TONE, 1.0, 24, RATE, course))


# A pickup that leans and leaks, played left, right, lateral, vertical at 1 kHz; seconds of each band with its pauses.
LEAN_DEG, LEAK, GAINS = 1.4, 0.006, (1.0, 0.9)
BAND, PAUSE, BAND_LEVEL = 5.0, 1.0, 0.3
SECOND, THIRD = 0.02, 0.01               # harmonics of the movement
BANDS = ("left", "right", "lateral", "vertical")
HEARD_HZ = 1000.0


def coils(lean_deg, leak):
    """What each channel takes of a movement along either wall: 2 × 2, rows left and right."""
    lean = math.radians(lean_deg)
    back = np.array([[math.cos(lean), -math.sin(lean)], [math.sin(lean), math.cos(lean)]])
    axes = [back @ waves.A_LEFT, back @ waves.A_RIGHT]
    pure = np.array([[axis @ waves.A_LEFT, axis @ waves.A_RIGHT] for axis in axes])
    return np.diag(GAINS) @ np.array([[1, leak], [leak, 1]]) @ pure


def bands(order=BANDS, lean_deg=LEAN_DEG, leak=LEAK, noise=2e-5):
    left, right = [], []
    takes = coils(lean_deg, leak)
    for direction in order:
        time = np.arange(int(BAND * RATE)) / RATE
        tone = BAND_LEVEL * (np.sin(2 * np.pi * HEARD_HZ * time) + SECOND * np.sin(4 * np.pi * HEARD_HZ * time)
                             + THIRD * np.sin(6 * np.pi * HEARD_HZ * time)) * waves.fade(time.size, RATE)
        swing = waves.groove(direction, tone)
        walls = np.array([waves.A_LEFT @ swing, waves.A_RIGHT @ swing])
        out = takes @ walls
        pause = np.zeros(int(PAUSE * RATE))
        left += [out[0], pause]
        right += [out[1], pause]
    left, right = np.concatenate(left), np.concatenate(right)
    return left + waves.noise(left.size, noise, 5), right + waves.noise(left.size, noise, 6)


# A silent groove: sideways rumble of 31.5 Hz, up-and-down of 25 Hz, hum of 50 Hz and 100 Hz, hiss; then the reference tone.
RUMBLE_LATERAL, RUMBLE_VERTICAL, HUM, HISS = 2e-3, 1e-3, 4e-4, 2e-4       # of full scale, peak (hiss rms)
REFERENCE, REFERENCE_HZ = 0.2, 1000.0


def silent(scale=1.0, seconds=20):
    time = np.arange(seconds * RATE) / RATE
    x, z = RUMBLE_LATERAL * np.sin(2 * np.pi * 31.5 * time), RUMBLE_VERTICAL * np.sin(2 * np.pi * 25.0 * time)
    hum = HUM * (np.sin(2 * np.pi * 50 * time) + 0.5 * np.sin(2 * np.pi * 100 * time))
    return (scale * (x + z + hum + waves.noise(time.size, HISS, 7)), scale * (x - z + hum + waves.noise(time.size, HISS, 8)))


def reference(hz=REFERENCE_HZ, seconds=6):
    tone = waves.sine(hz, seconds, RATE, REFERENCE)
    return tone, tone


def silent_with_reference():
    one, two = silent(), reference()
    pause = np.zeros(RATE)
    return tuple(np.concatenate([a, pause, b]) for a, b in zip(one, two))


# A sweep of one channel whose level rises by a stated slope over 1 kHz, with a constant leak.
SWEEP_FROM, SWEEP_TO, SWEEP_SECONDS, SWEEP_RATE = 40.0, 11000.0, 14.0, 24000
SLOPE_DB, LEAK_DB, SWEEP_LEVEL = 0.6, -26.0, 0.15      # dB an octave


def log_sweep(start, end, seconds, rate):
    """Phase and momentary frequency."""
    time = np.arange(int(seconds * rate)) / rate
    k = math.log(end / start) / seconds
    return 2 * np.pi * start * (np.exp(k * time) - 1) / k, start * np.exp(k * time)


def sweep(lead=1.0):
    phase, hz = log_sweep(SWEEP_FROM, SWEEP_TO, SWEEP_SECONDS, SWEEP_RATE)
    tone = SWEEP_LEVEL * np.sin(phase) * 10 ** (SLOPE_DB * np.log2(hz / 1000) / 20) * waves.fade(phase.size, SWEEP_RATE, 0.002)
    quiet = np.zeros(int(lead * SWEEP_RATE))
    left = np.concatenate([quiet, tone, quiet])
    return left + waves.noise(left.size, 1e-5, 9), left * 10 ** (LEAK_DB / 20) + waves.noise(left.size, 1e-5, 10)


# An arm's resonance under a sweep cut at constant velocity, sideways; the platter right.
ARM_HZ, ARM_Q = 8.5, 4.0


def low_sweep(kind="velocity"):
    """Cut at constant velocity or amplitude; or heard behind a preamplifier, without and with the 7950 µs term."""
    rate = LOW_RATE
    phase, hz = log_sweep(25.0, 3.5, 30.0, rate)
    w = 2 * np.pi * ARM_HZ
    b, a = signal.bilinear([1, 0, 0], [1, w / ARM_Q, w * w], fs=rate)
    heard = 0.1 * signal.lfilter(b, a, np.sin(phase) * (hz / 25 if kind == "amplitude" else 1.0))
    if kind in ("replayed", "subsonic"):
        # 3180 and 318 µs (75 µs does nothing here), and what the subsonic term takes off.
        heard = 0.9 * signal.lfilter(*signal.bilinear([318e-6, 1], [3180e-6, 1], fs=rate), heard)
    if kind == "subsonic":
        heard = signal.lfilter(*signal.bilinear([7950e-6, 0], [7950e-6, 1], fs=rate), heard)
    sides = np.concatenate([np.zeros(rate), heard, np.zeros(rate)])
    return sides + waves.noise(sides.size, 1e-4, 11), sides + waves.noise(sides.size, 1e-4, 12)


LOW_RATE = 8000

# 300 Hz steps; the inner wall holds 80 µm, the outer one 64 µm.
STEPS_UM, STEP_HZ, STEP_SECONDS = (50, 60, 70, 80, 90), 300.0, 4.0
HOLD_UM = (80.0, 64.0)


def step_wave(amplitude_um, hold_um, sign):
    """One wall's signal, a cosine of velocity whose place is cut off at what the wall holds."""
    time = np.arange(int(STEP_SECONDS * RATE)) / RATE
    place = amplitude_um * np.sin(2 * np.pi * STEP_HZ * time)
    place = np.minimum(place, hold_um) if sign > 0 else np.maximum(place, -hold_um)
    return np.gradient(place) * RATE


def steps(order=STEPS_UM, hold=HOLD_UM):
    sides = []
    for hold, sign, seed in ((hold[0], -1, 13), (hold[1], 1, 14)):
        parts = [np.concatenate([step_wave(um, hold, sign) * waves.fade(int(STEP_SECONDS * RATE), RATE), np.zeros(RATE)])
                 for um in order]
        one = np.concatenate(parts) * 2e-6
        sides.append(one + waves.noise(one.size, 2e-5, seed))
    return tuple(sides)


# 400 Hz and 4 kHz; the high tone's level follows the low one by DEPTH.
LOW_TONE, HIGH_TONE, DEPTH = 400.0, 4000.0, 0.03


def two_tones():
    time = np.arange(12 * RATE) / RATE
    low = np.sin(2 * np.pi * LOW_TONE * time)
    sound = (0.3 * low + 0.075 * (1 + DEPTH * low) * np.sin(2 * np.pi * HIGH_TONE * time)) * waves.fade(time.size, RATE)
    return both(sound, 1e-5)
