# SPDX-License-Identifier: MIT
"""Runs `held` and `twin` on drawn music and judges what they say: shared by scripts/music-trial and by the suite.

Each case gives plain values: what was drawn, what is wrong as (kind, words), readings beside their truth.
"""
import json
import math
import shutil
import subprocess
import sys

import drive_run
import music
import music_deck
import music_side
import numpy as np
import program

ENOUGH_S, LEAST = 10.0, 0.05            # held notes and once a turn that must be found
SPEEDS = (100 / 3, 45.0, 78.0)
REASONS = {"all vibrato": ("vibrato", "held"), "slides": ("held", "slid", "gliss"), "percussion": ("held", "note"), "applause": ("held", "note")}
FALSE_FIND = 0.01                       # % found where there is none
SPEED_PPM, REVOLUTION = 5.0, 0.01
OTHERS = ("another performance", "another piece")
CLOSE = ("to the same click", "over the same drums")    # others that are harder to tell; not drawn among the rest
REFUSED = OTHERS + CLOSE
UNTOLD = "Whether one channel lost more above"  # an honest answer where there is no music up there
WHOLE, WHOLE_S = "whole side", 1500.0   # of two decks, spoilt by all that must not break it; not drawn among the others


def tolerance(true):
    return max(0.1 * true, 0.01)


def draw_lines(draw, once, belt=True):
    """Once and twice a turn, and a belt, an idler or a motor."""
    lines = [(1, once, draw.uniform(0, 360))] if once else []
    if draw.random() < 0.5:
        lines.append((2, draw.uniform(0.1, 0.5) * once if once else draw.uniform(0, 0.03), draw.uniform(0, 360)))
    if belt and draw.random() < 0.5:
        ratio = draw.choice([draw.uniform(0.4, 0.85), draw.uniform(4, 9), draw.uniform(9, 40)])
        lines.append((float(ratio), draw.uniform(0.01, 0.06), draw.uniform(0, 360)))
    return lines


class Held:
    """One recording of one piece: drawn, rendered, judged."""

    def __init__(self, seed, number, kind=None):
        draw = np.random.default_rng([seed, number, 23])
        names = list(music.UNFIT) if draw.random() < 0.15 else list(music.STYLES)
        self.kind = kind or str(draw.choice(names))
        seconds = draw.uniform(20, 60)
        once = 0.0 if draw.random() < 0.25 else math.exp(draw.uniform(math.log(0.03), math.log(0.5)))
        self.deck = music_deck.Deck(draw.choice(SPEEDS, p=[0.7, 0.2, 0.1]), draw.normal(0, 0.8), draw.normal(0, 0.03), draw_lines(draw, once),
                                    draw.uniform(0.002, 0.012), int(draw.integers(1 << 40)))
        self.begin, self.end = 0.3, 0.3 + seconds * (1 + self.deck.error / 100)
        self.piece = music.Piece(draw, self.kind, self.end + 1.0)
        self.chain = music_deck.Chain(int(draw.choice([44100, 48000, 96000], p=[0.5, 0.4, 0.1])), draw.uniform(-12, 0), bool(draw.random() < 0.2),
                                      bool(draw.random() < 0.2), -draw.uniform(55, 75), codec=draw.choice([None, 192], p=[0.85, 0.15]))
        self.noise, self.ticks, self.seed = -draw.uniform(36, 55), draw.choice([0, 0.3, 3]), int(draw.integers(1 << 40))
        self.once = once

    def record(self, path):
        sound = self.piece.render()
        sound = sound + music_deck.surface(sound.shape[1], self.noise, self.ticks, np.random.default_rng(self.seed))
        return music_deck.record(path, sound, self.deck, self.chain, self.begin, self.end, self.seed + 1)

    def truth(self):
        vector = self.deck.vector() * np.exp(2j * np.pi * self.begin / self.deck.turn)
        g = np.arange(self.begin, self.end, 0.01)
        return {"kind": self.kind, "rpm": self.deck.rpm, "amplitude": self.once, "phase": math.degrees(np.angle(vector)) % 360,
                "error": self.deck.mean(g), "drift": self.deck.trend(g), "lines": self.deck.lines,
                "held": self.piece.held_between(self.begin, self.end), "seconds": self.end - self.begin, "mp3": self.chain.codec is not None,
                "bar is a turn": bool(self.piece.bar_is_turn), "noise": self.noise, "reverberation": self.piece.reverb}

    def judge(self, sheet, truth):
        found, limit = number_of(sheet, "revolution.amplitude"), number_of(sheet, "held.limit")
        half = sheet.readings["revolution.amplitude"].get("uncertainty") if found is not None else None
        seen = found is not None and found > (half or 0)
        if self.kind in music.UNFIT:
            return judge_unfit(self.kind, found, limit, sheet, self.once)
        wrong = []
        if self.once >= LEAST and truth["held"] >= ENOUGH_S and not seen:
            wrong.append(("not found", f"{self.once:.3f} % in {truth['held']:.0f} s of held notes; limit {limit}; {reasons(sheet)}"))
        if seen and self.once and abs(found - self.once) > tolerance(self.once):
            wrong.append(("amplitude off", f"{found:.4f} ± {half} for {self.once:.4f} %"))
        if seen and not self.once and found > FALSE_FIND:
            wrong.append(("false find", f"{found:.4f} ± {half} % where there is none"))
        if limit is not None and limit < self.once:
            wrong.append(("limit does not hold", f"{limit:.4f} % where there is {self.once:.4f} %"))
        if found is None and limit is None and truth["held"] >= ENOUGH_S:
            wrong.append(("neither amplitude nor limit", reasons(sheet)))
        return wrong


