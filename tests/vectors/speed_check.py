#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The speed readings worked out a second time, by other means, from the same recordings.

Source (worked apart): here the whole recording is turned into its analytic signal (a Fourier transform of all of it) and the
phase is unwrapped and differenced at the full sampling rate; weighting multiplies the spectrum of the
deviation; statistics are NumPy's. The program narrows the band in steps, mixes and filters in time.
"""
import json
import os
import subprocess
import sys
import tempfile

try:
    import numpy as np
    from scipy import fft, interpolate, signal, special
    from scipy.io import wavfile
except ImportError:
    print("1..0 # SKIP python3-scipy is not installed")
    sys.exit(0)

FAULTS = ["synth.length=40s", "fault.ticks=0", "fault.wow=0.2%", "fault.wow_phase=50deg", "fault.wow_second=0.05%",
          "fault.line=7.001Hz:0.09%", "fault.line=31.7Hz:0.05%", "fault.flutter_noise=0.03%", "fault.speed_error=0.31%"]
LINE_HZ = (7.001, 31.7)  # of those
# Name, tone in Hz, platter in rpm, operands of the deck and record played.
RECORDINGS = [
    ("3150 Hz, 44.1 kHz stereo", 3150, 100 / 3, ["synth.rate=44100", "synth.snr=60dB", "synth.seed=11"]),
    ("3150 Hz, 96 kHz mono, noisy", 3150, 100 / 3,
     ["synth.rate=96000", "synth.channels=1", "synth.snr=30dB", "synth.seed=12"]),
    ("1000 Hz, 96 kHz stereo, right side only", 1000, 100 / 3,
     ["synth.rate=96000", "synth.side=right", "synth.snr=50dB", "synth.seed=13"]),
    ("1000 Hz, 44.1 kHz mono, drifting at 45 rpm", 1000, 45,
     ["synth.rate=44100", "synth.channels=1", "synth.snr=50dB", "synth.seed=14", "fault.drift=0.1%/min"]),
]
# Source (memory): IEC 60386:1972, Table I, as in the program's own table.
TABLE_HZ = [0.1, 0.2, 0.315, 0.4, 0.63, 0.8, 1, 1.6, 2, 4, 6.3, 10, 20, 40, 63, 100, 200]
TABLE_DB = [-48, -30.6, -19.7, -15, -8.4, -6, -4.2, -1.8, -0.9, 0, -0.9, -2.1, -5.9, -10.4, -14.2, -17.3, -23]
TOP_HZ = 222      # the program's low-pass is half down here (flat to 208, gone at 236)
SETTLE_S = 3      # left out at the front by the program
SERIES_HZ = 4000  # about the rate at which the deviation is kept here


def band(frequencies, low, high, edge):
    """1 within [low, high], falling to 0 over `edge` as a raised cosine."""
    outside = np.maximum(low - frequencies, frequencies - high)
    return 0.5 + 0.5 * np.cos(np.pi * np.clip(outside / edge, 0, 1))


def demodulate(path, tone_hz):
    """Rate and instantaneous frequency of the tone, from the sum of all channels."""
    rate, samples = wavfile.read(path)
    samples = samples.astype(float)
    if samples.ndim > 1:
        samples = samples.sum(axis=1)
    count = len(samples)
    spectrum = fft.rfft(samples) * band(fft.rfftfreq(count, 1 / rate), tone_hz - 400, tone_hz + 400, 200)
    phase = np.unwrap(np.angle(signal.hilbert(fft.irfft(spectrum, count))))
    step = rate // SERIES_HZ
    frequency = signal.resample_poly(np.diff(phase) * rate / (2 * np.pi), 1, step, padtype="line")
    return rate / step, frequency


def fit_slow(time, frequency, tone_hz, rpm):
    """Mean (Hz), slope (Hz/s), once-per-revolution amplitude (Hz), and mean and slope over TIME."""
    span = 2 * (time - time.mean()) / (time[-1] - time[0])
    mean = frequency.mean()
    for _ in range(3):
        turn = rpm / 60 * mean / tone_hz
        columns = [special.eval_legendre(order, span) for order in range(4)]
        for rate in (turn, 2 * turn, *LINE_HZ):
            columns += [np.cos(2 * np.pi * rate * time), np.sin(2 * np.pi * rate * time)]
        answer = np.linalg.lstsq(np.stack(columns).T, frequency, rcond=None)[0]
        mean = answer[0]
    slope = answer[1] * 2 / (time[-1] - time[0])
    return mean, slope, np.hypot(answer[4], answer[5]), mean + answer[1] * span


def least_phase(frequencies):
    """The table's points joined by a cubic spline over the logarithm of the frequency, as a complex response with the
    least phase: by the Hilbert transform of the gain's logarithm over a long even grid."""
    count, top = 1 << 19, 700.0
    grid = np.arange(count) * 2 * top / count
    grid = np.maximum(np.minimum(grid, 2 * top - grid), top / count)
    curve = interpolate.CubicSpline(np.log(TABLE_HZ), TABLE_DB)
    ends = curve(np.log(TABLE_HZ[0])) + (np.log(grid) - np.log(TABLE_HZ[0])) * (TABLE_DB[1] - TABLE_DB[0]) / np.log(2)
    above = TABLE_DB[-1] - 20 * np.log10(grid / TABLE_HZ[-1])
    level = np.where(grid < TABLE_HZ[0], ends, np.where(grid > TABLE_HZ[-1], above, curve(np.log(np.clip(grid, 0.1, 200)))))
    phase = -np.imag(signal.hilbert(level * np.log(10) / 20))
    half = slice(1, count // 2)
    gain = 10 ** (np.interp(frequencies, grid[half], level[half]) / 20)
    return gain * np.exp(1j * np.interp(frequencies, grid[half], phase[half]))


def table(frequencies):
    """The table above, smoothly between its points, without phase."""
    curve = interpolate.PchipInterpolator(np.log(TABLE_HZ), TABLE_DB)
    clipped = np.clip(frequencies, TABLE_HZ[0], TABLE_HZ[-1])
    return np.where(frequencies > 0.05, 10 ** (curve(np.log(clipped)) / 20), 0)


def flat(frequencies):
    """Second-order high-pass below 0.2 Hz: 0.45 dB down there."""
    s = 1j * frequencies / 0.115
    return s**2 / (s**2 + np.sqrt(2) * s + 1)


def read(deviation, rate, law):
    """Two-sigma, rms and average of the deviation behind LAW."""
    count = len(deviation)
    both = np.concatenate([deviation, deviation[::-1]])  # so that the end joins the start
    frequencies = fft.rfftfreq(2 * count, 1 / rate)
    filtered = fft.irfft(fft.rfft(both) * law(frequencies) * band(frequencies, 0, TOP_HZ - 14, 28), 2 * count)
    magnitude = np.abs(filtered[int(SETTLE_S * rate):count])
    return {"two_sigma": np.percentile(magnitude, 95), "rms": np.sqrt(np.mean(magnitude**2)),
            "average": np.mean(magnitude) * np.pi / (2 * np.sqrt(2))}


def compare(deckwright, folder, tone_hz, rpm, operands):
    """Yields (what, here, the program's, tolerance)."""
    path = os.path.join(folder, "take.wav")
    subprocess.run([deckwright, "synth", path, f"record.tone={tone_hz}Hz", f"deck.speed={rpm:.12f}rpm"] + FAULTS + operands,
                   check=True)
    call = [deckwright, "speed", path, "--json", f"record.tone={tone_hz}Hz", f"deck.speed={rpm:.12f}rpm"]
    sheet = json.loads(subprocess.run(call, check=False, stdout=subprocess.PIPE).stdout)
    reads = {reading["key"]: reading["value"] for reading in sheet["readings"]}
    rate, frequency = demodulate(path, tone_hz)
    time = np.arange(len(frequency)) / rate
    inside = (time >= reads["tone.start"]) & (time < reads["tone.start"] + reads["tone.length"])
    time, frequency = time[inside], frequency[inside]
    mean, slope, turn, level = fit_slow(time, frequency, tone_hz, rpm)
    # Both read the same noise, so they part only where their low-passes do; and by half the square of the wow, 2e-6,
    # for it cannot be told whether the platter swings or a record that turns evenly.
    yield "tone.frequency", mean, reads["tone.frequency"], 4e-6 * mean
    yield "speed.mean", rpm * mean / tone_hz, reads["speed.mean"], 4e-6 * rpm
    yield "speed.drift", slope / mean * 6000, reads["speed.drift"], 4e-4
    yield "revolution.amplitude", turn / mean * 100, reads["revolution.amplitude"], 4e-4
    deviation = (frequency - level) / mean * 100
    for kind, law, part in [
            # Law and statistics are the same; what differs is how the filters start, and the top of the band.
            # A start strays by about a filter's second in forty: 0.4 % (0.03 dB) holds it.
            ("weighted", least_phase, 0.004), ("unweighted", flat, 0.004),
            # Another way of joining the table's points strays 0.2 dB (2.3 %) between them, and phases move a two-sigma.
            ("weighted", table, 0.04)]:
        for name, value in read(deviation, rate, law).items():
            yield f"{kind}.{name} by {law.__name__}", value, reads[f"flutter.{kind}.{name}"], part * value


def main(deckwright):
    number = 0
    failed = False
    for name, tone_hz, rpm, operands in RECORDINGS:
        with tempfile.TemporaryDirectory() as folder:
            for what, here, there, tolerance in compare(deckwright, folder, tone_hz, rpm, operands):
                number += 1
                good = abs(here - there) <= tolerance
                failed = failed or not good
                print(f"{'ok' if good else 'not ok'} {number} - {name}: {what}: {here:.6f} here, {there:.6f} there, "
                      f"apart by {abs(here - there):.6f} of {tolerance:.6f}")
    print(f"1..{number}")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
