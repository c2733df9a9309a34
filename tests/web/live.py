#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The live page as a device without scripts sees it, and the state that scripts ask for.

The truth: the bench's own test tone, 3150 Hz at half of full scale by the computer's clock, so a speed
error of 0 and a level of -6.02 dB; and the wobbling of a recording that `synth` makes as it is told to."""
import json
import math
import re
import subprocess
import sys
import tempfile
import threading
import time

from bench import PATIENCE, Bench, Device, Tap



def state(device, after=0, row=0):
    return json.loads(device.get(f"/live/state?after={after}&row={row}").text)


def wait(device, is_so):
    """Asks until IS_SO of the state; returns that state, or the last one."""
    now, end = state(device), time.monotonic() + PATIENCE
    while not is_so(now) and time.monotonic() < end:
        now = state(device, now["seq"], now["raster"]["begun"])
    return now


def is_measured(now):
    return now["figures"]["speed.mean"]["value"] is not None and not now["figures"]["speed.mean"]["stale"]


def check_before(tap, device):
    page = device.get("/live?job=0007&as=received")
    tap.say("the page is there before anything was started", not (page.status == 200 and "No input was started." in page.text))
    tap.say("it names its job", not ("Job 0007" in page.text and 'action="/live/start?job=0007&amp;as=received"' in page.text))
    tap.say("a job that is not there is told", not (device.get("/live?job=9999").status == 404))
    tap.say("the test tone can be chosen", not ('name="input" value="tone"' in page.text))
    now = state(device)
    tap.say("nothing is of now", not (now["state"] == "stopped" and now["stale"]
                                      and all(one["stale"] for one in now["figures"].values())))
    tap.say("every figure says why", [key for key, one in now["figures"].items() if not one["why"]])


def check_refused(tap, device):
    for name in ["file:/etc/passwd", "file:/dev/zero", "/etc/passwd", "../book.sqlite", "recording:0", "recording:999999",
                 "recording:1/../../book.sqlite", "recording:", "", "no such card", "tone "]:
        answer = device.post("/live/start", {"input": name})
        tap.say(f"the input '{name}' is refused", not (answer.status == 400 and "That was not done" in answer.text))
    answer = device.post("/live/start", {"input": "tone", "deck.speed": "fast"})
    tap.say("so is a speed that is none", not (answer.status == 400))
    tap.say("a form without its form token too", not (device.ask("POST", "/live/start", "input=tone", {
        "Content-Type": "application/x-www-form-urlencoded"}).status == 403))
    tap.say("nothing was started by any of them", not (state(device)["state"] == "stopped"))
    tap.say("nothing can be kept yet", not (device.post("/live/keep", {"procedure": "speed"}).status == 400))


def check_running(tap, device, other):
    answer = device.post("/live/start?job=0007&as=received", {"input": "tone", "deck.class": "hifi"})
    tap.say("the tone is started", not (answer.status == 303 and answer.headers["Location"] == "/live?job=0007&as=received"))
    again = other.post("/live/start", {"input": "tone"})
    tap.say("a second start is refused and says what to do", not (again.status == 400 and "Stop it first" in again.text))
    now = wait(device, is_measured)
    figures = now["figures"]
    tap.say("the tone is found", not (abs(now["tone"]["hz"] - 3150) < 0.01 and now["tone"]["engraved_hz"] == 3150))
    tap.say("its speed is nominal", not (abs(figures["speed.error"]["value"]) < 0.002
                                        and abs(figures["speed.mean"]["value"] - 100 / 3) < 0.001))
    tap.say("its level is half of full scale", not all(abs(one["peak_db"] - 20 * math.log10(0.5)) < 0.05 for one in now["levels"]))
    tap.say("its channels are in phase", not (figures["channels.polarity"]["value"] == 1))
    tap.say("the class gives the limits", not (figures["speed.error"]["limit"] and figures["speed.error"]["limit"]["source"]))
    seen = state(other)
    tap.say("another device sees the same", not (seen["state"] == "running" and seen["seq"] >= now["seq"]
                                                and seen["input"] == now["input"] == "Test tone"))
    rows = [row["turn"] for row in state(other, 0, now["raster"]["begun"] - 1)["raster"]["rows"]]
    tap.say("only the turns that are asked for are sent", not (rows and min(rows) == now["raster"]["begun"] - 1))
    page = other.get("/live")
    tap.say("without a script the page shows the figures", not (">Listening: Test tone<" in page.text and 'class="speed"' in page.text))
    tap.say("it is light", not (len(page.body) < 100 * 1024))


def check_crowd(tap, bench):
    """Fifty devices wait for the same frames."""
    ends = []

    def listen():
        device, now = Device(bench), {"seq": 0, "raster": {"begun": 0}}
        for _ in range(4):
            asked = max(0, now["raster"]["begun"] - 1)
            now = state(device, now["seq"], asked)
        # Only the turns since the one asked for come along, however slow the machine is.
        ends.append((now["state"], len(now["raster"]["rows"]) <= now["raster"]["begun"] - asked + 1))

    threads = [threading.Thread(target=listen) for _ in range(50)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    tap.say("fifty devices at once all see it run", "" if ends == [("running", True)] * 50 else str(ends))


def check_keep(tap, device):
    now = wait(device, lambda one: one["take"]["held_s"] > 12)
    answer = device.post("/live/keep", {"procedure": "speed", "last": "10", "until": now["position"], "job": "0007",
                                        "as": "received", "name": "Tone of the bench", "recording": "yes",
                                        "at_once": "yes"})
    tap.say("it is kept on the job", not (answer.status == 303 and answer.headers["Location"].startswith("/sheet/")))
    if answer.status != 303:
        print("# " + answer.text[-800:].replace("\n", " "))
        return
    place = answer.headers["Location"]
    sheet = json.loads(device.get(place + "/json").text)
    readings = {one["key"]: one["value"] for one in sheet["readings"]}
    tap.say("the sheet has the readings of speed",
            sorted({"speed.mean", "speed.error", "flutter.weighted.two_sigma", "flutter.unweighted.two_sigma"} - set(readings)))
    tap.say("and the tone's speed", not (abs(readings["speed.error"]) < 0.002))
    tap.say("it has the name that was given", not ("Tone of the bench" in device.get(place).text))
    tap.say("no page says where the recording lay", not ("incoming" not in device.get(place).text))
    page = device.get("/live?job=0007")
    tap.say("the recording is on the job, to be played", not ("Recording: Tone of the bench" in page.text))
    shown = device.post("/live/keep", {"procedure": "channels", "last": "8", "until": "", "job": "", "name": ""})
    tap.say("or it is shown first", not (shown.status == 303 and shown.headers["Location"].startswith("/result/")))
    for what, fields in {"a procedure that is not there": {"procedure": "no-such"},
                         "one that takes no recording": {"procedure": "force"},
                         "nothing at all": {"procedure": ""},
                         "a job that is not there": {"procedure": "speed", "job": "9999", "as": "left", "at_once": "yes"},
                         "no job at all": {"procedure": "speed", "at_once": "yes"},
                         "a stretch that is no number": {"procedure": "speed", "last": "all"}}.items():
        tap.say(f"{what} is refused", not (device.post("/live/keep", fields).status == 400))


def check_clock(tap, device):
    chains = device.get("/live").text
    tap.say("the chains are offered", not ('action="/live/clock"' in chains))
    answer = device.post("/live/clock", {"chain": "1"})
    tap.say("a clock that runs by the computer's is no clock to keep",
            not (answer.status == 400 and "nothing to check" in answer.text))


def check_stop(tap, device, other):
    tap.say("peaks and sides are forgotten", not (device.post("/live/marks", {}).status == 303
                                                 and device.post("/live/sides", {}).status == 303))
    answer = other.post("/live/stop", {})
    tap.say("any device may stop it", not (answer.status == 303))
    now = state(device)
    tap.say("then nothing is of now, and it says why", not (now["state"] == "stopped" and now["stale"]
            and all(one["stale"] and one["why"] == "The input was stopped." for one in now["figures"].values())))
    page = device.get("/live")
    tap.say("the input that was used last stands chosen", not re.search(r'value="tone" required checked', page.text))
    tap.say("the page says so without a script", not ("The input was stopped." in page.text and 'class="speed stale"' in page.text))


def check_recording(tap, device, program, folder):
    """A recording of the book, with a wow that is known: eccentricity e mm at radius r gives e/r of peak."""
    path = f"{folder}/wobble.wav"
    subprocess.run([program, "synth", path, "synth.length=14", "fault.eccentricity=0.5 mm", "record.radius=100 mm",
                    "fault.speed_error=0.8 %"], check=True, capture_output=True)
    with open(path, "rb") as file:
        device.send("/measure/speed?job=0007&as=left", {"keep": "yes"}, [("recording1", "wobble.wav", file.read())])
    page = device.get("/live?job=0007").text
    chosen = page.split(">Recording: wobble.wav<")[0].rsplit('value="', 1)[1].split('"')[0]
    answer = device.post("/live/start", {"input": chosen})
    tap.say("a recording of the book is played", not (answer.status == 303 and chosen.startswith("recording:")))
    now = wait(device, is_measured)
    figures = now["figures"]
    tap.say("no device learns where it lies", not (now["input"] == "wobble.wav" and "attachments" not in json.dumps(now)))
    tap.say("its speed is as it was made", not (abs(figures["speed.turn"]["value"] - 0.8) < 0.05))
    tap.say("its wow is as it was made", not (abs(figures["revolution.amplitude"]["value"] - 0.5) < 0.05))
    now = wait(device, lambda one: one["state"] != "running")
    tap.say("at its end it says so", not (now["state"] == "ended" and now["why"] == "The recording is over." and now["stale"]))


def put_recording(program, device, folder, name, *operands):
    """A recording that `synth` makes, put on the job by its form; the value that chooses it on the live page."""
    path = f"{folder}/{name}"
    subprocess.run([program, "synth", path, *operands], check=True, capture_output=True)
    with open(path, "rb") as file:
        device.send("/measure/noise?job=0007&as=left", {"keep": "yes"}, [("recording1", name, file.read())])
    page = device.get("/live?job=0007").text
    return page.split(f">Recording: {name}<")[0].rsplit('value="', 1)[1].split('"')[0]


def check_foreign(tap, program, device, folder):
    """A tone that no test record has, and one that is not the stated one: what is wrong is told by the names of the
    form's fields, in the state and on the page."""
    chosen = put_recording(program, device, folder, "foreign.wav", "record.tone=440Hz", "synth.length=14s")
    for stated in ("", "3150 Hz"):
        device.post("/live/start", {"input": chosen, "record.tone": stated})
        now = wait(device, lambda one: "440" in one["why"] or one["state"] != "running")
        page = device.get("/live").text
        tap.say(f"a tone of 440 Hz is told with {stated or 'none'} stated", not ("Give “Recorded tone”" in now["why"]) and now["why"])
        said = re.findall(r"\b(?:record|deck|chain)\.[a-z_]+", json.dumps([now["why"], now["remark"], now["clock"]["why"]]
                          + [one["why"] for one in now["figures"].values()], ensure_ascii=False))
        tap.say("no sentence has a key in it", said)
        shown = re.sub(r"<[^>]+>", " ", page)
        tap.say("nor has the page", re.findall(r"\b(?:record|deck|chain)\.[a-z_]+", shown) or ("Give “Recorded tone”" not in page and "it is not told there"))
        device.post("/live/stop", {})


