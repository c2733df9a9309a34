# SPDX-License-Identifier: MIT
"""How often the truth lies in the ± that `deckwright speed` prints, on decks drawn by seed. See scripts/coverage."""
import collections
import dataclasses
import math
import multiprocessing
import tempfile

import numpy as np

import tone_cases
import tone_model as model
import tone_truth
import trial_log
from tone_model import Deck, Line, Record, Take, Wander, harmonics
from tone_sheet import Bench

HELD_LOW, HELD_HIGH, WIDE = 0.93, 0.97, 1.5
CIRCLE = {"revolution.phase": 360.0}
FOUND_FROM = 0.02            # % peak; a line from here on should stand in the table
TRUTHS = ("take", "deck")


def log_uniform(draw, low, high):
    return float(math.exp(draw.uniform(math.log(low), math.log(high))))


def draw_lines(draw):
    """Periodic faults: platter, belt, idler, motor, mains."""
    def angle():
        return float(draw.uniform(0, 360))
    lines = [Line(log_uniform(draw, 0.01, 0.2), ratio=1, phase=angle(), part="platter")]
    if draw.random() < 0.4:
        lines.append(Line(log_uniform(draw, 0.005, 0.05), ratio=2, phase=angle(), part="platter"))
    if draw.random() < 0.55:
        belt = {"ratio": float(draw.uniform(0.82, 0.97)), "part": "belt"}
        count, fall = int(draw.integers(1, 5)), float(draw.uniform(0.3, 0.8))
        lines += harmonics(log_uniform(draw, 0.01, 0.1), count, fall, int(draw.integers(1 << 30)), **belt)
    elif draw.random() < 0.4:
        lines.append(Line(log_uniform(draw, 0.01, 0.08), ratio=float(draw.uniform(3, 8)), phase=angle(), part="idler"))
    if draw.random() < 0.7:
        motor = {"hz": float(draw.uniform(4, 30)), "part": "motor"}
        lines += harmonics(log_uniform(draw, 0.005, 0.06), int(draw.integers(1, 4)), 0.5, int(draw.integers(1 << 30)), **motor)
    if draw.random() < 0.3:
        lines.append(Line(log_uniform(draw, 0.002, 0.02), hz=100.0, phase=angle(), part="mains"))
    return lines


def draw_deck(draw):
    deck = Deck(rpm=float(draw.choice([100 / 3, 45, 78], p=[0.7, 0.2, 0.1])), error=float(draw.uniform(-2, 2)),
                lines=draw_lines(draw), seed=int(draw.integers(1 << 30)))
    course = draw.random()
    if course < 0.3:
        deck.drift = float(draw.normal(0, 0.2))
    elif course < 0.45:
        deck.settle = (float(draw.uniform(0.1, 0.5)), float(draw.uniform(60, 300)))
    if draw.random() < 0.6:
        deck.wander = Wander(log_uniform(draw, 0.003, 0.06), float(draw.uniform(0.3, 0.8)), float(draw.uniform(2, 20)))
    return deck


def draw_record(draw):
    """Half of the records are engraved exactly, half within a stated tolerance of 0.5 %."""
    record = Record(tone=float(draw.choice([3150, 3000, 1000], p=[0.6, 0.3, 0.1])), direction=float(draw.uniform(0, 360)),
                    radius=float(draw.uniform(65, 145)))
    if draw.random() < 0.7:
        record.off_centre = log_uniform(draw, 0.01, 0.3)
    if draw.random() < 0.5:
        record.tone_error = float(draw.uniform(-0.5, 0.5))
    return record


def draw_take(draw):
    take = Take(seconds=log_uniform(draw, 20, 120), rate=int(draw.choice([44100, 48000, 96000], p=[0.45, 0.45, 0.1])),
                channels=int(draw.integers(1, 3)), bits=int(draw.choice([16, 24])), level=float(draw.uniform(-25, -6)),
                snr=float(draw.uniform(25, 90)), clock=float(draw.normal(0, 51)), seed=int(draw.integers(1 << 30)))
    if take.rate == 96000:
        take.seconds = min(take.seconds, 60.0)
    if draw.random() < 0.5:
        take.rumble = float(draw.uniform(35, 70))
        take.surface = float(draw.uniform(0, 0.5))
    if draw.random() < 0.3:
        take.hum = (float(draw.choice([50, 60])), float(draw.uniform(-70, -40)))
    if draw.random() < 0.3:
        take.ticks = log_uniform(draw, 0.03, 1)
    if draw.random() < 0.15:
        take.dropouts = float(draw.uniform(0.5, 4))
    if draw.random() < 0.2:
        take.am = (float(draw.uniform(1, 8)), float(draw.uniform(0.3, 1.5)))
    if draw.random() < 0.25:
        take.lead_in = float(draw.uniform(1, 6))
        take.seconds += take.lead_in
    return take


