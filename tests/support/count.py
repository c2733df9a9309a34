#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Adds up the results of meson's test logs: one plain line, N passed, N failed.

A program's cases are counted one by one; a program that ended badly without a
failed case (a crash, a leak, a time-out) counts as one failure. Before it the
ten programs that took longest, by the clock, beside whatever ran with them, and
with --since SECONDS (of the epoch) the time that all of it took."""
import json
import sys
import time
import xml.etree.ElementTree as xml


def cases(folder):
    """The counts of passed, failed and skipped cases by program."""
    counts = {}
    root = xml.parse(f"{folder}/meson-logs/testlog.junit.xml").getroot()
    for suite in root.iter("testsuite"):
        for case in suite.iter("testcase"):
            name = suite.get("name", "")
            passed, failed, skipped = counts.get(name, (0, 0, 0))
            if case.find("skipped") is not None:
                skipped += 1
            elif case.find("failure") is not None or case.find("error") is not None:
                failed += 1
                print(f"failed in {folder}: {name}: {case.get('name')}")
            else:
                passed += 1
            counts[name] = passed, failed, skipped
    return counts


def ended_badly(folder):
    """The names of the programs that meson counts as not well, and how many there are in all."""
    bad, programs = [], 0
    with open(f"{folder}/meson-logs/testlog.json", encoding="utf-8") as log:
        for line in log:
            test = json.loads(line)
            programs += 1
            if test["result"] not in ("OK", "EXPECTEDFAIL", "SKIP"):
                bad.append((test["name"], test["result"]))
    return bad, programs


def slowest(folder, most=10):
    """The programs that took longest: (seconds, name)."""
    with open(f"{folder}/meson-logs/testlog.json", encoding="utf-8") as log:
        tests = [json.loads(line) for line in log]
    return sorted(((test["duration"], test["name"]) for test in tests), reverse=True)[:most]


def main(arguments):
    since, folders = (int(arguments[1]), arguments[2:]) if arguments[0] == "--since" else (None, arguments)
    total = [0, 0, 0]
    for folder in folders:
        print(f"slowest in {folder}: " + ", ".join(f"{name} {seconds:.0f} s" for seconds, name in slowest(folder)))
    for folder in folders:
        counts = cases(folder)
        for values in counts.values():
            total = [a + b for a, b in zip(total, values)]
        bad, programs = ended_badly(folder)
        failed_cases = sum(failed for _, failed, _ in counts.values())
        for name, result in bad:
            print(f"ended badly in {folder}: {name}: {result}")
        total[1] += max(0, len(bad) - failed_cases)
        if programs == 0:
            total[1] += 1
            print(f"no test ran in {folder}")
    if since is not None:
        minutes, seconds = divmod(int(time.time()) - since, 60)
        print(f"all of it took {minutes} min {seconds} s")
    passed, failed, skipped = total
    print(f"{passed} passed, {failed} failed" + (f", {skipped} skipped" if skipped else ""))
    return failed > 0 or passed == 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
