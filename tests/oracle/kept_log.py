#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The logs of scripts/coverage and of the trials give back what was written, case by case, whatever broke off in them."""
import pathlib
import sys
import tempfile

import coverage
import program
import trial_log

ONE = coverage.Outcome(1, {"snr": "SNR 45 dB and more"}, "", {"speed.mean": [33.3, 0.01, 33.31, 33.32, ["short"]], "speed.drift": [0.1, None, 0, 0, []]},
                       [["belt", 0.05, True]])
OTHER = coverage.Outcome(7, {"snr": "SNR below 45 dB"}, "too noisy")


def gives_back(path):
    for seed, outcome in ((5, ONE), (6, OTHER), (5, OTHER)):
        coverage.add_to_log(path, seed, outcome)
    found = [coverage.read_log(path, seed) for seed in (5, 6, 7)]
    return "" if found == [{1: ONE, 7: OTHER}, {7: OTHER}, {}] else f"read {found}"


def broken_off(path):
    whole = path.read_bytes()
    last = len(whole.splitlines(keepends=True)[-1])
    for left in (1, 5, 20, last - 2):
        path.write_bytes(whole[:len(whole) - last + left])
        if coverage.read_log(path, 5) != {1: ONE}:
            return f"a line of which {left} bytes are left counts"
        coverage.add_to_log(path, 5, OTHER)
        if coverage.read_log(path, 5) != {1: ONE, 7: OTHER}:
            return f"what followed a line of which {left} bytes are left is lost"
    return ""


def foreign(path):
    path.write_text("speed.mean 33.3\n", encoding="utf-8")
    try:
        coverage.read_log(path, 5)
    except SystemExit as trouble:
        return "" if "Name another file" in str(trouble) else str(trouble)
    return "a file that is no log was taken for one"


def goes_on(path):
    tried = []

    class Pool:
        @staticmethod
        def imap_unordered(try_one, numbers):
            return map(try_one, numbers)

    def try_one(number):
        tried.append(number)
        return {"number": number, "said": f"{number}"}

    def told(numbers, trial):
        tried.clear()
        return [one["number"] for one in trial_log.try_all(Pool, try_one, numbers, path, trial)], list(tried)

    first, again, other = told([2, 0], "film 1"), told([0, 1, 2], "film 1"), told([0], "film 2")
    whole = path.read_bytes()
    path.write_bytes(whole[:-8])
    broken = told([0], "film 2"), told([0], "film 2")
    found = [first, again, other, *broken]
    return "" if found == [([2, 0], [2, 0]), ([0, 1, 2], [1]), ([0], [0]), ([0], [0]), ([0], [])] else f"{found}"


def drawn_otherwise(path):
    """Cases of one seed that were drawn by something else beside it, another procedure or length, are others."""
    by = [{"seed": 5, "of": of, "of seconds": seconds} for of, seconds in (("held", None), ("twin", None), ("twin", 1500.0))]
    for number, trial in enumerate(by):
        trial_log.add(path, trial, {"number": number})
    found = [list(trial_log.read(path, trial)) for trial in by]
    return "" if found == [[0], [1], [2]] else f"read {found}"


def of_a_trial(path):
    one, other = {"number": 3, "wrong": [["refused", "no tone"]]}, {"number": 4, "wrong": []}
    for trial, found in ((["speed", 1, 120], one), (["speed", 2, 120], other)):
        trial_log.add(path, trial, found)
    path.write_bytes(path.read_bytes()[:-9])
    trial_log.add(path, ["speed", 1, 120], other)
    read = [trial_log.read(path, trial) for trial in (["speed", 1, 120], ["speed", 2, 120], ["speed", 1, 20])]
    return "" if read == [{3: one, 4: other}, {}, {}] else f"read {read}"


def run(_, checks, __):
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "coverage.log"
        checks.attempt("what was drawn otherwise is not taken for a case", drawn_otherwise, pathlib.Path(folder) / "music.log")
        checks.attempt("a log that is not there holds nothing", lambda: coverage.read_log(path, 5))
        checks.attempt("a log gives back each deck of a seed", gives_back, path)
        checks.attempt("a line that broke off is tried again, those after it are kept", broken_off, path)
        checks.attempt("another file is no log", foreign, path)
        checks.attempt("a trial goes on from its log, and from no other's", goes_on, pathlib.Path(folder) / "trial.log")
        checks.attempt("a trial's log gives back what was found of that trial", of_a_trial, pathlib.Path(folder) / "other.log")


if __name__ == "__main__":
    program.main(run)