def drawn(seed, number):
    """Deck NUMBER of SEED: deck, record, take and what a user would state."""
    draw = np.random.default_rng((seed, number))
    deck, record, take = draw_deck(draw), draw_record(draw), draw_take(draw)
    stated = [f"record.tone={record.tone:g}Hz", f"record.radius={record.radius:.3f}mm"]
    if record.tone_error:
        stated.append("record.tone_tolerance=0.5%")
    if draw.random() < 0.3:
        stated.append(f"chain.clock_error={take.clock + draw.uniform(-1, 1):.2f}ppm")
    return deck, record, take, stated


@dataclasses.dataclass
class Outcome:
    number: int
    about: dict
    refused: str = ""
    readings: dict = dataclasses.field(default_factory=dict)     # key -> (value, half, take, deck, flags)
    lines: list = dataclasses.field(default_factory=list)        # (part, percent, found)


def about(deck, record, take):
    """What --by can split by."""
    close = any(line.ratio and 0.8 < line.ratio < 1 for line in deck.lines)
    return {"snr": "SNR below 45 dB" if take.snr < 45 else "SNR 45 dB and more", "belt": "with a belt" if close else "no belt",
            "wander": "noise-like and lines" if deck.wander else "lines alone",
            "length": "below 45 s" if take.seconds - take.lead_in < 45 else "45 s and more",
            "tone": "tone within 0.5 %" if record.tone_error else "tone exact"}


# Readings whose ± is another thing where the engraved tone is not exact: they stand in two rows.
OF_THE_TONE = ("speed.mean", "speed.error", "record.tone_error")


def difference(key, value, truth):
    turn = CIRCLE.get(key)
    return abs((value - truth + turn / 2) % turn - turn / 2) if turn else abs(value - truth)


def found_lines(sheet, deck, course):
    begin, length = sheet.value("tone.start"), sheet.value("tone.length")
    rows = sheet.rows("flutter.lines")
    for hertz, percent, part in tone_truth.lines(deck, course, begin, begin + length):
        if percent < FOUND_FROM or part == "platter":          # the platter's joins with the record's
            continue
        near = [row for row in rows if abs(row["frequency"] - hertz) < 0.3 / length]
        yield part, percent, any(abs(row["amplitude"] / percent - 1) < 0.2 for row in near)


def try_deck(job):
    program, seed, number = job
    deck, record, take, stated = drawn(seed, number)
    known = any(operand.startswith("chain.clock_error") for operand in stated)
    outcome = Outcome(number, {**about(deck, record, take), "clock": "clock error stated" if known else "clock error not stated"})
    with tempfile.TemporaryDirectory() as folder:
        sheet = Bench(program, folder).measure(deck, record, take, *stated)
    if sheet.value("tone.start") is None:
        outcome.refused = sheet.err.strip().partition("wav: ")[2] or f"exit {sheet.code}"
        return outcome
    for key, truths in sheet.truth().items():
        row = sheet.readings.get(key)
        if row:
            if known and key == "tone.frequency":  # a stated clock puts it right; else it is by the file's own
                truths = tuple(truth * (1 + take.clock * 1e-6) for truth in truths)
            name = f"{key}, tone ±0.5" if key in OF_THE_TONE and record.tone_error else key
            outcome.readings[name] = (sheet.value(key), row.get("uncertainty"), *truths, row.get("flags", []))
    outcome.lines = list(found_lines(sheet, deck, sheet.course))
    return outcome


def read_log(path, seed):
    """Outcomes of SEED that stand in the log at PATH, by number of the deck."""
    return {number: Outcome(**row) for number, row in trial_log.read(path, {"seed": seed}).items()}


def add_to_log(path, seed, outcome):
    trial_log.add(path, {"seed": seed}, dataclasses.asdict(outcome))


