#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What a page costs that is loaded again and again: no descriptor, and no memory beyond a bound."""
import html
import os
import pathlib
import re
import sys
import tempfile
import time

from bench import Bench, Device, Tap

# Once every page was loaded some times the caches are full. What each thread keeps of what it freed goes up and down
# by several megabytes: the bench is begun with one store for all threads that gives back what is free.
KILOBYTES = 500
ONE_STORE = {"MALLOC_ARENA_MAX": "1", "MALLOC_TRIM_THRESHOLD_": "65536"}


def crawl(device):
    """One page of each kind that a link leads to, from the board on."""
    found, waiting = {}, ["/"]
    while waiting:
        path = waiting.pop(0)
        kind = re.sub(r"\d+", "N", path)
        if kind in found:
            continue
        answer = device.get(path)
        if answer.status != 200:
            continue
        found[kind] = path
        if "text/html" in answer.headers["Content-Type"]:
            links = re.findall(r'(?:href|src)="(/[^"#]*)', answer.text)
            waiting += [html.unescape(link) for link in links if not link.startswith("/look/")]
    return list(found.values())


def descriptors(bench, wanted=0):
    """How many the bench has open; waits for connections that are being closed while there are more than WANTED."""
    for _ in range(3000):
        count = len(os.listdir(f"/proc/{bench.process.pid}/fd"))
        if count <= wanted:
            break
        time.sleep(0.01)
    return count


def kilobytes(bench):
    status = pathlib.Path(f"/proc/{bench.process.pid}/status").read_text()
    return int(re.search(r"^VmRSS:\s+(\d+)", status, re.M).group(1))


def load(device, path, rounds):
    """Loads PATH and says whether it was answered the same each time."""
    return {device.get(path).status for _ in range(rounds)} == {200}


def check(tap, bench, rounds, memory):
    device = Device(bench)
    pages = crawl(device)
    tap.say("links lead to pages of every room",
            not (len(pages) > 40 and {"/", "/live", "/measure", "/book", "/shop", "/shop/settings"} <= set(pages)) and pages)
    for path in pages:
        load(device, path, rounds)
    before, first = descriptors(bench), kilobytes(bench)
    for path in pages:
        name = re.sub(r"\d+", "N", path)
        tap.say(f"{name} is answered each time", not load(device, path, rounds * 10 if path == "/live" else rounds))
        after = descriptors(bench, before)
        tap.say(f"{name} leaves no descriptor open", not (after <= before) and f"{before} before, {after} after")
        before = max(before, after)
    grown = kilobytes(bench) - first
    if memory:
        print(f"# {len(pages)} kinds of pages, {grown} kB more than {first} kB")
        tap.say("all together take no memory for good", not (grown <= KILOBYTES) and f"{grown} kB more than {first} kB")


def main(program, rounds, memory):
    """ROUNDS of loading each page, and of the page that asks for the sound devices 10 times as many."""
    tap = Tap()
    os.environ.update(ONE_STORE)
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        check(tap, bench, int(rounds), memory == "memory")
        status, errors = bench.end()
        tap.say("it ends cleanly", not (status == 0 and errors == "") and errors)
    return tap.end()


sys.exit(main(*sys.argv[1:4]))
