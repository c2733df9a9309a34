# SPDX-License-Identifier: MIT
"""Music as it stands on a record: notes of instruments and voices, percussion, applause and the room, drawn by a seed.

All of it is a function of the groove's own time, in seconds at the nominal speed; music_deck.py plays it. A note's frequency is exact and its
phase written in closed form where the note is steady. Vibrato, jitter of players, strings' inharmonicity (n √(1 + B n²), Fletcher, 1964) and
decay: sizes are common practice, no source.
"""
import numpy as np
from scipy import fft, signal

RATE = 44100
TOP_HZ = 14000.0
LEAST_SHARE = 0.05          # of the music's rms: what is fainter counts as no note
SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}

# partials: how many, how they fall; steady: pitch stands still by itself; jitter in cents rms; vibrato in cents peak; all as ranges to draw from
PLAYERS = {
    "piano": {"partials": 14, "fall": (1.0, 1.5), "strings": 3, "spread": 0.5, "stiff": (1e-4, 6e-4), "decay": (1.0, 7.0), "attack": 0.004},
    "guitar": {"partials": 12, "fall": (0.9, 1.4), "stiff": (2e-5, 1e-4), "decay": (0.7, 3.0), "attack": 0.003, "bend": 0.3},
    "vibraphone": {"partials": 3, "fall": (1.5, 2.5), "decay": (2.0, 6.0), "attack": 0.003, "tremolo": (3.0, 7.0)},
    "organ": {"partials": 9, "fall": (0.5, 1.2), "attack": 0.05},
    "pad": {"partials": 8, "fall": (0.8, 1.6), "strings": 4, "spread": 8.0, "attack": 0.15},
    "mandolin": {"partials": 8, "fall": (0.8, 1.3), "attack": 0.02, "tremolo": (8.0, 13.0)},
    "wind": {"partials": 9, "fall": (0.8, 1.4), "attack": 0.05, "jitter": (0.3, 1.5), "odd": 0.4},
    "flute": {"partials": 4, "fall": (1.5, 2.5), "attack": 0.06, "jitter": (1.0, 3.0), "vibrato": (5, 20)},
    "violin": {"partials": 14, "fall": (0.7, 1.2), "attack": 0.06, "jitter": (1.0, 3.0), "vibrato": (10, 35)},
    "section": {"partials": 10, "fall": (0.8, 1.3), "strings": 6, "spread": 10.0, "attack": 0.12, "jitter": (1.0, 3.0), "vibrato": (8, 25)},
    "singer": {"partials": 14, "fall": (0.6, 1.1), "attack": 0.08, "jitter": (3.0, 9.0), "vibrato": (35, 100), "scoop": 150.0},
    "slide": {"partials": 10, "fall": (0.7, 1.2), "attack": 0.05, "jitter": (1.0, 4.0), "glide": 1.0},
}
STEADY = {"piano", "guitar", "vibraphone", "organ", "pad", "mandolin", "wind"}
# who plays chords, who the tune, how loud the drums are
STYLES = {
    "piano": (("piano",), ("piano",), 0.0),
    "organ": (("organ",), ("organ", "wind"), 0.0),
    "guitar": (("guitar",), ("guitar",), 0.3),
    "song": (("piano", "guitar", "pad"), ("singer",), 0.4),
    "band": (("pad", "piano", "guitar"), ("wind", "slide", "guitar"), 1.0),
    "orchestra": (("section", "wind", "organ"), ("violin", "flute", "wind"), 0.3),
    "vibraphone": (("vibraphone",), ("vibraphone", "mandolin"), 0.4),
    "trio": (("piano",), ("violin", "slide", "flute"), 0.0),
    "choir": (("organ", "piano"), ("singer", "singer"), 0.0),
}
# what holds nothing steady and must be refused
UNFIT = {
    "all vibrato": (("violin", "singer"), ("violin", "singer"), 0.0),
    "slides": (("slide",), ("slide",), 0.3),
    "percussion": ((), (), 1.0),
    "applause": ((), (), 0.0),
}


class Note:
    """One note: when, how high, who, how loud, from where; `seed` draws what its player does with it."""

    def __init__(self, start, length, hz, player, level, pan, seed):
        self.start, self.length, self.hz, self.player = start, length, hz, player
        self.level, self.pan, self.seed = level, pan, seed
        self.loud = self.held = None        # told by render(): seconds from where to where it stands


