# SPDX-License-Identifier: MIT
"""Runs `twin` on two copies of one pressing whose surfaces hiss and tick by drawn amounts, and asks how often its ± hold: for scripts/music-trial.

Ticks come by chance (Poisson) at a rate of each copy's own, beside those of the groove. The truth of `twin.ticks` is the difference of the
rates, as far as ticks of the drawn heights stand CERTAIN times over both copies' second difference about them; that of `twin.hiss` is what the known music and the mean power of the known surfaces give, third octave by third octave,
in the softest tenth of the seconds against the louder half. Copies of PAIRS cases in a row have one piece in common.
Source (published): the third octaves are those of IEC 61260.
"""
import functools

import numpy as np

import music
import music_deck
import music_run
import program
import worn_copy

PAIRS = 6
CERTAIN, BLOCK = 12, music.RATE // 50                            # docs/methods/twin.md, step 7
THIRDS = [1000 * 10 ** (n / 10) for n in range(2, 12)]          # 1.6 to 12.5 kHz


@functools.lru_cache(maxsize=1)
def piece_of(seed, number):
    """Its style, its length and its sound, with the groove's own surface and ticks."""
    draw = np.random.default_rng([seed, number, 25])
    style, seconds = str(draw.choice(list(music.STYLES))), draw.uniform(40, 70)
    sound = music.Piece(draw, style, seconds + 2).render()
    count = sound.shape[1]
    sound = sound + music_deck.surface(count, -draw.uniform(50, 65), 0, draw) + worn_copy.ticks(count, int(draw.integers(0, 30)), draw)
    return style, seconds, sound


def powers(rows):
    """Of each third octave in each second, both channels together: by the spectrum of a second."""
    whole, hz = rows.shape[1] // music.RATE, np.arange(music.RATE // 2 + 1)
    power = np.sum(np.abs(np.fft.rfft(rows[:, :whole * music.RATE].reshape(2, whole, music.RATE), axis=2)) ** 2, axis=0)
    return np.stack([np.sum(power[:, (hz >= middle * 10 ** -0.05) & (hz < middle * 10 ** 0.05)], axis=1) for middle in THIRDS])


def hiss_of(common, surfaces):
    """Second over first in the soft moments, relative to the loud, decibels."""
    both = [common + np.mean(surface, axis=1, keepdims=True) for surface in surfaces]
    mean, ratio, more = np.sqrt(both[0] * both[1]), 10 * np.log10(both[1] / both[0]), []
    for band in range(len(THIRDS)):
        soft, loud = (np.quantile(mean[band], share) for share in (0.1, 0.5))
        more.append(np.median(ratio[band][mean[band] <= soft]) - np.median(ratio[band][mean[band] >= loud]))
    return float(np.mean(more))


def bends(rows):
    """The second difference, the larger of both channels'."""
    return np.max(np.abs(np.diff(rows, 2, axis=1)), axis=0)


def floor_of(rows):
    """Its median over each fiftieth of a second, or a neighbour's where that is more."""
    bend = bends(rows)
    each = np.median(bend[:bend.size // BLOCK * BLOCK].reshape(-1, BLOCK), axis=1)
    return np.max([each[:-2], each[1:-1], each[2:]], axis=0)


def bend_of_tick(late):
    """The highest of one tick of height 1 that is played LATE samples late, within the band."""
    size = 256
    row = np.zeros(size)
    row[100:100 + worn_copy.SHAPE.size] = worn_copy.SHAPE
    moved = np.fft.irfft(np.fft.rfft(row) * np.exp(-2j * np.pi * late * np.arange(size // 2 + 1) / size), size)
    return bends(moved[np.newaxis]).max()


def seen_share(floors, draw):
    """Of ticks as they are drawn, those that would stand out of the higher of the FLOORS."""
    heights = draw.choice([bend_of_tick(late) for late in np.arange(0, 1, 0.05)], 4000) * draw.uniform(0.1, 0.4, 4000) * np.max(draw.uniform(0.5, 1, (2, 4000)), axis=0)
    return float(np.mean(heights >= CERTAIN * draw.choice(np.max(floors, axis=0), 4000)))


class Wear:
    def __init__(self, seed, number):
        self.style, self.seconds, self.sound = piece_of(seed, number // PAIRS)
        draw = self.draw = np.random.default_rng([seed, number, 26])
        self.rates = [float(draw.choice([0, np.exp(draw.uniform(np.log(2), np.log(60)))])) for _ in range(2)]       # a minute
        self.decibels = [-draw.uniform(34, 65) for _ in range(2)]
        self.decks = [music_deck.Deck(100 / 3, draw.normal(0, 0.3), 0, [(1, draw.uniform(0.02, 0.2), draw.uniform(0, 360))]) for _ in range(2)]
        self.chains = [music_deck.Chain(int(draw.choice([44100, 48000])), -draw.uniform(0, 12), shelves=[(3000, draw.uniform(-6, 6), True)]) for _ in range(2)]

    def record(self, paths):
        count, surfaces, floors, files = self.sound.shape[1], [], [], []
        for which, path in enumerate(paths):
            surfaces.append(music_deck.surface(count, self.decibels[which], 0, self.draw))
            own = surfaces[-1] + worn_copy.ticks(count, int(self.draw.poisson(self.rates[which] * count / music.RATE / 60)), self.draw)
            floors.append(floor_of(self.sound + own))
            files.append(music_deck.record(path, self.sound + own, self.decks[which], self.chains[which], 0.3, self.seconds, int(self.draw.integers(1 << 30))))
        self.seen = seen_share(floors, self.draw)
        self.hiss = hiss_of(powers(self.sound), [powers(surface) for surface in surfaces])
        return files

    def truth(self):
        return {"style": self.style, "rates": self.rates, "decibels": self.decibels, "seen": self.seen,
                "twin.ticks": self.seen * (self.rates[1] - self.rates[0]), "twin.hiss": self.hiss}


def wrongly_said(sheet, truth):
    """The copy that is called the worse must be the worse."""
    wrong = []
    for key, words in (("twin.ticks", "ticks more often than"), ("twin.hiss", "more noise than the")):
        for remark in sheet.remarks:
            if words in remark and "cannot be told" not in remark and (truth[key] > 0) == ("more noise than the second" in remark or "The first ticks" in remark):
                wrong.append((f"{key}: the wrong copy", f"{truth[key]:.2f}: {remark}"))
    return wrong


def try_wear(path, seed, number, keep=None):
    case, prog = Wear(seed, number), program.Program(path)
    files = case.record([prog.recording(f"wear-{seed}-{number}-{which}.wav") for which in ("first", "second")])
    truth = case.truth()
    words = [file.name for file in files]
    done = {"number": number, "case": case.style, "words": " ".join(words), "truth": truth, "said": "", "wrong": [], "readings": []}
    try:
        sheet = prog.sheet("twin", *words)
    except program.Refused as trouble:
        done.update(said=str(trouble), wrong=[("refused", str(trouble))])
        return done
    finally:
        for file in files:
            music_run.keep_case(file, truth, keep)
    rows = [(key, sheet.readings[key]) for key in ("twin.ticks", "twin.hiss") if sheet.has(key)]
    done.update(said=sheet.words(), wrong=wrongly_said(sheet, truth),
                readings=[(key, row["value"], row.get("uncertainty"), truth[key], bool(row["flags"])) for key, row in rows])
    return done
