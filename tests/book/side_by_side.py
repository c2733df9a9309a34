#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The bench's pages, commands beside them and programs that are killed, in every order: what was acknowledged is there
afterwards, the pages answer, and the check says so. Nothing here waits for a time: each step ends by itself."""
import concurrent.futures
import fcntl
import functools
import itertools
import json
import os
import pathlib
import re
import struct
import subprocess
import sys
import tempfile

sys.path[:0] = [str(pathlib.Path(__file__).resolve().parent.parent / folder) for folder in ("web", "cli")]
from bench import Bench, Device, Tap  # noqa: E402
from support import alike  # noqa: E402

PNG = bytes.fromhex("89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8cfc0"
                    "000003010100c9fe92ef0000000049454e44ae426082")
PAGES = ["/", "/book", "/book/customer", "/find?words=a", "/shop", "/shop/backup", "/job/0001", "/job/0001/photos"]


class Shop:
    """A book, the bench that serves it, and what was acknowledged so far."""

    def __init__(self, program, folder):
        self.program, self.folder, self.count, self.troubles = program, folder, 0, []
        self.kept = {"customer": set(), "stock": set(), "finding": set(), "job": set(), "attachment": set()}
        self.phone = ""
        self.call("book", "new")
        self.call("customer", "add", "name=First")
        self.call("job", "open", "customer_id=1")
        self.start()

    def call(self, *words):
        done = subprocess.run([self.program, *words, "--book", self.folder], capture_output=True, text=True, check=False)
        if done.returncode:
            self.troubles.append(f"{' '.join(words)}: {done.returncode} {done.stdout}{done.stderr}")
        return done

    def start(self):
        self.bench = Bench(self.program, self.folder)
        self.device = Device(self.bench)
        self.device.get("/")  # its session and form token, before it asks for several pages at once
        self.look()

    def at_once(self, asks):
        """What each of ASKS returns, all of them running at the same time: the bench then needs several handles on the
        book."""
        with concurrent.futures.ThreadPoolExecutor(len(asks)) as threads:
            return [started.result() for started in [threads.submit(ask) for ask in asks]]

    def look(self):
        pages = [functools.partial(self.device.get, page) for page in PAGES]
        for page, answer in zip(PAGES, self.at_once(pages)):
            if answer.status != 200:
                self.troubles.append(f"{page} answers {answer.status}")

    def name(self, word):
        self.count += 1
        return f"{word} {self.count}"

    def pages(self):
        """Writes from six pages at once."""
        customer, stock, finding, job, phone, picture = [
            self.name(word) for word in ("customer", "stock", "finding", "job", "0100", "picture")]
        writes = {
            ("customer", customer): ("/record/customer", {"name": customer}),
            ("stock", stock): ("/record/stock", {"number": stock, "name": "belt"}),
            ("finding", finding): ("/record/finding", {"job_id": "1", "symptom": finding}),
            ("job", job): ("/job/new", {"make": "Plain", "model": job, "words": job, "name": job}),
            ("phone", phone): ("/shop/settings/shop.phone", {"value": phone}),
        }
        asks = [functools.partial(self.device.post, *write) for write in writes.values()]
        asks.append(functools.partial(self.device.send, "/job/0001/photos", {}, [("chosen", picture + ".png", PNG)]))
        for (table, word), answer in zip([*writes, ("attachment", picture + ".png")], self.at_once(asks)):
            if answer.status not in (200, 303):
                self.troubles.append(f"{word} was answered {answer.status}")
            elif table == "phone":
                self.phone = word
            else:
                self.kept[table].add(word)

    def command(self):
        """A command that reads, one that writes."""
        self.call("board")
        name = self.name("command customer")
        if self.call("customer", "add", "name=" + name).returncode == 0:
            self.kept["customer"].add(name)

    def kill_command(self):
        """Commands killed: one wherever it is just then, which told nobody that anything was kept; one as soon as it
        has said so."""
        for wait in (False, True):
            name = self.name("killed")
            killed = subprocess.Popen([self.program, "customer", "add", "name=" + name, "--book", self.folder],
                                      stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
            if wait and killed.stdout.readline().startswith("customer"):
                self.kept["customer"].add(name)
            killed.kill()
            killed.communicate()

    def kill_bench(self):
        self.bench.process.kill()
        self.bench.process.communicate()
        self.start()

    def end_bench(self):
        status, errors = self.bench.end()
        if status or errors:
            self.troubles.append(f"the bench ended with {status}: {errors}")
        self.start()

    def lost(self):
        """What was acknowledged and is not in the export."""
        with tempfile.TemporaryDirectory() as place:
            if self.call("book", "export", place + "/all").returncode:
                return ["everything"]
            text = (pathlib.Path(place) / "all/export.json").read_text(encoding="utf-8")
            book = json.loads(text)
        found = {"customer": {row["name"] for row in book["customer"]}, "stock": {row["number"] for row in book["stock"]},
                 "finding": {row["symptom"] for row in book["finding"]}, "job": {row["model"] for row in book["deck"]},
                 "attachment": {row["original_name"] for row in book["attachment"]}}
        gone = [word for table, words in self.kept.items() for word in words - found[table]]
        return gone + ([] if book["settings"]["shop.phone"] == self.phone else ["the telephone"])

    def verify(self):
        """The troubles since the last time."""
        self.look()
        check = self.call("book", "check")
        if "The book is sound." not in check.stdout:
            self.troubles.append(check.stdout + check.stderr)
        self.troubles += ["lost: " + word for word in self.lost()]
        said, self.troubles = self.troubles, []
        return "\n".join(said)


def mix(tap, program, folder):
    shop = Shop(program, folder)
    acts = [Shop.pages, Shop.command, Shop.kill_command, Shop.kill_bench]
    total = 0
    for order in itertools.islice(itertools.permutations(acts), 0, None, alike(1, 5)):
        for act in order:
            act(shop)
        # What came last is the least settled: it must outlive both ends of the bench.
        (Shop.kill_bench, Shop.end_bench)[total % 2](shop)
        total += 1
        tap.say("kept: " + ", ".join(act.__name__ for act in order), shop.verify())
    kept = sum(len(words) for words in shop.kept.values())
    print(f"# {kept} acknowledged writes in {total} orders")
    shop.bench.end()
    


def refused(done, *words):
    """What is wrong with a call that was to be refused with one line that has WORDS."""
    whole = done.stdout + done.stderr
    good = done.returncode == 2 and done.stderr.count("\n") == 1 and all(word in done.stderr for word in words)
    return "" if good else f"exit {done.returncode}: {whole}"


def half_upload(shop):
    """A picture of which the bench has the first part on its disk. Returns the connection and the rest."""
    mark, picture = "mark", PNG + bytes(300000)
    body = (f'--{mark}\r\nContent-Disposition: form-data; name="form_token"\r\n\r\n{shop.device.form_token}\r\n--{mark}\r\n'
            f'Content-Disposition: form-data; name="chosen"; filename="slow.png"\r\n\r\n').encode() + picture
    body += f"\r\n--{mark}--\r\n".encode()
    connection = shop.device.connect()
    connection.putrequest("POST", "/job/0001/photos")
    cookie = "; ".join(f"{key}={value}" for key, value in shop.device.cookies.items())
    for key, value in (("Cookie", cookie), ("Content-Type", f"multipart/form-data; boundary={mark}"),
                       ("Content-Length", str(len(body)))):
        connection.putheader(key, value)
    connection.endheaders()
    connection.send(body[:200000])
    incoming = pathlib.Path(shop.folder) / "incoming"
    while not any(path.stat().st_size for path in incoming.iterdir()):
        os.sched_yield()
    return connection, body[200000:]


def second_bench(tap, program, folder):
    """Another bench leaves alone what the running one is taking in; what an earlier run left goes."""
    shop = Shop(program, folder)
    incoming = pathlib.Path(folder) / "incoming"
    connection, rest = half_upload(shop)
    for port in (shop.bench.port, 0):
        done = subprocess.run([program, "bench", f"port={port}", "--book", folder], capture_output=True, text=True,
                              check=False)
        tap.say(f"a second bench on port {'taken' if port else 'of its own'} is refused",
                refused(done, f"http://127.0.0.1:{shop.bench.port}/", f"process {shop.bench.process.pid}"))
    # Another book's bench cannot have the port, and touches nothing of its own book either.
    other = folder + "-other"
    subprocess.run([program, "book", "new", "--book", other], check=True, stdout=subprocess.DEVNULL)
    left = pathlib.Path(other) / "incoming/left"
    left.parent.mkdir()
    left.write_text("of an earlier run")
    done = subprocess.run([program, "bench", f"port={shop.bench.port}", "--book", other], capture_output=True, text=True,
                          check=False)
    tap.say("a taken port is refused", not (done.returncode == 1 and "cannot listen" in done.stderr))
    tap.say("and nothing was cleared for it", not left.exists())
    connection.send(rest)
    answer = connection.getresponse()
    answer.read()
    tap.say("the upload that was under way is kept", "" if answer.status == 303 else f"answered {answer.status}")
    (incoming / "export-half").mkdir()
    (incoming / "export-half/customer.csv").write_text("a person")
    shop.end_bench()
    tap.say("what an earlier run left is cleared", [path.name for path in incoming.iterdir()])
    shop.bench.end()


def alone(tap, program, folder):
    """What needs the book alone says who has it, and leaves it as it is."""
    shop = Shop(program, folder)
    shop.pages()
    stick = folder + "-stick"
    shop.call("book", "backup", stick)
    shop.pages()
    tap.say("a restore beside the bench is refused",
            refused(shop.bench.call("book", "restore", stick), "The bench has the job book",
                    f"http://127.0.0.1:{shop.bench.port}/", "End it first"))
    stranger = pathlib.Path(folder) / "attachments/0123456789abcdef.png"
    stranger.write_bytes(PNG)
    check = shop.call("book", "check").stdout
    tap.say("a check beside the bench moves nothing", not ("left where they are" in check and stranger.exists()))
    tap.say("and nothing is lost by either", shop.verify())
    shop.bench.end()
    tap.say("without the bench it moves it", not ("orphans: 1" in shop.call("book", "check").stdout and not stranger.exists()))
    # As a command has the book alone: locks of an open file description (fcntl(2)) on the first two bytes.
    with open(folder + "/lock", "r+b") as lock:
        fcntl.fcntl(lock, fcntl.F_OFD_SETLK, struct.pack("hhqqi4x", fcntl.F_WRLCK, os.SEEK_SET, 0, 2, 0))
        tap.say("a restore beside another command is refused in the end",
                refused(shop.bench.call("book", "restore", stick), "Another deckwright command"))
    # A killed bench has nothing any more.
    shop.start()
    shop.bench.process.kill()
    shop.bench.process.communicate()
    restored = shop.call("book", "restore", stick)
    tap.say("after a kill the restore is made", restored.stderr)
    tap.say("what was there before is moved aside", not (pathlib.Path(folder + ".before-restore-1") / "book.sqlite").exists())


def removed(tap, program, folder):
    """Somebody removes the log of changes under a running bench: it acknowledges nothing any more, and no check calls
    the book sound while its pages fail."""
    shop = Shop(program, folder)
    shop.pages()
    for name in ("book.sqlite-wal", "book.sqlite-shm"):
        (pathlib.Path(folder) / name).unlink()
    answer = shop.device.post("/record/customer", {"name": "into nowhere"})
    said = re.sub("<[^>]*>", "", answer.text)
    tap.say("a change is not acknowledged", "" if answer.status == 500 and "removed or exchanged" in said else said)
    check = shop.bench.call("book", "check")
    tap.say("the check does not call it sound",
            "" if check.returncode and "sound" not in check.stdout else check.stdout + check.stderr)
    shop.bench.end()
    shop.troubles = []
    shop.start()
    tap.say("a new bench works", shop.troubles)
    shop.bench.end()


def missing(tap, program, folder):
    """A backup from the page names what of the pictures is missing, and is made."""
    shop = Shop(program, folder)
    shop.pages()
    gone = next((pathlib.Path(folder) / "attachments").iterdir())
    shop.device.post("/shop/settings/backup.folder", {"value": folder + "-stick"})
    tap.say("a whole backup goes back to its page", not (shop.device.post("/shop/backup", {}).status == 303))
    gone.unlink()
    answer = shop.device.post("/shop/backup", {})
    tap.say("a picture that is missing is named", not (answer.status == 200 and gone.name in answer.text
                                                       and "whole in the copy" in answer.text))
    tap.say("the backup is made", not (pathlib.Path(folder + "-stick") / "backup.sqlite").exists())
    shop.bench.end()


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        mix(tap, program, folder + "/shop")
        second_bench(tap, program, folder + "/second")
        alone(tap, program, folder + "/alone")
        removed(tap, program, folder + "/removed")
        missing(tap, program, folder + "/missing")
    return tap.end()


sys.exit(main(sys.argv[1]))