def smooth_noise(t, draw, cents, low=0.1, high=3.0, count=9):
    """A sum of cosines of rms CENTS."""
    hz = np.exp(draw.uniform(np.log(low), np.log(high), count))
    return cents * np.sqrt(2 / count) * sum(np.cos(2 * np.pi * f * t + draw.uniform(0, 6.28)) for f in hz)


def contour(note, rules, t, draw):
    """What the player does to the pitch, cents; None where it stands still."""
    cents, moved = np.zeros(t.size), False
    if "jitter" in rules:
        cents += smooth_noise(t, draw, draw.uniform(*rules["jitter"]))
        moved = True
    if "vibrato" in rules:
        rate, onset = draw.uniform(4.3, 6.8), draw.uniform(0.0, 0.35)
        angle = 2 * np.pi * rate * t + smooth_noise(t, draw, 0.5, 0.1, 1.0)
        cents += draw.uniform(*rules["vibrato"]) * np.clip((t - onset) / 0.25, 0, 1) * np.sin(angle + draw.uniform(0, 6.28))
        moved = True
    if "scoop" in rules and draw.random() < 0.5:
        cents -= draw.uniform(30, rules["scoop"]) * np.exp(-t / draw.uniform(0.04, 0.12))
    if draw.random() < rules.get("bend", 0.0):
        middle, width = draw.uniform(0.2, 0.8) * note.length, draw.uniform(0.15, 0.6)
        cents += draw.choice([-30, -20, 20, 30]) * np.exp(-0.5 * ((t - middle) / width) ** 2)
        moved = True
    if "glide" in rules and draw.random() < rules["glide"]:
        reach = draw.choice([-1, 1]) * draw.uniform(100, 700)
        cents += reach * (t / note.length) ** draw.uniform(0.7, 1.6)
        moved = True
    return cents if moved else None


def envelope(note, rules, t, draw):
    """Loudness over time, without a partial's own decay."""
    shape = np.clip(t / rules["attack"], 0, 1) * np.clip((note.length - t) / 0.08, 0, 1)
    shape = 0.5 - 0.5 * np.cos(np.pi * shape)
    if "tremolo" in rules:
        shape *= 1 - draw.uniform(0.2, 0.6) * (0.5 + 0.5 * np.cos(2 * np.pi * draw.uniform(*rules["tremolo"]) * t + draw.uniform(0, 6.28)))
    return shape


def strength(note, rules, count, draw):
    """Of each partial, the sum of squares 1."""
    number = np.arange(1, count + 1)
    size = number ** -draw.uniform(*rules["fall"]) * 10 ** (draw.normal(0, 3, count) / 20)
    if "odd" in rules and draw.random() < rules["odd"]:
        size[1::2] *= 0.15
    if "scoop" in rules:
        hz = number * note.hz
        size *= 0.2 + sum(np.exp(-0.5 * ((hz - place) / 250) ** 2) for place in (600, 1200, 2700))
    return size / np.sqrt(np.sum(size ** 2))


def steady_sum(partials, hz, count):
    """Sines that stand still and die away: powers of one number each, those of whole blocks times those within one."""
    block, sizes = 512, np.array([size for _, _, size in partials])
    each = np.array([2j * np.pi * ratio * hz - fall for ratio, fall, _ in partials]) / RATE
    begins = sizes * np.exp(np.outer(np.arange(0, count, block), each))
    within = np.exp(np.outer(each, np.arange(block)))
    return (begins.real @ within.imag + begins.imag @ within.real).ravel()[:count]


def moving_sum(partials, turns, t):
    """The same of a pitch that moves, whose turns are given at the seconds T."""
    sound = np.zeros(t.size)
    for ratio, fall, size in partials:
        one = abs(size) * np.sin(2 * np.pi * ratio * turns + np.angle(size))
        sound += one * np.exp(-t * fall) if fall else one
    return sound


