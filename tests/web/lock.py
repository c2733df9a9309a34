#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A screen handed to a customer shows one page, to read or to sign, and nothing else until the shop's password."""
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
    signed = device.post(SIGN, {"person": "Ruth Alder", "typed": "Ruth Alder"})
    tap.say("it can be signed", "" if signed.status == 303 else f"{signed.status} {signed.text[-300:]}")
    tap.say("another device of the shop is free meanwhile", not Device(bench).get("/").status == 200)
    tap.say("a style sheet is given", device.get(page.text.split('rel="stylesheet" href="')[1].split('"')[0]).status != 200)


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
        check_unlock(tap, device)
        status, errors = bench.end()
        tap.say("nothing was complained of", "" if status == 0 and not errors else errors)
    return tap.end()


sys.exit(main(sys.argv[1]))