def number_of(sheet, key):
    return sheet.value(key) if sheet.has(key) else None


def reasons(sheet):
    return " ".join(list(sheet.not_measured.values()) + sheet.remarks)[:200]


def judge_unfit(kind, found, limit, sheet, once):
    """A few pieces all in vibrato let the turn be seen nevertheless: there a figure serves better than a refusal, if it is true."""
    true = {"an amplitude": found is not None and abs(found - once) <= tolerance(once), "a limit": limit is not None and limit >= once}
    told = {name: value for name, value in (("an amplitude", found), ("a limit", limit)) if value is not None}
    if told and kind == "all vibrato" and all(true[name] for name in told):
        return []
    wrong = [(f"unfit, yet {name}", f"{kind}: {value} where there is {once:.4f} %") for name, value in told.items()]
    return wrong or unreasoned(kind, sheet.words())


def unreasoned(kind, words):
    said = any(word in words.lower() for word in REASONS[kind])
    return [] if said else [("refused without its reason", f"{kind}: {words[:200]}")]


def held_readings(sheet, once, truth):
    found = number_of(sheet, "revolution.amplitude")
    if found is None or not once:
        return []
    row = sheet.readings["revolution.amplitude"]
    rows = [("revolution.amplitude", found, row.get("uncertainty"), once, bool(row["flags"]))]
    phase = number_of(sheet, "revolution.phase")
    if phase is not None:
        gap = (phase - truth["phase"] + 180) % 360 - 180
        rows.append(("revolution.phase", gap, sheet.readings["revolution.phase"].get("uncertainty"), 0.0, False))
    return rows


def known(prog, procedure, words):
    keys = drive_run.known_keys(prog, procedure)
    return [word for word in words if word.partition("=")[0] in keys]


def try_held(path, seed, number, keep=None, kind=None):
    case, prog = Held(seed, number, kind), program.Program(path)
    file, truth = case.record(prog.recording(f"held-{seed}-{number}.wav")), case.truth()
    words = [file.name, *known(prog, "held", [f"deck.speed={case.deck.rpm:.6f}rpm"])]
    done = {"number": number, "case": case.kind, "words": " ".join(words), "truth": truth, "said": "", "wrong": [], "readings": [],
            "unfit": case.kind in music.UNFIT, "limit": None, "found": None}
    try:
        sheet = prog.sheet("held", *words)
        done.update(wrong=case.judge(sheet, truth), readings=[] if done["unfit"] else held_readings(sheet, case.once, truth), said=sheet.words(),
                    limit=number_of(sheet, "held.limit"), found=number_of(sheet, "revolution.amplitude"))
    except program.Refused as trouble:
        done["said"] = str(trouble)
        done["wrong"] = unreasoned(case.kind, str(trouble)) if done["unfit"] else [("refused", str(trouble))]
        if not done["unfit"] and truth["held"] < ENOUGH_S:
            done["wrong"] = []
    keep_case(file, truth, keep)
    return done


def keep_case(file, truth, keep):
    if keep:
        shutil.copy(file, keep)
        music_deck.truth_beside(keep / file.name, truth)