def voice(note, rules, t, hz, draw):
    """One string, pipe or throat."""
    stiff = draw.uniform(*rules["stiff"]) if "stiff" in rules else 0.0
    count = max(1, min(rules["partials"], int(TOP_HZ / hz)))
    sizes, shape, cents = strength(note, rules, count, draw), envelope(note, rules, t, draw), contour(note, rules, t, draw)
    turns = hz * t if cents is None else hz * np.concatenate([[0.0], np.cumsum(2 ** (cents[:-1] / 1200))]) / RATE
    decay = draw.uniform(*rules["decay"]) * min(1.5, (220 / hz) ** 0.5) if "decay" in rules else None
    partials = []                       # how many times as fast, what its decay is faster than the first's, size and phase
    for number, size in enumerate(sizes, 1):
        ratio = number * np.sqrt(1 + stiff * number ** 2)
        if ratio * hz > TOP_HZ * 1.2 or size < 0.003:
            continue
        partials.append((ratio, (1 + 0.25 * (number - 1)) / decay if decay else 0.0, size * np.exp(1j * draw.uniform(0, 6.28))))
    sound = steady_sum(partials, hz, t.size) if cents is None else moving_sum(partials, turns, t)
    return sound * shape, decay, cents is None


def play_note(note):
    """Its samples from its start, how long it stands well above its end, and whether its pitch stood still."""
    rules, draw = PLAYERS[note.player], np.random.default_rng(note.seed)
    t = np.arange(int(note.length * RATE)) / RATE
    voices, sound, still = rules.get("strings", 1), np.zeros(t.size), True
    if rules.get("decay") and note.hz > 500:
        voices = min(voices, 2)
    for _ in range(voices):
        hz = note.hz * 2 ** (draw.normal(0, rules["spread"]) / 1200 if voices > 1 else 0)
        one, decay, steady = voice(note, rules, t, hz, draw)
        sound, still = sound + one / np.sqrt(voices), still and steady
    stands = min(note.length, 2.3 * decay) if decay else note.length     # to -20 dB
    return note.level * sound, stands, note.player in STEADY and (still or note.player == "wind")


def clap(draw, count):
    b, a = signal.butter(1, sorted((draw.uniform(500, 1200), draw.uniform(1600, 4000))), "bandpass", fs=RATE)
    return signal.lfilter(b, a, draw.standard_normal(count) * np.exp(-np.arange(count) / RATE / draw.uniform(0.002, 0.01)))


def applause(seconds, draw):
    sound, people = np.zeros((2, int(seconds * RATE))), draw.integers(15, 60)
    kinds = [clap(draw, int(0.06 * RATE)) for _ in range(24)]
    for _ in range(people):
        rate, pan, level = draw.uniform(2.5, 5), draw.uniform(0.2, 0.8), draw.uniform(0.3, 1)
        time = draw.uniform(0, 1.5)
        while time < seconds - 0.1:
            one, place = kinds[draw.integers(24)] * level, int(time * RATE)
            sound[0, place:place + one.size] += np.sqrt(1 - pan) * one
            sound[1, place:place + one.size] += np.sqrt(pan) * one
            time += max(0.1, draw.normal(1 / rate, 0.03))
    return sound * np.clip(np.minimum(np.arange(sound.shape[1]), np.arange(sound.shape[1])[::-1]) / RATE, 0, 1)


def drum(kind, draw):
    t = np.arange(int({"kick": 0.35, "snare": 0.25, "hat": 0.12, "tom": 0.5, "cymbal": 1.5}[kind] * RATE)) / RATE
    if kind in ("kick", "tom"):
        low, fall = (55, 0.03) if kind == "kick" else (draw.uniform(90, 160), 0.08)
        return np.sin(2 * np.pi * (low * t + low * fall * (1 - np.exp(-t / fall)))) * np.exp(-t / (0.08 if kind == "kick" else 0.16))
    edge = {"snare": 900, "hat": 6000, "cymbal": 3000}[kind]
    b, a = signal.butter(2, edge, "highpass", fs=RATE)
    return 0.5 * signal.lfilter(b, a, draw.standard_normal(t.size)) * np.exp(-t / {"snare": 0.06, "hat": 0.03, "cymbal": 0.4}[kind])