def try_decks(settings, pool):
    """The outcomes of all decks asked for, in the order of their numbers: those of the log, and the others tried now."""
    done = read_log(settings.log, settings.seed)
    wanted = range(1, settings.decks + 1)
    jobs = [(settings.program, settings.seed, number) for number in wanted if number not in done]
    for outcome in pool.imap_unordered(try_deck, jobs):
        done[outcome.number] = outcome
        if settings.log:
            add_to_log(settings.log, settings.seed, outcome)
    return [done[number] for number in wanted]


# Tables

def summed(key, rows):
    """One line of the table: ROWS are (value, half, take, deck, flags)."""
    sure = [row for row in rows if row[0] is not None and row[1] is not None]
    halves = np.array([row[1] for row in sure])
    told = {"n": len(sure), "bare": sum(row[0] is not None and row[1] is None for row in rows),
            "blank": sum(row[0] is None for row in rows), "flagged": sum(bool(row[4]) for row in rows)}
    for place, name in enumerate(TRUTHS, 2):
        errors = np.array([difference(key, row[0], row[place]) for row in sure])
        if not len(errors):
            continue
        share = errors / np.maximum(halves, 1e-300)
        told[name] = {"held": float(np.mean(errors <= halves)), "needed": float(np.quantile(errors, 0.95)),
                      "wide": 1 / max(float(np.quantile(share, 0.95)), 1e-9)}
    told["median"] = float(np.median(halves)) if sure else None
    return told


def right(told, name):
    """Whether a ± is honest: it holds 93 to 97 % of the time and is at most 1.5 times as wide as needed."""
    part = told[name]
    slack = 1.96 * math.sqrt(0.95 * 0.05 / told["n"])
    low, high = HELD_LOW - max(0, slack - 0.02), HELD_HIGH + max(0, slack - 0.02)
    return low <= part["held"] <= high and told["median"] <= WIDE * part["needed"]


def against(told, name):
    part = told[name]
    return f"{part['held']:9.1%}{part['needed']:9.2g}{told['median'] / max(part['needed'], 1e-12):7.2f}{part['wide']:7.2f}"


def print_table(title, outcomes, name):
    refused = sum(bool(outcome.refused) for outcome in outcomes)
    print(f"\n{title}: {len(outcomes)} decks, {refused} refused; judged by the {name}'s truth")
    half = f"{'held':>9}{'needed':>9}{'ratio':>7}{'÷':>7}"
    print(f"{'':47}{'against the truth of this take':>32}  {'of the deck in the long run':>32}   no  not    flag-")
    print(f"{'reading':30}{'n':>5}{'median ±':>12}{half}  {half}    ±  shown  ged")
    keys = sorted({key for outcome in outcomes for key in outcome.readings})
    bad = 0
    for key in keys:
        told = summed(key, [outcome.readings[key] for outcome in outcomes if key in outcome.readings])
        if not told["n"]:
            continue
        line = f"{key:30}{told['n']:5}{told['median']:12.2g}" + "  ".join(against(told, truth) for truth in TRUTHS)
        fine = right(told, name)
        bad += not fine
        print(f"{line}{told['bare']:5}{told['blank']:7}{told['flagged']:5}  {'ok' if fine else 'NOT OK'}")
    return bad


def print_bare(outcomes):
    """Readings without a ± of their own: how far they are off."""
    print("\nWithout a ±: median and 95th percentile of what it is off, against the take's truth")
    for key in sorted({key for outcome in outcomes for key in outcome.readings}):
        rows = [outcome.readings[key] for outcome in outcomes if key in outcome.readings]
        if any(row[1] is not None for row in rows):
            continue
        off = [difference(key, row[0], row[2]) for row in rows if row[0] is not None]
        if off:
            print(f"{key:31}{len(off):6}{np.median(off):12.3g}{np.quantile(off, 0.95):12.3g}")


def print_lines(outcomes):
    parts = collections.defaultdict(list)
    for outcome in outcomes:
        for part, _, found in outcome.lines:
            parts[part].append(found)
    print(f"\nLines of {FOUND_FROM} % peak and more that stand in the table (0.3/T in frequency, 20 % in amplitude)")
    for part, found in sorted(parts.items()):
        print(f"  {part:10}{sum(found):5} of {len(found)}")


def print_refusals(outcomes):
    reasons = collections.Counter(outcome.refused[:110] for outcome in outcomes if outcome.refused)
    for reason, count in reasons.most_common(8):
        print(f"  {count:4} × {reason}")


