#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What a customer hears: made of two recordings kept on a job, kept there, played and saved."""
import array
import io
import math
import pathlib
import random
import re
import struct
import sys
import tempfile
import wave

from bench import Bench, Device, Tap

RATE, JOB, SECONDS = 22050, "/job/0010", 50


def music():
    """Notes and strokes that come and go, the same each time."""
    draw = random.Random(5)
    out = [0.004 * draw.gauss(0, 1) for _ in range(RATE * SECONDS)]
    at = 0.0
    while at < SECONDS:
        begin, length, hertz = int(at * RATE), int(draw.uniform(0.2, 0.8) * RATE), 110 * 2 ** (draw.randrange(36) / 12)
        hiss, loud = draw.uniform(0.02, 0.3), 10 ** draw.uniform(-1, 0)
        at += draw.choice([0.13, 0.2, 0.31, 0.5, 0.9])
        for n in range(begin, min(begin + length, len(out))):
            u = (n - begin) / RATE
            out[n] += loud * math.exp(-5 * u) * (0.15 * math.sin(2 * math.pi * hertz * u) + 0.08 * math.sin(6 * math.pi * hertz * u) + hiss * draw.uniform(-1, 1))
    return out


def recorded(sound, once, gain):
    """Played by a platter that runs ONCE unevenly a turn (33⅓), in 16 bits."""
    samples = array.array("h")
    for n in range(len(sound) - RATE):
        place = n + RATE * once * 1.8 / (2 * math.pi) * math.sin(2 * math.pi * n / RATE / 1.8)
        low = min(max(int(place), 0), len(sound) - 2)
        value = sound[low] + (place - low) * (sound[low + 1] - sound[low])
        samples.append(int(32767 * max(-1, min(1, gain * value))))
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(samples.tobytes())
    return file.getvalue()


def check_handed(tap, device, players, ids):
    """A screen handed to the customer plays the pieces and does nothing else: no file, no form, no other recording."""
    here = JOB + "/ears"
    page = device.get(here)
    tap.say("the screen can be handed over", "" if "Hand the screen to the customer" in page.text else page.text[-600:])
    locked = device.post("/lock", {"to": here})
    page = device.get(here)
    tap.say("it shows the page", "" if locked.status == 303 and page.status == 200 and len(re.findall("<audio", page.text)) == 4 else f"{locked.status} {page.text[-600:]}")
    tap.say("with nothing to save, to make or to hand over", "" if "download" not in page.text and "<form" not in page.text else page.text[-900:])
    tap.say("each piece is played from it", "".join(path for path in players if device.get(path).status != 200))
    tap.say("no whole recording is", "" if device.get(f"{here}/sound/{ids['before']}").status == 404 else "it is")
    tap.say("no piece under another job", "" if device.get(players[0].replace("0010", "0009")).headers.get("Location") == here else "it is")
    refused = device.post(here, {"received": ids["before"], "left": ids["after"]})
    tap.say("and nothing is made from it", "" if refused.status == 403 and "one page only" in refused.text else f"{refused.status} {refused.text[-300:]}")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, pathlib.Path(folder) / "shop", password="turn the record over") as bench:
        device = Device(bench)
        page = device.get(JOB + "/ears")
        tap.say("the page asks for two recordings", "" if page.status == 200 and "As received" in page.text else page.text[:300])
        tap.say("and says where they come from", "" if "/measure/twin?job=0010" in page.text else page.text[-600:])
        tap.say("and without them says what to choose", "" if device.post(JOB + "/ears", {"received": "", "left": ""}).status == 400 else "no refusal")
        sound = music()
        device.get("/measure/twin?job=0010")
        device.send("/measure/twin?job=0010", {"keep": "yes"}, [("recording1", "before.wav", recorded(sound, 0.003, 0.5)),
                                                                ("recording2", "after.wav", recorded(sound, 0.0003, 0.9))])
        page = device.get(JOB + "/ears")
        ids = {name: found for found, name in re.findall(r'<option value="(\d+)"[^>]*>([a-z]+)\.wav', page.text)}
        if set(ids) < {"before", "after"}:
            tap.say("both recordings are kept on the job", page.text[:2000])
            return tap.end()
        device.get("/measure/twin?job=0010&as=left")
        device.send("/measure/twin?job=0010&as=left", {"keep": "yes"}, [("recording1", "late.wav", recorded(sound, 0.002, 0.45)),
                                                                        ("recording2", "later.wav", recorded(sound, 0.0004, 0.85))])
        page = device.get(JOB + "/ears")
        late = re.findall(r'<option value="(\d+)"[^>]*>late\.wav', page.text)
        tap.say("what is kept as left is offered as that alone", "" if len(late) == 1 else f"{len(late)} times")
        wrong = device.post(JOB + "/ears", {"received": late[0] if late else "0", "left": ids["after"]})
        tap.say("and is not taken for what was received", "" if wrong.status == 400 and late else wrong.status)
        made = device.post(JOB + "/ears", {"received": ids["before"], "left": ids["after"]})
        tap.say("the pieces are made", "" if made.status < 400 else made.text[-600:])
        page = device.get(JOB + "/ears")
        players = re.findall(r'<audio[^>]* src="([^"]+)"', page.text)
        tap.say("four of them are played", "" if len(players) == 4 else f"{len(players)} players")
        for path in players:
            answer = device.get(path)
            good = answer.status == 200 and answer.headers.get("Content-Type") == "audio/wav" and answer.body[:4] == b"RIFF"
            at = answer.body.find(b"data")      # of the extensible kind, which wave does not read: channels, rate, length
            channels, rate = struct.unpack_from("<HI", answer.body, answer.body.find(b"fmt ") + 10)
            seconds = struct.unpack_from("<I", answer.body, at + 4)[0] / (2 * channels * rate)
            tap.say(f"{path} is sound of some seconds", "" if good and 6 < seconds < 9 else f"{answer.status}, {seconds} s")
        tap.say("a piece is not offered to be made of again", "" if "worst-turn" not in re.sub(r"<figure.*?</figure>", "", page.text, flags=re.S) else "it is")
        tap.say("a whole recording is not sent as one", "" if device.get(f"{JOB}/ears/sound/{ids['before']}").status == 404 else "it is")
        tap.say("a piece is of its own job alone", "" if device.get(players[0].replace("0010", "0009")).status == 404 else "it is of another")
        check_handed(tap, device, players, ids)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
