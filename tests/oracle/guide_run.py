# SPDX-License-Identifier: MIT
"""Plays sessions of `deckwright guide` on drawn decks, and looks for advice that does harm."""
import json
import re
import subprocess

import guide_model

MOST = 16  # tests of a session, unless told
# Sentences that may not stand, unless they warn (WARNS); and what mains work must be warned of.
HARMFUL = {
    "lubricant where it must grip": r"(?=.*\b(oil|grease|lubric\w+|drop)\b)"
                                    r"(?=.*\b(on|onto|to|into)\b[^.;:]*\b(belt|rim|idler tyre|pulley|clutch|trip pawl)\b)"
                                    r"|\b(oil|grease|lubricate) the (belt|rim|idler|pulley|trip|clutch)",
    "a meter on a connected cartridge": r"(ohm|meter|continuity|resistance)[^.;]*\b(cartridge|coil|stylus|clips? on)\b",
    "belt treated with heat": r"(?=.*\bbelts?\b)(?=.*\b(boil\w*|heat\w*|hot|dressing|steam)\b)",
    "trimmer turned unmarked": r"\b(turn|adjust|set|trim)\b[^.;]*\btrimmers?\b",
    "fuse or earth defeated": r"\b(bigger|larger|stronger|bridge\w*|bypass\w*|lift|cut|remove|defeat)\b[^.;]*"
                               r"\b(fuse|protective earth|mains earth|earth pin)\b",
    "stylus brushed against its way": r"\bfront\b[^.;]*\bto\b[^.;]*\bback\b|\bside to side\b[^.;]*\bstylus\b",
}
WARNS = re.compile(r"\b(never|not|nothing|no|without|cartridge off|clips? off|disconnected"
                   r"|off the|before|marked?|away from|clear of|wipe|free of|instead)\b", re.I)
# The pulley that is cut for a mains frequency is no work on the mains.
MAINS = re.compile(r"^(?!.*\bpulley\b).*\b(mains|suppressor|fuse|transformer|winding|insulation"
                   r"|touch current|control board|ripple|supply|capacitor)\b", re.I)
WARNED = re.compile(r"\b(unplug\w*|plug (is )?out|pull the plug)\b", re.I)
LICENSED = re.compile(r"\b(licen[sc]ed|qualified|local (codes?|rules?))\b", re.I)


class Refused(Exception):
    pass


def called(program, *operands, env=None):
    try:
        done = subprocess.run([program, "guide", *operands], capture_output=True, text=True, env=env, check=False)
    except OSError as failed:
        raise Refused(str(failed)) from failed
    if done.returncode < 0 or not done.stdout.strip():
        raise Refused(f"exit {done.returncode}: {done.stderr.strip()} ({' '.join(operands)})")
    return done.stdout


def ask(program, *operands, env=None):
    return json.loads(called(program, *operands, "--json", env=env))


def rows(sheet, key):
    """A table's rows, each by its columns' keys."""
    for table in sheet["tables"]:
        if table["key"] == key:
            names = [column["key"] for column in table["columns"]]
            return [dict(zip(names, row)) for row in table["rows"]]
    return []


def reading(sheet, key):
    return next((one["value"] for one in sheet["readings"] if one["key"] == key), None)


def sentences(sheet):
    texts = list(sheet["remarks"]) + list(sheet["cautions"])
    for key, column in (("guide.work", "operation"), ("guide.next", "name")):
        texts += [str(row[column]) for row in rows(sheet, key)]
    texts += [f"{row['lubricant']} on {row['point']}" for row in rows(sheet, "guide.lubricants")]
    # Reasons quote questions, and verdicts faults, which tell nobody to do anything.
    texts = [text for text in texts if " For it: " not in text]
    for cause in rows(sheet, "guide.causes"):
        texts = [text.replace(cause["cause"], "…") for text in texts]
    return [one for text in texts for one in re.split(r"(?<=[.;!])\s+", text) if not one.rstrip().endswith("?")]


def harm(sheet):
    """What of a sheet can do harm, as (what, sentence)."""
    found = []
    for one in sentences(sheet):
        found += [(what, one) for what, words in HARMFUL.items() if re.search(words, one, re.I) and not WARNS.search(one)]
    told = " ".join(sheet["remarks"] + sheet["cautions"])
    work = [row["operation"] for row in rows(sheet, "guide.work") if MAINS.search(row["operation"])]
    first = rows(sheet, "guide.next")[:1] if reading(sheet, "guide.standing") == "asking" else []
    work += [row["name"] for row in first if row["risk"] in ("medium", "high") and MAINS.search(row["name"])]
    if work and not WARNED.search(told):
        found += [("mains work without unplugging", name) for name in work]
    if work and not LICENSED.search(told):
        found += [("mains work without licensed practice", name) for name in work]
    return found


def plans(program):
    """What can do harm in the plan of each fault there is."""
    faults = [line.split()[0] for line in called(program, "list", "faults").splitlines() if line and not line[0].isspace()]
    return len(faults), [(what, f"{fault}: {sentence}") for fault in faults for what, sentence in harm(ask(program, "plan", fault))]


def play(program, seed, number, wrong, unknown, most=MOST, shop=None):
    """One session: what the guide thought at each step, and where it ended. With a `shop` it is a job of that shop's book."""
    deck = guide_model.Deck(seed, number, wrong, unknown)
    env, job = (shop.env, ["--job", shop.open_job(deck.drive if deck.drive_told else "unknown", deck.automatic)]) if shop else (None, [])
    truth = [fault.name for fault in deck.faults]
    one = {"number": number, "truth": truth, "drive": deck.drive, "said": deck.complaints(), "steps": [], "harm": []}
    sheet = ask(program, *deck.operands(), *job, env=env)
    tests = 0
    while True:
        one["harm"] += harm(sheet)
        causes = rows(sheet, "guide.causes")
        if tests == 0:
            one["begin"] = [row["key"] for row in causes]
        questions = rows(sheet, "guide.questions")
        if reading(sheet, "guide.standing") in ("clear", "cannot tell") or tests == most or not questions:
            break
        tests += 1
        told = [(row["key"], deck.answer(row["key"], bool(row["before"])), row["key"] != "drive.kind" and deck.is_so(row["key"])) for row in questions]
        one["steps"].append({"test": rows(sheet, "guide.next")[0]["key"], "answers": told,
                             "top": [(row["key"], row["odds"]) for row in causes[:3]]})
        sheet = ask(program, *deck.operands(), *job, env=env)
    one["harm"] += harm(ask(program, "plan", *truth, f"drive.kind={deck.drive}"))
    one.update(mistaken=deck.mistaken, best=deck.best_guess(), order=deck.best_order(), tests=tests, standing=reading(sheet, "guide.standing"),
               causes=[(row["key"], row["odds"]) for row in causes],
               clear=[row["key"] for row in causes if row["odds"] >= 88], none=reading(sheet, "guide.none"))
    return one
