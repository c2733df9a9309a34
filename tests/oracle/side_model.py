# SPDX-License-Identifier: MIT
"""A side of an invented test record, drawn, and what a drawn deck and wiring make of it.

The record's movement is written in closed form of the groove's own time, so speed errors and wow cost no resampling. Axes: waves.py
(IEC 60098:2020, 6.2). Replay: 3180, 318 and 75 microseconds (IEC 60098). The arm passes x²/(1 − x² + jx/Q) of the groove's velocity,
sideways and up and down each with its own resonance. All that is linear is done on one spectrum of the whole side; only the walls that
let go of the stylus (as in planned_side.py) are worked out in time. Source (trade): sizes of faults and noise are common practice.
"""
import math
import random

import numpy as np
from scipy import fft

import waves

RATE = 44100
FULL = 7e-3                 # full scale per cm/s of a channel, before the level is drawn
HISS = 10 ** (-88 / 20)     # of the electronics, rms
TURN = 1.8                  # s at 33 1/3 rpm
WIRINGS = (("correct", 22), ("swapped", 11), ("reversed_left", 6), ("reversed_right", 6), ("swapped_reversed", 7), ("strapped", 6),
           ("dead_left", 5), ("dead_right", 5), ("weak", 10), ("open_ground", 7), ("intermittent", 7), ("exchanged_plan", 8))


TAUS = (3180e-6, 318e-6, 75e-6)


def riaa(hz, taus=TAUS):
    """Replay, complex, 1 at 1 kHz where the time constants are nominal."""
    def at(f, bass, middle, treble):
        s = 2j * np.pi * f
        return (1 + s * middle) / ((1 + s * bass) * (1 + s * treble))
    return at(hz, *taus) / abs(at(1000.0, *taus))


def arm(hz, resonance, q):
    x = hz / resonance
    return x * x / (1 - x * x + 1j * x / q)


class Band:
    def __init__(self, kind, channel, length, **more):
        self.kind, self.channel, self.length = kind, channel, length
        self.frequency = self.level = self.high = self.cut = self.steps = self.start_hz = self.end_hz = None
        self.__dict__.update(more)
        self.gap = self.error = None
        self.uneven = np.zeros(12)      # dB of a sweep, at octaves from 16 Hz; of the arm's sweeps from 2 Hz

    def words(self, exchanged):
        """Its group in the plan."""
        other = {"left": "right", "right": "left"}
        channel = other.get(self.channel, self.channel) if exchanged else self.channel
        lines = [f"kind = {self.kind}", f"length = {self.length:.2f} s", f"gap = {self.gap:.2f} s"]
        if channel:
            lines.append(f"channel = {channel}")
        if self.kind == "steps":
            lines.append("level = " + " ".join(f"{step:g}" for step in self.steps) + " um")
        elif self.kind != "silence":
            lines.append(f"level = {self.level:.4f} cm/s")
        if self.kind in ("tone", "steps"):
            lines.append(f"frequency = {self.frequency:g} Hz")
        elif self.kind == "two-tone":
            lines += [f"frequency = {self.frequency:g} Hz {self.high:g} Hz", "high = -12 dB"]
        elif self.kind == "sweep":
            lines += [f"from = {self.start_hz:g} Hz", f"to = {self.end_hz:g} Hz", f"cut = {self.cut}"]
        return lines

    def velocity(self, u):
        """Along its own direction at the groove's times U, cm/s at nominal speed."""
        turn = 2 * np.pi * u
        if self.kind == "tone":
            return self.level * np.sin(turn * self.frequency)
        if self.kind == "two-tone":
            return self.level * (np.sin(turn * self.frequency) + 10 ** (-12 / 20) * np.sin(turn * self.high))
        if self.kind == "steps":
            which = np.minimum((u / self.length * len(self.steps)).astype(int), len(self.steps) - 1)
            return 2 * np.pi * self.frequency * np.array(self.steps)[which] * 1e-4 * np.cos(turn * self.frequency)
        octaves = math.log(self.end_hz / self.start_hz)
        growth = np.exp(octaves * u / self.length)
        hz = self.start_hz * growth
        level = self.level / np.abs(riaa(hz)) if self.cut == "riaa" else self.level
        if self.cut == "amplitude":
            level = self.level * hz / self.start_hz
        level = level * 10 ** (self.unevenness(hz) / 20)
        return level * np.sin(2 * np.pi * self.start_hz * self.length / octaves * (growth - 1))

    def unevenness(self, hz):
        """What the cut of a sweep is off at HZ, dB: as large anywhere as at an octave's end, and smooth between."""
        place = np.clip(np.log2(np.asarray(hz) / (2 if self.end_hz < 10 else 16)), 0, 10.999)
        whole = place.astype(int)
        turn = 0.5 * np.pi * (place - whole)
        return self.uneven[whole] * np.cos(turn) + self.uneven[whole + 1] * np.sin(turn)

    def shape(self, u):
        """Soft ends, 5 ms, and between steps."""
        edge = 0.005
        ends = np.clip(np.minimum(u, self.length - u) / edge, 0, 1)
        return 0.5 - 0.5 * np.cos(np.pi * ends)


