#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The bench by its name in a network: a real Avahi, on a bus and a loopback network of its own, is told where the bench
is, and avahi-browse, an outside reader, finds it there. Skipped where no Avahi can be started (that takes root, and no
other Avahi on the machine)."""
import html
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time

from bench import PATIENCE, Bench, Device, Tap

BUS = """<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
"http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd"><busconfig><type>system</type><listen>unix:path={0}/bus</listen>
<auth>EXTERNAL</auth><policy context="default"><allow user="*"/><allow own="*"/><allow send_destination="*"/>
<allow receive_sender="*"/><allow send_type="method_call"/></policy></busconfig>"""
AVAHI = """[server]
host-name=workbench
allow-interfaces=lo
use-ipv6=no
disallow-other-stacks=no
[publish]
publish-workstation=no
"""


class Network:
    """A bus and an Avahi in FOLDER; `reason` says why there is none."""

    def __init__(self, folder):
        self.folder, self.bus, self.avahi, self.reason = pathlib.Path(folder), None, None, ""
        self.environment = {**os.environ, "DBUS_SYSTEM_BUS_ADDRESS": f"unix:path={folder}/bus"}
        missing = [name for name in ("dbus-daemon", "avahi-daemon", "avahi-browse") if not shutil.which(name)]
        if missing or os.geteuid():
            self.reason = f"no {missing[0]}" if missing else "not root"
            return
        (self.folder / "bus.conf").write_text(BUS.format(folder), encoding="utf-8")
        (self.folder / "avahi.conf").write_text(AVAHI, encoding="utf-8")
        self.bus = subprocess.Popen(["dbus-daemon", "--nofork", "--print-address", f"--config-file={folder}/bus.conf"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        self.bus.stdout.readline()
        pathlib.Path("/run/avahi-daemon").mkdir(exist_ok=True)
        self.begin()

    def begin(self):
        self.avahi = subprocess.Popen(["avahi-daemon", "--no-drop-root", "--no-chroot", "--no-rlimits", "-f", str(self.folder / "avahi.conf")],
                                      env=self.environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        said = ""
        for line in self.avahi.stderr:
            said += line
            if "Server startup complete" in line:
                return
        self.reason = said.strip().splitlines()[-1] if said.strip() else "it does not start"

    def end_avahi(self):
        self.avahi.terminate()
        self.avahi.communicate()

    def end(self):
        for one in (self.avahi, self.bus):
            if one and one.poll() is None:
                one.terminate()
                one.wait()

    def found(self):
        """What an outside reader finds: (name, computer, port)."""
        read = subprocess.run(["avahi-browse", "--resolve", "--parsable", "--terminate", "_http._tcp"], env=self.environment, capture_output=True, text=True, check=False)
        names = lambda text: re.sub(r"\\(\d{3})", lambda code: chr(int(code[1])), text)
        return {(names(parts[3]), parts[6], int(parts[8])) for parts in (line.split(";") for line in read.stdout.splitlines()) if parts[0] == "="}

    def wait(self, is_so):
        end = time.monotonic() + PATIENCE
        while not is_so(self.found()) and time.monotonic() < end:
            time.sleep(0.2)
        return self.found()


def check(tap, program, folder, network):
    first = Bench(program, folder / "one", "listen=0.0.0.0", env=network.environment, password="a long enough one")
    shop = re.search(r"^shop\.name +Name of the shop +(.*?) *$", first.call("book", "settings").stdout, re.M).group(1)
    name = f"Deckwright, {shop}"
    found = network.wait(lambda found: found)
    tap.say("the network is told where the bench is, by the shop's name", "" if found == {(name, "workbench.local", first.port)} else found)
    device = Device(first)
    page = html.unescape(device.get("/shop/pair").text)
    tap.say("the page that pairs says the name", "" if f"http://workbench.local:{first.port}" in page else re.findall(r'id="called".*?</p>', page, re.S))
    named = Device(first, "workbench.local")
    tap.say("and the bench answers to it", "" if named.get("/enter").status == 200 else named.get("/enter").status)
    tap.say("not to another computer's", "" if Device(first, "elsewhere.local").get("/enter").status == 421 else "it does")
    second = Bench(program, folder / "two", "listen=0.0.0.0", env=network.environment, password="a long enough one")
    found = network.wait(lambda found: len(found) == 2)
    tap.say("a second bench of the same name takes another", "" if {port for *_, port in found} == {first.port, second.port} and len({one[0] for one in found}) == 2 else found)
    second.end()
    found = network.wait(lambda found: len(found) == 1)
    tap.say("what has ended is told no more", "" if found == {(name, "workbench.local", first.port)} else found)
    network.end_avahi()
    end = time.monotonic() + PATIENCE
    while "by its number only" not in device.get("/shop/pair").text and time.monotonic() < end:
        time.sleep(0.2)
    tap.say("without Avahi the page says that no name is told", "" if "by its number only" in device.get("/shop/pair").text else "it does not")
    network.begin()
    found = network.wait(lambda found: found)
    tap.say("and when it is there again the bench is told again", "" if found == {(name, "workbench.local", first.port)} else found)
    status, errors = first.end()
    tap.say("the bench ends cleanly", f"{status} {errors}" if status or errors else "")
    with Bench(program, folder / "two", env=network.environment):
        time.sleep(1)
        tap.say("a bench for this computer alone is told to nobody", network.found() or "")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        network = Network(name)
        if network.reason:
            print(f"1..0 # SKIP no Avahi of its own: {network.reason}")
            network.end()
            return 0
        try:
            check(tap, program, pathlib.Path(name), network)
        finally:
            network.end()
    return tap.end()


sys.exit(main(str(pathlib.Path(sys.argv[1]).resolve())))
