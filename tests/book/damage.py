#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What was damaged, lost or put in a book's place: it is named, all the rest stays within reach, and nothing is taken for
a new book."""
import hashlib
import json
import os
import pathlib
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from support import Tap, png  # noqa: E402

# What stands behind a picture's end is no part of it. Source (published): ISO/IEC 15948, 5.6.
PICTURES = {"front.jpg": png() + b"front of the deck" * 500, "arm.jpg": png() + b"the arm" * 900, "belt.jpg": png() + b"the old belt" * 700}


class Book:
    def __init__(self, program, place):
        self.program, self.place = program, pathlib.Path(place)
        self.folder, self.files = self.place / "shop", {}
        self.place.mkdir()
        for words in (("book", "new"), ("customer", "add", "name=Ada Sample"), ("job", "open", "customer_id=1")):
            self.call(*words, check=True)
        for name, content in PICTURES.items():
            before = set(self.attachments())
            (self.place / name).write_bytes(content)
            self.call("job", "attach", "1", str(self.place / name), check=True)
            self.files[name] = (set(self.attachments()) - before).pop()

    def attachments(self):
        return list((self.folder / "attachments").iterdir())

    def call_that_ends(self, *words):
        """The same of what may be a bench: one that starts says so first, and is ended."""
        with subprocess.Popen([self.program, *words, "--book", str(self.folder)], stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE, text=True) as process:
            first = process.stdout.readline()
            if first.startswith("The bench is at"):
                process.terminate()
            out, errors = process.communicate()
            return subprocess.CompletedProcess(words, process.returncode, first + out, errors)

    def call(self, *words, check=False, folder=None):
        return subprocess.run([self.program, *map(str, words), "--book", str(folder or self.folder)],
                              capture_output=True, text=True, check=check)


def expect(done, status, *words, never=()):
    """What is wrong with a call that was to end with STATUS and WORDS among what it said."""
    said = done.stdout + done.stderr
    good = done.returncode == status and all(word in said for word in words) and not any(word in said for word in never)
    return "" if good else f"exit {done.returncode}: {said}"


def contents(folder):
    return sorted(hashlib.sha256(path.read_bytes()).hexdigest() for path in pathlib.Path(folder).iterdir())


def digests(*pictures):
    return sorted(hashlib.sha256(content).hexdigest() for content in pictures)


def flip(path):
    """One bit of the file, the size as before."""
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)
    return bytes(content)


def backups(tap, program, place):
    book = Book(program, place)
    stick, late = book.place / "stick", book.place / "late"
    tap.say("a whole book's backup says nothing else", expect(book.call("book", "backup", stick), 0, "is backed up"))
    book.files["arm.jpg"].unlink()
    changed = flip(book.files["belt.jpg"])
    done = book.call("book", "backup", late)
    tap.say("a missing and a changed picture are named, the backup is made",
            expect(done, 1, book.files["arm.jpg"].name, "arm.jpg", "is missing", book.files["belt.jpg"].name, "belt.jpg",
                   "of job 0001", "not as it was", never=["front.jpg"]))
    tap.say("it holds all that could be read, the changed one as it is",
            not contents(late / "attachments") == digests(PICTURES["front.jpg"], changed))
    done = book.call("book", "backup", stick)
    tap.say("an earlier backup keeps its whole ones", expect(done, 1, "whole in the copy"))
    tap.say("as they were", not contents(stick / "attachments") == digests(*PICTURES.values()))
    done = book.call("book", "export", book.place / "out")
    tap.say("an export names them too", expect(done, 1, "arm.jpg", "is missing", "belt.jpg", "not as it was"))
    exported = json.loads((book.place / "out/export.json").read_text()) if (book.place / "out/export.json").exists() else {}
    tap.say("and is whole but for them", not (len(exported.get("attachment", [])) == 3 and contents(
        book.place / "out/attachments") == digests(PICTURES["front.jpg"], changed)))
    tap.say("a customer's export as well", expect(book.call("book", "export", book.place / "one", 1), 1, "arm.jpg"))
    done = book.call("book", "restore", late, folder=book.place / "again")
    tap.say("such a backup comes back with what it has", expect(done, 1, "is missing", "not as it was"))
    tap.say("and can be worked with", expect(book.call("customer", "list", folder=book.place / "again"), 0, "Ada Sample"))
    tap.say("its check is not content", expect(book.call("book", "check", folder=book.place / "again"), 1, never=["sound"]))
    flip(next((stick / "attachments").iterdir()))
    done = book.call("book", "restore", stick, folder=book.place / "third")
    tap.say("a picture damaged in the backup is named", expect(done, 1, "not as it was"))


def next_second():
    begun = int(time.time())
    while int(time.time()) == begun:
        time.sleep(0.02)


def healing(tap, program, place):
    book = Book(program, place)
    stick = book.place / "stick"
    book.call("book", "backup", stick, check=True)
    flip(stick / "attachments" / book.files["arm.jpg"].name)
    tap.say("a picture damaged in the backup is written anew", expect(book.call("book", "backup", stick), 0))
    tap.say("whole", not contents(stick / "attachments") == digests(*PICTURES.values()))
    flip(stick / "attachments" / book.files["arm.jpg"].name)
    tap.say("a restore takes it from the book that is there", expect(book.call("book", "restore", stick), 0, "before-restore-1"))
    tap.say("and the book is sound", expect(book.call("book", "check"), 0, "3 attachments read. The book is sound."))
    next_second()  # books whose journals are alike to the second are one to a backup
    other = Book(program, str(place) + "-other")
    before = contents(stick / "attachments")
    tap.say("another book's backup is not written over", expect(other.call("book", "backup", stick), 2, "another book"))
    tap.say("and is as it was", not contents(stick / "attachments") == before)


def put_in_place(kind, book):
    """Puts something in the place of the book's database."""
    path = book.folder / "book.sqlite"
    whole = path.read_bytes()
    for name in ("book.sqlite-wal", "book.sqlite-shm"):
        (book.folder / name).unlink(missing_ok=True)
    path.unlink()
    if kind == "empty":
        path.write_bytes(b"")
    elif kind == "folder":
        path.mkdir()
    elif kind == "other":
        with sqlite3.connect(path) as database:
            database.execute("CREATE TABLE letters (words)")
        database.close()
    elif kind == "bare":
        with sqlite3.connect(path) as database:
            database.execute("CREATE TABLE t (x)")
            database.execute("DROP TABLE t")
        database.close()
    elif kind == "newer":
        path.write_bytes(whole)
        with sqlite3.connect(path) as database:
            database.execute("PRAGMA user_version = 99")
        database.close()
    elif kind.startswith("cut"):
        path.write_bytes(whole[:int(kind.split()[1])])


