#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The live page on a real sound server: levels before the start, two inputs at once, what a kept sheet says of its
take, and that loading the page leaves nothing behind. The truth is what is played into each device, made here:
3150 Hz, 0.4 % fast at the one and 0.3 % slow at the other."""
import html
import json
import os
import pathlib
import re
import shutil
import sys
import tempfile
import threading
import time

from bench import PATIENCE, Bench, Device, Tap, in_time
from support import alike

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "procedure"))
from sound_servers import SERVERS, Player, unless  # noqa: E402


def state(device, place=1):
    return json.loads(device.get(f"/live/state?place={place}&after=0&row=0").text)


def wait(device, is_so, place=1):
    """Asks until IS_SO of the state; returns that state, or the last one."""
    now, end = state(device, place), time.monotonic() + PATIENCE
    while not is_so(now) and time.monotonic() < end:
        time.sleep(0.1)
        now = state(device, place)
    return now


def has_speed(now):
    figure = now["figures"]["speed.error"]
    return figure["value"] is not None and not figure["stale"]


def rows_of(page):
    """The inputs that a page without a script offers: name to (label, level, whether it is marked)."""
    found = {}
    for row in re.findall(r'<label class="input-row.*?</label>', page, re.S):
        name = html.unescape(re.search(r'data-name="([^"]*)"', row).group(1))
        label = html.unescape(re.search(r'data-part="label">([^<]*)', row).group(1))
        level = re.search(r'<meter[^>]* value="([^"]*)"[^>]*>', row)
        level = None if level and " hidden" in level.group(0) else level
        found[name] = (label, float(level.group(1)) if level else None, "moved\"" in row.split(">")[0])
    return found


def check_levels(tap, device):
    rows, end = rows_of(device.get("/live").text), time.monotonic() + PATIENCE
    while not all((rows.get(f"device:{name}", ("", None))[1] or -60) > -40 for name in ["needle", "contact"]) and time.monotonic() < end:
        rows = rows_of(device.get("/live").text)  # refreshed, as a page without a script is
    tap.say("a page without a script shows the level of each input", unless(
        abs(rows["device:needle"][1] + 12) < 1 and abs(rows["device:contact"][1] + 20) < 1, rows))
    page = device.get("/live").text
    inputs, monitors = page.split("<summary>What the computer plays</summary>")
    tap.say("what the computer plays stands apart", not ("device:needle" in inputs and "deck_a.monitor" not in inputs.split("<fieldset")[1]
                                                         and "device:deck_a.monitor" in monitors))
    tap.say("two inputs of one name are told apart", unless(rows["device:needle"][0] != rows["device:contact"][0], rows))
    tap.say("a device called 'tone' is a device", unless("device:tone" in rows and "tone" in rows, rows))


def check_tone(tap, device):
    """A device called "tone" is not the test tone."""
    device.post("/live/start", {"input": "device:tone"})
    now = wait(device, has_speed)
    tap.say("a device called 'tone' is measured as it plays", unless(abs(now["figures"]["speed.error"]["value"] - 0.4) < 0.02
            and now["device"] is not None, now["figures"]["speed.error"]))
    device.post("/live/stop", {})


def check_two(tap, device):
    tap.say("the first is started", not device.post("/live/start", {"input": "device:needle"}).status == 303)
    tap.say("the second may not listen to the same", not device.post("/live/start?place=2", {"input": "device:needle"}).status == 400)
    answer = device.post("/live/start?place=2", {"input": "device:contact"})
    tap.say("the second is started", not (answer.status == 303 and "two=1" in answer.headers["Location"]))
    one, two = wait(device, has_speed), wait(device, has_speed, 2)
    speeds = [now["figures"]["speed.error"]["value"] for now in (one, two)]
    tap.say("each has its own figures", unless(abs(speeds[0] - 0.4) < 0.02 and abs(speeds[1] + 0.3) < 0.02, speeds))
    levels = [now["levels"][0]["peak_db"] for now in (one, two)]
    tap.say("and its own level", unless(abs(levels[0] + 12.04) < 0.3 and abs(levels[1] + 20) < 0.3, levels))
    page = device.get("/live").text
    ids = re.findall(r' id="([^"]*)"', page)
    tap.say("both stand on the page", not ('data-place="1"' in page and 'data-place="2"' in page))
    tap.say("and no id stands twice", sorted({name for name in ids if ids.count(name) > 1}))


def sheet_of(device, answer):
    return json.loads(device.get(answer.headers["Location"] + "/json").text) if answer.status == 303 else None


def check_keep(tap, device, bench):
    wait(device, lambda now: now["take"]["held_s"] > 9)
    wait(device, lambda now: now["take"]["held_s"] > 9, 2)
    found = []
    for place, name, phase in [(1, "needle", "received"), (2, "contact", "left")]:
        answer = device.post(f"/live/keep?place={place}", {"procedure": "speed", "last": "8", "job": "0007", "as": phase, "at_once": "yes",
                                                           "name": f"by {name}"})
        sheet = sheet_of(device, answer)
        speed = next((one["value"] for one in sheet["readings"] if one["key"] == "speed.error"), None) if sheet else None
        table = next((one for one in sheet["tables"] if one["key"] == "take"), None) if sheet else None
        found.append((speed, {row[0]: row[1] for row in table["rows"]} if table else answer.text[-500:]))
    tap.say("each gives its own sheet", unless(abs(found[0][0] - 0.4) < 0.02 and abs(found[1][0] + 0.3) < 0.02, found))
    tap.say("each sheet names its input and how it came in", unless(all(
        fact["Known to the sound server as"] == name and fact["Rate"] == "48000" and fact["Sound lost"] and "no" in fact["Resampled"]
        for (_, fact), name in zip(found, ["needle", "contact"])), found))
    page = device.get(answer.headers["Location"]).text
    tap.say("the page of the sheet says it in plain words", unless(
        "What the computer calls it" in page and "Sound that never came" in page and "Known to the sound server as" not in page, page[-3000:]))
    paper = f"{bench.folder}/proof.pdf"
    made = bench.call("report", "proof", "7", "--out", paper)
    if os.environ.get("DECKWRIGHT_PICTURES"):
        shutil.copy(paper, os.environ["DECKWRIGHT_PICTURES"])
    words = os.popen(f"pdftotext -layout '{paper}' -").read() if made.returncode == 0 else made.stderr
    tap.say("and so does the proof", unless("How live sound came in" in words and "48000" in words and "0.00" in words, words[-1500:]))


def check_stop(tap, device):
    device.post("/live/stop?place=2", {})
    tap.say("one is stopped by itself", not (state(device)["state"] == "running" and state(device, 2)["state"] == "stopped"))
    kept = device.post("/live/keep?place=2", {"procedure": "speed", "last": "8", "job": "", "name": ""})
    tap.say("what it heard can still be kept", not kept.status == 303 and kept.text[-400:])
    device.post("/live/stop", {})


def check_remembered(tap, device):
    page = device.get("/live").text
    tap.say("the input used last stands chosen", not re.search(r'value="device:needle" required checked', page))


def held(bench):
    """Descriptors but those of the book, resident kB, and how often the book's file is open: as often as pages came at
    once, for SQLite keeps the descriptors of what is closed for what is opened next, as long as anything else is open."""
    folder, names = pathlib.Path(f"/proc/{bench.process.pid}"), []
    resident = int(re.search(r"VmRSS:\s+(\d+)", (folder / "status").read_text()).group(1))
    for one in (folder / "fd").iterdir():
        try:
            names.append(pathlib.Path(os.readlink(one)).name)
        except FileNotFoundError:  # closed since
            pass
    return len([name for name in names if not name.startswith(("book.sqlite", "lock"))]), resident, names.count("book.sqlite")


def check_leaks(tap, device, bench, counts_memory):
    """A hundred loads, and fifty that look at levels, after as many to warm up; of a leak checker, which counts each, a fifth."""
    loads = alike(100, 20)

    def load():
        for _ in range(loads):
            device.get("/live")
        threads = [threading.Thread(target=lambda: Device(bench).get("/live/inputs")) for _ in range(loads // 2)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return held(bench)

    load()
    before, after = load(), load()
    end = time.monotonic() + PATIENCE
    while after[0] > before[0] + 3 and time.monotonic() < end:  # a viewer that has gone is let go when the bench gets to it
        time.sleep(0.5)
        after = held(bench)
    print(f"# descriptors {before[0]} to {after[0]}, resident kB {before[1]} to {after[1]} over {loads} loads")
    tap.say("loading the page leaves no descriptor behind", after[0] > before[0] + 3 and f"{before} {after}")
    tap.say("nor the book's beyond those of pages that came at once", after[2] > loads // 2 + 3 and f"{before} {after}")
    if counts_memory:  # under the sanitizers freed memory is kept for a while, and they count leaks themselves
        tap.say("nor memory", after[1] > before[1] + 3000 and f"{before} {after}")


def check_gone(tap, device, server, modules):
    """An input that goes while it is offered is refused, and the page lists it no more."""
    server.ask("unload-module", modules["contact"])
    answer = in_time(lambda: device.post("/live/start", {"input": "device:contact"}))
    tap.say("an input that has gone is refused in words", unless(answer.status == 400 and "no such input" in answer.text, answer.text[-600:]))
    end = time.monotonic() + PATIENCE
    while "device:contact" in rows_of(device.get("/live").text) and time.monotonic() < end:
        time.sleep(0.2)
    tap.say("and is listed no more", "device:contact" in rows_of(device.get("/live").text))


def check_server_gone(tap, device, server):
    server.freeze()
    answer = device.get("/live")
    tap.say("the page comes while the server stands still", not answer.status == 200)
    answer = in_time(lambda: device.post("/live/start", {"input": "device:needle"}))
    tap.say("an input is refused meanwhile, and the server blamed", unless(
        answer.status == 400 and "sound server does not answer" in answer.text and "no such input" not in answer.text, answer.text[-600:]))
    server.thaw()
    server.kill()
    end = time.monotonic() + PATIENCE
    while "device:needle" in rows_of(device.get("/live").text) and time.monotonic() < end:
        time.sleep(0.2)
    tap.say("without a server the tone is left", not ("tone" in rows_of(device.get("/live").text)))


def main(program, kind, counts="memory"):
    missing = SERVERS[kind].missing()
    if missing:
        print(f"1..0 # SKIP {kind} is not tried: {missing} not installed")
        return 0
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        server = SERVERS[kind](folder)
        if not server.answers():
            server.kill()
            print(f"1..0 # SKIP {kind} does not run here")
            return 0
        modules = {}
        for sink, source, words in [("deck_a", "needle", "Desk"), ("deck_b", "contact", "Desk"), ("deck_a", "tone", "tone")]:
            if source != "tone":
                server.sink(sink, 48000)
            modules[source] = server.load("module-remap-source", f"source_name={source}", f"master={sink}.monitor",
                                          f"source_properties=device.description={words}")
        players = [Player(server, "deck_a", 48000), Player(server, "deck_b", 48000, hz=3150 * 0.997, amplitude=0.1)]
        try:
            with Bench(program, f"{name}/shop", env=server.environment) as bench:
                device = Device(bench)
                check_levels(tap, device)
                check_tone(tap, device)
                check_two(tap, device)
                check_keep(tap, device, bench)
                check_stop(tap, device)
                check_remembered(tap, device)
                check_leaks(tap, device, bench, counts == "memory")
                check_gone(tap, device, server, modules)
                check_server_gone(tap, device, server)
                status, errors = bench.end()
                tap.say("the bench ends cleanly", unless(status == 0 and errors == "", errors))
        finally:
            for player in players:
                player.stop()
            server.kill()
    return tap.end()


sys.exit(main(*sys.argv[1:]))
