#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""How far one computer bears: a book of so many jobs with so many photographs, and so many devices that ask at once without a pause.

Usage: capacity.py PROGRAM LARGE_SHOP JOBS PHOTOGRAPHS DEVICES [FOLDER]"""
import hashlib
import os
import pathlib
import resource
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "web"))
from bench import Bench, Device     # noqa: E402

REQUESTS, PHOTOGRAPH_BYTES, NAMES_MOST, COPIED_MOST = 10, 4000, 20000, 5000


def timed(name, act):
    """Runs ACT and prints the seconds on the clock and of the processor that it took."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    result = act()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    work = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(f"  {name:<52}{time.monotonic() - began:>9.2f} s{work:>9.2f} s", flush=True)
    return result


def add_photographs(folder, count):
    """Files for the first COUNT photographs that the rows speak of; the other rows go. Many names lead to one file, which is as much work
    for whatever reads or copies them."""
    files = folder / "attachments"
    files.mkdir(exist_ok=True)
    book = sqlite3.connect(folder / "book.sqlite")
    rows, masters = [], []
    for place, (row,) in enumerate(book.execute("SELECT id FROM attachment ORDER BY id LIMIT ?", (count,))):
        if place % NAMES_MOST == 0:
            content = b"\xff\xd8\xff" + hashlib.sha256(str(row).encode()).digest() * (PHOTOGRAPH_BYTES // 32)
            masters.append((files / f"{row}.jpg", len(content), hashlib.sha256(content).hexdigest()))
            masters[-1][0].write_bytes(content)
        else:
            os.link(masters[-1][0], files / f"{row}.jpg")
        rows.append((f"{row}.jpg", *masters[-1][1:], row))
    book.execute("DELETE FROM attachment WHERE id NOT IN (SELECT id FROM attachment ORDER BY id LIMIT ?)", (count,))
    book.executemany("UPDATE attachment SET file = ?, bytes = ?, digest = ? WHERE id = ?", rows)
    book.commit()
    book.close()
    return len(rows)


def visit(bench, number, jobs, took, wrong):
    device = Device(bench, source=f"127.0.1.{number + 1}")
    for request in range(REQUESTS):
        job = (number * 7919 + request * 104729) % jobs + 1
        path = ("/", f"/job/{job:04d}", f"/job/{job:04d}?at=findings", "/find?words=name1", f"/job/{job:04d}/photos")[request % 5]
        began = time.monotonic()
        answer = device.get(path)
        took.append(time.monotonic() - began)
        if answer.status != 200:
            wrong.append((path, answer.status))


def visit_all(bench, devices, jobs):
    fields = pathlib.Path(f"/proc/{bench.process.pid}/stat")

    def used():
        words = fields.read_text().rsplit(") ", 1)[1].split()
        return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")

    took, wrong = [], []
    before, began = used(), time.monotonic()
    threads = [threading.Thread(target=visit, args=(bench, number, jobs, took, wrong)) for number in range(devices)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    whole, work = time.monotonic() - began, used() - before
    peak = next(line.split()[1] for line in pathlib.Path(f"/proc/{bench.process.pid}/status").read_text().splitlines() if line.startswith("VmHWM"))
    print(f"  {devices} devices, {len(took)} pages asked for without a pause: {len(took) / whole:.0f} pages a second, "
          f"{1000 * work / len(took):.1f} ms of the processor each")
    print(f"  answered in {1000 * statistics.median(took):.0f} ms (median), {1000 * sorted(took)[int(0.95 * len(took))]:.0f} ms (95 %), "
          f"{1000 * max(took):.0f} ms at most; {len(wrong)} refused; the server's memory at most {int(peak) / 1024:.0f} MiB")
    for path, status in wrong[:5]:
        print(f"    {path}: {status}")


def main(program, large_shop, jobs, photographs, devices, folder):
    shop = pathlib.Path(folder) / "shop"
    calls = {"board": ["board"], "a search": ["book", "search", "name1"], "one job": ["job", "show", str(jobs // 2)], "a new customer": ["customer", "add", "name=One More"]}
    print(f"{jobs} jobs, {photographs} photographs, {devices} devices; load of the computer before: {os.getloadavg()[0]:.0f} on {os.cpu_count()} cores")
    print(f"  {'':<52}{'on the clock':>11}{'processor':>11}")
    if not shop.exists():
        timed("the book is filled", lambda: subprocess.run([large_shop, str(jobs), str(shop)], check=True))
    timed("and its photographs", lambda: add_photographs(shop, photographs))
    print(f"  the book's file: {(shop / 'book.sqlite').stat().st_size / 1e6:.0f} MB")

    def call(*words):
        subprocess.run([program, *words, "--book", str(shop)], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    for name, words in calls.items():
        timed(name, lambda words=words: call(*words))
    if photographs <= COPIED_MOST:      # each is forced to the disk
        timed("the first backup", lambda: call("book", "backup", str(pathlib.Path(folder) / "backup")))
        timed("the next backup", lambda: call("book", "backup", str(pathlib.Path(folder) / "backup")))
    with Bench(program, shop) as bench:
        Device(bench).get("/")
        visit_all(bench, devices, jobs)


if __name__ == "__main__":
    words = sys.argv[1:]
    if len(words) > 5:
        main(words[0], words[1], *map(int, words[2:5]), words[5])
    else:
        with tempfile.TemporaryDirectory() as made:
            main(words[0], words[1], *map(int, words[2:5]), made)
