#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The board, and what every answer of the bench carries."""
import json
import sys
import tempfile

from bench import Bench, Device, Tap


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device = Device(bench)
        board = device.get("/")
        tap.say("the board is there", not (board.status == 200 and "<h1>In the shop</h1>" in board.text))
        tap.say("each deck is a link to its job", not ('href="/job/0007"' in board.text))
        policy = board.headers["Content-Security-Policy"]
        tap.say("no page may run a script of another place", not ("script-src 'self'" in policy and "unsafe" not in policy))
        cookie = board.headers["Set-Cookie"]
        tap.say("scripts cannot read the session", not ("HttpOnly" in cookie and "SameSite=Strict" in cookie))
        tap.say("a page that is not there is 404", not (device.get("/nothing").status == 404))
        tap.say("another host's name is refused", not (device.get("/", Host="elsewhere.example").status == 421))
        style = board.text.split('rel="stylesheet" href="')[1].split('"')[0]
        tap.say("the style sheet may be kept", not ("max-age=31536000" in device.get(style).headers["Cache-Control"]))
        manifest = device.get(board.text.split('rel="manifest" href="')[1].split('"')[0])
        told = json.loads(manifest.text)
        icon = device.get(told["icons"][0]["src"])
        tap.say("a tablet can put the bench on its first page, with its icon",
                not (manifest.headers["Content-Type"] == "application/manifest+json" and told["start_url"] == "/" and icon.status == 200))
        status, errors = bench.end()
        tap.say("the system's word ends it cleanly", not (status == 0 and errors == ""))
    return tap.end()


sys.exit(main(sys.argv[1]))
