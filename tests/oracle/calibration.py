# SPDX-License-Identifier: MIT
"""Whether stated confidences are true: by tenths, by pooled tenths, and over all, with what chance alone makes of so few.

A tenth is held to 5 points. Where its lines are too few for that, the interval of 95 % says so (C. J. Clopper and E. S. Pearson,
Biometrika 1934). Over all: the score of G. W. Brier (Monthly Weather Review 1950) beside the one expected were every confidence
true, their difference in standard deviations (D. J. Spiegelhalter, Statistics in Medicine 1986), and the expected calibration
error, the gaps of the tenths weighted by their lines, beside the one that chance reaches in 95 of 100 draws were every confidence true.
All references from memory.
"""
import numpy as np
from scipy import stats

POINTS = 5
POOLS = ((0.0, 0.5), (0.5, 0.9), (0.9, 1.01))
DRAWS = 2000


def interval(hits, count):
    """Clopper and Pearson's interval of 95 % of a share, in %."""
    low = 100 * stats.beta.ppf(0.025, hits, count - hits + 1) if hits else 0.0
    high = 100 * stats.beta.ppf(0.975, hits + 1, count - hits) if hits < count else 100.0
    return low, high


def told(said, true, count):
    """Whether SAID % is within 5 points of TRUE %: "", or that its lines are too few to tell, or that it is not."""
    if abs(said - true) <= POINTS:
        return ""
    low, high = interval(round(true * count / 100), count)
    few = low - POINTS <= said <= high + POINTS
    return f"   {'too few to tell' if few else 'NOT OK'}: {low:.0f} to {high:.0f} %"


def bin_gaps(said, true):
    """Each tenth's (lines, mean said less mean true)."""
    place = np.minimum(9, (said * 10).astype(int))
    return [((place == one).sum(), (said - true)[place == one].mean()) for one in range(10) if (place == one).any()]


def expected_error(said, true):
    """The expected calibration error, 0 to 1."""
    return sum(count * abs(gap) for count, gap in bin_gaps(said, true)) / len(said)


def overall(pairs):
    """Brier's score, the one expected, Spiegelhalter's z, the calibration error, and the one that chance reaches in 95 of 100 draws."""
    said, true = np.array(pairs, dtype=float).T
    spread = np.sqrt(np.sum((1 - 2 * said) ** 2 * said * (1 - said)))
    z = np.sum((true - said) * (1 - 2 * said)) / spread if spread else 0.0
    draws = np.random.default_rng(1).random((DRAWS, len(said))) < said
    chance = np.quantile([expected_error(said, draw) for draw in draws], 0.95)
    return np.mean((said - true) ** 2), np.mean(said * (1 - said)), z, expected_error(said, true), chance


def print_row(label, pairs):
    said, true = (100 * sum(pair[place] for pair in pairs) / len(pairs) for place in (0, 1))
    print(f"  {label:<22}{said:>12.1f}%{true:>8.1f}%{len(pairs):>6}" + told(said, true, len(pairs)))


def print_all(table, named):
    """NAMED: for each name the (confidence, whether it was true) of a TABLE's rows."""
    print(f"\n{'confidence of a ' + table:<24}{'said':>13}{'true':>9}{'n':>6}")
    for name, pairs in sorted(named.items()):
        for tenth in sorted({min(9, int(one * 10)) for one, _ in pairs}):
            print_row(f"{name:<10}{tenth / 10:.1f} to {(tenth + 1) / 10:.1f}", [pair for pair in pairs if min(9, int(pair[0] * 10)) == tenth])
    everything = [pair for pairs in named.values() for pair in pairs]
    for low, high in POOLS:
        pool = [pair for pair in everything if low <= pair[0] < high]
        if pool:
            print_row(f"pooled    {low:.1f} to {min(high, 1.0):.1f}", pool)
    if everything:
        brier, expected, z, error, chance = overall(everything)
        print(f"  Brier's score {brier:.4f}, expected {expected:.4f}, {z:+.1f} standard deviations{'' if abs(z) <= 1.96 else '   NOT OK'}; "
              f"calibration error {100 * error:.2f} points, by chance up to {100 * chance:.2f}")
