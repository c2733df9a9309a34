#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Live inputs of a real sound server that is disturbed while it is measured: devices go and come back,
sound is lost, the server stands still or is killed, levels are changed. The truth is what is played:
3150 Hz, 0.4 % fast, made here. Nothing is held against the clock: a busy machine may lose sound of its
own, and then must say so."""
import concurrent.futures
import json
import math
import pathlib
import signal
import struct
import subprocess
import sys
import tempfile
import threading
import time

import numpy

from live_watch import Watch
from sound_servers import PATIENCE, SERVERS, TONE_HZ, Player, unless

WITHIN = 0.02  # % of speed: what a take of some seconds gives


class Tap:
    def __init__(self):
        self.count, self.failed, self.lock = 0, False, threading.Lock()

    def say(self, what, wrong):
        with self.lock:
            self.count += 1
            self.failed = self.failed or bool(wrong)
            print(f"{'not ok' if wrong else 'ok'} {self.count} - {what}{f': {wrong}' if wrong else ''}", flush=True)


class Spoilt(str):
    """Why nothing was kept, where the machine was too busy to keep anything."""


class Attempt:
    """One try of a check, which tells nothing yet."""
    SPOILT = ["is spoilt", "of tone were found"]  # by sound that a busy machine lost on its way into the server, too

    def __init__(self):
        self.said = []

    def say(self, what, wrong):
        self.said.append((what, wrong))

    def kept(self, watch, wrong):
        """WRONG, unless nothing was kept; then the reason."""
        reason = watch.not_kept()
        return wrong and (Spoilt(reason) if any(word in reason for word in self.SPOILT) else reason or wrong)

    def is_spoilt(self):
        """Whether that is all that is wrong."""
        wrong = [wrong for _, wrong in self.said if wrong]
        return bool(wrong) and all(isinstance(one, Spoilt) for one in wrong)


def tried(tap, check, program, server, *more):
    """CHECK, up to three times while the machine is too busy for anything to be kept; a wrong figure is told the first time."""
    for last in (False, False, True):
        attempt, then = Attempt(), server.loaded_here()
        check(attempt, program, server, *more)
        if last or not attempt.is_spoilt():
            break
        server.unload_since(then)
    for what, wrong in attempt.said:
        tap.say(what, wrong)


def is_state(word):
    return lambda line: line.get("state") == word


def is_heard(line):
    return line.get("state") == "running" and line.get("trouble") == "none"


def has_speed(line):
    figure = line["figures"]["speed.error"] if is_heard(line) else {"value": None}
    return figure["value"] is not None and not figure["stale"]


def is_told(words):
    return lambda line: words in line.get("remark", "")


def wrong_figures(states, low=0.4, high=0.4):
    """What stands as of now, without a mark, and is not what is played."""
    wrong = []
    for state in states:
        if state["state"] != "running" or state["stale"]:
            continue
        for key, right in [("speed.mean", state["nominal_rpm"]), ("speed.turn", None)]:
            figure = state["figures"][key]
            if figure["value"] is None or figure["stale"]:
                continue
            off = 100 * (figure["value"] / right - 1) if right else figure["value"]
            if not low - WITHIN <= off <= high + WITHIN:
                wrong.append((key, off, state["lost_s"]))
    return wrong


def reading(sheet, key):
    return next((one for one in sheet["readings"] if one["key"] == key), None) if sheet else None


def facts(sheet):
    """How the take of SHEET came in, by what its table says."""
    table = next((one for one in sheet["tables"] if one["key"] == "take"), None) if sheet else None
    return {row[0]: row[1] for row in table["rows"]} if table else {}


def wrong_sheet(sheet, states, right=0.4):
    """A sheet's speed must be RIGHT, in %; flagged where sound was lost."""
    speed = reading(sheet, "speed.error")
    if not speed or speed["value"] is None:
        return f"no speed: {sheet and sheet.get('remarks')}"
    if abs(speed["value"] - right) > WITHIN:
        return f"speed {speed['value']}"
    before = [state["lost_s"] for state in states if state["state"] == "away"][-1:]  # of an earlier stretch, which is not kept
    if states[-1]["lost_s"] > sum(before) and not any("missing" in remark for remark in sheet["remarks"]):
        return "lost sound is not told"
    return None


