#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Devices that measure, keep and read, all at once, while the live page listens to its test tone. Each sheet is the
one that a device alone gets, and the book is sound in the end."""
import json
import subprocess
import sys
import tempfile
import threading

from bench import Bench, Device, Tap

DEVICES = 6
COMPUTED = {"ratio": {"ratio.first": "33.40", "ratio.second": "45.2"},
            "resonance": {"arm.effective_mass": "11 g", "cartridge.mass": "6 g", "cartridge.compliance": "14 um/mN"}}
TONE = {"record.tone": "3150 Hz"}


def sheet(device, answer):
    return json.loads(device.get(answer.headers["Location"] + "/json").text) if answer.status == 303 else answer.status


def work(bench, take, begin, results):
    device = Device(bench)
    device.get("/live")
    begin.wait()
    said = {"live": json.loads(device.get("/live/state?after=0&row=0").text)["state"]}
    said["speed"] = sheet(device, device.send("/measure/speed", TONE, [("recording1", "take.wav", take)]))
    for name, values in COMPUTED.items():
        said[name] = sheet(device, device.send(f"/measure/{name}", values, []))
    kept = device.send("/measure/speed?job=0007&as=left", {**TONE, "keep": "yes"}, [("recording1", "take.wav", take)])
    place = kept.headers.get("Location", "")
    said["pages"] = [device.get(path).status for path in ("/", "/job/0007", "/live?job=0007", place or "/nowhere")]
    results.append(said)


def alone(program, folder):
    """What each of them ought to say: the same program called by itself."""
    calls = {"speed": [f"{folder}/take.wav", "record.tone=3150Hz"],
             **{name: [f"{key}={value}" for key, value in values.items()] for name, values in COMPUTED.items()}}
    wanted = {"live": "running", "pages": [200] * 4}
    for name, words in calls.items():
        wanted[name] = json.loads(subprocess.run([program, name, *words, "--json"], capture_output=True, text=True, check=False).stdout)
    return wanted


def main(program):
    tap, results = Tap(), []
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        subprocess.run([program, "synth", f"{folder}/take.wav", "synth.length=12s", "fault.wow=0.1%"], check=True, capture_output=True)
        with open(f"{folder}/take.wav", "rb") as file:
            take = file.read()
        wanted = alone(program, folder)
        first = Device(bench)
        first.get("/live")
        tap.say("the tone is started", not first.post("/live/start", {"input": "tone"}).status == 303)
        begin = threading.Barrier(DEVICES, timeout=240)
        threads = [threading.Thread(target=work, args=(bench, take, begin, results)) for _ in range(DEVICES)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        tap.say("every device is done", f"{len(results)}" if len(results) != DEVICES else "")
        for name, right in wanted.items():
            wrong = [said[name] for said in results if said[name] != right]
            tap.say(f"{name}: each device has what it would have alone", str(wrong[:1])[:2000] if wrong or not results else "")
        tap.say("it still listens", not json.loads(first.get("/live/state?after=0&row=0").text)["state"] == "running")
        first.post("/live/stop", {})
        status, errors = bench.end()
        tap.say("the system's word ends it", "" if status == 0 and errors == "" else f"{status} {errors}")
        tap.say("the book is sound", not bench.call("book", "check").returncode == 0)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