class Twin:
    """Two recordings of one groove, or of what only sounds like it."""

    def __init__(self, seed, number, kind=None, seconds=None):
        draw = np.random.default_rng([seed, number, 24])
        kinds = ("two decks", "received and left", "digital copy", "wear", *OTHERS)
        self.kind = kind or str(draw.choice(kinds, p=[0.3, 0.25, 0.12, 0.08, 0.18, 0.07]))
        self.seconds = seconds or (WHOLE_S if self.kind == WHOLE else draw.uniform(60, 150))
        styles = [style for style, (_, _, drums) in music.STYLES.items() if drums or self.kind != CLOSE[1]]
        self.style, self.draw, self.rpm = str(draw.choice(styles)), draw, draw.choice(SPEEDS, p=[0.7, 0.2, 0.1])
        self.seed = int(draw.integers(1 << 40))
        self.begins = [0.3 + draw.uniform(0, 8), 0.3 + draw.uniform(0, 8)]
        self.decks = [self._deck(), self._deck()]
        self._draw_pair(draw)
        self.ends = [begin + self.seconds * (1 + deck.error / 100) - draw.uniform(0, 5) for begin, deck in zip(self.begins, self.decks)]
        self.spoils = []
        self.chains = [self._chain(draw, False), self._chain(draw, True)]

    def _deck(self):
        draw, once = self.draw, self.draw.choice([0.0, self.draw.uniform(0.01, 0.25)])
        return music_deck.Deck(self.rpm, draw.normal(0, 0.3), draw.normal(0, 0.02), draw_lines(draw, once), draw.uniform(0.001, 0.004),
                               int(draw.integers(1 << 40)))

    def _draw_pair(self, draw):
        first, second = self.decks
        if self.kind in ("two decks", WHOLE, *REFUSED) and draw.random() < 0.7:
            second.error = first.error + draw.choice([-1, 1]) * draw.uniform(0.5, 8)
        if self.kind == "digital copy":
            self.decks[1] = music_deck.Deck(self.rpm)

    def _chain(self, draw, second):
        edit = skip = None
        rate = int(draw.choice([44100, 48000]))
        if second and self.kind not in REFUSED:
            spot = draw.uniform(0.3, 0.7) * self.seconds
            if draw.random() < 0.15:
                edit = (spot, spot + draw.uniform(2, 10))
            elif draw.random() < 0.18 and self.kind != "digital copy":
                skip = (self.begins[1] + spot, int(draw.choice([-1, 1])))
        self.decks[second].skip = skip
        chain = music_deck.Chain(rate, draw.uniform(-14, 0), bool(draw.random() < 0.15), bool(draw.random() < 0.15), -draw.choice([40, 65]), edit=edit)
        if draw.random() < 0.4:
            chain.shelves = [(draw.uniform(60, 400), draw.uniform(-8, 8), False), (draw.uniform(2000, 8000), draw.uniform(-8, 8), True)]
        chain.codec = 128 if draw.random() < (0.4 if second else 0.1) else None
        if self.kind == WHOLE:
            chain.noise, chain.codec = -40, 128 if second else None
            chain.shelves = [(draw.uniform(60, 400), draw.uniform(-8, 8), False), (draw.uniform(2000, 8000), draw.uniform(-8, 8), True)]
        if second and self.kind == "wear":
            chain.loss, chain.mono, chain.shelves = 3.0, False, []
        for name, there in (("edit", edit), ("skip", skip), ("mp3", chain.codec), ("mono", chain.mono), ("reversed", chain.reversed),
                            ("equalised", chain.shelves), ("40 dB", chain.noise == -40)):
            self.spoils += [f"{name} {'second' if second else 'first'}"] if there else []
        return chain

    def record(self, paths):
        """Writes both; returns the files."""
        length = max(self.ends) + 4.0
        piece = music.Piece(np.random.default_rng(self.seed), self.style, length)
        if self.kind == WHOLE:
            return music_side.record(paths, piece, self.decks, self.chains, self.begins, self.ends, self.seed + 3)
        sounds = [piece.render()]
        if self.kind in ("another performance", CLOSE[0]):
            piece.performed_again(np.random.default_rng(self.seed + 1), self.kind == CLOSE[0])
            sounds.append(piece.render())
        elif self.kind == CLOSE[1]:
            piece.arranged_anew(np.random.default_rng(self.seed + 1))
            sounds.append(piece.render())
        elif self.kind == "another piece":
            sounds.append(music.Piece(np.random.default_rng(self.seed + 2), self.style, length).render())
        else:
            sounds.append(sounds[0])
        noise = music_deck.surface(sounds[0].shape[1], -45, 0.5, np.random.default_rng(self.seed + 3))
        files = []
        for which, (path, sound) in enumerate(zip(paths, sounds)):
            own = music_deck.surface(sound.shape[1], -52, 0.3, np.random.default_rng(self.seed + 4 + which))
            both = sound + own if which and self.kind in ("digital copy", *REFUSED) else sound + own + noise
            files.append(music_deck.record(path, both, self.decks[which], self.chains[which], self.begins[which], self.ends[which], self.seed + 6 + which))
        return files

    def common(self):
        """Places of the groove that both recordings hold, every 10 ms."""
        first, second = self.decks
        jump = second.skip[1] * second.turn if second.skip else 0.0
        g = np.arange(max(self.begins), min(self.ends[0], self.ends[1] + jump), 0.01)
        if jump > 0:
            g = g[(g < second.skip[0]) | (g >= second.skip[0] + jump)]
        if self.chains[1].edit:
            gone = np.interp(self.chains[1].edit, *second.times(self.begins[1], self.ends[1])[::-1])
            g = g[(g < gone[0]) | (g > gone[1])]
        return g

    def truth(self):
        g = self.common()
        first, second = self.decks
        means = [deck.mean(g) for deck in self.decks]
        return {"kind": self.kind, "style": self.style, "spoils": self.spoils, "rpm": self.rpm, "same": self.kind not in REFUSED, "means": means,
                "speed": 100 * ((1 + means[0] / 100) / (1 + means[1] / 100) - 1), "revolution": abs(first.vector() - second.vector()),
                "drift": first.trend(g) - second.trend(g), "begins": self.begins, "common": 0.01 * g.size, "lines": [deck.lines for deck in self.decks],
                "loss": self.chains[1].loss}

    def judge(self, sheet, truth):
        speed = number_of(sheet, "twin.speed")
        if not truth["same"]:
            return [("taken for the same groove", f"{self.kind}: twin.speed {speed}")] if speed is not None else []
        if speed is None:
            return [("no twin.speed", f"{self.spoils}: {reasons(sheet)}")]
        wrong = []
        if abs(speed - truth["speed"]) > SPEED_PPM / 1e4:
            wrong.append(("speed off", f"{speed:.5f} for {truth['speed']:.5f} %; {self.spoils}"))
        turned = number_of(sheet, "twin.revolution")
        if turned is None and truth["revolution"] > REVOLUTION:
            wrong.append(("no twin.revolution", f"{truth['revolution']:.4f} %; {reasons(sheet)}"))
        elif turned is not None and abs(turned - truth["revolution"]) > REVOLUTION:
            wrong.append(("revolution off", f"{turned:.4f} for {truth['revolution']:.4f} %; {self.spoils}"))
        if truth["loss"] and not any("the right channel of the second is" in line or line.startswith(UNTOLD) for line in sheet.remarks):
            wrong.append(("loss of the right channel neither said nor called untold", reasons(sheet)))
        return wrong


