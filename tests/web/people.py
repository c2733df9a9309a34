#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The people at the bench: a list with a mark each, who is at work on a device, whose name stands in the journal, what
each may do, and that none of it can be had by asking for it."""
import html
import json
import os
import re
import sys
import tempfile
import threading
import time

from bench import Bench, Device, Tap

PASSWORD = "four words in a row"


def words(answer):
    return html.unescape(re.sub(r"<[^>]*>", " ", answer.text))


def add(device, name, right, mark):
    device.get("/shop/people")
    return device.post("/shop/people", {"person": "", "name": name, "right": right, "mark": mark})


def be(device, name, password=""):
    device.get("/who")
    return device.post("/who", {"person": name, "password": password, "to": "/"})


def who_is_shown(device):
    found = re.search(r'<a class="who"[^>]*>(.*?)</a>', device.get("/").text, re.S)
    return re.sub(r"<[^>]*>", "", found.group(1)) if found else None


def list_of_people(tap, device):
    tap.say("without a list no page asks who is at work", "" if who_is_shown(device) is None else who_is_shown(device))
    refused = add(device, "Tavi", "counter", "4")
    tap.say("the first of the list must be an owner", "" if refused.status == 400 and "Somebody must be an owner" in words(refused) else refused.status)
    for name, right, mark in (("Ines Ørsted", "owner", "2"), ):
        answer = add(device, name, right, mark)
        tap.say(f"{name} is listed", "" if answer.status == 303 else words(answer))
    tap.say("now each page asks", "" if who_is_shown(device) == "Who is at work?" else who_is_shown(device))
    refused = add(device, "Tavi", "counter", "4")
    tap.say("and only an owner goes on with the list", "" if refused.status == 403 and "an owner's to do" in words(refused) else refused.status)
    refused = be(device, "Ines Ørsted", "a wrong one")
    tap.say("an owner shows the password", "" if refused.status == 403 and who_is_shown(device) == "Who is at work?" else refused.status)
    be(device, "Ines Ørsted", PASSWORD)
    tap.say("with it the page says who is at work", "" if who_is_shown(device) == "Ines Ørsted" else who_is_shown(device))
    for name, right, mark in (("Tavi", "counter", "4"), ("Χρήστος", "technician", "9")):
        answer = add(device, name, right, mark)
        tap.say(f"{name} is listed", "" if answer.status == 303 else words(answer))
    for name, trouble in (("Tavi", "stands there twice"), ("a|b", "no bar"), ("", "Give a name"), ("x" * 61, "Give a name")):
        answer = add(device, name, "counter", "5")
        tap.say(f"'{name[:9]}' is not taken", "" if answer.status == 400 and trouble in words(answer) else f"{answer.status} {words(answer)[-200:]}")
    page = device.get("/shop/people")
    tap.say("each has a mark of their own", "" if page.text.count('<svg class="person"') >= 3 + 12 else page.text.count("svg"))
    off = device.post("/shop/people", {"person": "Ines Ørsted", "off": "yes"})
    tap.say("the last owner stays", "" if off.status == 400 else off.status)


def try_all(tap, device, name, expected):
    """What NAME may do, by acts that stand for each right: EXPECTED are those that are not refused."""
    acts = {"note": ("/record/job/1", {"place": f"shelf of {name}"}), "measure": ("/measure/riaa", {}),
            "reading": ("/job/0001/reading", {"as": "during", "label": "Cover", "value": "dull"}),
            "limit": ("/record/bound", {"class": "any", "key": "speed.error", "high": "1"}),
            "setting": ("/shop/settings/shop.phone", {"value": "0 100 200"}), "erase": ("/customer/1/erase", {"name": "nobody"})}
    for act, (path, fields) in acts.items():
        device.get("/job/0001")
        answer = device.post(path, fields)
        refused = answer.status == 403 and "to do. Nothing was changed" in words(answer)
        tap.say(f"{name}: {act} {'is done' if act in expected else 'is refused'}",
                "" if refused == (act not in expected) else f"{answer.status} {words(answer)[-200:]}")


def what_each_may_do(tap, bench, device):
    try_all(tap, device, "Ines Ørsted", {"note", "measure", "reading", "limit", "setting", "erase"})
    be(device, "Χρήστος")
    try_all(tap, device, "Χρήστος", {"note", "measure", "reading"})
    be(device, "Tavi")
    try_all(tap, device, "Tavi", {"note"})
    be(device, "")
    try_all(tap, device, "nobody in particular", {"note", "measure", "reading"})
    journal = device.get("/job/0001/journal")
    for name in ("Ines Ørsted", "Χρήστος", "Tavi", r"bench \(device\)"):
        tap.say(f"the journal names {name}", "" if re.search(rf",\s+{name}", words(journal)) else "it does not")
    tap.say("with the mark", "" if re.search(r'<svg class="person"[^>]*><path d="M4 6H20M4 12H20M4 18H20"></path></svg>Tavi', journal.text) else "it does not")
    newest = max(int(line.split()[0]) for line in bench.call("book", "journal", "setting").stdout.splitlines() if "shop.phone" in line)
    be(device, "Tavi")
    answer = device.post(f"/undo/{newest}/{newest}", {"back": "/shop/settings"})
    tap.say("a setting is not undone by who may not set it", "" if answer.status == 403 else answer.status)


def on_other_devices(tap, bench, device):
    be(device, "Ines Ørsted", PASSWORD)
    tablet = Device(bench, "elsewhere")
    tablet.get("/enter")
    tablet.post("/enter", {"password": PASSWORD, "device": "Tablet"})
    tap.say("another device has nobody yet", "" if who_is_shown(tablet) == "Who is at work?" else who_is_shown(tablet))
    tablet.cookies["deckwright_person"] = device.cookies["deckwright_person"]
    tap.say("and does not become somebody by another's cookie", "" if who_is_shown(tablet) == "Who is at work?" else who_is_shown(tablet))
    be(tablet, "Tavi")
    tap.say("it has its own", "" if (who_is_shown(tablet), who_is_shown(device)) == ("Tavi", "Ines Ørsted") else "it has not")
    tap.say("an owner's place is not taken by a tap", "" if be(tablet, "Ines Ørsted").status == 403 and who_is_shown(tablet) == "Tavi" else "it is")
    page = tablet.get("/shop/settings")
    told = tablet.post("/shop/settings/shop.phone", {"value": "1"}, {"Accept": "application/json"})
    tap.say("a page's script is told whose it is", "" if page.status == 200 and told.status == 403 and "owner" in told.text else told.text)
    device.get("/shop/people")
    device.post("/shop/people", {"person": "Tavi", "name": "Tavi Lund", "right": "counter", "mark": "4"})
    tap.say("who is renamed says anew who they are", "" if who_is_shown(tablet) == "Who is at work?" else who_is_shown(tablet))
    device.get("/shop/people")
    device.post("/shop/people", {"person": "Ines Ørsted", "name": "Ines Holm", "right": "owner", "mark": "7"})
    tap.say("whoever renames themselves stays at work", "" if who_is_shown(device) == "Ines Holm" else who_is_shown(device))
    be(tablet, "Tavi Lund")
    for right in ("owner", "counter"):
        device.get("/shop/people")
        device.post("/shop/people", {"person": "Tavi Lund", "name": "Tavi Lund", "right": right, "mark": "4"})
        if right == "owner":
            tap.say("who was made an owner says anew who they are", "" if who_is_shown(tablet) == "Who is at work?" else who_is_shown(tablet))
            tablet.get("/shop/people")
            added = tablet.post("/shop/people", {"person": "", "name": "Eve", "right": "owner", "mark": "7"})
            tap.say("and is none by the tap from before", "" if added.status == 403 else added.status)
    return tablet


def newest_line(bench):
    return max(int(line.split()[0]) for line in bench.call("book", "journal").stdout.splitlines() if line.split()[0].isdigit())


def undone(tap, bench, device):
    """What an owner alone may do the counter does not undo."""
    be(device, "Ines Holm", PASSWORD)
    made = [device.post("/record/customer", {"name": name, "phone": "0 100 333"}) for name in ("Twin One", "Twin Two")]
    rows = [row["id"] for row in json.loads(bench.call("customer", "list", "--json").stdout) if row["name"].startswith("Twin ")]
    device.get(f"/record/customer/{rows[1]}/merge?into={rows[0]}")
    merged = device.post(f"/record/customer/{rows[1]}/merge", {"into": str(rows[0]), "sure": "yes"})
    newest = max((int(line.split()[0]) for line in bench.call("book", "journal", "customer").stdout.splitlines() if "merged into" in line), default=0)
    tap.say("two are made one", "" if newest else f"{[answer.status for answer in made]} {rows} {merged.status} {words(merged)[-300:]}")
    be(device, "Tavi Lund")
    answer = device.post(f"/undo/{newest}/{newest}", {"back": "/"})
    tap.say("and not taken apart by the counter", "" if answer.status == 403 else answer.status)
    be(device, "Ines Holm", PASSWORD)
    answer = device.post(f"/undo/{newest}/{newest}", {"back": "/"})
    tap.say("but by an owner", "" if answer.status == 303 else f"{answer.status} {words(answer)[-300:]}")
    be(device, "Tavi Lund")
    invoice, job = next((row["id"], row["job_id"]) for row in json.loads(bench.call("book", "list", "invoice", "--json").stdout) if row["number"] and not row["paid_on"])
    for name, path, fields in (("a part payment", "/record/payment", {"invoice_id": str(invoice), "job_id": str(job), "kind": "payment", "amount": "5.00", "method": "cash"}),
                               ("words for a picture", "/photo/3", {"caption": "Seen from the left"})):
        device.get("/job/0012")
        before = newest_line(bench)
        answer = device.post(path, fields)
        tap.say(f"the counter notes {name}", "" if answer.status == 303 else f"{answer.status} {words(answer)[-300:]}")
        answer = device.post(f"/undo/{before + 1}/{newest_line(bench)}", {"back": "/"})
        tap.say("and undoes it", "" if answer.status == 303 else f"{answer.status} {words(answer)[-300:]}")


def devices_are_no_people(tap, bench, owner):
    """A device that bears a person's name does not pass for them: not when it is paired, nor by what is done on it."""
    be(owner, "Ines Holm", PASSWORD)
    namesake = Device(bench, "elsewhere")
    namesake.get("/enter")
    namesake.post("/enter", {"password": PASSWORD, "device": "Ines Holm"})
    namesake.get("/job/0001")
    namesake.post("/record/customer", {"name": "Of a namesake", "phone": "0 100 334"})
    lines = [line for line in bench.call("book", "journal").stdout.splitlines() if "Of a namesake" in line]
    tap.say("what a device does is never a person's", "" if lines and all("Ines Holm (device)" in line for line in lines) else lines)
    paired = [line for line in bench.call("book", "journal", "device").stdout.splitlines() if "Ines Holm" in line]
    tap.say("nor is its pairing", "" if paired and not any(re.search(r"Ines Holm(?! \(device\)).*paired|by Ines Holm$", line) for line in paired) else paired)


