#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A limit of a kind of drive leads over that of its class, and that of records of 78 over it; what is not stated changes nothing."""
import array
import json
import math
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

from support import Tap, wav

RATE_HZ = 16000
GROUP = "\n[{}]\nallowed = -9 .. 9 %\ngood = {} %\nsource = a test\n"
OWN = (("on idler", "-2 .. 3"), ("at 78", "-4 .. 5"), ("on suspended", "-1 .. 2"), ("on automatic", "-3 .. 4"), ("on changer", "-5 .. 6"))


def limit(program, data, *operands):
    done = subprocess.run([program, "speed", f"{data}/tone.wav", "record.tone=3150Hz", *operands, "--json"], capture_output=True, text=True,
                          check=False, env={"DECKWRIGHT_DATA": str(data)})
    found = next(row for row in json.loads(done.stdout)["readings"] if row["key"] == "speed.error")["limit"]
    return found["good_low"], found["good_high"]


def main():
    program, source = sys.argv[1:3]
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        data = pathlib.Path(folder) / "data"
        shutil.copytree(source, data)
        tone = array.array("f", (0.3 * math.sin(2 * math.pi * 3150 / RATE_HZ * i) for i in range(20 * RATE_HZ)))
        (data / "tone.wav").write_bytes(wav(tone.tobytes(), RATE_HZ))
        own = limit(program, data)
        with open(data / "limits/hifi.ini", "r+", encoding="utf-8") as file:
            text = re.sub(r"(?ms)^\[speed\.error (on|at) .*?(?=^\[)", "", (data / "limits/hifi.ini").read_text(encoding="utf-8"))
            file.seek(0)
            file.truncate()
            file.write(text + "".join(GROUP.format(f"speed.error {group}", good) for group, good in OWN))
        for operands, wanted in (([], own), (["drive.kind=belt"], own), (["drive.kind=idler"], (-2, 3)), (["deck.speed=78.26rpm"], (-4, 5)),
                                 (["drive.kind=idler", "deck.speed=78.26rpm"], (-2, 3)), (["deck.speed=45rpm"], own),
                                 (["deck.operation=manual", "deck.suspended=no"], own), (["deck.suspended=yes", "drive.kind=idler"], (-1, 2)),
                                 (["deck.operation=automatic"], (-3, 4)), (["deck.operation=semi-automatic", "deck.suspended=yes"], (-3, 4)),
                                 (["deck.operation=changer", "drive.kind=idler"], (-5, 6))):
            got = limit(program, data, *operands)
            tap.say(" ".join(operands) or "nothing stated", "" if got == wanted else f"{got}, not {wanted}")
    stated = set(re.findall(r"(?m)^\[\S+ ((?:on|at) \w+)\]", "".join(path.read_text(encoding="utf-8")
                                                                for path in pathlib.Path(source).glob("limits/*.ini"))))
    missing = {"on belt", "on idler", "on direct", "on suspended", "on automatic", "on changer", "on linear", "at 78"} - stated
    tap.say("each kind of deck has rows of its own", str(missing) if missing else "")
    return tap.end()


if __name__ == "__main__":
    sys.exit(main())
