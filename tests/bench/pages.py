#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What each page costs in a large shop: the server's processor time a request, and the bytes it sends.

Usage: pages.py PROGRAM LARGE_SHOP JOBS"""
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "web"))
from bench import Bench, Device     # noqa: E402

ROUNDS = 20
PARTS = ["intake", "safety", "as-received", "findings", "estimate", "work", "set-up", "as-left", "papers", "state"]
MOST_MS, MOST_BYTES = 10.0, 100_000


def processor(bench):
    """Seconds that the server has used, in user space and in the kernel. The clock of another process is named by the
    bits of its number (clock_getcpuclockid(3))."""
    return time.clock_gettime(~bench.process.pid << 3 | 2)


def cost(bench, device, path):
    """Milliseconds a request (the median: a page may come while others work) and bytes of PATH, after one that fills
    the caches."""
    answer = device.get(path)
    times = []
    for _ in range(ROUNDS):
        before = processor(bench)
        answer = device.get(path)
        times.append(1000 * (processor(bench) - before))
    return answer.status, statistics.median(times), len(answer.body)


def main(program, large_shop, jobs):
    last, middle = jobs, jobs // 2
    pages = ["/", f"/job/{last:04d}", f"/job/{middle:04d}", *(f"/job/{middle:04d}?at={part}" for part in PARTS), f"/job/{middle:04d}/setup", f"/job/{middle:04d}/guide", f"/job/{middle:04d}/photos",
             f"/job/{middle:04d}/papers", f"/job/{middle:04d}/journal", "/job/new", "/job/new?words=name1", "/guide", "/guide?words=sounds+slow",
             "/find?words=name1", "/find?words=make1+model2", "/find?words=nobody", "/book", "/book/customer", "/book/deck", "/book/stock",
             "/book/due", "/book/belts", f"/book/customer/{middle + 1}", f"/book/deck/{middle}", f"/journal/job/{middle}", "/measure", "/measure/speed",
             f"/measure/speed?job={middle:04d}&as=received", "/shop", "/live"]
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([large_shop, str(jobs), folder + "/shop"], check=True)
        with Bench(program, folder + "/shop") as bench:
            device = Device(bench)
            device.get("/")
            print(f"{jobs} jobs; processor time of the server a request, median of {ROUNDS}")
            dear = 0
            for path in pages:
                status, milliseconds, size = cost(bench, device, path)
                mark = " dear" if milliseconds > MOST_MS or size > MOST_BYTES else ""
                dear += bool(mark)
                print(f"  {path:<44}{status:>4}{milliseconds:>9.1f} ms{size / 1000:>9.1f} kB{mark}")
            print(f"{dear} of {len(pages)} pages are above {MOST_MS:.0f} ms or {MOST_BYTES // 1000} kB")


main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
