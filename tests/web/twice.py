#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Tapped twice is done once: every form carries its word, the second of two equal posts is answered as the
first, other words are another act, and what was refused may be sent again."""
import concurrent.futures
import sqlite3
import sys
import tempfile

from bench import Bench, Device, Tap
from forms import all_pages, encoded, forms_of, in_parts

ENCODED, PARTS = "application/x-www-form-urlencoded", "multipart/form-data; boundary=a-mark"
PNG = bytes.fromhex("89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c4944415408d763f8cfc000000301010"
                    "018dd8db00000000049454e44ae426082")


class Shop:
    def __init__(self, bench):
        self.device = Device(bench)
        self.book = sqlite3.connect(f"file:{bench.folder}/book.sqlite?mode=ro", uri=True)

    def count(self, table):
        return self.book.execute(f"SELECT count(*) FROM {table}").fetchone()[0]

    def form(self, path, action):
        return next(form for form in forms_of(self.device.get(path).text) if form.method == "post" and form.action == action)

    def tap(self, action, pairs, times, headers=None):
        """Posts PAIRS so often at the same moment: {(status, where it leads or what it says)}."""
        sent = {"Content-Type": ENCODED, **(headers or {})}
        with concurrent.futures.ThreadPoolExecutor(times) as pool:
            answers = list(pool.map(lambda _: self.device.ask("POST", action, encoded(pairs), sent), range(times)))
        return {(answer.status, answer.headers.get("Location") or answer.text) for answer in answers}


def carries(tap, shop):
    without, words = [], set()
    for path, text in all_pages(shop.device):
        on_page = {form.value("once") for form in forms_of(text) if form.method == "post"}
        without += [f"{path}: {form.action}" for form in forms_of(text) if form.method == "post" and len(form.value("once") or "") != 32]
        without += [f"{path}: another page's word" for word in on_page & words]
        words |= on_page
    tap.say("every form of every page carries a word of its page's own", "\n".join(without[:10]) or ("" if len(words) > 50 else f"{len(words)} pages"))


def acts(tap, shop):
    jobs, form = shop.count("job"), shop.form("/job/new", "/job/new")
    pairs = form.pairs(make="Corvin", model="Twice")
    answers = shop.tap("/job/new", pairs, 4)
    tap.say("four taps on 'Open the job' open one", "" if shop.count("job") == jobs + 1 and len(answers) == 1 and next(iter(answers))[0] == 303 else f"{shop.count('job') - jobs} jobs, {answers}")
    again = shop.tap("/job/new", pairs, 1)
    tap.say("later it is answered the same", "" if again == answers and shop.count("job") == jobs + 1 else f"{again}")
    for name, changed in [("another word in a field", form.pairs(make="Corvin", model="Thrice")), ("a page of its own", shop.form("/job/new", "/job/new").pairs(make="Corvin", model="Twice"))]:
        jobs = shop.count("job")
        shop.tap("/job/new", changed, 2)
        tap.say(f"{name} makes it another act", "" if shop.count("job") == jobs + 1 else f"{shop.count('job') - jobs} jobs")
    form = shop.form("/job/0001?at=work", "/record/operation")
    operations = shop.count("operation")
    name = next(one.name for one in form.controls if one.kind == "text")
    said = shop.tap("/record/operation", form.pairs(**{name: "Belt changed"}), 2, {"Accept": "application/json"})
    tap.say("two taps add one operation, and a script hears the same twice", "" if shop.count("operation") == operations + 1 and len(said) == 1 else f"{shop.count('operation') - operations}: {said}")
    refused = shop.tap("/record/operation", form.pairs(**{name: ""}), 2)
    right = shop.tap("/record/operation", form.pairs(**{name: "Bearing oiled"}), 2)
    tap.say("what was refused can be put right on the same page", "" if {one[0] for one in refused} == {400} and {one[0] for one in right} == {303} and shop.count("operation") == operations + 2 else f"{refused} {right}")
    other = Device(shop.device.bench)
    mine, other.form_token = form.pairs(**{name: "Belt changed"}), other.get("/job/0001").form_token
    answer = other.ask("POST", "/record/operation", encoded([(key, other.form_token if key == "form_token" else value) for key, value in mine]), {"Content-Type": ENCODED})
    tap.say("another device's same words are its own", "" if answer.status == 303 and shop.count("operation") == operations + 3 else f"{answer.status} {shop.count('operation') - operations}")


def told(tap, shop):
    """The browser is told which form was taken: that one's word, and no word of one that was refused or is asked about."""
    def word_after(pairs, path="/record/operation"):
        answer = shop.device.ask("POST", path, encoded(pairs), {"Content-Type": ENCODED})
        found = [line for line in answer.headers.get_all("Set-Cookie") or [] if line.startswith("deckwright-done=")]
        return answer, found[0].split(";")[0].split("=")[1] if found else ""

    form = shop.form("/job/0001?at=work", "/record/operation")
    refused, word = word_after(form.pairs(name=""))
    tap.say("what is refused is not told as taken", "" if refused.status == 400 and not word else f"{refused.status} {word}")
    again = next((one for one in forms_of(refused.text) if one.action == "/record/operation"), None)
    tap.say("and comes again with its word", "" if again and again.value("once") == form.value("once") else again)
    for turn in ("taken", "taken a second time"):
        taken, word = word_after(form.pairs(name="Felt glued"))
        tap.say(f"what is {turn} is told by its word", "" if taken.status == 303 and word == form.value("once") else f"{taken.status} {word}")
    script = shop.device.ask("POST", "/record/operation", encoded(form.pairs(name="Felt by a script")), {"Content-Type": ENCODED, "Accept": "application/json"})
    tap.say("a script has its answer, and no other page is told", "" if script.status == 200 and "deckwright-done" not in str(script.headers) else str(script.headers))
    _, word = word_after([(name, "x; Path=/job" if name == "once" else value) for name, value in form.pairs(name="Felt glued anew")])
    tap.say("no other word is told", word)


def files(tap, shop):
    form = next(one for one in forms_of(shop.device.get("/job/0001/photos").text) if one.files)
    photos = shop.count("attachment")
    for number, (name, content) in enumerate([("a.png", PNG), ("a.png", PNG), ("a.png", PNG + b"more"), ("b.png", PNG)]):
        answer = shop.device.ask("POST", form.action, in_parts(form.pairs(), "a-mark", [("chosen", name, content)]), {"Content-Type": PARTS})
        wanted = photos + (1, 1, 2, 3)[number]
        tap.say(f"photograph {number + 1}, {'the same' if number == 1 else 'another'}: one is kept of each", "" if answer.status == 303 and shop.count("attachment") == wanted else f"{answer.status}: {shop.count('attachment') - photos}")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        shop = Shop(bench)
        carries(tap, shop)
        acts(tap, shop)
        told(tap, shop)
        files(tap, shop)
        status, errors = bench.end()
        tap.say("the bench ends cleanly", "" if status == 0 and errors == "" else f"{status} {errors}")
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
