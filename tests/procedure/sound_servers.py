# SPDX-License-Identifier: MIT
"""Real sound servers without hardware, each in a folder of its own so that none meets another, and what plays into them."""
import math
import os
import pathlib
import shutil
import signal
import subprocess
import threading
import time

import numpy

TONE_HZ = 3150 * 1.004
PATIENCE = 300


def unless(is_so, seen):
    """What is wrong, for a test's line: nothing when IS_SO, else what was SEEN, be it nothing."""
    return "" if is_so else repr(seen)


class Server:
    """PulseAudio."""
    PROGRAMS = ["pulseaudio", "pactl", "pacat"]
    holds_time = True  # a device that gives nothing for a while gives nothing

    def __init__(self, folder):
        self.folder = folder
        self.environment = {**os.environ, "XDG_RUNTIME_DIR": f"{folder}/run", "HOME": str(folder), "PULSE_COOKIE": f"{folder}/cookie",
                            "XDG_CONFIG_HOME": f"{folder}/config", "XDG_STATE_HOME": f"{folder}/state"}
        os.makedirs(f"{folder}/run", mode=0o700, exist_ok=True)
        self.processes = []
        self.lives, self.loaded = 1, {}  # how often it was started; modules, by the thread that loaded them
        self.start()

    @classmethod
    def missing(cls):
        """What is not installed, in words; "" for nothing."""
        return ", ".join(name for name in cls.PROGRAMS if not shutil.which(name))

    def begin(self, *words):
        self.processes.append(subprocess.Popen(words, env=self.environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL))

    def start(self):
        self.environment["PULSE_SERVER"] = f"unix:{self.folder}/socket"
        self.begin("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", "-L",
                   f"module-native-protocol-unix socket={self.folder}/socket auth-anonymous=1")
        self.wait(lambda: self.answers())

    def answers(self):
        return self.ask("info").returncode == 0

    @staticmethod
    def wait(is_so):
        end = time.monotonic() + PATIENCE
        while not is_so() and time.monotonic() < end:
            time.sleep(0.1)

    def signal(self, what):
        for process in self.processes:
            process.send_signal(what)

    def freeze(self):
        self.signal(signal.SIGSTOP)

    def thaw(self):
        self.signal(signal.SIGCONT)

    def kill(self):
        self.signal(signal.SIGKILL)
        for process in self.processes:
            process.wait()
        self.processes = []
        self.lives, self.loaded = self.lives + 1, {}

    def ask(self, *words):
        return subprocess.run(["pactl", *words], env=self.environment, capture_output=True, text=True, check=False)

    def load(self, module, *arguments):
        loaded = self.ask("load-module", module, *arguments).stdout.strip()
        self.loaded.setdefault(threading.get_ident(), []).append(loaded)
        return loaded

    def loaded_here(self):
        """How far this thread has come with loading, for unload_since()."""
        return self.lives, len(self.loaded.get(threading.get_ident(), []))

    def unload_since(self, then):
        """Takes away what this thread has loaded since THEN, unless the server was started anew."""
        if then[0] == self.lives:
            mine = self.loaded.get(threading.get_ident(), [])
            for module in reversed(mine[then[1]:]):
                self.ask("unload-module", module)
            del mine[then[1]:]

    def sink(self, name, rate, channels=2):
        return self.load("module-null-sink", f"sink_name={name}", f"rate={rate}", f"channels={channels}", "format=float32le")


class PipeServer(Server):
    """PipeWire, its session manager and its part that speaks PulseAudio's protocol, on a message bus of their own,
    as they are delivered: at one rate."""
    PROGRAMS = ["pipewire", "pipewire-pulse", "wireplumber", "dbus-daemon", "pactl", "pacat"]
    holds_time = False  # it gives silence instead, at its time

    def start(self):
        run = f"{self.folder}/run"
        for left in pathlib.Path(run).glob("*"):  # sockets of a server that was killed
            if left.is_socket():
                left.unlink()
        self.environment |= {"PULSE_SERVER": f"unix:{run}/pulse/native", "PIPEWIRE_RUNTIME_DIR": run,
                             "DBUS_SESSION_BUS_ADDRESS": f"unix:path={run}/bus"}
        self.begin("dbus-daemon", "--session", "--nofork", "--nopidfile", f"--address=unix:path={run}/bus")
        self.wait(lambda: os.path.exists(f"{run}/bus"))
        self.begin("pipewire")
        self.wait(lambda: os.path.exists(f"{run}/pipewire-0"))
        self.begin("wireplumber")
        self.begin("pipewire-pulse")
        self.wait(lambda: self.answers())


SERVERS = {"pulseaudio": Server, "pipewire": PipeServer}


class Player:
    """Plays a steady tone, or several at once, into a sink for as long as it lives: whole turns of it, again and again."""
    ROUND_S = 20  # in which every tone has whole turns

    def __init__(self, server, sink, rate, hz=TONE_HZ, amplitude=0.25, channels=2):
        n = numpy.arange(int(self.ROUND_S * rate))
        tones = hz if isinstance(hz, list) else [hz]
        assert all(abs(one * self.ROUND_S - round(one * self.ROUND_S)) < 1e-6 for one in tones), "a turn would be cut"
        tone = sum(amplitude / len(tones) * numpy.sin(2 * math.pi * one * n / rate) for one in tones).astype("<f4")
        self.samples = numpy.repeat(tone[:, None], channels, 1).tobytes()
        self.process = subprocess.Popen(["pacat", "--playback", f"--device={sink}", f"--rate={rate}", f"--channels={channels}",
                                         "--format=float32le"], env=server.environment, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL)
        threading.Thread(target=self.feed, daemon=True).start()

    def feed(self):
        try:
            while True:
                self.process.stdin.write(self.samples)
        except (BrokenPipeError, ValueError):  # it has ended
            pass

    def stop(self):
        self.process.kill()
        self.process.wait()
