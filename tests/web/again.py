#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A form that is refused comes back as it was filled: every form of the pages on which a shop writes, filled with what no field takes."""
import json
import sys
import tempfile

from bench import Bench, Device, Tap
from forms import forms_of

TYPED = 'no <b>such</b> "thing" & 12,5,5'
# Forms that end the session, or are no entry: their own pages say what to do.
LEFT_OUT = ("/leave", "/shop/password", "/enter", "/pair", "/shop/backup", "/live", "/undo", "/measure", "/erase")
PAGES = (*(f"/job/{number}?at={part}" for number in ("0001", "0003", "0005") for part in ("intake", "findings", "estimate", "work", "papers")), "/job/new", "/job/0001/setup", "/job/0001/papers", "/job/0001/photos", "/book/customer/1",
         "/book/deck/1", "/book/stock", "/book/stock/1", "/book/test_record/1", "/book/new/customer", "/shop/settings", "/book/chain/1")
KINDS = ("text", "textarea", "date", "datetime-local")


def typed_of(form):
    return {one.name for one in form.controls if one.kind in KINDS and one.name and "password" not in one.name}


def refused(tap, device):
    tried, came_back = 0, 0
    for path in PAGES:
        for form in forms_of(device.get(path).text):
            names = typed_of(form)
            if form.method != "post" or form.files or not names or form.action.startswith(LEFT_OUT) or "/guide" in form.action or form.action.endswith("/erase"):
                continue
            answer = device.post(form.action, [(name, value) for name, value in form.pairs(**{name: TYPED for name in names})
                                               if name not in ("form_token", "once")])
            if answer.status != 400:
                continue
            tried += 1
            back = [again for again in forms_of(answer.text) if again.action == form.action]
            missing = [name for name in names if not back or back[0].value(name) not in (TYPED, TYPED.replace("\n", "\r\n"))]
            sent = {name for name, _ in form.pairs()} - {"form_token", "once"}
            lost = sent - ({one.name for one in back[0].controls} if back else set())
            if missing or lost:
                tap.say(f"{path} {form.action} comes back", f"without {missing} {lost}")
            else:
                came_back += 1
    tap.say("refused forms come back as they were filled", "" if tried >= 25 and came_back == tried else f"{came_back} of {tried}")


def sent_again(tap, device):
    page = device.get("/job/0001?at=work")
    form = next(one for one in forms_of(page.text) if one.action == "/record/part")
    first = device.post(form.action, [pair for pair in form.pairs(name="Belt 480", quantity="1e3x", note="sits well") if pair[0] not in ("form_token", "once")])
    again = next(one for one in forms_of(first.text) if one.action == "/record/part")
    second = device.post(again.action, [pair for pair in again.pairs(quantity="1") if pair[0] != "form_token"])
    tap.say("put right and sent again it is kept", "" if second.status == 303 and "sits well" in device.get("/job/0001?at=work").text else second.text[-600:])


def form_of(answer, action, field):
    return next(form for form in forms_of(answer.text) if form.action == action and field in {one.name for one in form.controls})


def two_devices(tap, bench):
    """Who sends an older form is shown what the other wrote, and decides."""
    one, other = Device(bench), Device(bench)
    page, action = "/job/0005?at=intake", "/record/job/5"
    for mine, theirs in (("The left side is gone", "Η δεξιά πλευρά"), ("x" + "ά" * 150, "y" + "ض" * 150)):
        forms = [form_of(device.get(page), action, "fault") for device in (one, other)]
        one.post(action, [pair for pair in forms[0].pairs(fault=theirs) if pair[0] != "form_token"])
        refused = other.post(action, [pair for pair in forms[1].pairs(fault=mine) if pair[0] != "form_token"])
        tap.say("both texts are shown", "" if refused.status == 400 and f"it is “{theirs[:50]}" in refused.text and f"and “{mine[:50]}" in refused.text
                and "Where it stands” was" not in refused.text else refused.text[-1200:])
        again = form_of(refused, action, "fault")
        sent = other.post(action, [pair for pair in again.pairs() if pair[0] != "form_token"])
        now = form_of(one.get(page), action, "fault").value("fault")
        tap.say("sent again it is kept", "" if sent.status == 303 and now == mine else f"{sent.status} {now}")
    forms = [form_of(device.get(page), action, "fault") for device in (one, other)]
    first = [pair for pair in forms[0].pairs(fault="a" + "ض" * 150) if pair[0] != "form_token"]
    one.post(action, first)
    second = [pair for pair in forms[1].pairs(fault="ä" * 151) if pair[0] != "form_token"]
    said = other.post(action, [*second, ("was.fault", "another")], {"Accept": "application/json"})
    tap.say("a script is told so in whole letters", "" if said.status == 400 and "no text" not in said.text and "ض" in json.loads(said.text)["words"] else said.text)


def with_a_file(tap, device):
    device.get("/job/0001/photos")
    answer = device.send("/job/0001/photos", {"caption": "The dust cover", "phase": "as received"}, [("chosen", "letter.txt", b"no picture")])
    back = [form for form in forms_of(answer.text) if form.action == "/job/0001/photos"]
    tap.say("what was typed beside a refused picture is there still", "" if answer.status == 400 and back and back[0].files
            and back[0].value("caption") == "The dust cover" and "letter.txt" in answer.text else f"{answer.status} {answer.text[-900:]}")


def strangers(tap, device):
    device.get("/job/0001")
    real, device.form_token = device.form_token, "0" * 64
    answer = device.post("/record/part", {"name": "Belt", "quantity": "x"})
    device.form_token = real
    tap.say("what another site sends is handed back to nobody",
            "" if answer.status in (400, 403) and not any(form.action == "/record/part" for form in forms_of(answer.text)) else answer.status)


def passwords(tap, device):
    device.get("/job/0001")
    answer = device.post("/record/part", {"name": "Belt", "quantity": "x", "password": "hush-hush"})
    tap.say("a password is not said again", "" if answer.status == 400 and "hush-hush" not in answer.text else "it is")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device = Device(bench)
        refused(tap, device)
        sent_again(tap, device)
        with_a_file(tap, device)
        two_devices(tap, bench)
        strangers(tap, device)
        passwords(tap, device)
    return tap.end()


sys.exit(main(sys.argv[1]))
