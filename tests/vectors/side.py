#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A planned side as the program plays it, held against scipy's own network, arm and groove.

Source (worked apart): third-octave tones and a sweep against the analogue network of coil, load, tip
and preamplifier; a low sweep against the arm's state-space model driven by the
same groove; a stylus at wrong angles against the roots of its equation.
"""
import json
import pathlib
import subprocess
import sys
import tempfile

try:
    import numpy as np
    from scipy import optimize, signal
    from scipy.io import wavfile
except ImportError as missing:
    print(f"1..0 # SKIP python3-scipy is not installed ({missing.name})")
    sys.exit(0)

RESULTS = []
RATE = 48000
HEAD = "[record]\nname = Trial\nspeed = 33 1/3 rpm\nreference = 5 cm/s\nlead_in = 0.5 s\ngap = 0.2 s\n"
CHAIN = ["cartridge.inductance=500mH", "cartridge.resistance=700ohm", "cable.capacitance=130pF",
         "arm.wire_capacitance=30pF", "preamp.capacitance=150pF", "preamp.resistance=47kohm",
         "cartridge.tip_resonance=24kHz", "cartridge.tip_q=0.9"]


def check(name, got, wanted, tolerance):
    RESULTS.append((abs(got - wanted) <= tolerance, f"{name}: {got:.5f} against {wanted:.5f} within {tolerance}"))


def play(program, folder, name, plan, *operands, rate=RATE):
    """The samples of a plan without noise, full scale 1."""
    file, path = pathlib.Path(folder) / f"{name}.plan", pathlib.Path(folder) / f"{name}.wav"
    file.write_text(plan, encoding="utf-8")
    done = subprocess.run([program, "synth", str(path), f"record.plan={file}", "synth.snr=200", f"synth.rate={rate}",
                           *operands], capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(f"Bail out! {name}: {done.stderr}")
    _, samples = wavfile.read(path)
    return samples / 2.0 ** 31


def peak_db(samples, hz, rate=RATE):
    """A tone's peak under a Hann window."""
    window = np.hanning(samples.size + 1)[:-1]
    turn = np.exp(-2j * np.pi * hz * np.arange(samples.size) / rate)
    return 20 * np.log10(2 * abs(np.sum(samples * window * turn)) / window.sum())


def network_db(hz, riaa=True):
    """Nodal analysis of the coil on its load, the tip as a mechanical low-pass, three time constants."""
    s = 2j * np.pi * np.atleast_1d(hz)
    load = 1 / (1 / 47e3 + s * 310e-12)
    gain = load / (load + 700 + 0.5 * s)
    w = 2 * np.pi * 24000
    _, tip = signal.freqs([w * w], [1, w / 0.9, w * w], s.imag)
    gain = gain * tip
    if riaa:
        gain = gain * (1 + s * 318e-6) / ((1 + s * 3180e-6) * (1 + s * 75e-6))
    return float(20 * np.log10(np.abs(gain[0])))


def thirds(program, folder):
    """Tones at third octaves through the whole chain, at the level the record's reference has."""
    tones = 1000 * 2 ** (np.arange(-17, 14) / 3)
    plan = HEAD + "".join(f"[band {i + 1}]\nkind = tone\nchannel = left\nfrequency = {hz:.6f} Hz\nlevel = 1 cm/s\n"
                          f"length = 0.6 s\n" for i, hz in enumerate(tones))
    for rate in (44100, 48000):
        samples = play(program, folder, f"thirds{rate}", plan, *CHAIN, rate=rate)
        for i, hz in enumerate(tones):
            start = 0.5 + 0.8 * i
            band = samples[int((start + 0.05) * rate):int((start + 0.55) * rate), 0]
            wanted = -24 + 20 * np.log10(1 / (5 / np.sqrt(2))) + network_db(hz) - network_db(1000)
            check(f"third octave {hz:.1f} Hz at {rate}", peak_db(band, hz, rate), wanted, 0.02)


def sweep(program, folder):
    """The envelope of a sweep of constant velocity, and of one that is cut as the chain replays it."""
    for cut in ("velocity", "riaa"):
        plan = HEAD + (f"[band 1]\nkind = sweep\nchannel = right\nfrom = 20 Hz\nto = 20 kHz\nlevel = 1 cm/s\n"
                       f"cut = {cut}\nlength = 20 s\n")
        samples = play(program, folder, f"sweep-{cut}", plan, *CHAIN)[:, 1]
        # Padded: the ends of a sweep would else reach into each other round the corner.
        envelope = np.abs(signal.hilbert(samples[int(0.5 * RATE):], 2 ** 21))
        for hz in 1000 * 2 ** (np.arange(-12, 13) / 3):
            place = int(20 * np.log(hz / 20) / np.log(1000) * RATE)
            got = 20 * np.log10(np.sqrt(np.mean(envelope[place - 480:place + 480] ** 2)))
            db = network_db(hz, cut == "velocity") - network_db(1000, cut == "velocity")
            check(f"sweep {cut} {hz:.0f} Hz", got, -24 + 20 * np.log10(np.sqrt(2) / 5) + db, 0.05)