def print_worst(outcomes, count, name):
    print("\nFarthest outside their ± (error over ±), by number of the deck: scripts/coverage --deck NUMBER plays it again")
    for key in sorted({key for outcome in outcomes for key in outcome.readings}):
        place = 2 + TRUTHS.index(name)
        shares = [(difference(key, row[0], row[place]) / max(row[1], 1e-300), outcome.number) for outcome in outcomes
                  for row in [outcome.readings.get(key)] if row and row[0] is not None and row[1] is not None]
        listed = "  ".join(f"{number} ({share:.3g})" for share, number in sorted(shares, reverse=True)[:count] if share > 1)
        if listed:
            print(f"  {key:31}{listed}")


def print_deck(program, seed, number, keep):
    """One drawn deck again, its sheet against the truth; KEEP is where its recording stays."""
    deck, record, take, stated = drawn(seed, number)
    print(deck, record, take, " ".join(stated), sep="\n")
    if keep:
        model.record_to(keep, deck, record, take)
        print(f"{keep} is what was played")
    with tempfile.TemporaryDirectory() as folder:
        sheet = Bench(program, folder).measure(deck, record, take, *stated)
    print(sheet.err, end="")
    for key, (here, ever) in sheet.truth().items():
        if key in sheet.readings:
            print(f"{sheet.shown(key):45} take {here:<12.6g} deck {ever:<12.6g} {' '.join(sheet.readings[key].get('flags', []))}")
    if sheet.value("tone.start") is not None:
        begin = sheet.value("tone.start")
        for hertz, percent, part in tone_truth.lines(deck, sheet.course, begin, begin + sheet.value("tone.length")):
            print(f"  true line {hertz:9.4f} Hz {percent:.4f} % {part}")
    for row in sheet.rows("flutter.lines"):
        print("  sheet's line", row)


def try_case(job):
    return tone_cases.checks(*job)


def print_cases(results):
    """The named cases. Returned: how many checks failed."""
    failed = 0
    for number, (title, found) in enumerate(results, 1):
        wrong = sum(bool(trouble) and not isinstance(trouble, tone_cases.Skip) for _, trouble in found)
        failed += wrong
        print(f"\n{number}. {title}: {'all right' if not wrong else f'{wrong} of {len(found)} wrong'}")
        for name, trouble in found:
            skipped = isinstance(trouble, tone_cases.Skip)
            print(f"  {'skip' if skipped else 'FAIL' if trouble else 'pass'}  {name}" + (f": {trouble}" if trouble else ""))
    return failed


def print_twelve(results):
    """Of each of the twelve ways in which a speed was once fooled: whether it is true still."""
    print("\nThe twelve ways in which a speed was once fooled: true still?")
    for number, (what, cases) in enumerate(tone_cases.TWELVE, 1):
        found = [trouble for case in cases for _, trouble in results[tone_cases.CASES.index(case)][1]]
        wrong = sum(bool(trouble) and not isinstance(trouble, tone_cases.Skip) for trouble in found)
        skipped = sum(isinstance(trouble, tone_cases.Skip) for trouble in found)
        word = f"TRUE ({wrong} of {len(found)} checks)" if wrong else f"not true ({len(found) - skipped} checks)"
        print(f"  {number:2}. {what}: {word}" + (f", {skipped} not tried" if skipped else ""))


def run(settings):
    """All of it. Returned: how many readings and checks are not as they should be."""
    if settings.deck is not None:
        print_deck(settings.program, settings.seed, settings.deck, settings.keep)
        return 0
    bad = 0
    with multiprocessing.Pool(settings.jobs) as pool:
        outcomes = try_decks(settings, pool)
        if outcomes:
            bad += print_table("All", outcomes, settings.truth)
            print_refusals(outcomes)
            for group in sorted({outcome.about[settings.by] for outcome in outcomes}) if settings.by else []:
                print_table(group, [outcome for outcome in outcomes if outcome.about[settings.by] == group], settings.truth)
            print_bare(outcomes)
            print_lines(outcomes)
            print_worst(outcomes, settings.worst, settings.truth)
        if settings.cases:
            jobs = [(number, settings.program, settings.encoder) for number in range(1, len(tone_cases.CASES) + 1)]
            results = pool.map(try_case, jobs, chunksize=1)
            bad += print_cases(results)
            print_twelve(results)
    print(f"\n{bad} readings and checks are not as they should be" if bad else "\nAll as it should be")
    return bad
