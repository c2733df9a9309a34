# SPDX-License-Identifier: MIT
"""What a stylus hears, written from first principles, and WAV files of it.

Source (published): the axes, IEC 60098:2020, 6.2 (read in an excerpt): the right channel is the outer wall of the groove, the left one
the inner wall, each at 45 degrees; sideways movement gives equal signals in phase. With x radially outwards and z up a
channel's signal is the movement along A_LEFT or A_RIGHT, and a left band moves the stylus along A_LEFT alone.
"""
import ctypes
import struct
import wave

import numpy as np

ROOT = np.sqrt(0.5)
A_LEFT = np.array([ROOT, ROOT])
A_RIGHT = np.array([ROOT, -ROOT])

# What numpy lets go stays with the process: glibc else gives each large piece back, and the kernel clears it anew each time.
M_TRIM_THRESHOLD, M_MMAP_THRESHOLD = -1, -3
if hasattr(LIBC := ctypes.CDLL(None), "mallopt"):
    LIBC.mallopt(M_MMAP_THRESHOLD, 1 << 30)
    LIBC.mallopt(M_TRIM_THRESHOLD, (1 << 31) - 1)


def packed(whole, octets):
    """The lowest OCTETS of each of the whole numbers WHOLE (<i4), one after the other."""
    raw = np.empty((whole.size, octets), np.uint8)
    for place, one in enumerate(np.ascontiguousarray(whole).view(np.uint8).reshape(-1, 4).T[:octets]):
        raw[:, place] = one
    return raw.data


def write(path, left, right=None, rate=24000):
    """A 24-bit WAV; samples are parts of full scale."""
    channels = [left] if right is None else [left, right]
    frames = np.stack([np.asarray(channel) for channel in channels], axis=1)
    if frames.max() > 1 or frames.min() < -1:
        raise ValueError("the samples exceed full scale")
    whole = np.round(frames * 8388607).astype("<i4")
    with wave.open(str(path), "wb") as out:
        out.setnchannels(len(channels))
        out.setsampwidth(3)
        out.setframerate(int(rate))
        out.writeframes(packed(whole, 3))
    return path


def write_float(path, left, right, rate):
    """A 32-bit float WAV, for signals whose smallest parts matter."""
    frames = np.stack([left, right], axis=1).astype("<f4").tobytes()
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + len(frames), b"WAVE", b"fmt ", 16, 3, 2, int(rate), int(rate) * 8, 8,
                       32, b"data", len(frames))
    with open(path, "wb") as out:
        out.write(head + frames)
    return path


def noise(count, level, seed):
    return level * np.random.default_rng(seed).standard_normal(count)


def fade(count, rate, seconds=0.005):
    """1 with soft ends, so that a band neither ticks nor rings."""
    shape = np.ones(count)
    edge = int(rate * seconds)
    ramp = 0.5 - 0.5 * np.cos(np.pi * np.arange(edge) / edge)
    shape[:edge], shape[count - edge:] = ramp, ramp[::-1]
    return shape


def sine(hz, seconds, rate, level=1.0, phase=0.0):
    time = np.arange(int(seconds * rate)) / rate
    return level * np.sin(2 * np.pi * hz * time + phase)


def groove(direction, tone):
    """The stylus's movement [x, z] for a band cut so; lateral and vertical drive each channel with tone/sqrt 2."""
    along = {"left": A_LEFT, "right": A_RIGHT, "lateral": np.array([1.0, 0.0]), "vertical": np.array([0.0, 1.0])}[direction]
    return np.outer(along, tone)


def played(signals, wiring):
    """Two channels as they reach the recorder: correct, swapped, reversed_left, reversed_right."""
    left, right = signals
    return {"correct": (left, right), "swapped": (right, left), "reversed_left": (-left, right),
            "reversed_right": (left, -right)}[wiring]


def speed_tone(tone_hz, nominal_rpm, seconds, rate, speed, level=0.25):
    """A tone played at the momentary rpm that speed(time) gives; the phase is its integral (Simpson's rule)."""
    time = np.arange(int(seconds * rate) + 1) / rate
    ratio = speed(time) / nominal_rpm
    middle = speed(time[:-1] + 0.5 / rate) / nominal_rpm
    steps = (ratio[:-1] + 4 * middle + ratio[1:]) / (6 * rate)
    waves = np.concatenate([[0.0], np.cumsum(steps)])[:-1]
    return level * np.sin(2 * np.pi * tone_hz * waves)