def room_tail(seconds, wet, draw):
    """An exponentially decaying tail of noise, behind the sound itself; high notes die sooner."""
    t = np.arange(int(1.2 * seconds * RATE)) / RATE
    tail = draw.standard_normal(t.size) * 10 ** (-3 * t / seconds)
    b, a = signal.butter(1, 3500, fs=RATE)
    tail = 0.5 * tail * 10 ** (-2 * t / seconds) + signal.lfilter(b, a, tail)
    tail *= wet / np.sqrt(np.sum(tail ** 2))
    tail[0] += 1
    return tail


def room(sound, seconds, wet, draw):
    """A tail in each channel, each another one."""
    return np.stack([signal.fftconvolve(side, room_tail(seconds, wet, draw))[:side.size] for side in sound])


class Piece:
    """A drawn piece of SECONDS: `kind` is one of STYLES or UNFIT."""

    def __init__(self, draw, kind, seconds):
        self.kind, self.seconds, self.seed = kind, seconds, int(draw.integers(1 << 40))
        self.chords, self.tune, self.drums = (STYLES | UNFIT)[kind]
        self.reverb, self.wet = draw.uniform(0.3, 3.0), draw.uniform(0.1, 0.7)
        self.clapping = kind == "applause" or draw.random() < 0.15
        self.beat = 60 / draw.uniform(60, 150)
        self.bar_is_turn = draw.random() < 0.1      # a bar of four lasts just one turn at 33 1/3 rpm
        if self.bar_is_turn:
            self.beat = 0.45
        self.tuning = 440 * 2 ** (draw.normal(0, 12) / 1200)
        self.notes, self.hits = [], []
        self._draw_notes(draw)
        self._draw_drums(draw)

    def _hz(self, step, draw):
        return self.tuning * 2 ** ((step - 69) / 12 + draw.normal(0, 2) / 1200)

    def _draw_notes(self, draw):
        scale, key = SCALES[draw.choice(list(SCALES))], int(draw.integers(43, 55))
        time = draw.uniform(0.2, 1.5)

        def step(degree):
            return key + scale[degree % 7] + 12 * (degree // 7)
        while time < self.seconds - 1 and self.chords:
            beats, root = int(draw.choice([2, 4, 4, 8])), int(draw.integers(0, 7))
            length = min(beats * self.beat, 7.0)
            player = str(draw.choice(self.chords))
            for degree in (root, root + 2, root + 4, root + 7)[:int(draw.integers(2, 5))]:
                self._add(draw, time, length * draw.uniform(0.85, 1.3), step(degree), player, draw.uniform(0.3, 1.0))
            self._draw_tune(draw, time, beats, step, root)
            time += beats * self.beat

    def _draw_tune(self, draw, time, beats, step, root):
        player, place = str(draw.choice(self.tune)), 0.0
        while place < beats - 0.01:
            lasts = min(float(draw.choice([0.5, 1, 1, 2, 4])), beats - place)
            if draw.random() < 0.8:
                degree = root + 7 + int(draw.integers(0, 8))
                self._add(draw, time + place * self.beat, lasts * self.beat * draw.uniform(0.7, 1.1), step(degree), player, draw.uniform(0.4, 1.2))
            place += lasts

    def _add(self, draw, start, length, step, player, level):
        start = max(0.0, start + draw.normal(0, 0.012))
        if start + length < self.seconds:
            self.notes.append(Note(start, length, self._hz(step, draw), player, level, draw.uniform(0.2, 0.8), int(draw.integers(1 << 40))))

    def _draw_drums(self, draw):
        if self.drums == 0 or self.kind == "applause":
            return
        pattern = [(0, "kick"), (1, "snare"), (2, "kick"), (3, "snare")] + [(0.5 * half, "hat") for half in range(8)]
        for bar in range(int(self.seconds / (4 * self.beat))):
            for beat, kind in pattern + [(float(draw.integers(0, 8)) / 2, str(draw.choice(["tom", "cymbal", "kick"])))]:
                if draw.random() < 0.85:
                    time = (4 * bar + beat) * self.beat + abs(draw.normal(0, 0.008))
                    self.hits.append((time, kind, self.drums * draw.uniform(0.2, 0.6), int(draw.integers(1 << 40))))

    def performed_again(self, draw, click=False):
        """The same notes by other hands: other timing, lengths, loudness and tuning. Changes this piece. CLICK: the same players in the same
        tuning, each of whom hears the same click, which keeps them within some milliseconds."""
        tempo = draw.choice([1.0, draw.uniform(0.95, 1.05)])
        knots = np.cumsum(draw.normal(0, 0.04, int(self.seconds / 3) + 3))
        tune, jitter = draw.normal(0, 8) / 1200, draw.uniform(0.01, 0.04)
        if click:
            tempo, knots, tune, jitter = draw.choice([1.0, draw.uniform(0.998, 1.002)]), np.zeros(2), 0.0, draw.uniform(0.003, 0.01)

        def moved(time):
            return max(0.0, tempo * time + float(np.interp(time / 3, np.arange(knots.size), knots - knots[0])) + draw.normal(0, jitter))
        for note in self.notes:
            note.start, note.length = moved(note.start), note.length * draw.uniform(0.85, 1.15)
            note.hz *= 2 ** tune
            note.level *= draw.uniform(0.7, 1.4)
            note.seed = int(draw.integers(1 << 40))
        self.hits = [(moved(time), kind, level * draw.uniform(0.7, 1.4), int(draw.integers(1 << 40))) for time, kind, level, _ in self.hits]
        self.notes = [note for note in self.notes if note.start + note.length < self.seconds]
        self.seed = int(draw.integers(1 << 40))

    def arranged_anew(self, draw):
        """Other notes by the same kind of players over the very same drums. Changes this piece."""
        self.notes = []
        self._draw_notes(draw)

    def render(self):
        """Two rows at RATE, rms of about 0.1, and each note told how long it stands."""
        draw, dry = np.random.default_rng(self.seed), np.zeros((2, int(self.seconds * RATE)))
        for note in self.notes:
            sound, stands, steady = play_note(note)
            self._put(dry, note.start, sound, note.pan)
            note.held = (note.start, note.start + stands) if steady and stands >= 1.0 else None
            end = int(min(stands, note.length) * RATE)
            note.loud = float(np.sqrt(np.mean(sound[:end] ** 2)))
        for time, kind, level, seed in self.hits:
            self._put(dry, time, level * drum(kind, np.random.default_rng(seed)), 0.5)
        self._loud_enough(dry)
        if self.clapping:
            self._put_applause(dry, draw)
        wet = room(dry, self.reverb, self.wet, draw)
        scale = 0.1 / np.sqrt(np.mean(wet ** 2))
        return wet * scale

    def _put(self, dry, time, sound, pan):
        place = int(time * RATE)
        count = max(0, min(sound.size, dry.shape[1] - place))
        dry[0, place:place + count] += np.sqrt(1 - pan) * sound[:count]
        dry[1, place:place + count] += np.sqrt(pan) * sound[:count]

    def _put_applause(self, dry, draw):
        level = 0.5 * np.sqrt(np.mean(dry ** 2)) + (0.3 if self.kind == "applause" else 0.0)
        if self.kind == "applause":
            dry += level * applause(self.seconds, draw)[:, :dry.shape[1]]
            return
        seconds = min(8.0, 0.2 * self.seconds)
        some = 3 * level * applause(seconds, draw)
        where = draw.choice([0, dry.shape[1] - some.shape[1]])
        dry[:, where:where + some.shape[1]] += some

    def _loud_enough(self, dry):
        power = np.concatenate([[0.0], np.cumsum(np.sum(dry ** 2, axis=0))])
        for note in self.notes:
            if note.held:
                begin, end = (min(int(time * RATE), dry.shape[1]) for time in note.held)
                mix = np.sqrt((power[end] - power[begin]) / max(1, end - begin))
                if note.loud < LEAST_SHARE * mix:
                    note.held = None

    def held_between(self, begin, end):
        """Seconds in which at least one note is held."""
        spans = sorted((max(note.held[0], begin), min(note.held[1], end)) for note in self.notes if note.held)
        total, reached = 0.0, begin
        for since, until in spans:
            since = max(since, reached)
            if until > since:
                total, reached = total + until - since, until
        return total


def twice_as_dense(sound):
    """Interpolated by the spectrum: at 2 RATE, exactly band-limited."""
    size = fft.next_fast_len(sound.size + RATE // 10, real=True)
    spectrum = fft.rfft(sound, size)
    dense = np.zeros(size + 1, complex)
    dense[:spectrum.size] = spectrum
    return 2 * fft.irfft(dense, 2 * size)[:2 * sound.size]
