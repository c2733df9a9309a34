# SPDX-License-Identifier: MIT
"""A whole side, played by two decks block by block: what music.py and music_deck.py do to a piece, in memory that does not grow with it.

The groove is drawn in blocks of BLOCK_S, notes and the room's tail running on into the next; each recorder advances as far as the groove is
there. Sound between samples: music_deck.dense() of a stretch with faded ends, MARGIN_S of which are thrown away. What is written first is
plain 32-bit samples; level, a cut and the file's form come at the end, as the loudest sample is known. No applause: it is music that counts.
"""
import wave

import numpy as np
from scipy import interpolate, signal

import music
import music_deck
import waves

BLOCK_S, SOME_S, MARGIN_S, BACK_S, LATEST_S = 20, 10, 0.6, 16, 12      # LATEST_S: no note or tail lasts longer
RATE = music.RATE


class Groove:
    """The sound of a piece with its surface, kept from BACK_S behind what was drawn last."""

    def __init__(self, piece, seed):
        self.piece, self.surface = piece, np.random.default_rng(seed)
        draw = np.random.default_rng(piece.seed)
        self.tails = [music.room_tail(piece.reverb, piece.wet, draw) for _ in range(2)]
        self.notes, self.hits = sorted(piece.notes, key=lambda note: note.start), sorted(piece.hits, key=lambda hit: hit[0])
        self.dry, self.wet = (np.zeros((2, (BLOCK_S + LATEST_S) * RATE)) for _ in range(2))
        self.first, self.sound, self.scale = 0, np.zeros((2, 0)), None     # SOUND begins at sample FIRST
        self.drawn = 0

    def _put(self, time, sound, pan):
        place = int(time * RATE) - self.drawn
        count = max(0, min(sound.size, self.dry.shape[1] - place))
        self.dry[0, place:place + count] += np.sqrt(1 - pan) * sound[:count]
        self.dry[1, place:place + count] += np.sqrt(pan) * sound[:count]

    def draw_block(self):
        count = BLOCK_S * RATE
        end = (self.drawn + count) / RATE
        while self.notes and self.notes[0].start < end:
            note = self.notes.pop(0)
            self._put(note.start, music.play_note(note)[0], note.pan)
        while self.hits and self.hits[0][0] < end:
            time, kind, level, seed = self.hits.pop(0)
            self._put(time, level * music.drum(kind, np.random.default_rng(seed)), 0.5)
        for side, tail in enumerate(self.tails):
            some = signal.fftconvolve(self.dry[side, :count], tail)
            self.wet[side, :some.size] += some
        if self.scale is None:
            self.scale = 0.1 / np.sqrt(np.mean(self.wet[:, :count] ** 2))
        made = self.scale * self.wet[:, :count] + music_deck.surface(count, -45, 0.5, self.surface)
        for row in (self.dry, self.wet):
            row[:, :-count] = row[:, count:]
            row[:, -count:] = 0
        self.drawn += count
        kept = max(self.first, self.drawn - count - int(BACK_S * RATE))
        self.sound = np.concatenate([self.sound[:, kept - self.first:], made], axis=1)
        self.first = kept

    def played(self, place):
        """The sound at the groove times PLACE, two rows."""
        begin, end = int((place.min() - MARGIN_S) * RATE), int((place.max() + MARGIN_S) * RATE)
        some = np.zeros((2, end - begin))
        since = max(begin, self.first)
        if since > begin and begin > 0:
            raise ValueError("that groove is no longer kept")
        some[:, since - begin:] = self.sound[:, since - self.first:end - self.first]
        fade = 0.5 - 0.5 * np.cos(np.pi * np.arange(int(0.5 * MARGIN_S * RATE)) / int(0.5 * MARGIN_S * RATE))
        some[:, :fade.size] *= fade
        some[:, -fade.size:] *= fade[::-1]
        return np.stack([music_deck.played(music_deck.dense(row), place - begin / RATE) for row in some])


class Recorder:
    """What one deck and its chain make of the groove, from BEGIN to END, written to PATH as it goes."""

    def __init__(self, path, deck, chain, begin, end, seed):
        self.path, self.deck, self.chain, self.end = path, deck, chain, end
        u, passed = deck.times(begin, end)
        self.course, self.count, self.done = interpolate.CubicSpline(passed, u), int(passed[-1] * chain.rate), 0
        self.shelves = [music_deck.shelf(hz, decibels, chain.rate, high) for hz, decibels, high in chain.shelves]
        self.states = [np.zeros((2, 1)) for _ in self.shelves]
        self.draw, self.noise, self.most = np.random.default_rng(seed), None, 0.0
        self.raw = open(path.with_suffix(".raw"), "wb")

    def places(self, count):
        place = self.course((self.done + np.arange(count)) / self.chain.rate)
        if self.deck.skip:
            place = np.where(place >= self.deck.skip[0], place + self.deck.skip[1] * self.deck.turn, place)
        return place

    def advance(self, groove):
        """Plays on as far as the groove is drawn."""
        while self.done < self.count:
            place = self.places(min(SOME_S * self.chain.rate, self.count - self.done))
            if (place.max() + MARGIN_S) * RATE >= groove.drawn:
                return
            self._take(groove.played(place))
            self.done += place.size

    def _take(self, rows):
        rows = rows + music_deck.surface(rows.shape[1], -52, 0.3, self.draw)
        for which, (b, a) in enumerate(self.shelves):
            rows, self.states[which] = signal.lfilter(b, a, rows, zi=self.states[which])
        if self.chain.mono:
            rows = np.mean(rows, axis=0, keepdims=True)
        rows = rows * 10 ** (self.chain.level / 20) * (-1 if self.chain.reversed else 1)
        if self.noise is None:
            self.noise = 10 ** (self.chain.noise / 20) * np.sqrt(np.mean(rows ** 2))
        rows = rows + self.noise * self.draw.standard_normal(rows.shape)
        self.most = max(self.most, np.max(np.abs(rows)))
        self.raw.write(np.ascontiguousarray(rows.T, dtype="<f4").data)

    def finish(self):
        """Returns the file: cut, as loud as it may be, coded."""
        self.raw.close()
        raw, channels = self.path.with_suffix(".raw"), 1 if self.chain.mono else 2
        spans = [(0, self.count)]
        if self.chain.edit:
            begin, end = (int(time * self.chain.rate) for time in self.chain.edit)
            spans = [(0, begin), (end, self.count)]
        gain = min(1.0, 0.95 / self.most) * 8388607
        with wave.open(str(self.path), "wb") as out, open(raw, "rb") as samples:
            out.setnchannels(channels)
            out.setsampwidth(3)
            out.setframerate(self.chain.rate)
            for begin, end in spans:
                samples.seek(4 * channels * begin)
                for since in range(begin, end, 1 << 20):
                    some = np.frombuffer(samples.read(4 * channels * (min(end, since + (1 << 20)) - since)), "<f4")
                    out.writeframes(waves.packed(np.round(gain * some).astype("<i4"), 3))
        raw.unlink()
        return music_deck.encode(self.path, self.chain.codec) if self.chain.codec else self.path


def record(paths, piece, decks, chains, begins, ends, seed):
    """Writes what both decks make of PIECE; returns the files."""
    groove = Groove(piece, seed)
    recorders = [Recorder(*each, seed + 1 + which) for which, each in enumerate(zip(paths, decks, chains, begins, ends))]
    while any(recorder.done < recorder.count for recorder in recorders):
        groove.draw_block()
        for recorder in recorders:
            recorder.advance(groove)
    return [recorder.finish() for recorder in recorders]
