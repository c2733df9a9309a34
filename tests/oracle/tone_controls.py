#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""`twin` shows what tone controls did to the one against the other, band by band: known filters, decks whose speeds differ by several percent, sampling
rates that differ, mono against stereo. A band without music in both is left out rather than told wrongly.

The truth is the filters' own response, each at the frequency at which its recording holds the note.
"""
import numpy as np
from scipy import signal

import music
import music_deck
import program

SECONDS, MIDDLE = 45.0, (300, 3200)
MOST_RMS, MOST = 0.7, 2.5                # dB over all bands that are told; of one of them
PIECES = (("piano", 21, 0.0), ("orchestra", 22, 5.0), ("trio", 23, -4.0), ("song", 24, 0.6))     # the second's error, %
SHELVES = [(250, 6.0, False), (4000, -5.0, True)]


def response(chain, hertz):
    """Of CHAIN's filters at HERTZ, decibels."""
    return sum((20 * np.log10(np.abs(signal.freqz(*music_deck.shelf(hz, decibels, chain.rate, high), hertz, fs=chain.rate)[1]))
                for hz, decibels, high in chain.shelves), np.zeros(hertz.size))


def told(sheet):
    """Every curve of levels: its key, frequencies, decibels (NaN where nothing is told)."""
    for curve in sheet.raw["curves"]:
        if curve["key"].startswith("response."):
            yield curve["key"], np.array(curve["x"]["values"], float), np.array([np.nan if y is None else y for y in curve["y"]["values"]], float)


def judge(sheet, chains, error, channels, quiet_hz):
    faults, curves = [], list(told(sheet))
    if len(curves) != channels:
        faults.append(f"{len(curves)} curves")
    for key, hertz, said in curves:
        true = response(chains[1], hertz * (1 + error / 100)) - response(chains[0], hertz)
        middle = (hertz > MIDDLE[0]) & (hertz < MIDDLE[1]) & np.isfinite(said)
        off = said - true + np.mean(true[middle])
        known = np.isfinite(off)
        if known.sum() < 10 or middle.sum() < 6:
            faults.append(f"{key}: {known.sum()} bands told, {middle.sum()} in the middle")
        rms, most = np.sqrt(np.mean(off[known] ** 2)), np.max(np.abs(off[known]))
        if rms > MOST_RMS or most > MOST:
            faults.append(f"{key}: off by {rms:.2f} dB rms, {most:.1f} dB at {hertz[np.nanargmax(np.abs(off))]:.0f} Hz")
        if quiet_hz and np.any(known[hertz < quiet_hz]):
            faults.append(f"{key}: told at {hertz[known][0]:.0f} Hz, where there is only each recorder's own noise")
    if quiet_hz and not any("Hz levels are not told" in remark for remark in sheet.remarks):
        faults.append(f"what is left out is not said: {sheet.remarks}")
    return "; ".join(faults)


def without_bass(sound, hertz):
    return signal.sosfiltfilt(signal.butter(8, hertz, "highpass", fs=music.RATE, output="sos"), sound)


def run(prog, checks, names):
    for style, seed, error in PIECES:
        quiet_hz = 110 if style == "song" else 0
        sound = music.Piece(np.random.default_rng(seed), style, SECONDS * 1.06 + 2).render()
        sound = without_bass(sound, 1.6 * quiet_hz) if quiet_hz else sound
        groove = music_deck.Groove(sound + music_deck.surface(sound.shape[1], -55, 0.2, np.random.default_rng(seed + 1)))
        noise = -30.0 if quiet_hz else -65.0
        one, flat, mono = music_deck.Chain(44100, -3, noise=-65), music_deck.Chain(48000, -9, noise=noise), music_deck.Chain(44100, -3, mono=True)
        turned = music_deck.Chain(96000, -9, noise=-65, shelves=SHELVES)
        first = music_deck.record(prog.recording(f"tone-{seed}-first.wav"), groove, music_deck.Deck(), one, 0.3, SECONDS, 5)
        for name, chain, channels in (("no tone control", flat, 2), ("bass up, treble down", turned, 2), ("mono", mono, 1)):
            second = music_deck.record(prog.recording(f"tone-{seed}-{len(name)}.wav"), groove, music_deck.Deck(error=error), chain, 1.1, SECONDS, 6)
            checks.attempt(f"{style}, the second {error:+g} %, {name}", lambda second=second, chain=chain, channels=channels:
                           judge(prog.sheet("twin", first.name, second.name), (one, chain), error, channels, quiet_hz if chain is flat else 0))


if __name__ == "__main__":
    program.main(run)