def check_asked(tap, device):
    """A measurement's form leads here, and its choice holds through the start."""
    form = device.get("/measure/noise?job=0007&as=received").text
    path = "/live?procedure=noise&job=0007&as=received"
    tap.say("a form leads to the live page", f'href="{path}"'.replace("&", "&amp;") not in form)
    page = device.get(path).text
    tap.say("which asks for that measurement", '<option value="noise" selected>' not in page)
    started = device.post("/live/start?procedure=noise&job=0007&as=received", {"input": "tone"})
    tap.say("after the start too", started.headers.get("Location") != path)
    device.post("/live/stop", {})


def check_restart(tap, program, folder):
    """The bench dies while it listens: what it heard is there when it is started again."""
    with Bench(program, folder) as bench:
        device = Device(bench)
        device.get("/live")
        device.post("/live/start", {"input": "tone", "deck.class": "hifi"})
        wait(device, lambda one: one["take"]["held_s"] > 12)
        bench.process.kill()
        bench.process.wait()
    with Bench(program, folder) as bench:
        device = Device(bench)
        page = device.get("/live").text
        now = state(device)
        tap.say("after a restart it says what is held", not (
            "The bench was restarted. What it heard before can still be kept." in page and "Drop them" in page
            and now["input"] == "Test tone" and now["take"]["held_s"] > 10) and str(now["take"]))
        kept = device.post("/live/keep", {"procedure": "speed", "last": "8", "job": "0007", "as": "left", "at_once": "yes", "name": "Before it died"})
        sheet = json.loads(device.get(kept.headers["Location"] + "/json").text) if kept.status == 303 else {"readings": []}
        error = [one["value"] for one in sheet["readings"] if one["key"] == "speed.error"]
        tap.say("and it is measured as if nothing had been", not (error and abs(error[0]) < 0.002) and kept.text[-600:])
        failed = device.post("/live/keep", {"procedure": "startup", "last": "3", "job": "0007", "as": "left", "name": "For nothing", "recording": "yes"})
        tap.say("a measurement that fails keeps its recording", not (
            failed.status == 400 and "The recording is kept on the job." in failed.text
            and "Recording: For nothing" in device.get("/live?job=0007").text) and failed.text[-900:])
        failed = device.post("/live/keep", {"procedure": "startup", "last": "3", "job": "", "name": ""})
        tap.say("or says that it is still held", not (failed.status == 400 and "What was heard is still held" in failed.text))
        device.post("/live/drop", {})
        tap.say("dropped, it is gone", not (device.post("/live/keep", {"procedure": "speed", "last": "8"}).status == 400
                                           and "Drop them" not in re.sub(r"<div[^>]* hidden>.*?</div>", "", device.get("/live").text, flags=re.S)))
        bench.end()
    with Bench(program, folder) as bench:
        tap.say("for good", not (state(Device(bench))["why"] == "No input was started."))


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device, other = Device(bench), Device(bench)
        check_before(tap, device)
        other.get("/live")
        check_refused(tap, device)
        check_asked(tap, device)
        check_running(tap, device, other)
        check_crowd(tap, bench)
        check_keep(tap, device)
        check_clock(tap, device)
        check_stop(tap, device, other)
        check_recording(tap, device, program, folder)
        check_foreign(tap, program, device, folder)
        device.post("/live/start", {"input": "tone"})
        status, errors = bench.end()
        tap.say("the system's word ends it while it listens", not (status == 0 and errors == ""))
        check_restart(tap, program, folder + "/shop")
    return tap.end()


sys.exit(main(sys.argv[1]))
