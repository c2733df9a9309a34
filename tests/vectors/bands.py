#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Measures tone bands another way and holds the program to it: cross spectra for the
leaks, resampling to even angles for harmonics, envelope and phase for intermodulation."""
import json
import pathlib
import subprocess
import sys
import tempfile

try:
    import numpy as np
    from scipy import signal
    from scipy.io import wavfile
except ImportError as missing:
    print(f"1..0 # SKIP {missing.name} is not installed for {sys.executable}")
    sys.exit(0)


def load(path):
    """The channels of a 24-bit file, full scale 1."""
    rate, samples = wavfile.read(path)
    return rate, samples.T / 2.0**31


def cut(samples, rate, start, end):
    """Seconds START to END without the edges."""
    return samples[:, int((start + 0.3) * rate):int((end - 0.3) * rate)]


def strongest(samples, rate, low, high):
    frequency, power = signal.periodogram(samples, rate, window="hann")
    inside = (frequency > low) & (frequency < high)
    return frequency[inside][np.argmax(power[inside])]


def transfer(source, target, rate, tone):
    """TARGET over SOURCE about TONE, by cross spectra summed over what wow spreads it to."""
    frequency, cross = signal.csd(source, target, rate, nperseg=rate // 4)
    _, own = signal.welch(source, rate, nperseg=rate // 4)
    near = abs(frequency - tone) < 0.02 * tone
    return cross[near].sum() / own[near].sum()


def level(samples, rate, tone):
    """The peak level of the tone, by the power about it."""
    frequency, power = signal.welch(samples, rate, nperseg=rate // 4)
    near = abs(frequency - tone) < 0.02 * tone
    return np.sqrt(2 * power[near].sum() * (frequency[1] - frequency[0]))


def band_pass(samples, rate, low, high):
    taps = signal.firwin(2 * (rate // 50) + 1, [low, high], fs=rate, pass_zero=False)
    return signal.oaconvolve(samples, taps, mode="same")


def distortion(samples, rate, tone):
    """Harmonics 2 to 5 over the tone, read at even steps of the tone's own angle."""
    angle = np.unwrap(np.angle(signal.hilbert(band_pass(samples, rate, 0.8 * tone, 1.2 * tone))))
    keep = slice(rate // 5, -rate // 5)
    angle, samples = angle[keep] - angle[keep][0], samples[keep]
    turns, points = int(angle[-1] / (2 * np.pi)) - 1, 64
    even = np.interp(np.arange(turns * points) * 2 * np.pi / points, angle, np.arange(len(angle)))
    # A fine grid, so that reading between its points by straight lines costs nothing.
    fine = signal.resample_poly(samples, 8, 1)
    wave = np.interp(even * 8, np.arange(len(fine)), fine)
    lines = np.fft.rfft(wave.reshape(turns, points).mean(axis=0))
    return np.sqrt((abs(lines[2:6]) ** 2).sum()) / abs(lines[1])


def modulation(samples, rate, high, low):
    """The share of the HIGH tone that LOW modulates it by, in level and in pitch."""
    analytic = signal.hilbert(band_pass(samples, rate, high - 4 * low, high + 4 * low))
    keep = slice(rate // 5, -rate // 5)
    envelope, phase = abs(analytic)[keep], np.unwrap(np.angle(analytic))[keep]
    return level(envelope / envelope.mean(), rate, low), level(signal.detrend(phase), rate, low)


class Tap:
    """Counts checks and says them as TAP."""

    def __init__(self):
        self.count, self.failed = 0, 0

    def near(self, name, found, expected, within):
        self.count += 1
        good = abs(found - expected) <= within
        self.failed += not good
        print(f"{'ok' if good else 'not ok'} {self.count} - {name}: {found:.4f} against {expected:.4f}")


def measure(program, procedure, path, *operands):
    done = subprocess.run([program, procedure, str(path), "--json", *operands], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 3):
        raise SystemExit(f"Bail out! {done.stderr}")
    sheet = json.loads(done.stdout)
    return {reading["key"]: reading["value"] for reading in sheet["readings"]}, sheet


def check_record(tap, program, path):
    rate, samples = load(path)
    left, right = cut(samples, rate, 1, 7), cut(samples, rate, 8, 14)
    tone = strongest(left[0], rate, 200, 4500)
    balance = level(right[1], rate, tone) / level(left[0], rate, tone)
    into_right = transfer(left[0], left[1], rate, tone) / balance
    into_left = transfer(right[1], right[0], rate, tone) * balance
    found, _ = measure(program, "channels", path)
    tap.near(f"{path.stem} balance", found["channels.balance"], 20 * np.log10(balance), 0.02)
    tap.near(f"{path.stem} separation, left", found["channels.separation_left"], -20 * np.log10(abs(into_right)), 0.2)
    tap.near(f"{path.stem} separation, right", found["channels.separation_right"], -20 * np.log10(abs(into_left)), 0.2)
    tap.near(f"{path.stem} distortion", found["channels.distortion_left"], 100 * distortion(left[0], rate, tone), 0.03)
    found, _ = measure(program, "azimuth", path)
    angle = np.degrees(np.arctan((into_right.real - into_left.real) / 2))
    tap.near(f"{path.stem} rotation", found["azimuth.rotation"], angle, 0.05)


def check_steps(tap, program, path):
    rate, samples = load(path)
    levels = [f"tracking.level={microns}" for microns in (50, 60, 70, 80)]
    _, sheet = measure(program, "tracking", path, *levels)
    rows = next(table for table in sheet["tables"] if table["key"] == "tracking.steps")["rows"]
    for number, row in enumerate(rows):
        band = cut(samples, rate, 1 + 5 * number, 5 + 5 * number)
        tone = strongest(band[0], rate, 200, 1500)
        for channel, name in enumerate(("left", "right")):
            other = 100 * distortion(band[channel], rate, tone)
            tap.near(f"step {row[2]} um {name}", row[4 + channel], other, 0.05 + 0.02 * other)


def check_two_tones(tap, program, path):
    rate, samples = load(path)
    band = cut(samples, rate, 1, 7)
    high, low = strongest(band[0], rate, 3000, 5000), strongest(band[0], rate, 100, 1000)
    _, sheet = measure(program, "intermod", path)
    row = next(table for table in sheet["tables"] if table["key"] == "intermod.bands")["rows"][0]
    for channel, name in enumerate(("left", "right")):
        in_level, in_pitch = modulation(band[channel], rate, high, low)
        tap.near(f"two tones, {name}, in level", row[6 + 4 * channel], 100 * in_level, 0.05)
        tap.near(f"two tones, {name}, in pitch", row[7 + 4 * channel], 100 * in_pitch, 0.05)


def main(program, maker):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([maker, folder], check=True)
        folder = pathlib.Path(folder)
        check_record(tap, program, folder / "first.wav")
        check_record(tap, program, folder / "second.wav")
        check_steps(tap, program, folder / "steps.wav")
        check_two_tones(tap, program, folder / "two_tones.wav")
    print(f"1..{tap.count}")
    return tap.failed > 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
