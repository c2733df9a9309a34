# SPDX-License-Identifier: MIT
"""What a sheet of `side` says of a drawn side, against what was drawn: bands, wiring, advice. Each fault found is (kind, words)."""
import re

START_S = 0.3           # a band's start may be off by
COMPANION = {"cut short", "too long", "found", "out of order", "other channel"}
WORDS = {"swapped": (("swap",), ("revers",)), "reversed_left": (("revers",), ("swap",)), "reversed_right": (("revers",), ("swap",)),
         "swapped_reversed": (("swap", "revers"), ()), "strapped": (("strap",), ()), "dead_left": (("left dead",), ()),
         "dead_right": (("right dead",), ()), "weak": (("weak",), ()), "open_ground": (("ground|earth",), ()),
         "intermittent": (("intermittent",), ()), "exchanged_plan": (("swap",), ("revers",)), "correct": (("none",), ())}


def heard_by(side, band):
    """False where the wiring leaves nothing of a band to find: it may be found by its leak, or not."""
    if side.wiring == "strapped":
        return band.channel != "vertical"
    lost = {"dead_left": "left", "dead_right": "right", "open_ground": ("left", "right")[side.side]}.get(side.wiring)
    return lost is None or band.channel != lost


def silence_of(side, number):
    """From where to where nothing but silent groove surrounds a silent band, one for each time it was played."""
    out = []
    for begin, end in side.played[number]:
        sounds = [(one, last) for other, times in side.played.items() if side.bands[other].kind != "silence" for one, last in times]
        sounds += side.voices      # ticks do not end a silence
        before = [last for _, last in sounds if last <= begin + 0.01]
        after = [one for one, _ in sounds if one >= end - 0.01]
        out.append((max(before, default=0.0), min(after, default=side.end)))
    return out


def between_voices(side, number):
    """Whether words were spoken just before and just after: then nothing shows where gap and silent band meet (docs/methods/side.md)."""
    ends = [end for _, end in side.voices] + [0.0]
    begins = [begin for begin, _ in side.voices] + [side.end]
    return any(since in ends and to in begins for since, to in silence_of(side, number))


def told_alike(side, sheet, rows):
    """The bands of which the sheet says that some were not played and nothing tells which: right where so many were not, as
    many are given as missing, and the others begin where one of them does. Else they are judged as all others."""
    told = set()
    for line in sheet.said("sound alike"):
        names = re.match(r"Bands ([\d, ]+) sound alike", line)
        group = {int(name) - 1 for name in names[1].split(",")} if names else set()
        begins = sorted(begin for number in group for begin, _ in side.played.get(number, [])[:1])
        found = sorted(row["start"] for number, row in rows.items() if number in group and row["verdict"] in COMPANION)
        if len(begins) == len(found) < len(group) and all(abs(one - two) < START_S for one, two in zip(begins, found)):
            told |= group
    return told


def bands(side, sheet):
    """Every band found or named missing, none mislabelled."""
    wrong = []
    rows = {int(row["band"]) - 1: row for row in sheet.table("side.bands")}
    alike = told_alike(side, sheet, rows)
    if sheet.said("sound alike") and all(number in side.played for number in range(len(side.bands))):
        wrong.append(("one of some said not to be played, but all were", " / ".join(sheet.said("sound alike"))))
    for number, band in enumerate(side.bands):
        if number in alike:
            continue
        row, name = rows.get(number), f"band {number + 1}, {band.channel or ''} {band.kind}"
        if row is None:
            wrong.append(("band not listed", name))
            continue
        if number not in side.played:
            if row["verdict"] != "missing":
                wrong.append(("band not there, called " + row["verdict"], f"{name} at {row['start']:.2f} s"))
            continue
        times = ", ".join(f"{begin:.2f} to {end:.2f}" for begin, end in side.played[number])
        if row["verdict"] not in COMPANION:
            if heard_by(side, band):
                wrong.append(("band called " + row["verdict"], f"{name}, played from {times} s"))
            continue
        if band.kind == "silence":
            inside = any(since - START_S <= row["start"] and row["end"] <= to + START_S for since, to in silence_of(side, number))
            if not inside:
                wrong.append(("silence that is none", f"{name} at {row['start']:.2f} to {row['end']:.2f}, truth {times} s"))
            elif not between_voices(side, number) and min(abs(row["start"] - begin) for begin, _ in side.played[number]) > START_S:
                wrong.append(("silence's start off", f"{name} at {row['start']:.2f}, truth {times} s"))
            continue
        off = min((row["start"] - begin for begin, _ in side.played[number]), key=abs)
        inside = any(begin - START_S <= row["start"] <= end for begin, end in side.played[number])
        if not inside:
            wrong.append(("band mislabelled", f"{name} at {row['start']:.2f}, truth {times} s"))
        elif abs(off) > START_S:
            wrong.append(("band's start off", f"{name} at {row['start']:.2f}, truth {times} s"))
    return wrong


def fault_of(sheet):
    return str(sheet.value("channels.fault")).lower() if sheet.has("channels.fault") else ""


def wiring(side, sheet):
    """The fault named right; where the leads and the plan sound alike, both named."""
    said, drawn = fault_of(sheet), side.wiring
    has, lacks = WORDS[drawn]
    good = all(re.search(word, said) for word in has) and not any(re.search(word, said) for word in lacks)
    if drawn == "weak":
        under = side.weak_db + (1 if side.side else -1) * side.unequal_db
        good = good and ("left", "right")[side.side] in said or (under > -8 and said == "none")
    wrong = [] if good else [(f"wiring {drawn} called {said or 'nothing'}", f"channels.fault = {said or '(none given)'}")]
    if drawn in ("swapped", "exchanged_plan") and "swap" in said:
        lines = sheet.said("swap", "exchang")
        if not (any("plan" in line for line in lines) and any(re.search("lead|wir", line) for line in lines)):
            wrong.append(("leads or plan: only one named", " / ".join(lines)))
    return wrong


def direction(words):
    up, down = re.search(r"\b(raise|more|increase)\b", words), re.search(r"\b(lower|less|reduce)\b", words)
    return (up is not None) - (down is not None)


def advice(side, sheet):
    """Anti-skating: the side force is inwards when the bias is positive, so raise it."""
    wrong = []
    true = (side.bias > 0) - (side.bias < 0)
    for line in sheet.said("anti-skating"):
        clauses = [clause for clause in re.split(r"[;.]", line) if direction(clause)]
        conditional = [clause for clause in clauses if re.search(r"\b(if|unless|provided)\b", clause.lower())]
        for clause in clauses:
            if clause not in conditional and direction(clause) == -true:
                wrong.append(("advice the wrong way", line))
        if true and conditional and side.wiring in ("swapped", "exchanged_plan"):
            word = "plan" if side.wiring == "exchanged_plan" else "lead"
            if any(word in clause and direction(clause) == -true for clause in conditional):
                wrong.append(("conditional advice the wrong way", line))
        if clauses and not conditional and side.wiring in ("swapped", "exchanged_plan"):
            wrong.append(("advice without the condition", line))
        if clauses and not conditional and true == 0:
            wrong.append(("advice where nothing pulls", line))
    return wrong


def all_of(side, sheet):
    return bands(side, sheet) + wiring(side, sheet) + advice(side, sheet)