def lost(tap, program, place):
    book = Book(program, place)
    stick = book.place / "stick"
    book.call("book", "backup", stick, check=True)
    size = (book.folder / "book.sqlite").stat().st_size
    kinds = ["missing", "empty", "folder", "other", "bare", "newer",
             *(f"cut {length}" for length in (1, 16, 50, 99, 100, 511, 512, 4095, 4096, 8192, size // 2, size - 1))]
    saved = book.place / "saved"
    shutil.copytree(book.folder, saved)
    for kind in kinds:
        put_in_place(kind, book)
        troubles = []
        calls = [("book", "new"), ("book", "check"), ("customer", "list"), ("bench", "port=0")]
        if kind == f"cut {size - 1}":  # a page with its end missing can still be read, and only the check may tell
            calls = [("book", "check")]
        for words in calls:
            done = book.call_that_ends(*words)
            if done.returncode not in (1, 2) or "sound" in done.stdout or done.stderr.count("\n") != 1:
                troubles.append(f"{' '.join(words)}: exit {done.returncode}: {done.stdout}{done.stderr}")
            elif kind not in ("newer", f"cut {size - 1}") and str(stick) not in done.stderr:
                troubles.append(f"{' '.join(words)} does not say which backup: {done.stderr}")
        if contents(book.folder / "attachments") != digests(*PICTURES.values()) or (book.folder / "orphans").exists():
            troubles.append("the pictures were touched")
        tap.say(f"{kind} in its place is no new book", "\n".join(troubles))
        done = book.call("book", "restore", stick)
        sound = book.call("book", "check")
        tap.say("the backup takes its place", expect(done, 0) + expect(sound, 0, "3 attachments read. The book is sound."))
        shutil.rmtree(book.folder)
        for path in book.place.glob("shop.*"):
            shutil.rmtree(path)
        shutil.copytree(saved, book.folder)


def traces(tap, program, place):
    """Each trace alone keeps a folder from being a new book; without any it is one."""
    pathlib.Path(place).mkdir()
    call = lambda folder: subprocess.run([program, "book", "new", "--book", str(folder)], capture_output=True, text=True,
                                         check=False)
    for number, trace in enumerate(("attachments/a.jpg", "orphans/a.jpg", "before-migration/version-1.sqlite", "lock",
                                    "book.sqlite-wal", "backup.sqlite", "book.sqlite")):
        folder = pathlib.Path(place) / str(number)
        (folder / trace).parent.mkdir(parents=True)
        (folder / trace).write_bytes(b"" if trace == "book.sqlite" else b"something")
        tap.say(f"with only {trace} there it is none", expect(call(folder), 2, "restore"))
    folder = pathlib.Path(place) / "begun"
    (folder / "attachments").mkdir(parents=True)
    (folder / "lock").write_bytes(b"")
    (folder / "book.sqlite.new").write_bytes(b"half")
    tap.say("a beginning that was interrupted is begun again", expect(call(folder), 0))
    (pathlib.Path(place) / "shop.restoring").mkdir()
    tap.say("nor is a restore that was interrupted", expect(call(pathlib.Path(place) / "shop"), 2, "interrupted"))


def entries_gone(tap, program, place):
    """A database without the rows of the pictures that lie beside it."""
    book = Book(program, place)
    for i in range(12):
        (book.folder / f"attachments/{i:016x}.jpg").write_bytes(b"x")
    done = book.call("book", "check")
    tap.say("pictures whose entries are gone stay where they are", expect(done, 1, "entries are lost", never=["sound"]))
    tap.say("all of them", not (len(book.attachments()) == 15))
    done = book.call("job", "attach", 1, book.folder / "book.sqlite")
    tap.say("the database itself is not attached", expect(done, 2, "is the book itself"))


def mending(tap, program, place):
    """Attachments come back by their digest, from a backup of any day, under whatever name they have there."""
    book = Book(program, f"{place}/mending")
    stick, shop = book.place / "stick", book.folder / "attachments"
    tap.say("there is a backup", expect(book.call("book", "backup", stick), 0))
    flip(shop / book.files["belt.jpg"].name)
    changed = (shop / book.files["belt.jpg"].name).read_bytes()
    (shop / book.files["arm.jpg"].name).unlink()
    digest = hashlib.sha256(PICTURES["arm.jpg"]).hexdigest()
    tap.say("a check prints the digest of what is missing", expect(book.call("book", "check"), 1, digest[:16], "book mend"))
    tap.say("one is taken by its digest", expect(book.call("book", "mend", stick, digest), 0, "taken from the backup: 1"))
    tap.say("one that nobody has is refused", expect(book.call("book", "mend", stick, "0123456789abcdef"), 2, "No attachment"))
    tap.say("what is no digest too", expect(book.call("book", "mend", stick, "arm.jpg"), 2, "neither an attachment's file nor a SHA-256"))
    tap.say("and a file that there is not", expect(book.call("book", "mend", stick, "nothing-like-it.jpg"), 2, "has the name nothing-like-it.jpg"))
    for name in (book.files["arm.jpg"].name, f"attachments/{book.files['arm.jpg'].name}"):
        flip(book.folder / "attachments" / book.files["arm.jpg"].name)
        tap.say("it is named by its file too", expect(book.call("book", "mend", stick, name), 0, "taken from the backup: 1"))
        tap.say("and whole again", (shop / book.files["arm.jpg"].name).read_bytes() != PICTURES["arm.jpg"])
    tap.say("and a folder that is no backup", expect(book.call("book", "mend", book.place), 2, "no backup"))
    (stick / "attachments" / book.files["belt.jpg"].name).rename(stick / "attachments" / "another-name")
    tap.say("the rest is taken under another name", expect(book.call("book", "mend", stick), 0, "backup: 1", "as they were: 2"))
    tap.say("the book is sound again", expect(book.call("book", "check"), 0, "3 attachments read. The book is sound."))
    tap.say("what stood in its place is kept", (book.folder / "orphans" / book.files["belt.jpg"].name).read_bytes() != changed)
    (shop / book.files["front.jpg"].name).unlink()
    (stick / "attachments" / book.files["front.jpg"].name).unlink()
    tap.say("what the backup has not is named", expect(book.call("book", "mend", stick), 1, "not in this backup either"))


def erased_again(tap, program, place):
    """Who was erased after a backup was made does not come back with it, even when the book it replaces is gone."""
    for kind in ("whole", "gone"):
        book = Book(program, f"{place}/erased-{kind}")
        stick = book.place / "stick"
        book.call("customer", "add", "name=Bo Sample", "phone=555", check=True)
        book.call("book", "backup", stick, check=True)
        book.call("book", "erase", 2, check=True)
        if kind == "gone":
            put_in_place("gone", book)
        tap.say(f"a restore says so (book {kind})", expect(book.call("book", "restore", stick), 0, "erased in it again: 1"))
        listed = book.call("customer", "list")
        tap.say(f"the erased one is not back (book {kind})", expect(listed, 0, "Ada Sample", never=["Bo Sample"]))
        book.call("book", "restore", stick, check=True)
        tap.say(f"nor with the next restore (book {kind})", expect(book.call("customer", "list"), 0, never=["Bo Sample"]))
        tap.say(f"the book is sound (book {kind})", expect(book.call("book", "check"), 0, "The book is sound."))


def reminders(tap, program, place):
    """A backup that is as old as the shop's setting says is asked for; days are told by the file that a backup writes."""
    book = Book(program, f"{place}/reminders")
    tap.say("a new book asks for nothing yet", expect(book.call("board"), 0, never=["backed up", "backup"]))
    book.call("book", "backup", book.place / "stick", check=True)
    note = book.folder / "last-backup"
    for days, asks in ((6, False), (8, True)):
        os.utime(note, (time.time() - days * 86400 - 60,) * 2)
        for words in (("board",), ("book", "check")):
            tap.say(f"after {days} days {' '.join(words)} {'asks' if asks else 'does not ask'} for another", expect(
                book.call(*words), 0, *([f"{days} days old"] if asks else []), never=[] if asks else ["days old"]))
    book.call("book", "settings", "backup.remind_days=0", check=True)
    tap.say("0 never asks", expect(book.call("board"), 0, never=["days old"]))
    book.call("book", "settings", "backup.remind_days=30", check=True)
    note.unlink()
    tap.say("one that was made today and never backed up neither", expect(book.call("board"), 0, never=["days old"]))


def logo(tap, program, place):
    """The shop's logo is the book's own, wherever it came from."""
    book = Book(program, f"{place}/logo")
    sign, stick = book.place / "sign.jpg", book.place / "stick"
    for content in (png() + b"first sign" * 90, png() + b"second sign" * 90):
        sign.write_bytes(content)
        tap.say("a logo is taken into the book", expect(book.call("book", "settings", f"shop.logo={sign}"), 0, " attachments/"))
        sign.unlink()
        tap.say("a backup holds it", expect(book.call("book", "backup", stick), 0))
        tap.say("and no earlier one", not contents(stick / "attachments") == digests(*PICTURES.values(), content))
    tap.say("the book is no logo", expect(book.call("book", "settings", f"shop.logo={book.folder}/book.sqlite"), 2, "no PNG or JPEG"))
    tap.say("it is taken away again", expect(book.call("book", "settings", "shop.logo="), 0, never=["attachments/"]))
    tap.say("the book is sound", expect(book.call("book", "check"), 0, "3 attachments read. The book is sound."))


def kinds(tap, program, place):
    book = Book(program, f"{place}/kinds")
    # Source (published): RIFF/WAVE by EBU Tech 3306, PDF by ISO 32000-1 7.5.2: only the first bytes count.
    for name, head, wanted, words in (("hum.dat", b"RIFF\x24\0\0\0WAVEfmt ", "recording", ()), ("note", b"%PDF-1.7\n", "document", ()),
                                      ("box.bin", png(), "photo", ()), ("tip.bin", png() + b"tip", "stylus image", ("kind=stylus-image",)),
                                      ("old.xyz", b"nobody knows", "document", ("kind=document",))):
        (book.place / name).write_bytes(head + bytes(200))
        tap.say(f"{name} is kept as {wanted}", expect(book.call("job", "attach", 1, book.place / name, *words), 0, wanted))
    once = book.call("job", "attach", 1, book.place / "box.bin")
    tap.say("the same picture twice is told", expect(once, 0, "in the book already: attachment 6 of job 0001", "Both are kept"))


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as place:
        backups(tap, program, place + "/backups")
        healing(tap, program, place + "/healing")
        lost(tap, program, place + "/lost")
        traces(tap, program, place + "/traces")
        entries_gone(tap, program, place + "/entries")
        mending(tap, program, place)
        erased_again(tap, program, place)
        logo(tap, program, place)
        reminders(tap, program, place)
        kinds(tap, program, place)
    return tap.end()


if __name__ == "__main__":
    os.environ["LC_ALL"] = "C.UTF-8"
    sys.exit(main(os.path.abspath(sys.argv[1])))
