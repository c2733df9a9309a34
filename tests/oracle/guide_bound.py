# SPDX-License-Identifier: MIT
"""What could be known of the decks of guide_model.py: a reasoner that knows how they were drawn and how answers err.

It weighs every deck that can have been drawn exactly (one fault or two in their order, what was truly complained of and what was said
instead, the drive), and chooses its tests itself, by expected information about the faults at the cost that the guide counts.
"""
import collections
import itertools
import pathlib
import re

import numpy

import guide_model
from guide_model import FAULTS, MEASURED, MISTAKEN, TWO

DATA = pathlib.Path(__file__).resolve().parent.parent.parent / "data" / "guide"
EVERY_STEP, RISK_MINUTES = 25, {"none": 0, "low": 1, "medium": 6, "high": 15}      # what a step costs beside its minutes
TOGETHER, UNLIKELY = 6, 1e-9
AUTOMATIC = 0.3


def groups(name):
    """The groups of a file of data/guide, each a dict of its keys."""
    found, group = {}, {}
    for line in (DATA / name).read_text(encoding="utf-8").splitlines():
        if head := re.match(r"\[(\w+)\]", line):
            group = found[head[1]] = {}
        elif entry := re.match(r"(\w+) = (.*)", line):
            group[entry[1]] = entry[2]
    return found


def tests():
    """(name, cost, findings) of each test that shows anything; only names, minutes and risk are taken from data/guide."""
    shown = collections.defaultdict(list)
    for name, finding in groups("findings.ini").items():
        if "finding." + name in SIGNS:
            shown[finding["test"]].append("finding." + name)
    return [(name, float(test["minutes"]) + EVERY_STEP + RISK_MINUTES[test["risk"]], shown[name])
            for name, test in groups("tests.ini").items() if shown[name]]


def by_chance(fault):
    return sorted(fault.says, key=lambda name: -fault.says[name])


def firsts(fault, without=()):
    """(name or None, chance) of what is heard first of a fault besides what was said already."""
    left, found = 1.0, collections.Counter()
    for name in by_chance(fault):
        if name not in without:
            found[name] += left * fault.says[name]
            left *= 1 - fault.says[name]
    silent = left
    for name in set(without) & set(fault.says):
        silent *= 1 - fault.says[name]
    most = max(fault.says, key=fault.says.get)
    found[None] += left - silent + (silent if most in without else 0)
    found[most] += 0 if most in without else silent
    return [(name, chance) for name, chance in found.items() if chance]


def complaints_of(first, second):
    """(names truly complained of, chance) of one fault or of two."""
    for name, chance in firsts(first):
        rest = by_chance(first)[by_chance(first).index(name) + 1:]
        if second:
            for other, also in firsts(second, (name,)):
                yield (name,) + ((other,) if other else ()), chance * also
            continue
        yield (name,), chance * 0.5
        most = max(first.says, key=first.says.get)
        silent = 1.0
        for each in first.says.values():
            silent *= 1 - each
        spoken = chance - (silent if name == most else 0)      # who says the likeliest for want of any says no other
        left = 1.0
        for other in rest:
            yield (name, other), 0.5 * spoken * left * first.says[other]
            left *= 1 - first.says[other]
        yield (name,), 0.5 * (spoken * left + chance - spoken)


def told_as(names, wrong):
    """(names as told, chance), each mistaken now and then."""
    ways = [[(name, 1 - wrong), (MISTAKEN[name], wrong)] if name in MISTAKEN else [(name, 1.0)] for name in names]
    for way in itertools.product(*ways):
        chance = 1.0
        for _, each in way:
            chance *= each
        yield tuple(dict.fromkeys(name for name, _ in way)), chance


def share(fault, drive):
    return guide_model.DRIVES[drive] / sum(guide_model.DRIVES[one] for one in fault.drives) if drive in fault.drives else 0


def drawn_decks(drive, wrong):
    """What was told -> [(places of the faults, truly said, chance)] on this drive."""
    found = collections.defaultdict(list)
    on = {place: fault for place, fault in enumerate(FAULTS) if drive in fault.drives}
    whole, here = sum(fault.weight for fault in FAULTS), sum(fault.weight for fault in on.values())
    for a, first in on.items():
        chance = first.weight / whole * share(first, drive)
        sets = [((a,), None, chance * (1 - TWO))]
        sets += [((a, b), second, chance * TWO * second.weight / (here - first.weight)) for b, second in on.items() if b != a]
        for places, second, likely in sets:
            for said, spoken in complaints_of(first, second):
                for told, heard in told_as(said, wrong):
                    found[told].append((places, said, likely * spoken * heard))
    return found


