#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A screen handed to a customer shows one page, to read or to sign, and nothing else until the shop's password."""
import html
import re
import sys
import tempfile

from bench import Bench, Device, Tap

PASSWORD = "turn the record over"
SIGN = "/job/0003/sign?at=intake"


def go(answer):
    return (answer.status, answer.headers.get("Location", ""))


def check_without_password(tap, program):
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device = Device(bench)
        page = device.get(SIGN)
        tap.say("the page to sign offers it", "Hand the screen to the customer" not in page.text)
        refused = device.post("/lock", {"to": SIGN})
        tap.say("without a password nothing is locked", not (refused.status == 400 and device.get("/").status == 200))


def check_locked(tap, bench, device):
    device.get(SIGN)
    tap.say("the screen is locked to the page", not go(device.post("/lock", {"to": SIGN})) == (303, SIGN))
    page = device.get(SIGN)
    tap.say("which it shows, without the rooms and the search", not (page.status == 200 and "Rooms of the bench" not in page.text and "/find" not in page.text))
    tap.say("nor what was signed before, nor a way to lock it again", "Signed already" in page.text or "Hand the screen" in page.text)
    for path in ("/", "/job/0003", "/book/customer", "/find?words=a", "/job/0003/sign?at=handover", "/shop", "/journal/job/1", "/photo/1/small"):
        tap.say(f"{path} leads back to it", "" if go(device.get(path)) == (303, SIGN) else go(device.get(path)))
    refused = device.post("/record/customer/1", {"name": "Somebody Else"})
    tap.say("nothing else is changed from it", not (refused.status == 403 and "one page only" in refused.text))
    other = device.post("/lock", {"to": "/job/0001/sign?at=intake"})
    tap.say("nor is it locked to another page", not other.status == 403)
    for path in ("/job/0003/sign/", "/job/0003/sign/?at=handover", "/job/0003/sign//"):
        tap.say(f"{path} is no way past it", "" if go(device.get(path)) == (303, SIGN) else go(device.get(path)))
    beside = device.post("/job/0003/sign/?at=handover", {"person": "Ruth Alder", "typed": "Ruth Alder"})
    tap.say("nor is anything else signed by an address like it", "" if beside.status == 403 else beside.status)
    device.get(SIGN)
    signed = device.post(SIGN, {"person": "Ruth Alder", "typed": "Ruth Alder"})
    tap.say("it can be signed, and says so without leading elsewhere", "" if signed.status == 200 and "Signed and kept" in signed.text else f"{signed.status} {signed.text[-300:]}")
    device.get(SIGN)
    told = device.post(SIGN, {"person": "Ruth Alder", "typed": "Ruth Alder"}, {"Accept": "application/json"})
    tap.say("a script is told the same", "" if told.status == 200 and "Signed and kept" in told.text else f"{told.status} {told.text}")
    device.get(SIGN)
    name = "Maximiliane Theodora Hohenfels-Brandenau zu Alder"
    for typed, wanted in ((name, 200), (name * 6, 400)):
        answer = device.post(SIGN, {"person": "", "typed": typed})
        tap.say(f"a typed name of {len(typed)} letters is {wanted}", "" if answer.status == wanted else f"{answer.status} {answer.text[-300:]}")
        device.get(SIGN)
    tap.say("another device of the shop is free meanwhile", not Device(bench).get("/").status == 200)
    tap.say("a style sheet is given", device.get(page.text.split('rel="stylesheet" href="')[1].split('"')[0]).status != 200)


