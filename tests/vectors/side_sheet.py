#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Measures the bands of a whole side another way and holds `side` to it: cross spectra for
the channels, the analytic signal for speed, response and resonance, one long spectrum for rumble."""
import json
import pathlib
import subprocess
import sys
import tempfile

from bands import Tap, cut, distortion, level, load, strongest, transfer  # which passes over without scipy

import numpy as np
from scipy import optimize, signal

THIRDS = [100, 200, 400, 800, 1600, 3150, 6300, 10000, 12500, 16000]


def riaa_db(hz):
    """The replay curve over 1 kHz: 3180, 318 and 75 µs."""
    def gain(f):
        s = 2j * np.pi * f
        return abs((1 + s * 318e-6) / ((1 + s * 3180e-6) * (1 + s * 75e-6)))
    return 20 * np.log10(gain(np.asarray(hz, float)) / gain(1000.0))


def curve_db(path, hz):
    """The weighting curve of a file, by straight lines over log f."""
    points, inside = [], False
    for line in path.read_text().splitlines():
        line = line.split(";")[0].split("#")[0].strip()
        if line.startswith("["):
            inside = line == "[points]"
        elif inside and "=" in line:
            points.append([float(part) for part in line.split("=")])
    points = np.array(points)
    # Beyond its ends the curve goes on as its last two points.
    x, log_hz = np.log(points[:, 0]), np.log(hz)
    inner = np.interp(log_hz, x, points[:, 1])
    low, high = np.diff(points[:2, 1])[0] / np.diff(x[:2])[0], np.diff(points[-2:, 1])[0] / np.diff(x[-2:])[0]
    inner = np.where(log_hz < x[0], points[0, 1] + low * (log_hz - x[0]), inner)
    return np.where(log_hz > x[-1], points[-1, 1] + high * (log_hz - x[-1]), inner)


def track(samples, rate, smooth_s):
    """Frequency and amplitude of the one tone in SAMPLES, smoothed."""
    analytic = signal.hilbert(samples)
    frequency = np.gradient(np.unwrap(np.angle(analytic))) * rate / (2 * np.pi)
    window = signal.windows.hann(int(smooth_s * rate))
    window /= window.sum()
    return (signal.oaconvolve(frequency, window, mode="same"),
            np.sqrt(signal.oaconvolve(abs(analytic) ** 2, window, mode="same")))


def sweep_levels(samples, rate, ratio):
    """Levels of a sweep at the thirds over that at 1 kHz, its cut and the replay curve taken off."""
    frequency, amplitude = track(samples, rate, 0.02)
    keep = slice(rate // 4, -rate // 4)
    found, size = frequency[keep], amplitude[keep]

    def at(hz):
        near = abs(np.log2(found / hz)) < 1 / 24
        return 10 * np.log10(np.mean(size[near] ** 2))
    return [at(hz) - at(1000) - (riaa_db(hz) - riaa_db(hz / ratio)) + (riaa_db(1000) - riaa_db(1000 / ratio))
            for hz in THIRDS]


def resonance(samples, rate):
    """Frequency and Q of the arm, fitted to the envelope of a low sweep behind the replay curve."""
    slow = signal.decimate(signal.decimate(signal.decimate(samples, 8), 8), 4)
    low_rate = rate / 256
    slow = signal.sosfiltfilt(signal.butter(2, 2, "highpass", fs=low_rate, output="sos"), slow)
    frequency, amplitude = track(slow, low_rate, 0.5)
    keep = slice(int(1.2 * low_rate), -int(1.2 * low_rate))
    f, db = frequency[keep], 20 * np.log10(amplitude[keep]) - riaa_db(frequency[keep])
    inside = (f > 4.6) & (f < 24)

    def model(hz, centre, q, zero):
        x = hz / centre
        return zero + 20 * np.log10(x**2 / np.sqrt((1 - x**2) ** 2 + (x / q) ** 2))
    (centre, q, _), _ = optimize.curve_fit(model, f[inside], db[inside], p0=(8, 3, db[inside].max() - 8))
    return centre, q


def rumble(samples, rate, weights):
    """Mean square of both channels under a weighting, by periodograms of 8 s."""
    hz, power = signal.welch(samples, rate, nperseg=8 * rate, detrend="constant")
    use = hz >= 1
    return np.mean((power[:, use] * 10 ** (weights(hz[use]) / 10)).sum(axis=1) * hz[1])


def main(deckwright, writer, data):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        lines = subprocess.run([writer, folder], check=True, capture_output=True, text=True).stdout.splitlines()
        places = [tuple(map(float, line.split())) for line in lines]
        side = f"{folder}/side.wav"
        done = subprocess.run([deckwright, "side", side, f"record.plan={folder}/side.plan", "tracking.limit=1%", "--json"],
                              capture_output=True, text=True, check=False)
        sheet = json.loads(done.stdout)
        rate, samples = load(side)
    read = {reading["key"]: reading["value"] for reading in sheet["readings"]}
    tables = {table["key"]: table for table in sheet["tables"]}

    def band(number):
        start, length = places[number - 1]
        return cut(samples, rate, start, start + length).astype(float)

    tap.near("bands found", read["side.found"], 20, 0)
    for row, (start, _) in zip(tables["side.bands"]["rows"], places):
        tap.near(f"start of band {row[0]:.0f}", row[4], start, 0.1)
    left, right, lateral, long = band(2), band(3), band(1), band(5)
    tone = strongest(left[0], rate, 800, 1300)
    own = level(left[0], rate, tone), level(right[1], rate, tone)
    into_right, into_left = transfer(left[0], left[1], rate, tone), transfer(right[1], right[0], rate, tone)
    gain = own[1] / own[0]
    tap.near("balance", read["channels.balance"], 20 * np.log10(gain), 0.02)
    tap.near("separation, left", read["channels.separation_left"], -20 * np.log10(abs(into_right) / gain), 0.2)
    tap.near("separation, right", read["channels.separation_right"], -20 * np.log10(abs(into_left) * gain), 0.2)
    # The antisymmetric part of the two leaks is a rotation.
    turn = np.degrees(np.arctan((into_right / gain - into_left * gain).real / 2))
    tap.near("azimuth", read["azimuth.rotation"], turn, 0.05)
    frequency, _ = track(long[0], rate, 0.1)
    turns = int(len(frequency) / rate / 1.8 * 1.013) * 1.8 / 1.013  # whole revolutions
    ratio = np.mean(frequency[rate // 2:rate // 2 + int((turns - 1.8) * rate)]) / 3150
    tap.near("speed error", read["speed.error"], 100 * (ratio - 1), 0.02)
    # 5 cm/s of the lateral 1 kHz; the datum is 10 cm/s, played at 1 kHz.
    played = strongest(lateral[0], rate, 800, 1300)
    rms = np.sqrt((level(lateral[0], rate, played) ** 2 + level(lateral[1], rate, played) ** 2) / 4)
    datum = rms * 10 / (5 * ratio) / 10 ** (riaa_db(played) / 20)
    for name in ("unweighted", "weighted"):
        power = rumble(band(10), rate, lambda hz, name=name: curve_db(data / "weighting" / f"rumble-{name}.ini", hz))
        tap.near(f"rumble, {name}", read[f"noise.rumble_{name}"], -10 * np.log10(power / datum**2), 0.3)
    thirds = {row[0]: row for row in tables["response.thirds"]["rows"]}
    for column, number, channel in ((1, 7, 0), (2, 8, 1)):
        for hz, wanted in zip(THIRDS, sweep_levels(band(number)[channel], rate, ratio)):
            tap.near(f"response of channel {channel} at {hz} Hz", thirds[hz][column], wanted, 0.1)
    for name, number, sign in (("lateral", 14, 1), ("vertical", 15, -1)):
        low = band(number)
        centre, q = resonance((low[0] + sign * low[1]) / 2, rate)
        tap.near(f"resonance, {name}", read[f"lowsweep.{name}"], centre, 0.1)
        tap.near(f"its Q, {name}", read[f"lowsweep.q_{name}"], q, 0.1 * q)
    start, length = places[10]
    steps = [cut(samples, rate, start + i * length / 5, start + (i + 1) * length / 5).astype(float) for i in range(5)]
    for channel, name in enumerate(("left", "right")):
        bad = [distortion(step[channel], rate, 300 * ratio) > 0.01 for step in steps]
        passed = (40, 50, 60, 70, 80)[(bad.index(True) if True in bad else 5) - 1]
        tap.near(f"step passed, {name}", read[f"tracking.passed_{name}"], passed, 0)
    print(f"1..{tap.count}")
    return tap.failed > 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])))
