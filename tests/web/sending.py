#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Files that come in pieces: they go on where they stopped, over a restart of the bench too, and a form names them."""
import html
import json
import os
import pathlib
import re
import sqlite3
import subprocess
import sys
import tempfile
import time
import uuid

from bench import Bench, Device, Tap
from pictures import jpeg


def ask(device, method, path, body=None, headers=None):
    answer = device.ask(method, path, body, {"Accept": "application/json", "Deckwright-Form-Token": device.form_token, **(headers or {})})
    return {"status": answer.status, **(json.loads(answer.text) if answer.headers["Content-Type"] == "application/json" else {})}


def begin(device, size):
    return ask(device, "POST", "/arriving", f"bytes={size}", {"Content-Type": "application/x-www-form-urlencoded"})


def piece(device, key, at, content):
    mark = uuid.uuid4().hex
    body = (f'--{mark}\r\nContent-Disposition: form-data; name="at"\r\n\r\n{at}\r\n--{mark}\r\n'
            'Content-Disposition: form-data; name="piece"; filename="piece"\r\nContent-Type: application/octet-stream\r\n\r\n').encode()
    return ask(device, "POST", f"/arriving/{key}", body + content + f"\r\n--{mark}--\r\n".encode(), {"Content-Type": f"multipart/form-data; boundary={mark}"})


def send(device, content, size=65536):
    key = begin(device, len(content))["key"]
    for at in range(0, len(content), size):
        piece(device, key, at, content[at:at + size])
    return key


def named(field, key, name, content):
    return {f"{field}.sent": key, f"{field}.name": name, f"{field}.bytes": len(content)}


def in_pieces(tap, device, take):
    device.get("/measure/speed")
    begun = begin(device, len(take))
    key = begun["key"]
    tap.say("a file is begun", "" if begun["kept"] and begun["at"] == 0 and re.fullmatch("[0-9a-f]{64}", key) else begun)
    first = piece(device, key, 0, take[:100000])
    tap.say("a piece is taken", "" if first["at"] == 100000 else first)
    again = piece(device, key, 0, take[:100000])
    tap.say("the same piece twice is one", "" if again["at"] == 100000 else again)
    beyond = piece(device, key, 150000, take[150000:200000])
    tap.say("one that leaves a gap is not taken", "" if beyond["at"] == 100000 else beyond)
    tap.say("what came is told", "" if ask(device, "GET", f"/arriving/{key}")["at"] == 100000 else "it is not")
    for wrong in ("0" * 64, "../book.sqlite", "x" * 64, key.upper()):
        tap.say(f"'{wrong[:14]}' is nothing", "" if ask(device, "GET", f"/arriving/{wrong}")["status"] == 404 else "it is something")
    half = device.post("/measure/speed", {"record.tone": "3150 Hz", **named("recording1", key, "half.wav", take)})
    tap.say("half a file is none", "" if half.status == 400 and "Choose the recording" in half.text else half.status)
    large = begin(device, 3 << 30)
    tap.say("one over 2 GB is refused at once", "" if large["status"] == 413 else large)
    return key


def in_forms(tap, device, take, key, shop):
    ended = piece(device, key, 100000, take[100000:])
    tap.say("after the bench was started anew it goes on where it stopped", "" if ended["at"] == len(take) else ended)
    form = device.get("/measure/speed?job=0007&as=received")
    measured = device.post("/measure/speed?job=0007&as=received", {"record.tone": "3150 Hz", "keep": "yes", **named("recording1", key, "../take ü.wav", take)})
    sheet = json.loads(device.get(measured.headers["Location"] + "/json").text) if measured.status == 303 else {}
    tap.say("it is measured by the name it had", "" if sheet.get("subject") == "take ü.wav" else f"{form.status} {measured.status} {sheet.get('subject')}")
    kept = [line for line in html.unescape(device.get("/measure/speed?job=0007&as=received").text).split("<option") if "take ü.wav" in line]
    tap.say("and kept on the job", "" if kept else "it is not")
    with sqlite3.connect(shop / "book.sqlite") as base:
        names = base.execute("SELECT original_name, file FROM attachment WHERE caption = 'take ü.wav'").fetchall()
    tap.say("under its own name, in a file that opens by a tap", "" if len(names) == 1 and names[0][0] == "take ü.wav" and names[0][1].endswith(".wav") else names)
    device.get("/measure/speed")
    wrong = device.post("/measure/speed", {"record.tone": "45 kHz", **named("recording1", key, "take.wav", take)})
    tap.say("a measurement that fails, on no job, still has its recording", "" if wrong.status == 400 and f'value="{key}"' in wrong.text
            and "on the bench computer already" in wrong.text else wrong.status)
    picture = jpeg(640, 480)
    device.get("/job/0010/photos")
    sent = send(device, picture, 1000)
    added = device.post("/job/0010/photos", {"phase": "as received", "kind": "photo", "caption": "in pieces", **named("chosen", sent, "deck.jpg", picture)},
                        {"Accept": "application/json"})
    tap.say("so is a photograph", "" if '"kept": true' in added.text or '"kept":true' in added.text else added.text)
    tap.say("whose pieces are then gone", "" if ask(device, "GET", f"/arriving/{sent}")["status"] == 404 else "they are not")


def swept(tap, device, folder):
    arriving = folder / "arriving"
    old = begin(device, 10)["key"]
    os.utime(arriving / old, (time.time() - 90000,) * 2)
    for _ in range(70):
        begin(device, 10)
    left = list(arriving.iterdir())
    tap.say("what is older than a day goes, and no more than 64 wait", "" if old not in [one.name for one in left] and len(left) <= 64 else len(left))


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([program, "synth", "take.wav", "record.tone=3150Hz", "synth.length=12s"], cwd=folder, check=True, capture_output=True)
        take = (folder / "take.wav").read_bytes()
        with Bench(program, folder / "shop", "name=elsewhere", password="a long enough one") as bench:
            device, stranger = Device(bench), Device(bench, "elsewhere")
            stranger.get("/enter")
            tap.say("a stranger sends nothing", "" if begin(stranger, 10)["status"] == 401 else "it does")
            key = in_pieces(tap, device, take)
            tap.say("nor knows what others sent", "" if ask(stranger, "GET", f"/arriving/{key}")["status"] == 401 else "it does")
            bench.end()
        with Bench(program, folder / "shop") as bench:
            device = Device(bench)
            device.get("/measure/speed")
            in_forms(tap, device, take, key, folder / "shop")
            swept(tap, device, folder / "shop")
            status, errors = bench.end()
            tap.say("the bench ends cleanly", f"{status} {errors}" if status or errors else "")
            check = bench.call("book", "check")
            tap.say("the book is sound", "" if check.returncode == 0 else check.stdout + check.stderr)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(str(pathlib.Path(sys.argv[1]).resolve())))