def all_signs():
    names = {f"symptom.{name}" for fault in FAULTS for name in fault.says} | {f"finding.{name}" for fault in FAULTS for name in fault.shows}
    return sorted(names)


SIGNS = all_signs()
TESTS = tests()
DECKS = {}


def decks(drive, wrong):
    if (drive, wrong) not in DECKS:
        DECKS[drive, wrong] = drawn_decks(drive, wrong)
    return DECKS[drive, wrong]


class Knower:
    """Who knows how DECK was drawn, but not what was drawn."""

    def __init__(self, deck):
        self.deck, self.answers, self.tests = deck, {}, 0
        told = tuple(key.removeprefix("symptom.") for key in deck.complaints())
        told = tuple(dict.fromkeys(told))
        self.told = {"symptom." + name for name in told}
        drives = [deck.drive] if deck.drive_told else list(guide_model.DRIVES)
        self.states = [(places, said, drive, chance * self.kind(places)) for drive in drives
                       for places, said, chance in decks(drive, deck.wrong)[told]]
        self.states = [state for state in self.states if state[3] > 0]
        self.weight = numpy.array([state[3] for state in self.states])
        self.drives = numpy.array([state[2] for state in self.states])
        self.sets = sorted({frozenset(state[0]) for state in self.states}, key=sorted)
        at = {one: place for place, one in enumerate(self.sets)}
        self.set_of = numpy.array([at[frozenset(state[0])] for state in self.states])
        self.chances, self.drive_told = {}, deck.drive_told

    def kind(self, places):
        needs = any(FAULTS[place].automatic for place in places)
        return (1 if needs else AUTOMATIC) if self.deck.automatic else (0 if needs else 1 - AUTOMATIC)

    def chance(self, key, complaint_so):
        """How likely it is so in each state, its complaint being so or not."""
        if (key, complaint_so) not in self.chances:
            each = {one: guide_model.chance_of(key, [FAULTS[place] for place in one], complaint_so) for one in self.sets}
            self.chances[key, complaint_so] = numpy.array([each[self.sets[place]] for place in self.set_of])
        return self.chances[key, complaint_so]

    def complaint_of(self, key):
        name = MEASURED.get(key.removeprefix("finding.")) if key.startswith("finding.") else None
        return f"symptom.{name}" if name else None

    def complaint_chance(self, complaint):
        said = numpy.array([complaint.removeprefix("symptom.") in state[1] for state in self.states])
        return numpy.where(said, 1.0, self.chance(complaint, 0.0))

    def looks(self, key):
        """How likely the answers to KEY are where it is so, and where it is not."""
        so = not_so = 1.0
        looks = self.answers.get(key, "unknown").split(",")
        wrong = self.deck.wrong
        for place, look in enumerate(looks):
            if look == "unknown":
                continue
            erred_so, erred_not = wrong, wrong
            if place:
                erred_so = max(wrong, 1 / 3) if looks[0] == "no" else wrong
                erred_not = max(wrong, 1 / 3) if looks[0] == "yes" else wrong
            right_so, right_not = 1 - self.deck.unknown - erred_so, 1 - self.deck.unknown - erred_not
            so *= right_so if look == "yes" else erred_so
            not_so *= erred_not if look == "yes" else right_not
        return so, not_so

    def posterior(self):
        weight, joined = self.weight.copy(), collections.defaultdict(list)
        for key in self.answers:
            complaint = self.complaint_of(key)
            if key.startswith("finding.") and not complaint:
                so, not_so = self.looks(key)
                chance = self.chance(key, 0.0)
                weight *= chance * so + (1 - chance) * not_so
            elif key not in self.told:
                joined[complaint or key].append(key)
        for complaint, keys in joined.items():
            both = []
            for truly in (1.0, 0.0):
                likely = numpy.ones_like(weight)
                for key in keys:
                    so, not_so = self.looks(key)
                    chance = truly if key == complaint else self.chance(key, truly)
                    likely = likely * (chance * so + (1 - chance) * not_so)
                both.append(likely)
            chance = self.complaint_chance(complaint)
            weight *= chance * both[0] + (1 - chance) * both[1]
        return weight / weight.sum()

    def yes(self, key):
        """How likely the next answer to KEY is yes in each state, were it none but yes or no."""
        complaint = self.complaint_of(key)
        if key.startswith("symptom."):
            chance = self.complaint_chance(key)
            others = [other for other in self.answers if self.complaint_of(other) == key]
            so_like, not_like = numpy.ones_like(chance), numpy.ones_like(chance)
            for other in others:
                so, not_so = self.looks(other)
                p = self.chance(other, 1.0)
                so_like = so_like * (p * so + (1 - p) * not_so)
                p = self.chance(other, 0.0)
                not_like = not_like * (p * so + (1 - p) * not_so)
            chance = chance * so_like / (chance * so_like + (1 - chance) * not_like)
        elif complaint:
            said, unsaid = (1.0, 1.0)
            if complaint in self.answers and complaint not in self.told:
                said, unsaid = self.looks(complaint)
            truly = self.complaint_chance(complaint) * said
            truly = truly / (truly + (1 - self.complaint_chance(complaint)) * unsaid)
            chance = truly * self.chance(key, 1.0) + (1 - truly) * self.chance(key, 0.0)
        else:
            chance = self.chance(key, 0.0)
        known = 1 - self.deck.unknown
        wrong = self.deck.wrong / known
        so_yes, not_yes = 1 - wrong, wrong
        if key in self.answers:
            so, not_so = self.looks(key)
            chance = chance * so / (chance * so + (1 - chance) * not_so)
            again = max(self.deck.wrong, 1 / 3) / known
            so_yes = 1 - again if self.answers[key] == "no" else so_yes
            not_yes = again if self.answers[key] == "yes" else not_yes
        return chance * so_yes + (1 - chance) * not_yes

    def by_set(self, shares):
        """Sums of SHARES [state][outcome] over the states of each set."""
        found = numpy.zeros((len(self.sets), shares.shape[1]))
        numpy.add.at(found, self.set_of, shares)
        return found

    def told_by(self, shares):
        """Bits about the set from outcomes whose SHARES [state][outcome] add up to 1."""
        table = self.by_set(shares)
        return float(entropy(table.sum(1)) + entropy(table.sum(0)) - entropy(table))

    def information(self, weight, keys):
        if len(keys) > TOGETHER:
            keys = sorted(keys, key=lambda key: -self.information(weight, [key]))[:TOGETHER]
        shares = weight[:, None]
        for key in keys:
            yes = self.yes(key)[:, None]
            shares = numpy.hstack([shares * yes, shares * (1 - yes)])
        return (1 - self.deck.unknown) * self.told_by(shares)

    def steps(self, weight):
        """(worth, bits, keys, again) of all that may be asked."""
        for _, cost, keys in TESTS:
            fresh = [key for key in keys if key not in self.answers]
            again = [key for key in keys if self.answers.get(key) in ("yes", "no")]
            if asked := fresh or again:
                bits = self.information(weight, asked)
                yield bits / cost, bits, asked, not fresh
        for key in SIGNS:
            if key.startswith("symptom.") and key not in self.answers and key not in self.told:
                bits = self.information(weight, [key])
                yield bits / (EVERY_STEP + 1), bits, [key], False
        if not self.drive_told:
            shares = numpy.stack([weight * (self.drives == drive) for drive in guide_model.DRIVES], 1)
            bits = self.told_by(shares)
            yield bits / EVERY_STEP, bits, ["drive.kind"], False

    def take(self, keys, again):
        self.tests += 1
        if keys == ["drive.kind"]:
            drive = self.deck.answer("drive.kind")
            self.drive_told = True
            self.weight = self.weight * (self.drives == drive)
            return
        for key in keys:
            answer = self.deck.answer(key, again)
            self.answers[key] = f"{self.answers[key]},{answer}" if again else answer

    def order(self, weight):
        """The faults, likeliest first, and how likely each is."""
        chance = numpy.zeros(len(FAULTS))
        for place, part in enumerate(self.by_set(weight[:, None])[:, 0]):
            for fault in self.sets[place]:
                chance[fault] += part
        places = numpy.argsort(-chance, kind="stable")
        return [(FAULTS[place].name, float(chance[place])) for place in places]


def entropy(shares):
    shares = shares[shares > 0]
    return -(shares * numpy.log2(shares)).sum()


def play(seed, number, wrong, unknown, most):
    """What is known after each step of one session."""
    deck = guide_model.Deck(seed, number, wrong, unknown)
    knower = Knower(deck)
    truth = [fault.name for fault in deck.faults]
    course = []
    while True:
        weight = knower.posterior()
        best = max(knower.steps(weight), key=lambda step: step[0], default=None)
        sets = knower.by_set(weight[:, None])[:, 0]
        course.append({"step": knower.tests, "order": knower.order(weight)[:6], "sure": float(sets.max()), "bits": best[1] if best else 0.0})
        if knower.tests == most or not best or best[1] <= 1e-6:
            return {"number": number, "truth": truth, "course": course}
        knower.take(best[2], best[3])