def arm(program, folder):
    """A low sweep through arm and cartridge, by the equation of motion."""
    rate, seconds = 8000, 30
    plan = HEAD + ("[band 1]\nkind = sweep\nchannel = vertical\nfrom = 30 Hz\nto = 4 Hz\nlevel = 0.2 cm/s\n"
                   "cut = velocity\nlength = 30 s\n")
    samples = play(program, folder, "arm", plan, "response.riaa=none", "arm.effective_mass=10g", "cartridge.mass=6g",
                   "cartridge.compliance=18", "cartridge.compliance_frequency=10Hz", "resonance.q=5", rate=rate)
    t = np.arange(seconds * rate) / rate
    groove = np.sin(2 * np.pi * seconds * 30 / np.log(4 / 30) * ((4 / 30) ** (t / seconds) - 1))
    w = 1 / np.sqrt(17e-3 * 18e-3)
    _, wanted, _ = signal.lsim(([1, 0, 0], [1, w / 5, w * w]), groove, t)
    got = (samples[int(0.5 * rate):int(0.5 * rate) + t.size, 0] - samples[int(0.5 * rate):int(0.5 * rate) + t.size, 1]) / 2
    got = got / (10 ** (-24 / 20) * 0.2 / 5)
    inside = slice(rate // 10, -rate // 10)  # without the band's own edges
    off = np.sqrt(np.mean((got - wanted)[inside] ** 2)) / np.sqrt(np.mean(wanted[inside] ** 2))
    check("low sweep against the equation of motion", off, 0, 0.003)


def tracing(program, folder):
    """Wrong angles: the swing x = X(t + k·x) solved by Brent's method at every sample."""
    rate, radius = RATE, 6.0
    plan = HEAD + ("[band 1]\nkind = two-tone\nchannel = left\nfrequency = 400 Hz 4 kHz\nlevel = 6 cm/s\nhigh = -12 dB\n"
                   "length = 1 s\nradius = 60 mm\n")
    samples = play(program, folder, "tracing", plan, "response.riaa=none", "cartridge.vertical_angle=27deg",
                   "arm.kind=linear", "found.twist=3deg", "synth.level=-12")
    groove = 2 * np.pi * radius * (100 / 3) / 60
    k = (np.tan(np.radians(3)) + np.tan(np.radians(20)) - np.tan(np.radians(27))) / groove / np.sqrt(2)

    def swing(at):
        high = 6 * 10 ** (-12 / 20)
        return -6 / (2 * np.pi * 400) * np.cos(2 * np.pi * 400 * at) - high / (2 * np.pi * 4000) * np.cos(2 * np.pi * 4000 * at)

    fine = 8  # a tenth of a second at eight times the rate, then its slope
    t = 0.3 + np.arange(-2, rate // 10 * fine + 3) / (rate * fine)
    x = np.array([optimize.brentq(lambda y, at=at: y - swing(at + k * y), -0.01, 0.01, xtol=1e-16) for at in t])
    velocity = np.gradient(x, t)[2:-2:fine][:rate // 10]
    place = int(round(0.8 * rate))
    got = samples[place:place + rate // 10, 0] / (10 ** (-12 / 20) / (5 / np.sqrt(2)))
    for hz in (400, 800, 3200, 3600, 4000, 4400, 4800):
        check(f"traced at wrong angles {hz} Hz", peak_db(got, hz), peak_db(velocity, hz), 0.02)


def call(program, *words):
    done = subprocess.run([program, *map(str, words), "--json"], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 3):
        raise SystemExit(f"Bail out! {words}: {done.stderr}")
    return json.loads(done.stdout)


def told(program, folder):
    """The truth that goes with a side: its bands stand where it says, and the bench finds what it says."""
    directions = ("lateral", "left", "right", "vertical")
    plan = HEAD + "".join(f"[band {i + 1}]\nkind = tone\nchannel = {name}\nfrequency = 1 kHz\nlevel = 3.54 cm/s\n"
                          f"length = 4 s\n" for i, name in enumerate(directions))
    file, path = pathlib.Path(folder) / "told.plan", pathlib.Path(folder) / "told.wav"
    file.write_text(plan, encoding="utf-8")
    truth = call(program, "synth", path, f"record.plan={file}", "cartridge.separation=28dB", "cartridge.balance=0.8dB",
                 "fault.azimuth=-1.2", "fault.speed_error=-1.5", "fault.wow=0.1", "fault.rumble=-40", "fault.hum=-60",
                 "synth.lead_silence=1", "synth.skip=0.2")
    stated = {r["key"]: r["value"] for r in truth["readings"]}
    rows = [dict(zip((c["key"] for c in truth["tables"][0]["columns"]), r)) for r in truth["tables"][0]["rows"]]
    samples = np.abs(wavfile.read(path)[1] / 2.0 ** 31).max(axis=1)
    loud = np.convolve(samples, np.ones(96) / 96, "same") > 0.01
    rises = np.flatnonzero(np.diff(loud.astype(int)) == 1) / RATE
    check("bands heard", len(rises), 4, 0)
    for row, rise in zip(rows, rises):
        check(f"band {row['band']:.0f} begins", rise, row["start"], 0.006)
    named = [f"channels.{'both' if row['channel'] == 'lateral' else row['channel']}="
             f"{row['start'] + 0.1:.3f}:{row['end'] - 0.1:.3f}" for row in rows]
    found = {r["key"]: r["value"] for name in ("channels", "azimuth") for r in call(program, name, path, *named)["readings"]}
    check("balance told and found", found["channels.balance"], stated["truth.balance"], 0.02)
    for side in ("left", "right"):
        check(f"separation {side} told and found", found[f"channels.separation_{side}"],
              stated[f"truth.separation_{side}"], 0.2)
    check("lean told and found", found["azimuth.rotation"], stated["truth.rotation"], 0.03)


def main(program):
    with tempfile.TemporaryDirectory() as folder:
        thirds(program, folder)
        sweep(program, folder)
        arm(program, folder)
        tracing(program, folder)
        told(program, folder)
    print(f"1..{len(RESULTS)}")
    for number, (good, text) in enumerate(RESULTS, 1):
        print(f"{'ok' if good else 'not ok'} {number} - {text}")
    return not all(good for good, _ in RESULTS)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