def the_word_ends(tap, bench, device):
    """The word for a person has its own time, which only the bench can write."""
    be(device, "Tavi Lund")
    word = device.cookies["deckwright_person"]
    proof, _, at = word.partition(".")
    tap.say("the word has the moment it was made", "" if proof and abs(int(at or 0) - time.time()) < 3600 else word)
    for what, false in (("a later one", f"{proof}.{int(at or 0) + 3600}"), ("an earlier one", f"{proof}.{int(at or 0) - 3600}"), ("none", proof), ("a long one", f"{proof}.{at}{'0' * 40}"), ("no number", f"{proof}.x")):
        device.cookies["deckwright_person"] = false
        tap.say(f"with {what} it is no word", "" if who_is_shown(device) == "Who is at work?" else who_is_shown(device))
    device.cookies["deckwright_person"] = word
    tap.say("as it was it holds", "" if who_is_shown(device) == "Tavi Lund" else who_is_shown(device))
    device.cookies["deckwright_person"] = word
    return word


def added_at_once(tap, bench, device):
    """Whoever is listed while another is listed is not lost."""
    be(device, "Ines Holm", PASSWORD)
    names = [f"Person {number}" for number in range(6)]
    screens = []
    for _ in names:
        screens.append(Device(bench))
        screens[-1].cookies.update(device.cookies)
        screens[-1].get("/shop/people")
    answers = []
    threads = [threading.Thread(target=lambda screen=screen, name=name: answers.append(screen.post("/shop/people", {"person": "", "name": name, "right": "counter", "mark": "9"}).status))
               for screen, name in zip(screens, names)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    page = device.get("/shop/people").text
    tap.say("six that are listed at once are all on the list", "" if all(name in page for name in names) else f"{answers} {[name for name in names if name not in page]}")


def later(shift, hours):
    """An environment in which it is HOURS later (support/shift_time.c)."""
    return {"LD_PRELOAD": shift, "SHIFT_SECONDS": str(int(3600 * hours)), "ASAN_OPTIONS": os.environ.get("ASAN_OPTIONS", "") + ":verify_asan_link_order=0"}


def main(program, shift):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        with Bench(program, folder + "/shop", "name=elsewhere", password=PASSWORD) as bench:
            device = Device(bench)
            list_of_people(tap, device)
            what_each_may_do(tap, bench, device)
            tablet = on_other_devices(tap, bench, device)
            undone(tap, bench, device)
            added_at_once(tap, bench, device)
            devices_are_no_people(tap, bench, device)
            word = the_word_ends(tap, bench, tablet)
            refused = bench.call("book", "settings", "people.list=Tavi | janitor | 3")
            tap.say("a list of anything else is refused at the command line", "" if refused.returncode and "counter, technician or owner" in refused.stderr else f"{refused.returncode} {refused.stderr}")
            bench.end()
        with Bench(program, folder + "/shop", "name=elsewhere") as bench:
            tablet.bench = bench
            tap.say("after the bench was started anew they are still at work", "" if who_is_shown(tablet) == "Tavi Lund" else who_is_shown(tablet))
        for hours, expected in ((15.9, "Tavi Lund"), (16.1, "Who is at work?")):
            with Bench(program, folder + "/shop", "name=elsewhere", env={**os.environ, **later(shift, hours)}) as bench:
                tablet.bench, tablet.cookies["deckwright_person"] = bench, word
                shown = who_is_shown(tablet)
                tap.say(f"{hours} hours after the word was made the bench {'knows them' if expected == 'Tavi Lund' else 'asks again, whatever the browser keeps'}", "" if shown == expected else shown)
    return tap.end()


sys.exit(main(*sys.argv[1:]))
