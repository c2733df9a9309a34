#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Runs decoding, measuring and the scipy pipeline in turns; prints medians, ratios and peak memory."""
import os
import pathlib
import statistics
import subprocess
import sys
import time

TURNS, SCIPY_TURNS = 7, 1


def timed(call):
    """Seconds on the clock, seconds of the processor, and peak memory in MiB."""
    start = time.monotonic()
    with subprocess.Popen(call, stdout=subprocess.DEVNULL) as process:
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 3):  # 3: measured, with a flag
        sys.exit(f"{call} failed")
    return time.monotonic() - start, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def main(decode, deckwright, take, whole, plan):
    scipy = pathlib.Path(__file__).with_name("scipy_speed.py")
    calls = {"decoding alone": [decode, take],
             "deckwright speed": [deckwright, "speed", take, "record.tone=3150Hz"],
             "scipy pipeline": ["/usr/bin/python3", scipy, take],
             "decoding a side": [decode, whole],
             "deckwright side": [deckwright, "side", whole, f"record.plan={plan}"]}
    runs = {name: [] for name in calls}
    for name in ("decoding alone", "decoding a side"):
        timed(calls[name])  # the file is then in memory for all
    for turn in range(TURNS):
        for name, call in calls.items():
            if name != "scipy pipeline" or turn < SCIPY_TURNS:
                runs[name].append(timed(call))
    clock, processor = {}, {}
    for name, results in runs.items():
        clock[name], processor[name] = (statistics.median(run[i] for run in results) for i in (0, 1))
        memory = max(run[2] for run in results)
        print(f"{name:17} {clock[name]:7.2f} s, processor {processor[name]:7.2f} s, {memory:6.0f} MiB at most, "
              f"median of {len(results)}")
    for text, above, below, wanted in [("speed / decoding", "deckwright speed", "decoding alone", "2.5 at most"),
                                       ("scipy / speed", "scipy pipeline", "deckwright speed", "10 at least"),
                                       ("side / decoding", "deckwright side", "decoding a side", "6 at most")]:
        print(f"{text:17} {clock[above] / clock[below]:7.2f} by the clock, {processor[above] / processor[below]:7.2f} by "
              f"the processor, wanted {wanted}")
    print("memory            of deckwright speed is wanted under 64 MiB, of deckwright side under 256 MiB")


if __name__ == "__main__":
    main(*sys.argv[1:])
