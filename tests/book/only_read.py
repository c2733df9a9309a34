#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A book on a disk without a free byte, or on one that can only be read: everything is shown, listed, checked, exported,
backed up and printed to another place, and the bench's pages come; a change is refused in one line and leaves nothing. Its
disk is a small one in memory that only this test sees; where a user may not make one, it is passed over."""
import os
import pathlib
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import urllib.request

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from support import Tap, png  # noqa: E402

LISTS = (("customer", "list"), ("board",), ("job", "show", "1"), ("book", "check"), ("book", "journal"),
         ("book", "search", "Ada"), ("book", "settings"), ("book", "due"))
PAGES = ("/", "/job/1", "/job/1/photos", "/job/1/papers", "/book/customer", "/shop/settings", "/photo/1", "/find?q=Ada")
CHANGES = (("customer", "add", "name=Bo Sample"), ("job", "add", "1", "finding", "symptom=x"), ("book", "settings", "shop.name=x"))

def call(program, folder, *words):
    return subprocess.run([program, *map(str, words), "--book", str(folder)], capture_output=True, text=True, check=False)


def make_shop(program, place):
    shop = place / "shop"
    for words in (("book", "new"), ("customer", "add", "name=Ada Sample"), ("job", "open", "customer_id=1"),
                  ("job", "add", "1", "intake", "words=It hums.")):
        done = call(program, shop, *words)
        assert done.returncode == 0, done.stderr
    (place / "deck.png").write_bytes(png())
    done = call(program, shop, "job", "attach", "1", place / "deck.png")
    assert done.returncode == 0, done.stderr
    return shop


def leave_in_log(program, shop):
    """The customer gets another name, and the power is lost: the change is in the log alone."""
    reader = sqlite3.connect(shop / "book.sqlite")
    reader.execute("SELECT * FROM customer").fetchall()  # as long as this has it open the log stays
    done = call(program, shop, "customer", "show", "1", "name=Ada Renamed")
    kept = {name: (shop / name).read_bytes() for name in ("book.sqlite", "book.sqlite-wal")}
    reader.close()
    assert done.returncode == 0 and len(kept["book.sqlite-wal"]) > 4096, done.stderr
    for name, content in kept.items():
        (shop / name).write_bytes(content)
        (shop / name).chmod(0o600)


def state(folder):
    """Its files but SQLite's index of the log, which holds nothing of its own, and an empty log."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*"))
            if path.is_file() and path.name != "book.sqlite-shm" and (path.stat().st_size or path.name != "book.sqlite-wal")}


def pages(program, shop):
    """What is wrong with the bench's pages."""
    with subprocess.Popen([program, "bench", "port=0", "--book", str(shop)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as bench:
        found = re.search(r"http://\S+?/", bench.stdout.readline())
        if not found:
            return bench.communicate()[1]
        wrong = []
        for page in PAGES:
            try:
                with urllib.request.urlopen(found[0][:-1] + page, timeout=60) as answer:
                    wrong += [] if answer.read() else [f"{page}: nothing"]
            except OSError as error:
                wrong.append(f"{page}: {error}")
        bench.terminate()
        bench.communicate()
        return "; ".join(wrong)


def try_all(tap, program, shop, place, what):
    before = state(shop)
    name = "Ada Renamed" if "log" in what else "Ada Sample"
    wrong = [f"{' '.join(words)}: {done.returncode} {done.stdout} {done.stderr}" for words in LISTS
             if (done := call(program, shop, *words)).returncode != 0 or "can be read" not in done.stderr]
    tap.say(f"{what}: what is in the book is shown", "\n".join(wrong))
    done = call(program, shop, "customer", "list")
    tap.say(f"{what}: up to the last change", "" if name in done.stdout else done.stdout + done.stderr)
    away = place / re.sub(r"\W", "", what)
    wrong = [f"{' '.join(map(str, words))}: {done.stderr}" for words in (
        ("book", "export", away / "export"), ("book", "backup", away / "backup"), ("report", "receipt", 1, "--out", away / "receipt.pdf"))
        if (away.mkdir(exist_ok=True) or (done := call(program, shop, *words))).returncode != 0]
    tap.say(f"{what}: it is exported, backed up and printed to another place", "\n".join(wrong))
    done = call(program, away / "again", "book", "restore", away / "backup")
    done = call(program, away / "again", "customer", "list") if done.returncode == 0 else done
    tap.say(f"{what}: that backup comes back whole", "" if name in done.stdout else done.stdout + done.stderr)
    tap.say(f"{what}: the bench's pages come", pages(program, shop))
    wrong = [f"{' '.join(words)}: {done.returncode} {done.stderr}" for words in CHANGES
             if (done := call(program, shop, *words)).returncode != 1 or done.stderr.count("\n") != 1 or "Nothing was changed" not in done.stderr]
    tap.say(f"{what}: a change is refused in one line", "\n".join(wrong))
    after = state(shop)
    changed = sorted(name for name in {**before, **after} if before.get(name) != after.get(name) and name != "lock")
    tap.say(f"{what}: nothing was written", ", ".join(changed))


def mount(*words):
    return subprocess.run(["mount", *map(str, words)], capture_output=True, text=True, check=False)


def on_own_disks(program, place):
    tap = Tap()
    place = pathlib.Path(place)
    shop = make_shop(program, place)
    for log in (False, True):
        disk = place / f"disk{log:d}"
        disk.mkdir()
        mounted = mount("-t", "tmpfs", "-o", "size=1400k", "none", disk)
        if mounted.returncode:
            print(f"1..0 # SKIP no disk of one's own: {mounted.stderr.strip()}")
            return 0
        shutil.copytree(shop, disk / "shop")
        if log:
            leave_in_log(program, disk / "shop")
        behind = " with changes in the log" if log else ""
        try:
            (disk / "fill").write_bytes(bytes(2 << 20))
        except OSError:
            pass
        try_all(tap, program, disk / "shop", place, f"full disk{behind}")
        (disk / "fill").unlink()
        mount("-o", "remount,ro", disk)
        try_all(tap, program, disk / "shop", place, f"read-only disk{behind}")
        mount("-o", "remount,rw", disk)
        done = call(program, disk / "shop", "customer", "add", "name=Cy Sample")
        tap.say(f"with room again it is changed{behind}", done.stderr)
    return tap.end()


def main(program, *place):
    if place:
        return on_own_disks(program, *place)
    program = os.path.abspath(program)
    with tempfile.TemporaryDirectory() as folder:
        alone = ["unshare", "--user", "--map-root-user", "--mount"]
        if not shutil.which("unshare") or subprocess.run([*alone, "true"], capture_output=True, check=False).returncode:
            print("1..0 # SKIP no disk of one's own: unshare")
            return 0
        return subprocess.run([*alone, sys.executable, __file__, program, folder], check=False).returncode


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