def draw_bands(draw):
    """The plan of a short side: what every side has, and what some have."""
    pitch = draw.choice([1000.0, 1000.0, 1000.0, 315.0])
    one = draw.choice([3.54, 3.54, 2.5])
    bands = [Band("tone", "left", draw.uniform(5, 9), frequency=pitch, level=one),
             Band("tone", "right", draw.uniform(5, 9), frequency=pitch, level=one),
             Band("tone", "lateral", draw.uniform(5, 9), frequency=pitch, level=one * math.sqrt(2))]
    for other in bands[1:]:
        other.length = bands[0].length
    if draw.random() < 0.6:
        bands.append(Band("tone", "vertical", bands[0].length, frequency=pitch, level=one * math.sqrt(2)))
    if draw.random() < 0.6:
        bands.append(Band("tone", "lateral", draw.uniform(10, 18), frequency=draw.choice([3000.0, 3150.0]), level=5.0))
    if draw.random() < 0.6:
        length, top, low = draw.uniform(9, 14), draw.choice([16000, 20000]), draw.choice([20, 50, 100])
        for channel in draw.choice([("left", "right"), ("left", "right"), ("lateral",)]):
            bands.append(Band("sweep", channel, length, start_hz=low, end_hz=top, cut="riaa", level=draw.choice([1.0, 1.5])))
    if draw.random() < 0.85:
        bands.append(Band("silence", None, draw.uniform(12, 18)))
    if draw.random() < 0.85:
        steps = draw.choice([[50, 60, 70, 80, 90], [40, 50, 60, 70, 80], [50, 60, 70, 80]])
        bands.append(Band("steps", "lateral", 3.0 * len(steps), frequency=draw.choice([300.0, 315.0]), steps=steps))
    for channel, chance in (("lateral", 0.7), ("vertical", 0.6)):
        if draw.random() < chance:
            bands.append(Band("sweep", channel, draw.uniform(13, 22), start_hz=25, end_hz=4, cut="velocity", level=1.0))
    if draw.random() < 0.4:
        bands.append(Band("two-tone", "lateral", draw.uniform(6, 9), frequency=400.0, high=4000.0, level=6.0))
    if draw.random() < 0.35:
        draw.shuffle(bands)
    for band in bands:
        band.gap = draw.choice([2.0, 2.5, 3.0])
    return bands


