# SPDX-License-Identifier: MIT
"""What `speed` says of a drawn deck held against what was drawn: a list of (kind of fault, words), and how sure it said it was.

Guilty first: the suspect named first is what was drawn. Innocent: a part with next to none of the power is suspected. A part
that has a fair share without being the fault drawn is neither. A verdict follows the limits: suspected where a reading is
beyond good, largest share where all is good.
"""
import re

FINDING = ("suspected", "largest share")
GRID = 0.001                    # a share: how nearly a grid keeps its frequency
KEEPS_ITS_DISTANCE = 0.5        # cycles over the take: nearer lines can be told apart by nobody
NEXT_TO_NONE, LAID_ON = 0.02, 0.25      # of the power
# Words for what no part does: thumps, and a speed that is not held.
TRANSIENTS = r"transient|thump|footfall|knock|jolt|bump|step"
HELD_BADLY = r"stick|slip|transient|thump|jolt|jerk|footfall"
HUNTS = r"servo|hunt"
CAUSES = {"belt": ["belt hump", "belt wave", "first belt", "stick-slip"], "idler": ["idler dent", "idler eccentric", "wheel between"],
          "motor": ["pulley", "another pulley", "motor bearing", "commutation", "mains shake"], "pulley": ["pulley"], "mains": ["mains shake"],
          "platter": ["platter", "record", "warp", "platter bearing"], "record": ["platter", "record", "warp", "platter bearing"],
          "pole": ["cogging"],
          "slot": ["cogging"], "cog": ["cogging"], "tacho": ["tacho"], "servo": ["hunting"], "hunt": ["hunting"],
          "commutat": ["commutation"], "unknown": ["wander", "footfall", "stick-slip", "hunting"]}
# A line that no part makes may still be told as a part's where it is a multiple of the part's rate: that is the judge's matter below.


def causes_of(suspect):
    """Names of causes that a suspect's name, or each of several, covers; 'motor pole' is a pole's."""
    covered = []
    for name in suspect.lower().split(" or "):
        covered += CAUSES["pole"] if "pole" in name else [cause for word, causes in CAUSES.items() if word in name for cause in causes]
    return covered


def names(suspect, words):
    name = suspect.lower()
    return any(word in name for word in words) and not ("pole" in name and "pole" not in words)


def suspects(sheet):
    try:
        return sheet.table("flutter.suspects")
    except KeyError:
        return []


def beyond_good(sheet):
    """Whether the sheet itself finds a reading of the flutter beyond good, or a slow line what once a turn may not be."""
    judged = [(key, reading) for key, reading in sheet.readings.items() if key.startswith(("flutter.", "revolution."))]
    slow = min([reading["limit"]["good_high"] for key, reading in judged if key == "revolution.amplitude" and reading.get("limit")] or [1e9])
    return (any(reading.get("verdict") not in (None, "good") for _, reading in judged)
            or any(row["amplitude"] is not None and row["line"] < 1 and row["amplitude"] > slow for row in suspects(sheet)))


def told_apart(deck, words):
    """Whether the take is long enough to part what is guilty from its nearest neighbour."""
    rates = deck.drive.rates
    if "belt" not in words or "belt" not in rates:
        return True
    return abs(rates["belt"] - rates["platter"]) * deck.take.seconds >= KEEPS_ITS_DISTANCE


def same_rate(deck, name, rows):
    """Whether it could not be told because another described part comes at the very same rate, and both are named."""
    drive, pairs = deck.drive, []
    if name in ("cogging", "tacho") and drive.tacho % drive.cogs == 0:
        pairs.append(("pole", "tacho"))
    if name == "mains shake":
        pairs.append(("mains", "pole"))
    if name == "tacho" and at_the_mains(drive.tacho * drive.rates["platter"], drive.mains):
        pairs.append(("mains", "tacho"))
    return any(row["verdict"] == "cannot tell" and all(word in row["suspect"] for word in both) for both in pairs for row in rows)


def at_the_mains(hz, mains_hz):
    """Whether HZ is a multiple that the mains make, as nearly as a grid keeps its frequency: within 50 mHz of 50 Hz (Commission
    Regulation (EU) 2017/1485, annex III, the standard range; from memory)."""
    return any(abs(hz - times * mains_hz) <= GRID * times * mains_hz for times in (1, 2, 4))


def guilty_first(deck, sheet):
    """What keeps the guilty ones from being named first, or nothing."""
    rows, wrong = suspects(sheet), []
    named = [row for row in rows if row["verdict"] in FINDING]
    for place, words in enumerate(deck.guilty()):
        if not words:
            continue
        first = named[:len(deck.names)]
        if any(names(row["suspect"], words) for row in first):
            continue
        if not told_apart(deck, words) and any(row["verdict"] == "cannot tell" for row in rows):
            continue
        if same_rate(deck, deck.names[place], rows):
            continue
        wrong.append((f"not named first: {deck.names[place]}", shown(rows)))
    return wrong