def check_pictures(tap, bench):
    """What a browser keeps of the book it shows again only when the bench has said so. Source (published): RFC 9111, 5.2.2.4; RFC 9110, 13.1.2."""
    device = Device(bench)
    text = device.get("/job/0001/photos").text
    paths = [html.unescape(path) for path in re.findall(r'src="(/photo/[^"]+)"', text)][:2]
    sheet = next(f"/sheet/{number}" for number in range(1, 40) if device.get(f"/sheet/{number}").status == 200)
    paths += [html.unescape(path) for path in re.findall(rf'src="({sheet}/picture/[^"]+)"', device.get(sheet).text)][:1]
    tap.say("there are pictures", "" if len(paths) == 3 else paths)
    tags = {}
    for path in paths:
        first = device.get(path)
        tags[path] = first.headers.get("ETag", "none")
        again, other = device.get(path, **{"If-None-Match": tags[path]}), device.get(path, **{"If-None-Match": '"0123"'})
        tap.say(f"{path} is asked about each time", "" if first.headers["Cache-Control"] == "private, no-cache" and other.status == 200 else f"{first.headers['Cache-Control']} {other.status}")
        if path.startswith("/photo/"):  # a drawing is drawn anew, and its parts have other names then
            tap.say(f"{path} is not sent twice", "" if (again.status, again.body) == (304, b"") and other.body == first.body else again.status)
    device.get(SIGN)
    device.post("/lock", {"to": SIGN})
    for path in paths:
        held = device.get(path, **{"If-None-Match": tags[path]})
        tap.say(f"{path} is not shown on a screen that was handed over", "" if go(held) == (303, SIGN) else go(held))


def check_sheet(tap, bench):
    """A sheet that is shown is neither withdrawn nor supplied from the customer's hands, nor taken along as a file."""
    device = Device(bench)
    sheet = next(f"/sheet/{number}" for number in range(1, 40) if device.get(f"/sheet/{number}").status == 200)
    tap.say("a screen is locked to a sheet", not go(device.post("/lock", {"to": sheet})) == (303, sheet))
    page = device.get(sheet)
    pictures = set(re.findall(rf'src="({sheet}/picture/[^"]+)"', page.text))
    tap.say("its pictures are seen", "".join(path for path in pictures if device.get(html.unescape(path)).status != 200))
    for path in ("/withdraw", "/supply"):
        answer = device.post(sheet + path, {"why": "the customer says so"})
        tap.say(f"{path} is not done from it", "" if answer.status == 403 else answer.status)
    for path in ("/json", "/paper"):
        tap.say(f"{path} is not taken from it", "" if go(device.get(sheet + path)) == (303, sheet) else device.get(sheet + path).status)


def check_started_again(tap, program, folder):
    """A bench that is started again holds its screens where they were, until the password."""
    kept = {}
    for begun in range(3):
        with Bench(program, folder + "/again", password=None if begun else PASSWORD) as bench:
            device = Device(bench)
            device.cookies = kept
            if begun == 0:
                device.get(SIGN)
                device.post("/lock", {"to": SIGN})
            elif begun == 1:
                tap.say("a screen is locked still when the bench was started again", "" if go(device.get("/")) == (303, SIGN) else go(device.get("/")))
                kept.pop("deckwright-session", None)
                tap.say("and when its browser's own session is over", "" if go(device.get("/job/0001")) == (303, SIGN) else go(device.get("/job/0001")))
                device.get("/unlock")
                device.post("/unlock", {"password": PASSWORD})
            tap.say("the password opens it for good" if begun else "it shows its page", "" if device.get(SIGN if not begun else "/").status == 200 else go(device.get("/")))
            kept = device.cookies


def check_unlock(tap, device):
    asked = device.get("/unlock")
    tap.say("the way out asks for the password", not (asked.status == 200 and 'type="password"' in asked.text))
    wrong = device.post("/unlock", {"password": "let me out"})
    tap.say("a wrong one opens nothing", not (wrong.status == 403 and go(device.get("/")) == (303, SIGN)))
    device.get("/unlock")
    tap.say("the right one does", not go(device.post("/unlock", {"password": PASSWORD})) == (303, "/"))
    board = device.get("/")
    tap.say("and all rooms are there", not (board.status == 200 and "Rooms of the bench" in board.text))
    for address in ("https://elsewhere.example/", "//elsewhere.example", "/nothing", "/job/0001/sign?at=intake&x=1", "", "/asset"):
        refused = device.post("/lock", {"to": address})
        tap.say(f"it is not locked to '{address}'", "" if refused.status == 400 and device.get("/").status == 200 else refused.status)


def main(program):
    tap = Tap()
    check_without_password(tap, program)
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop", password=PASSWORD) as bench:
        device = Device(bench)
        check_locked(tap, bench, device)
        check_sheet(tap, bench)
        check_pictures(tap, bench)
        check_unlock(tap, device)
        status, errors = bench.end()
        tap.say("nothing was complained of", "" if status == 0 and not errors else errors)
        check_started_again(tap, program, folder)
    return tap.end()


sys.exit(main(sys.argv[1]))
