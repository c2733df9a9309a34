#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Each procedure on each kind of band: the right ones give a sheet, every wrong one is refused with what it holds instead."""
import pathlib
import subprocess
import sys
import tempfile

import takes
import waves

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from support import Tap  # noqa: E402

# Each kind: its recording, its rate, and what the refusal says of it.
KINDS = {
    "tone": (takes.speed, takes.RATE, ("a steady tone of 31",)),
    "bands": (takes.bands, takes.RATE, ("1000 Hz",)),
    "steps": (takes.steps, takes.RATE, ("300 Hz at several levels",)),
    "sweep": (takes.sweep, takes.SWEEP_RATE, ("a sweep from ",)),
    "low sweep": (takes.low_sweep, takes.LOW_RATE, ("a sweep from ",)),
    "silence": (takes.silent, takes.RATE, ("silent groove",)),
    "two tones": (takes.two_tones, takes.RATE, ("two tones at once",)),
}
# Each procedure: what it is given beside the recording, and the kinds that it measures.
PROCEDURES = {
    "speed": (["record.tone=3150Hz"], {"tone"}),
    "tracking": (["record.tone=300Hz"], {"steps", "bands"}),
    "response": ([], {"sweep"}),
    "lowsweep": ([], {"low sweep"}),
    "noise": (["noise.reference_level=-10dB", "noise.reference_velocity=10cm/s"], {"silence"}),
    "channels": ([], {"bands", "tone", "steps"}),
    "azimuth": ([], {"bands"}),
    "intermod": ([], {"two tones"}),
}
# Another procedure's band that is of use all the same, or that the procedure refuses in words of its own.
OWN_WORDS = {("azimuth", "tone"), ("azimuth", "steps"), ("channels", "steps")}
OWN_WORDS |= {(procedure, "silence") for procedure in ("lowsweep", "channels", "azimuth")}
OWN_WORDS |= {("lowsweep", kind) for kind in ("tone", "bands", "steps")}
# A tone of the catalogue's preset is looked for, and these are others: said by the procedure itself.
OWN_WORDS |= {("speed", kind) for kind in KINDS} | {("tracking", "bands")}


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        paths = {}
        for kind, (make, rate, _) in KINDS.items():
            paths[kind] = waves.write(pathlib.Path(folder) / (kind.replace(" ", "-") + ".wav"), *make(), rate)
        for procedure, (given, right) in PROCEDURES.items():
            for kind, path in paths.items():
                done = subprocess.run([program, procedure, path, *given], capture_output=True, text=True, check=False)
                said = done.stderr.strip()
                if kind in right and (procedure, kind) not in OWN_WORDS:
                    trouble = "" if done.returncode in (0, 3) else said
                elif (procedure, kind) in OWN_WORDS:
                    honest = done.returncode in (1, 2, 3) or "\nNot measured\n" in done.stdout
                    trouble = "" if kind in right or honest else f"exit {done.returncode}"
                else:
                    words = KINDS[kind][2]
                    refused = done.returncode == 2 and not done.stdout and said.count("\n") == 0
                    trouble = "" if refused and all(word in said for word in words) else f"exit {done.returncode}: {said}"
                tap.say(f"{procedure} of {kind}", trouble)
    return tap.end()


sys.exit(main(sys.argv[1]))