def verdicts(deck, sheet):
    """A named fault's verdict follows the limits."""
    wanted = "suspected" if beyond_good(sheet) else "largest share"
    wrong = []
    for row in suspects(sheet):
        guilty = any(words and names(row["suspect"], words) for words in deck.guilty())
        if guilty and row["verdict"] in FINDING and row["verdict"] != wanted and (wanted == "largest share" or row["share"] > 30):
            wrong.append((f"verdict {row['verdict']} where it is {wanted}", shown([row])))
    return wrong


def innocents(deck, sheet):
    """Parts suspected that have next to none of the power; a faultless deck's parts."""
    shares, wrong = deck.course.shares(), []
    for row in suspects(sheet):
        if row["verdict"] != "suspected":
            continue
        held = sum(shares.get(cause, 0.0) for cause in causes_of(row["suspect"]))
        if not deck.names and not beyond_good(sheet):
            wrong.append(("faultless deck: a suspect", shown([row])))
        elif row["share"] / 100 > held + LAID_ON:
            wrong.append((f"another's share laid on: {row['suspect']}", f"{100 * held:.0f} % of the power is its own: {shown([row])}"))
        elif held < NEXT_TO_NONE:
            wrong.append((f"innocent suspected: {row['suspect']}", f"{100 * held:.2f} % of the power: {shown([row])}"))
    return wrong


def in_words(deck, sheet):
    """Causes that no line shows have to be said in words, or as a suspect of their own."""
    said = "\n".join(sheet.remarks + [f"{row['suspect']} {row['verdict']}" for row in suspects(sheet)]
                     + [reading["label"] for reading in sheet.readings.values()])
    # What the advice names as one of many causes is no finding.
    said = "\n".join(line for line in said.splitlines() if not re.search(r"come into question", line))
    wrong = []
    for name, pattern in (("footfall", TRANSIENTS), ("stick-slip", HELD_BADLY), ("hunting", HUNTS)):
        if name in deck.names and not re.search(pattern, said, re.IGNORECASE):
            wrong.append((f"not mentioned: {name}", shown(suspects(sheet))))
    if not deck.names and re.search(r"\bthump|footfall", said, re.IGNORECASE):
        wrong.append(("faultless deck: thumps mentioned", ""))
    return wrong


def in_one_piece(deck, sheet):
    """No deck of these loses its speed: nothing of the take is left out for that, and it is not called unsteady."""
    rows = sheet.table("tone.stretches")
    flags = sheet.readings["speed.error"].get("flags") or []
    return [] if len(rows) == 1 and "unsteady" not in flags else [("a held speed called unsteady", f"{len(rows)} stretches, {flags}")]


def all_of(deck, sheet):
    return guilty_first(deck, sheet) + verdicts(deck, sheet) + innocents(deck, sheet) + in_words(deck, sheet) + in_one_piece(deck, sheet)


def doing_most(deck, hz):
    """The cause that makes the line at HZ. What turns evenly makes lines at its own multiples and nowhere else, though the take's
    window smears each over its neighbours: it counts by its multiple, where that is near enough to be the line."""
    there, near = deck.course.at(hz), KEEPS_ITS_DISTANCE / deck.take.seconds
    for name, turn in turns_of(deck).items():
        own = round(hz / turn) * turn
        there[name] = deck.course.at(own, [name])[name] if own and abs(own - hz) < near else 0.0
    return max(there, key=there.get)


EVEN = {"belt": ["belt hump", "belt wave"], "first belt": ["first belt"], "another motor": ["another pulley"], "idler": CAUSES["idler"], "motor": ["pulley", "commutation"],
        "platter": ["platter", "record", "warp", "cogging", "tacho"]}


def turns_of(deck):
    """The rate of each cause that turns evenly."""
    rates, causes = deck.drive.rates, deck.course.causes
    return {name: rates[part] for part, names_of in EVEN.items() if part in rates for name in names_of if name in causes}


def confidences(deck, sheet):
    """(table, suspect, stated confidence, whether it is true, frequency) of each suspect and each line, by the cause that makes it."""
    rows = [("suspect", row["suspect"], row["line"], row["confidence"]) for row in suspects(sheet)]
    try:
        rows += [("line", row["part"], row["frequency"], row["confidence"]) for row in sheet.table("flutter.lines")]
    except KeyError:
        pass
    found = []
    for table, suspect, hz, confidence in rows:
        if hz is None or confidence is None:
            continue
        found.append((table, suspect, confidence, doing_most(deck, hz) in causes_of(suspect), hz))
    return found


def shown(rows):
    return "; ".join(f"{row['suspect']} {row['verdict']} {row['share']:.0f} % {row['amplitude']:.3f} % at {row['line']:.3f} Hz "
                     f"conf {row['confidence']:.2f}" if row["line"] is not None and row["confidence"] is not None
                     else f"{row['suspect']} {row['verdict']}" for row in rows) or "no suspects"
