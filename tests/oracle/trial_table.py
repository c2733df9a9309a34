# SPDX-License-Identifier: MIT
"""Tables that trials print: how often a ± holds, what is wrong and how often."""
import collections

import calibration

RIGHT = (93, 97)        # % of which a ± of 95 % is to hold


def percent(part, whole):
    return f"{part:>4} of {whole:<4}{100 * part / whole:>6.1f} %" if whole else "   -"


def has(one, *begins):
    return any(kind.startswith(begins) for kind, _ in one["wrong"])


def print_marks(done, rows):
    """The figures that are asked for; a row is (label, cases, beginnings of what must not be wrong, what is wanted)."""
    print(f"\n{len(done)} cases")
    for label, ones, begins, wanted in rows:
        print(f"  {label:<42}{percent(sum(not has(one, *begins) for one in ones), len(ones)):>20}   wanted {wanted or 'all'}")


def judged(told):
    """Whether the ± of (distance, half-width) holds as often as it should: "", or what so few leave open, or that it does not."""
    if not told:
        return ""
    hits = sum(gap <= half for gap, half in told)
    low, high = calibration.interval(hits, len(told))
    if RIGHT[0] <= 100 * hits / len(told) <= RIGHT[1]:
        return ""
    return f"   {'may be right' if low <= RIGHT[1] and high >= RIGHT[0] else 'NOT OK'}: {low:.0f} to {high:.0f} %"


def print_readings(done):
    """How often each ± holds, and the ± that would hold in 95 of 100."""
    kinds = collections.defaultdict(list)
    for one in done:
        for key, value, half, true, flagged in one["readings"]:
            kinds[(key, one["case"])].append((abs(value - true), half, one["number"], flagged))
            kinds[(key, "all")].append((abs(value - true), half, one["number"], flagged))
    print(f"{'reading':<24}{'case':<12}{'n':>5}{'median ±':>12}{'held':>10}{'needed ±':>11}   farthest off")
    for (key, case), rows in sorted(kinds.items()):
        told = [(gap, half) for gap, half, _, _ in rows if half is not None]
        held = 100 * sum(gap <= half for gap, half in told) / len(told) if told else float("nan")
        middle = sorted(half for _, half in told)[len(told) // 2] if told else float("nan")
        needed = sorted(gap for gap, _, _, _ in rows)[min(len(rows) - 1, int(0.95 * len(rows)))]
        worst = sorted(rows, key=lambda row: -row[0] / (row[1] or 1))[:4]
        print(f"{key:<24}{case:<12}{len(rows):>5}{middle:>12.4g}{held:>9.1f}%{needed:>11.4g}   "
              + " ".join(f"{number} ({gap:.3g})" for gap, _, number, _ in worst) + judged(told))


def where(one):
    return f"{one['kind']}, {one['motor']}, {one['seconds']} s; {one['case']}" if "kind" in one else one["case"]


def print_faults(done):
    kinds = collections.defaultdict(list)
    for one in done:
        for kind, words in one["wrong"]:
            kinds[kind].append((one, words))
    print(f"\n{'what is wrong':<48}{'times':>6}  cases")
    for kind, cases in sorted(kinds.items(), key=lambda item: -len(item[1])):
        print(f"{kind:<48}{len(cases):>6}  {' '.join(str(one['number']) for one, _ in cases[:12])}")
        for one, words in cases[:2]:
            print(f"      {one['number']} ({where(one)}): {words[:170]}")