class Side:
    """One drawn side: record, deck, wiring, what was played. `Side(random.Random(…))`, then record() and the truths."""

    def __init__(self, draw, wiring=None, grooves=None):
        self.draw = draw
        self.seed = draw.randrange(1 << 40)
        names, weights = zip(*WIRINGS)
        drawn = draw.choices(names, weights)[0]
        self.wiring = wiring or drawn
        self.bands = draw_bands(draw)
        self._draw_record()
        self._draw_deck()
        self._draw_fault()
        self._draw_surface(grooves if grooves is not None else draw.choice(["clean", "ticks", "ticks", "scratch", "worn"]))
        self._draw_course()
        self._draw_more(random.Random(f"more {self.seed}"))

    def _draw_more(self, draw):
        """What came later and must not change what was drawn before: unevenness of the sweeps, the preamplifier's parts, the clock."""
        for band in self.bands:
            if band.kind == "sweep" and band.end_hz > 1000:
                band.uneven = np.array([draw.gauss(0, 0.1) for _ in range(12)])
        self.taus = tuple(tau * (1 + draw.gauss(0, 0.05)) for tau in TAUS)
        for band in self.bands:
            if band.kind == "sweep" and band.end_hz < 10:
                band.uneven = np.array([draw.gauss(0, 0.1) for _ in range(12)])
        self.clock = draw.gauss(0, 51e-6)       # share by which the recorder's clock is fast: all that is heard is lower by it

    def _draw_record(self):
        """What the pressing has of its own: level of a band, crosstalk of the cut."""
        d = self.draw
        for band in self.bands:
            band.error = 10 ** (d.gauss(0, 0.1) / 20)
        self.cut_leak = d.gauss(0, 0.004), d.gauss(0, 0.004)        # about -48 dB

    def _draw_deck(self):
        d = self.draw
        self.speed = 1 + d.choice([d.uniform(-0.03, 0.03), d.gauss(0, 0.003)])
        self.wow = [(d.uniform(0, 0.0015), 1 / TURN * self.speed, d.uniform(0, 6.28)), (d.uniform(0, 0.0004), d.uniform(3, 12), 0.0)]
        self.tilt = math.radians(d.choice([0.0, d.uniform(-2.5, 2.5), d.uniform(-1, 1)]))
        self.leak_kind = d.choice(["none", "both", "both", "one_way"])
        leak = d.uniform(0.01, 0.05)
        sign = d.choice([-1, 1])
        self.leak = {"none": (0.0, 0.0), "both": (leak * sign, leak * sign),
                     "one_way": d.choice([(leak * sign, 0.0), (0.0, leak * sign)])}[self.leak_kind]     # left to right, right to left
        self.unequal_db = d.uniform(-1.5, 1.5)
        self.gains = np.array([1.0, 10 ** (self.unequal_db / 20)])
        self.resonances = d.uniform(7, 14), d.uniform(7, 14)
        self.qs = d.uniform(2, 9), d.uniform(2, 9)
        self.treble = [(d.uniform(11000, 24000), d.uniform(0.6, 1.6)) for _ in range(2)]
        self.bias = d.choice([0.0, d.uniform(0.06, 0.25), -d.uniform(0.06, 0.25)])
        self.hold = d.uniform(58, 85)
        self.burst = d.random() < 0.12      # lets go in part of each turn only
        self.mains = d.choice([50.0, 60.0]) + d.gauss(0, 0.01)
        self.mains_told = d.random() < 0.5
        self.hum = [10 ** (d.uniform(-85, -58) / 20) * share for share in (1, 0.3, 0.4, 0.1, 0.15)] if d.random() < 0.6 else []
        self.rumble = 10 ** (d.uniform(-56, -42) / 20), 10 ** (d.uniform(-58, -44) / 20)     # cm/s rms scale, lateral and vertical
        self.rumble_hz = d.uniform(14, 30), d.uniform(14, 30)
        self.motor = 10 ** (d.uniform(-60, -38) / 20), d.choice([25.0, 16.7, 12.5])

    def _draw_fault(self):
        d = self.draw
        self.side = d.choice([0, 1])                       # the channel that a weak, open or intermittent lead sits in
        self.weak_db = d.uniform(-19, -6)
        self.open_signal, self.open_hum = 10 ** (d.uniform(-30, -8) / 20), 10 ** (d.uniform(-36, -20) / 20)
        self.breaks_per_minute = d.uniform(12, 40)

    def _draw_surface(self, grooves):
        d = self.draw
        self.grooves = grooves
        self.ticks_per_minute = {"clean": 0, "ticks": d.uniform(5, 50), "scratch": d.uniform(0, 10), "worn": d.uniform(10, 40)}[grooves]
        self.scratch = grooves == "scratch"
        self.hiss = 10 ** (d.uniform(-40, -34) / 20) * (2.0 if grooves == "worn" else 1.0) * 0.1    # cm/s rms a wall
        self.worn_db = d.uniform(1, 5) if grooves == "worn" else 0.0       # lost at 15 kHz
        self.loud_tick = d.uniform(4, 30)

    def _draw_course(self):
        """Which bands are played, in pieces of the groove: (what, from, to) with what a band, 'gap' or 'voice'."""
        d = self.draw
        count = len(self.bands)
        self.missing = set(d.sample(range(count), d.choice([0, 0, 0, 1, 2])))
        while not self.shows_wiring():
            self.missing.pop()
        self.repeated = set(d.sample(range(count), 1)) - self.missing if d.random() < 0.15 else set()
        self.stuck = {i for i, band in enumerate(self.bands) if band.kind == "tone" and d.random() < 0.05} - self.repeated
        voices = d.random() < 0.4
        self.before = d.uniform(0.3, 3)
        self.course = [("gap", 0.0, d.uniform(1.5, 4))]
        for i, band in enumerate(self.bands):
            if i in self.missing:
                continue
            for _ in range(2 if i in self.repeated else 1):
                if voices and d.random() < 0.5:
                    self.course.append(("voice", 0.0, d.uniform(1.5, 4)))
                    self.course.append(("gap", 0.0, d.uniform(0.8, 1.5)))
                if i in self.stuck:
                    at = d.uniform(2.2, band.length - 1)
                    pieces = [(i, 0.0, at)] + [(i, at - TURN, at)] * d.choice([1, 2, 3]) + [(i, at, band.length)]
                else:
                    pieces = [(i, 0.0, band.length)]
                self.course += pieces + [("gap", 0.0, band.gap)]
        self.course.append(("gap", 0.0, d.uniform(0.5, 4)))
        self.lead_in = self.course[0][2]

    def shows_wiring(self):
        """Whether what is played has each channel alone and both together: without it no ear could tell how the leads go."""
        heard = {band.channel for number, band in enumerate(self.bands) if number not in self.missing and band.kind == "tone"}
        return {"left", "right", "lateral"} <= heard

    def plan(self):
        lines = ["[record]", "name = Drawn side", "number = invented", "speed = 33 1/3 rpm", "reference = 5 cm/s",
                 f"lead_in = {self.lead_in:.2f} s", "gap = 2 s"]
        for number, band in enumerate(self.bands, 1):
            lines += ["", f"[band {number}]", *band.words(self.wiring == "exchanged_plan")]
        return "\n".join(lines) + "\n"

    # What the stylus and the cartridge do

    def holds(self):
        """Swings in um that the inner (left) and the outer wall hold; the side force is inwards when the bias is positive."""
        return self.hold * (1 + self.bias), self.hold * (1 - self.bias)

    def matrix(self):
        """[left, right] of a movement [x, z]: axes leaning with the top towards the spindle, leak, gains."""
        cos, sin = math.cos(self.tilt), math.sin(self.tilt)
        back = np.array([[cos, -sin], [sin, cos]])
        axes = np.stack([back @ waves.A_LEFT, back @ waves.A_RIGHT])
        leak = np.array([[1.0, self.leak[1]], [self.leak[0], 1.0]])
        return self.gains[:, None] * (leak @ axes)

    def cartridge(self, channel, hz):
        """Response of a channel, 1 at 1 kHz: a damped treble resonance and what wear takes."""
        def at(f):
            top, q = self.treble[channel]
            x = f / top
            lost = 10 ** (-self.worn_db / 20 * np.minimum(f / 15000, 1.5) ** 2)
            return lost / (1 - x * x + 1j * x / q)
        return at(hz) / abs(at(1000.0))

    def directions(self, band):
        """The groove's movement for a unit of a band, as the cut made it."""
        if band.channel == "left":
            return waves.A_LEFT + self.cut_leak[0] * waves.A_RIGHT
        if band.channel == "right":
            return waves.A_RIGHT + self.cut_leak[1] * waves.A_LEFT
        return waves.groove(band.channel, np.ones(1))[:, 0]

    def _let_go(self, movement, start):
        """Walls that lose the stylus beyond what they hold, all the time or for four tenths of each turn."""
        place = np.cumsum(movement, axis=1) / RATE
        place -= place.mean(axis=1, keepdims=True)
        left, right = waves.A_LEFT @ place, waves.A_RIGHT @ place
        inner, outer = (hold * 1e-4 / math.sqrt(2) for hold in self.holds())
        out = np.stack([np.maximum(left, -inner), np.minimum(right, outer)])
        if self.burst:
            turn = ((start + np.arange(left.size)) / RATE * self.speed / TURN) % 1
            out = np.where(turn < 0.4, out, np.stack([left, right]))
        out = np.diff(out, axis=1, prepend=out[:, :1]) * RATE
        return np.stack([(out[0] + out[1]), (out[0] - out[1])]) * waves.ROOT

    def _voice(self, time, rng):
        """Somebody speaks: a pitch that wanders, formants, syllables."""
        pitch = 115 + 20 * np.sin(2 * np.pi * 0.7 * time + rng.uniform(0, 6)) + 8 * np.sin(2 * np.pi * 2.3 * time)
        phase = 2 * np.pi * np.cumsum(pitch) / RATE
        vowel = 500 + 250 * np.sin(2 * np.pi * 1.9 * time), 1500 + 500 * np.sin(2 * np.pi * 1.3 * time + 1)
        sound = sum(np.sin(n * phase) * sum(1 / (1 + ((n * pitch - formant) / 120) ** 2) for formant in vowel) for n in range(1, 26))
        syllables = np.clip(np.sin(2 * np.pi * 3.7 * time + rng.uniform(0, 6)) + 0.3, 0, 1)
        return 3.0 * sound * syllables / 2

    def _timeline(self):
        """The groove's time for each sample, and where each piece of the course begins in it."""
        lengths = [to - since for _, since, to in self.course]
        edges = np.concatenate([[0.0], np.cumsum(lengths)])
        count = int(edges[-1] / self.speed * RATE)
        grid = np.arange(0, count / RATE + 0.01, 0.002)
        speed, place = np.full(grid.size, self.speed), self.speed * grid
        for depth, hz, phase in self.wow:
            turn = 2 * np.pi * hz * grid + phase
            speed += self.speed * depth * np.cos(turn)
            place += self.speed * depth / (2 * np.pi * hz) * (np.sin(turn) - math.sin(phase))
        time = np.arange(count) / RATE
        groove, rate = np.interp(time, grid, place), np.interp(time, grid, speed)
        return edges, groove, rate

    def _surface(self, out, rng):
        """Adds the ticks to x and z and notes when they come."""
        count = out.shape[1]
        places = list(rng.integers(0, count - 20, int(self.ticks_per_minute * count / RATE / 60)))
        loud = [rng.uniform(0.3, 1) for _ in places]
        if self.scratch:
            turn = TURN / self.speed * RATE
            first = rng.uniform(0, 1)
            turns = np.arange(int(count / turn * rng.uniform(0, 0.3)), int(count / turn * rng.uniform(0.6, 0.98)))
            places += [int((first + n) * turn) for n in turns]
            loud += [1.0 + rng.uniform(0, 0.5) for _ in turns]
        for place, how in zip(places, loud):
            width = min(int(rng.integers(4, 16)), count - place)
            bump = np.diff(np.hanning(width + 1))       # out of the groove and back: a velocity both ways
            wall = bump / max(np.max(np.abs(bump)), 1e-9) * self.loud_tick * how * rng.choice([-1, 1])
            out[:, place:place + width] += np.outer(rng.uniform(0.4, 1) * waves.A_LEFT + rng.uniform(-1, 1) * waves.A_RIGHT, wall)
        self.tick_times = np.sort(np.array(places)) / RATE + self.before

    def movement(self):
        """The groove's velocity [x, z] as it is played; notes where each band began and ended in the recording."""
        rng = np.random.default_rng(self.seed)
        edges, groove, rate = self._timeline()
        out = np.zeros((2, groove.size))
        self.played, self.voices = {}, []
        self.end = groove.size / RATE + self.before
        for (what, since, _), begin, end in zip(self.course, edges, edges[1:]):
            one, last = np.searchsorted(groove, [begin, end])
            if what == "gap" or one == last:
                continue
            if what == "voice":
                self.voices.append((one / RATE + self.before, last / RATE + self.before))
                out[0, one:last] += self._voice(np.arange(last - one) / RATE, rng)
                continue
            band = self.bands[what]
            piece = self.played.setdefault(what, [])
            if since == 0:
                piece.append([one / RATE + self.before, last / RATE + self.before])
            piece[-1][1] = last / RATE + self.before
            if band.kind == "silence":
                continue
            u = groove[one:last] - begin + since
            movement = np.outer(self.directions(band), band.error * band.velocity(u) * band.shape(u) * rate[one:last])
            out[:, one:last] = self._let_go(movement, one) if band.kind == "steps" else movement
        self._surface(out, rng)
        return out, rng

    def noise_shapes(self, hz):
        """Rms of x and z a sample, at each frequency: the walls' hiss and the rumble."""
        shapes = []
        for level, middle in zip(self.rumble, self.rumble_hz):
            bell = np.exp(-0.5 * (np.log2(np.maximum(hz, 0.1) / middle) / 0.5) ** 2) / math.sqrt(middle / RATE * 2)
            warp = 0.15 / math.sqrt(2 / RATE) * np.exp(-0.5 * (np.log2(np.maximum(hz, 0.1) / 1.2) / 0.6) ** 2)
            shapes.append(np.sqrt(self.hiss ** 2 + (level * bell) ** 2 + (level * warp) ** 2))
        return shapes

    def through(self, hz):
        """From the groove's velocity x, z to the channels before the leads: [channel][x or z] at each frequency."""
        chain = riaa(hz, self.taus) * FULL
        arms = [arm(hz, *both) for both in zip(self.resonances, self.qs)]
        matrix = self.matrix()
        return [[matrix[row, way] * arms[way] * self.cartridge(row, hz) * chain for way in (0, 1)] for row in (0, 1)]

    def _spectrum(self, moved, whole, shape, way, rng):
        """What the stylus follows, with the groove's own noise, as one spectrum."""
        out = fft.rfft(moved.astype(np.float32), whole)
        for part in (out.real, out.imag):
            part += rng.standard_normal(out.size, dtype=np.float32) * (np.float32(math.sqrt(whole / 2)) * shape)
        if way == 0:
            out[int(round(self.motor[1] * self.speed * whole / RATE))] += self.motor[0] * whole / 2
        return out

    def _channels(self, moved, rng):
        """Left and right before the leads."""
        count = moved.shape[1]
        coarse = np.concatenate([np.arange(0, 60, 0.02), np.geomspace(60, RATE / 2, 4000)])
        curves, shapes = self.through(coarse), self.noise_shapes(coarse)
        whole = fft.next_fast_len(count + 2 * RATE, real=True)
        hz = fft.rfftfreq(whole, 1 / RATE).astype(np.float32)
        spectra = [self._spectrum(moved[way], whole, np.interp(hz, coarse, shapes[way]).astype(np.float32), way, rng) for way in (0, 1)]
        sound = []
        for row in (0, 1):
            both = sum(np.interp(hz, coarse, curves[row][way]).astype(np.complex64) * spectra[way] for way in (0, 1))
            sound.append(fft.irfft(both, whole)[:count])
        return np.stack(sound)

    def record(self, path):
        """Writes the WAV."""
        moved, rng = self.movement()
        sound = self._channels(moved, rng)
        count = sound.shape[1]
        time = np.arange(count, dtype=np.float64) / RATE
        for number, level in enumerate(self.hum, 1):
            sound += (level * np.sin(2 * np.pi * self.mains * number * time + number)).astype(np.float32)
        sound += np.float32(HISS) * rng.standard_normal(sound.shape, dtype=np.float32)
        sound = self._wired(sound, time, rng)
        peak = np.quantile(np.abs(sound[:, ::7]), 0.9999)
        self.gain = min(10 ** (self.draw.uniform(-9, -4) / 20) / peak, 4.0)
        lead = 1e-5 * rng.standard_normal((2, int(self.before * RATE)))
        waves.write(path, *np.clip(np.concatenate([lead, sound * self.gain], axis=1), -0.99999, 0.99999), rate=RATE)

    def _wired(self, sound, time, rng):
        left, right = sound
        wiring = self.wiring
        if wiring in ("swapped", "reversed_left", "reversed_right"):
            return np.stack(waves.played(sound, wiring))
        if wiring == "swapped_reversed":
            return np.stack([right, -left] if self.side else [-right, left])
        if wiring == "strapped":
            both = (left + right) / 2
            return np.stack([both, both]) + 1e-5 * rng.standard_normal(sound.shape)
        out = sound.copy()
        if wiring in ("dead_left", "dead_right"):
            out[int(wiring == "dead_right")] = 3e-5 * rng.standard_normal(time.size)
        elif wiring == "weak":
            out[self.side] *= 10 ** (self.weak_db / 20)
        elif wiring == "open_ground":
            buzz = sum(np.sin(2 * np.pi * self.mains * n * time + n * n) / n for n in range(1, 16))
            out[self.side] = out[self.side] * self.open_signal + self.open_hum * buzz
        elif wiring == "intermittent":
            out[self.side] *= self._breaks(time.size, rng)
        return out

    def _breaks(self, count, rng):
        through = np.ones(count)
        for place in rng.integers(0, count, int(self.breaks_per_minute * count / RATE / 60)):
            through[place:place + int(RATE * 10 ** rng.uniform(-1.3, 0.1))] = 0.01
        edge = np.hanning(47)[1:-1]
        return np.convolve(through, edge / edge.sum(), "same")