def check_list(tap, program, server):
    for name in ["desk_a", "desk_b"]:  # two inputs of one name that hear what "deck" plays
        server.load("module-remap-source", f"source_name={name}", "master=deck.monitor", "source_properties=device.description=Desk")
    listed = subprocess.run([program, "list"], env=server.environment, capture_output=True, text=True, check=False).stdout
    rows = [line.split("\t") for line in listed.splitlines()]
    names = [name for name, _ in rows]
    tap.say("inputs stand before what the computer plays", unless(
        names.index("device:desk_a") < names.index("device:deck.monitor")
        and dict(rows)["device:deck.monitor"].startswith("What the computer plays"), rows))
    labels = [label for _, label in rows]
    tap.say("two devices of one name are told apart", len(set(labels)) != len(labels) and labels)


def check_undisturbed(tap, program, server, folder, rate):
    server.sink(f"at{rate}", rate)
    player = Player(server, f"at{rate}", rate)
    watch = Watch(program, server, f"device:at{rate}.monitor", 9, folder / f"at{rate}.wav")
    watch.wait(has_speed)
    states = watch.end()
    sheet = watch.sheet()
    player.stop()
    tap.say(f"a device of {rate} Hz is captured at its rate", unless(
        states and states[-1]["rate"] == rate and not states[-1]["device"]["resampled"], states[-1:]))
    tap.say(f"and measured right at {rate} Hz", wrong_figures(states) or tap.kept(watch, wrong_sheet(sheet, states)))
    tap.say(f"its sheet says where it is from at {rate} Hz", unless(
        facts(sheet).items() >= {("Rate", f"{rate}"), ("Channels", "2"), ("Samples", "32"), ("Muted", "no"),
                                 ("Level changed by", "+0.0")} and facts(sheet)["Resampled"] in ("no", "asked not to; the sound server does not tell")
        and facts(sheet)["Known to the sound server as"] == f"at{rate}.monitor", facts(sheet)))


def check_one_channel(tap, program, server, _folder):
    server.sink("single", 48000, 1)
    player = Player(server, "single", 48000, channels=1)
    watch = Watch(program, server, "device:single.monitor", 4)
    watch.wait(is_heard)
    states = watch.end()
    player.stop()
    tap.say("one channel stays one", not (states and states[-1]["channels"] == 1 and len(states[-1]["levels"]) == 1))


def check_high_tones(tap, program, server, folder):
    """A device of 96 kHz is flat to 40 kHz: tones all over the band, played at once, arrive alike."""
    tones = [100.0, 1000.0, 3162.6, 10000.0, 15000.0, 20000.0, 23000.0, 25000.0, 30000.0, 35000.0, 40000.0]
    server.sink("high", 96000)
    player = Player(server, "high", 96000, hz=tones, amplitude=0.8)
    path = folder / "high.wav"
    watch = Watch(program, server, "device:high.monitor", 6, path)
    watch.wait(lambda line: line.get("heard_s", 0) > 4)
    watch.end()
    player.stop()
    most, levels = min((unlike(levels), levels) for levels in levels_of(path, tones))
    print(f"# 96 kHz: within {most:.4f} dB to 40 kHz")
    tap.say("a device of 96 kHz is flat to 40 kHz within 0.1 dB", unless(most < 0.1, levels))


def unlike(levels):
    return max(levels.values()) - min(levels.values())