def twin_readings(sheet, truth):
    rows = []
    for key, name in (("twin.speed", "speed"), ("twin.revolution", "revolution"), ("twin.drift", "drift")):
        value = number_of(sheet, key)
        if truth["same"] and value is not None:
            row, true = sheet.readings[key], truth[name]
            if name == "drift":         # minutes of the one or of the other recording
                ends = sorted([true, true * (1 + truth["means"][0] / 100), true * (1 + truth["means"][1] / 100)])
                true = min(max(value, ends[0]), ends[2])
            rows.append((key, value, row.get("uncertainty"), true, bool(row["flags"])))
    return rows


def try_twin(path, seed, number, keep=None, kind=None, seconds=None):
    case, prog = Twin(seed, number, kind, seconds), program.Program(path)
    files = case.record([prog.recording(f"twin-{seed}-{number}-{which}.wav") for which in ("first", "second")])
    truth = case.truth()
    words = [*[file.name for file in files], *known(prog, "twin", [f"deck.speed={case.rpm:.6f}rpm"])]
    done = {"number": number, "case": case.kind, "words": " ".join(words), "truth": truth, "said": "", "wrong": [], "readings": []}
    try:
        sheet = prog.sheet("twin", *words)
        done.update(wrong=case.judge(sheet, truth), readings=twin_readings(sheet, truth), said=sheet.words())
    except program.Refused as trouble:
        done["said"] = str(trouble)
        done["wrong"] = [("refused", f"{case.spoils}: {trouble}")] if truth["same"] else []
    if case.kind == WHOLE:
        done["cost"] = cost(prog, ["twin", *words], files)
    for file in files:
        keep_case(file, truth, keep)
    return done


SPENT = "import json, resource, subprocess, sys\nsubprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)\n" \
        "used = resource.getrusage(resource.RUSAGE_CHILDREN)\nprint(json.dumps([used.ru_utime + used.ru_stime, used.ru_maxrss / 1024]))"


def spent(words, folder):
    """Seconds of the processor and the most MiB at once of one call and of what it starts. By a small program in between: what is started
    counts as its own the memory of the one that it came from."""
    return json.loads(subprocess.run([sys.executable, "-c", SPENT, *words], cwd=folder, stdout=subprocess.PIPE, check=True).stdout)


def cost(prog, words, files):
    """What the call takes, and what GStreamer takes to decode both recordings to the same kind of samples."""
    taken, most = spent([prog.path, *words], prog.folder.name)
    decoding = [spent(["gst-launch-1.0", "-q", "filesrc", f"location={file}", "!", "decodebin", "!", "audioconvert", "!", "audio/x-raw,format=F32LE", "!",
                       "fakesink", "sync=false"], prog.folder.name)[0] for file in files]
    return {"seconds": taken, "decoding": sum(decoding), "MiB": most}
