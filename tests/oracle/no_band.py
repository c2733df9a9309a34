#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What is no band of a test record is not measured as one, and hum is read whatever it is a multiple of.

Whistles in noise, notes of an instrument, hum alone; silent grooves with hum of 45 to 66 Hz, with harmonics and without.
Source (worked apart): all made here with numpy; the hum's level is the sum of the sines put in.
"""
import math

import numpy as np

import program
import waves

RATE, SECONDS = 44100, 16
SHARES = (1, 0.3, 0.4, 0.1, 0.15)


def time():
    return np.arange(RATE * SECONDS) / RATE


def tone(hz, level, wow=0.0):
    return level * np.sin(2 * np.pi * hz * (time() + wow / (2 * np.pi * 0.55) * np.sin(2 * np.pi * 0.55 * time())))


def refused(prog, procedure, left, right, words):
    path = waves.write(prog.recording("no_band.wav"), left, right, rate=RATE)
    done = prog.run(procedure, path)
    good = done.returncode == 2 and not done.stdout and words in done.stderr
    return "" if good else f"exit {done.returncode}: {done.stderr or done.stdout[:300]}"


def whistle(prog, over_db):
    """A steady tone OVER_DB over white noise."""
    sine = tone(740, 0.02 * math.sqrt(2) * 10 ** (over_db / 20))
    return refused(prog, "channels", sine + waves.noise(sine.size, 0.02, 1), sine + waves.noise(sine.size, 0.02, 2), "no band of a test record")


def notes(prog):
    """Four seconds of each note, an octave above it half as loud."""
    out = np.zeros(RATE * SECONDS)
    for number, hz in enumerate((262, 330, 392, 523)):
        held = (time() >= 4 * number) & (time() < 4 * number + 4)
        out[held] = (tone(hz, 0.2) + tone(2 * hz, 0.1))[held]
    return refused(prog, "channels", out, 0.8 * out + waves.noise(out.size, 1e-3, 3), "as an instrument's has")


def one_after_another(sound, gap_s=2):
    """SOUND in the left channel, then in the right one."""
    gap = np.zeros(RATE * gap_s + sound.size)
    left, right = np.concatenate([sound, gap]), np.concatenate([gap, sound])
    return left + waves.noise(left.size, 2e-4, 21), right + waves.noise(right.size, 2e-4, 22)


def bell(prog, procedure, hz, tau_s):
    """A note that dies away by 8.69 dB every TAU_S seconds."""
    at = time()[:RATE * 5]
    return refused(prog, procedure, *one_after_another(0.3 * np.sin(2 * np.pi * hz * at) * np.exp(-at / tau_s)), "dies away")


def voice(prog, procedure, hz, swing, rate_hz):
    """A note that wavers by SWING, peak, at RATE_HZ."""
    at = time()[:RATE * 6]
    note = 0.2 * np.sin(2 * np.pi * np.cumsum(hz * (1 + swing * np.sin(2 * np.pi * rate_hz * at))) / RATE)
    return refused(prog, procedure, *one_after_another(note * (1 + 0.1 * np.sin(2 * np.pi * 4 * at))), "wavers by")


def off_centre(prog, swing, turn_hz, fall_db):
    """A band of a record that lies off its centre, FALL_DB lower at its end, on a platter at a wrong speed, is a band; 40 dB are no wonder."""
    at = time()[:RATE * (15 if fall_db > 2 else 8)]
    sound = 0.3 * np.sin(2 * np.pi * np.cumsum(1000 * (1 + swing * np.sin(2 * np.pi * turn_hz * at) + 0.001 * np.sin(7 * at))) / RATE)
    left, right = one_after_another(sound * 10 ** (-fall_db / 20 * at / at[-1]))
    path = waves.write(prog.recording("band.wav"), left + 0.01 * right, right + 0.01 * left, rate=RATE)
    sheet = prog.sheet("channels", path)
    off = [sheet.value(f"channels.separation_{name}") - 40 for name in ("left", "right")]
    return "; ".join([f"separation off by {off} dB"] * (max(map(abs, off)) > 0.2) + sheet.raw["cautions"])


def parted(prog, procedure, hz):
    """Tones that were never in a groove are parted as none is, and no azimuth is called right by them."""
    left, right = one_after_another(tone(hz, 0.3)[:RATE * 6])
    sheet = prog.sheet(procedure, waves.write(prog.recording("band.wav"), left, right, rate=RATE))
    wrong = [] if any("No groove and no cartridge" in line for line in sheet.raw["cautions"]) else ["not a word of it"]
    return "; ".join(wrong + sheet.said("azimuth is right"))


def plain(prog, hz):
    """A band of both channels tells no azimuth."""
    both = tone(hz, 0.2, 0.001)
    return refused(prog, "azimuth", both + waves.noise(both.size, 1e-4, 4), both + waves.noise(both.size, 1e-4, 5), "channel alone was not found")


def band(prog):
    """A real band, with wow, 26 dB over its noise, is measured without a word of doubt."""
    both = tone(1000, 0.05, 0.0015)
    path = waves.write(prog.recording("band.wav"), both + waves.noise(both.size, 1.7e-3, 6), 0.9 * both + waves.noise(both.size, 1.7e-3, 7), rate=RATE)
    sheet = prog.sheet("channels", path)
    off = sheet.value("channels.balance") - 20 * math.log10(0.9)
    return "; ".join([f"balance off by {off:.3f} dB"] * (abs(off) > 0.03) + sheet.raw["cautions"])


def mains_tone(prog):
    """Hum taken for a band carries a caution."""
    both = tone(300, 0.01) + tone(100, 0.005)
    path = waves.write(prog.recording("hum.wav"), both + waves.noise(both.size, 1e-4, 8), both + waves.noise(both.size, 1e-4, 9), rate=RATE)
    cautions = prog.sheet("channels", path).raw["cautions"]
    return "" if any("it may be hum" in line for line in cautions) else f"cautions: {cautions}"


def red(seed):
    """Rumbling groove: noise that falls as the frequency from some 5 Hz on."""
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(RATE * SECONDS))
    hz = np.fft.rfftfreq(RATE * SECONDS, 1 / RATE)
    out = np.fft.irfft(spectrum / np.sqrt(25 + hz ** 2), RATE * SECONDS)
    return 3e-3 * out / out.std()


def inverter(prog, hz, shares, level_db):
    """Hum of HZ is read: what it is of, and how loud under 10 cm/s."""
    level, reference_db = 10 ** (level_db / 20), -10
    hum = sum(tone(hz * number, level * share) for number, share in enumerate(shares, 1))
    left, right = (hum + red(seed) + waves.noise(hum.size, 3e-5, seed + 10) for seed in (11, 12))
    path = waves.write(prog.recording("groove.wav"), left, right, rate=RATE)
    sheet = prog.sheet("noise", path, noise__reference_level=f"{reference_db}dB", noise__reference_velocity="10cm/s")
    wrong = []
    if not sheet.has("noise.mains") or abs(sheet.value("noise.mains") - hz) > 0.05:
        wrong.append(f"mains {sheet.readings.get('noise.mains', {}).get('value')}, truth {hz}")
    truth = reference_db - 10 * math.log10(level ** 2 * sum(share ** 2 for share in shares))
    if abs(sheet.value("noise.hum") - truth) > 0.3:
        wrong.append(f"hum {sheet.value('noise.hum')}, truth {truth:.2f}")
    own = bool(sheet.said("neither 50 nor 60"))
    if own != (abs(hz - 50) > 1 and abs(hz - 60) > 1):
        wrong.append(f"said of an inverter: {own}")
    return "; ".join(wrong)


def hidden(prog, hz):
    """Of hum that hides in the rumble only what can hide is told, and it is no less than what is there."""
    level = 10 ** (-72 / 20)
    hum = sum(tone(hz * number, level * share) for number, share in enumerate(SHARES, 1))
    left, right = (hum + red(seed) + waves.noise(hum.size, 3e-5, seed + 10) for seed in (11, 12))
    path = waves.write(prog.recording("groove.wav"), left, right, rate=RATE)
    sheet = prog.sheet("noise", path, noise__reference_level="-10dB", noise__reference_velocity="10cm/s")
    truth = -10 - 10 * math.log10(level ** 2 * sum(share ** 2 for share in SHARES))
    told = sheet.readings["noise.hum"]
    good = told["value"] <= truth + 0.3 and (told["flags"] or abs(told["value"] - truth) < 1)
    return "" if good else f"hum {told['value']} {told['flags']}, truth {truth:.2f}"


def run(prog, checks, names):
    for over_db in (0, 10):
        checks.attempt(f"a whistle {over_db} dB over noise is no band", whistle, prog, over_db)
    checks.attempt("notes of an instrument are no bands", notes, prog)
    for procedure in ("channels", "azimuth"):
        for tau_s in (2, 3, 8):
            checks.attempt(f"{procedure}: a bell of {tau_s} s is no band", bell, prog, procedure, 880, tau_s)
        for swing, rate_hz in ((0.014, 0.3), (0.012, 1.7), (0.015, 0.21)):
            checks.attempt(f"{procedure}: a note that wavers at {rate_hz} Hz is no band", voice, prog, procedure, 700, swing, rate_hz)
        for hz in (285, 570, 1000):
            checks.attempt(f"{procedure}: {hz} Hz parted as in no groove", parted, prog, procedure, hz)
    for swing, turn_hz, fall_db in ((0.003, 33.333 / 60, 0), (0.012, 33.8 / 60, 1), (0.01, 46.5 / 60, 0), (0.012, 32.1 / 60, 0), (0.008, 78 / 60, 1.5), (0.002, 33.333 / 60, 3)):
        checks.attempt(f"a band {100 * swing:g} % off its centre at {turn_hz:.3f} Hz is one", off_centre, prog, swing, turn_hz, fall_db)
    for hz in (1000, 3150):
        checks.attempt(f"{hz} Hz in both channels tells no azimuth", plain, prog, hz)
    checks.attempt("a band in noise is one", band, prog)
    checks.attempt("hum alone carries a caution", mains_tone, prog)
    for hz, level_db in ((57, -50), (57, -58), (60, -50), (50, -50), (66, -50), (45, -58), (53, -50)):
        checks.attempt(f"hum of {hz} Hz at {level_db} dB", inverter, prog, hz, SHARES, level_db)
    for hz in (57, 63):
        checks.attempt(f"{hz} Hz alone", inverter, prog, hz, (1,), -50)
    for hz in (50, 60):
        checks.attempt(f"hum of {hz} Hz that hides", hidden, prog, hz)


if __name__ == "__main__":
    program.main(run)