def levels_of(path, tones):
    """The level of each tone in every half second: what a busy machine tears is in some of them, and never makes tones alike."""
    raw = path.read_bytes()
    at = raw.index(b"data")
    samples = numpy.frombuffer(raw[at + 8:at + 8 + struct.unpack("<I", raw[at + 4:at + 8])[0]], "<f4").reshape(-1, 2)[:, 0]
    n = numpy.arange(48000)
    window = numpy.hanning(len(n))
    for begin in range(0, len(samples) - len(n), len(n) // 4):
        piece = samples[begin:begin + len(n)] * window
        yield {hz: 20 * math.log10(4 / len(n) * abs(numpy.dot(piece, numpy.exp(-2j * math.pi * hz / 96000 * n))) + 1e-12)
               for hz in tones}


def check_unplugged(tap, program, server, folder):
    server.sink("other", 48000)
    other = Player(server, "other", 48000, hz=3087.0)  # -2 %: what a laptop's microphone might hear
    module = server.sink("needle", 48000)
    player = Player(server, "needle", 48000)
    server.ask("set-default-source", "other.monitor")
    watch = Watch(program, server, "device:needle.monitor", 24, folder / "unplugged.wav")
    watch.wait(has_speed)
    server.ask("unload-module", module)
    gone = watch.wait(is_state("away"))
    tap.say("an unplugged device is told at once", unless(gone and "unplugged" in gone["why"], gone))
    player.stop()
    server.sink("needle", 48000)
    player = Player(server, "needle", 48000, hz=3150 * 1.006)  # faster: what stood before is of now no more
    watch.wait(has_speed, gone)
    states = watch.end()
    at = states.index(gone) if gone in states else len(states)
    before, after = states[:at], states[at:]
    tap.say("and taken up again when it comes back", not any(state["state"] == "running" for state in after))
    tap.say("never is another device measured in its place", wrong_figures(before) or wrong_figures(after, 0.6, 0.6))
    tap.say("what is kept is of one stretch", tap.kept(watch, wrong_sheet(watch.sheet(), states, 0.6)))
    tap.say("what was taken before it went can still be kept", tap.kept(watch, wrong_sheet(watch.sheet(1), before)))
    player.stop()
    other.stop()


def check_lost(tap, program, server, folder):
    """A device whose samples fail to come for 0.4 s: 2,000 bytes short of a pipe's clock would show as well."""
    pipe = folder / "pipe"
    server.load("module-pipe-source", "source_name=leaky", f"file={pipe}", "rate=48000", "channels=2", "format=s16le")
    stop, due_now = threading.Event(), threading.Event()  # lost once it is heard, however slow the machine is

    def write():
        with open(pipe, "wb", buffering=0) as out:
            begun, done = time.monotonic(), 0
            while not stop.is_set():
                due = int((time.monotonic() - begun) * 48000)
                if due_now.is_set():
                    due_now.clear()
                    time.sleep(0.4)
                    done += int(0.4 * 48000)
                    continue
                if due > done:
                    n = numpy.arange(done, due)
                    tone = (8000 * numpy.sin(2 * math.pi * TONE_HZ / 48000 * n)).astype("<i2")
                    try:
                        out.write(numpy.repeat(tone[:, None], 2, 1).tobytes())
                    except BrokenPipeError:
                        return
                    done = due
                time.sleep(0.01)

    writer = threading.Thread(target=write, daemon=True)
    writer.start()
    watch = Watch(program, server, "device:leaky", 16, folder / "leaky.wav")
    watch.wait(is_heard)
    time.sleep(3)
    due_now.set()
    told = watch.wait(lambda line: line.get("lost_s", 0) > 0) if server.holds_time else watch.now()
    watch.wait(has_speed, told)
    states = watch.end()
    sheet = watch.sheet()
    stop.set()
    lost = states[-1]["lost_s"] if states else 0
    if server.holds_time:
        tap.say("sound that never came is noticed by time", unless(lost > 0.36, lost))
    tap.say("no figure is wrong meanwhile", wrong_figures(states))
    if server.holds_time:
        tap.say("the sheet says how much is missing", unless(sheet and any("missing" in remark for remark in sheet["remarks"])
                and abs(float(facts(sheet).get("Sound lost", 0)) - lost) < 0.01, sheet and facts(sheet)))
    tap.say("and its speed is right for all that", tap.kept(watch, wrong_sheet(sheet, states)))


def check_knock(tap, program, server, folder):
    """Two inputs of one name, one of which is knocked: a burst of 20 ms in silence."""
    for name in ["near", "far"]:
        server.sink(f"{name}_deck", 48000)
        server.load("module-remap-source", f"source_name={name}", f"master={name}_deck.monitor", "source_properties=device.description=Arm")
    n = numpy.arange(48000 // 50)
    burst = (0.2 * numpy.sin(2 * math.pi * 300 * n / 48000)).astype("<f4")
    raw = folder / "burst.raw"
    numpy.repeat(burst[:, None], 2, 1).tofile(raw)
    lines, at = [], 0
    with subprocess.Popen([program, "look", f"{PATIENCE}"], env=server.environment, stdout=subprocess.PIPE, text=True) as watch:
        for text in watch.stdout:
            lines.append({one["name"]: one for one in json.loads(text)["inputs"]})
            near = lines[-1].get("device:near", {})
            heard = sum(line.get("device:near", {}).get("level_db") is not None for line in lines)
            if near.get("moved"):
                break
            if heard > 40 and len(lines) > at + 30:  # after a quiet time, and again where a busy machine swallowed it
                at = len(lines)
                subprocess.run(["pacat", "--playback", "--device=near_deck", "--rate=48000", "--channels=2", "--format=float32le", str(raw)],
                               env=server.environment, stderr=subprocess.DEVNULL, check=False)
        watch.kill()
    near, far = ([line[f"device:{name}"] for line in lines if f"device:{name}" in line] for name in ["near", "far"])
    tap.say("each input has its level before it is started", not all(any(one["level_db"] is not None for one in which) for which in (near, far)))
    tap.say("the input that is knocked is marked", not any(one["moved"] for one in near))
    tap.say("and no other", any(one["moved"] for one in far))
    tap.say("though both have one name", unless(near and far and near[-1]["label"] != far[-1]["label"], near[-1:] + far[-1:]))


def check_old_levels(tap, program, server):
    """A server that stands still tells no level: what it told last is not of now. Alone, since all else would stand too."""
    levels, frozen_at = [], 0
    with subprocess.Popen([program, "look", f"{PATIENCE}"], env=server.environment, stdout=subprocess.PIPE, text=True) as watch:
        for text in watch.stdout:
            levels.append([one["level_db"] for one in json.loads(text)["inputs"] if one["device"]])
            if not frozen_at and any(level is not None for level in levels[-1]):
                server.freeze()
                frozen_at = len(levels)
            if frozen_at and len(levels) > frozen_at + 30:
                break
        watch.kill()
        server.thaw()
    tap.say("a level that is not of now is not shown", not frozen_at or any(level is not None for level in levels[-1]) and levels[-1])


def check_level(tap, program, server, folder):
    server.sink("turned", 48000)
    player = Player(server, "turned", 48000)
    watch = Watch(program, server, "device:turned.monitor", 6)
    watch.wait(is_heard)
    server.ask("set-source-mute", "turned.monitor", "1")
    watch.wait(is_told("muted"))
    states = watch.end()
    server.ask("set-source-mute", "turned.monitor", "0")
    tap.say("an input muted in the server is told", unless(states and "muted" in states[-1]["remark"], states[-1:]))
    watch = Watch(program, server, "device:turned.monitor", 11, folder / "turned.wav")
    watch.wait(has_speed)
    server.ask("set-source-volume", "turned.monitor", "-18dB")
    watch.wait(is_told("18.0 dB"))
    states = watch.end()
    player.stop()
    tap.say("and stands on the sheet of the take", unless(facts(watch.sheet()).get("Level changed by") == "-18.0 to +0.0", facts(watch.sheet())))
    tap.say("a level that the server changes is told", unless(states and "18.0 dB" in states[-1]["remark"], states[-1:]))


def turn_stream(server, *words):
    """Turns the program's own stream, as a mixer does, which leaves the device as it is."""
    for line in server.ask("list", "short", "source-outputs").stdout.splitlines():
        server.ask(words[0], line.split()[0], *words[1:])


def check_stream_level(tap, program, server, folder):
    """What a mixer does to the one stream, and to one channel alone."""
    server.sink("alone", 48000)
    player = Player(server, "alone", 48000)
    for what, words, undo, said in [
            ("a stream that is turned down", ("set-source-output-volume", "-18dB"), None, "18.0 dB"),
            ("a stream that is muted", ("set-source-output-mute", "1"), ("set-source-output-mute", "0"), "muted"),
            ("one channel that is turned down", ("set-source-output-volume", "100%", "50%"), None, "differently, one by -18.1 dB")]:
        watch = Watch(program, server, "device:alone.monitor", 9, folder / "alone.wav")
        watch.wait(is_heard)
        turn_stream(server, *words)
        watch.wait(is_told(said))
        states, sheet = watch.end(), watch.sheet()
        if undo:
            turn_stream(server, *undo)
        tap.say(f"{what} is told", unless(states and said in states[-1]["remark"], states[-1:]))
        tap.say(f"{what} is told on the sheet, if there is one", unless(not sheet or facts(sheet)["Muted"] == "yes"
                or facts(sheet)["Level changed by"] != "+0.0", sheet and facts(sheet)))
    player.stop()


def check_stalls(tap, program, server, folder):
    player = Player(server, "deck", 48000)
    watch = Watch(program, server, "device:deck.monitor", 14, folder / "stalled.wav")
    watch.wait(is_heard)
    time.sleep(3)
    for seconds in [0.4, 1.3]:
        watch.process.send_signal(signal.SIGSTOP)
        time.sleep(seconds)
        watch.process.send_signal(signal.SIGCONT)
        time.sleep(1)
    watch.wait(has_speed, watch.now())
    states = watch.end()
    tap.say("a program that stood still measures nothing wrong", wrong_figures(states))
    tap.say("and keeps nothing wrong", tap.kept(watch, wrong_sheet(watch.sheet(), states)))
    player.stop()


def check_server(tap, program, server, folder):
    player = Player(server, "deck", 48000)
    watch = Watch(program, server, "device:deck.monitor", 20, folder / "server.wav")
    watch.wait(is_heard)
    time.sleep(3)
    server.freeze()
    time.sleep(2)
    server.thaw()
    time.sleep(3)
    server.kill()
    gone = watch.wait(is_state("away"))
    tap.say("a server that died is told", unless(gone and "sound server" in gone["why"], gone))
    player.stop()
    server.start()
    server.sink("deck", 48000)
    player = Player(server, "deck", 48000)
    watch.wait(has_speed, gone)
    states = watch.end()
    tap.say("what comes after it is taken up", not (gone in states and any(
        state["state"] == "running" for state in states[states.index(gone):])))
    tap.say("no figure was wrong", wrong_figures(states))
    tap.say("nor the sheet", tap.kept(watch, wrong_sheet(watch.sheet(), states)))
    player.stop()


def check_asked_once(tap, program, server, _folder):
    """Whoever opens an input is one client of the server."""
    with subprocess.Popen(["pactl", "subscribe"], env=server.environment, stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL, text=True) as news:
        time.sleep(1)  # until it listens; what it misses would only make the count less
        server.ask("info")
        for line in news.stdout:  # its own and the question's: from here on it is known to listen
            if "'remove' on client" in line:
                break
        watch = Watch(program, server, "device:deck.monitor", 2)
        watch.end()
        server.sink("afterwards", 48000)  # one client more, and the end of the news
        clients = 0
        for line in news.stdout:
            clients += "'new' on client" in line
            if "'new' on module" in line:
                break
        news.terminate()
    tap.say("a server is asked once for an input that is opened", clients != 2 and f"{clients - 1} clients")


def check_dead(tap, program, server, _folder):
    server.load("module-pipe-source", "source_name=dead", f"file={server.folder}/dead", "rate=48000", "channels=2", "format=s16le")
    watch = Watch(program, server, "device:dead", 4)
    if server.holds_time:
        refused = watch.wait(lambda line: "refused" in line)
        print(f"# refused after {refused and refused['after_s']} s")
        tap.say("a device that gives nothing is refused", unless(refused and "no samples came" in refused["refused"], refused))
    else:
        silent = watch.wait(lambda line: line.get("trouble") == "silent")
        watch.end()
        tap.say("a device that gives nothing is told to be silent", not silent)
    watch = Watch(program, server, "device:nowhere", 1)
    refused = watch.wait(lambda line: "refused" in line)
    tap.say("so is one that is not there", unless(refused and "no such input" in refused["refused"], refused))


def main(program, kind):
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
        server.sink("deck", 48000)
        try:
            check_list(tap, program, server)
            if kind == "pulseaudio":  # the other counts its own parts as clients, too
                check_asked_once(tap, program, server, folder)
            with concurrent.futures.ThreadPoolExecutor() as pool:  # they wait most of the time
                checks = [
                    *(pool.submit(tried, tap, check_undisturbed, program, server, folder, rate) for rate in [44100, 48000, 96000, 192000]),
                    *(pool.submit(tried, tap, check, program, server, folder) for check in [
                        check_unplugged, check_knock, check_lost, check_stalls, check_level, check_one_channel, check_high_tones, check_dead])]
                for check in checks:
                    check.result()
            tried(tap, check_stream_level, program, server, folder)  # it turns every stream there is
            tried(tap, check_old_levels, program, server)
            tried(tap, check_server, program, server, folder)
        finally:
            server.kill()
    print(f"1..{tap.count}")
    return tap.failed


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
