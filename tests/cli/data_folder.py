#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The tables a technician may edit: missing they cost no measurement, mistyped they are refused with their line."""
import array
import json
import math
import os
import pathlib
import random
import shutil
import sys
import tempfile

from support import Tap, run, wav

RATE_HZ = 16000
OIL = ["bearing.spindle_diameter=10mm", "bearing.sleeve_length=40mm", "bearing.clearance=10um"]
BELT = ["drive.kind=belt", "drive.motor_poles=24", "drive.pulley_diameter=20mm", "drive.rim_diameter=150mm",
        "drive.belt_thickness=1mm", "drive.belt_length=600mm", "drive.centre_distance=150mm", "drive.belt_age=9a"]
# Procedures whose readings have limits, or that read a table: their call, and a reading that is judged when all is there.
CALLS = [(["speed", "tone.wav", "record.tone=3150Hz"], "speed.error"), (["channels", "tone.wav"], None),
         (["response", "spots.wav"], None), (["noise", "hush.wav", "record.start=1s", "noise.reference_level=-10dB",
                                            "noise.reference_velocity=10cm/s"],
                                            "noise.rumble_weighted"),
         (["align", "arm.pivot_to_spindle=222mm"], None), (["template", "arm.pivot_to_spindle=222mm"], None),
         (["force", "force.reading=1.8g"], None), (["rake", "rake.measured=91deg", "arm.effective_length=230mm"], "rake.angle"),
         (["resonance", "arm.effective_mass=10g", "cartridge.mass=6g", "cartridge.compliance=15cu"], "resonance.lateral"),
         (["load", "cable.capacitance=120pF", "cartridge.inductance=500mH", "cartridge.resistance=1kohm"], None),
         (["riaa"], None), (["drive", *BELT], "drive.belt_age"), (["ratio", "ratio.first=33.3", "ratio.second=45"], None),
         (["strobe"], None),
         (["bearing", *OIL, "oil.viscosity_40=22mm2/s", "oil.viscosity_100=4.3mm2/s"], None)]
# The file, what is exchanged in it, the call that reads it, and what the line on stderr says.
SPEED, DRIVE, NOISE = CALLS[0][0], CALLS[11][0], CALLS[3][0]
BEARING, GRADE = CALLS[14][0], ["bearing", *OIL, "oil.grade=VG22"]
MISTAKES = [
    ("limits/hifi.ini", "[speed.error]", "[speed.eror]", SPEED, "line 7: [speed.eror] is no reading that can have a limit"),
    ("limits/hifi.ini", "allowed = -1.0", "alowed = -1.0", SPEED, "line 7: 'alowed' is nothing that [speed.error] can say."),
    ("limits/hifi.ini", "-0.3 .. 0.3 %", "-0.3 to 0.3 %", SPEED, "line 8: a range is written LOW .. HIGH"),
    ("limits/hifi.ini", "-0.3 .. 0.3 %", "0.3 .. -0.3 %", SPEED, "line 8: a range is written LOW .. HIGH"),
    ("limits/hifi.ini", "-0.3 .. 0.3 %", "-0.3 .. 0.3 Hz", SPEED, "line 8: '-0.3 .. 0.3 Hz' is not in a unit of [speed.error]"),
    ("limits/hifi.ini", "-0.3 .. 0.3 %", "-1.3 .. 0.3 %", SPEED, "line 8: what is good for [speed.error] must lie within"),
    ("limits/hifi.ini", "good = -0.3 .. 0.3 %", "allowed = -0.3 .. 0.3 %", SPEED,
     "line 8: 'allowed' of [speed.error] stands on line 7 already"),
    ("limits/hifi.ini", "source = DIN 45 500 mean", "; source = DIN 45 500 mean", SPEED, "[speed.error] names no source"),
    ("limits/hifi.ini", "[speed.error on direct]", "[speed.error on rails]", SPEED, "[speed.error on rails] is no reading that can have a limit"),
    ("limits/hifi.ini", "[speed.error]\n", "", SPEED, "stands before any [group]"),
    ("belt.ini", "[drive.belt_age]", "[drive.belt_aje]", DRIVE, "[drive.belt_aje] is no reading that can have a limit"),
    ("belt.ini", ".. 5 a", ".. 5 mm", DRIVE, "'.. 5 mm' is not in a unit of [drive.belt_age]"),
    ("oils.ini", "viscosity_40 = 22 mm2/s", "viscosity40 = 22 mm2/s", GRADE, "'viscosity40' is nothing that [VG22] can say"),
    ("oils.ini", "viscosity_40 = 22 mm2/s", "viscosity_40 = 22 mm", GRADE, "'mm' is not a unit of it"),
    ("oils.ini", "viscosity_40 = 22 mm2/s", "viscosity_40 = 1,022", GRADE, "1,022 may be 1.022 or 1 022"),
    ("oil_scales.ini", "[SAE J306]", "[SAE J360]", BEARING, "[SAE J360] is no group of this file. It has [ISO 3448], [SAE J306]."),
    ("oil_scales.ini", "19.8 .. 24.2", "24.2 .. 19.8", BEARING, "a range is written LOW .. HIGH"),
    ("weighting/rumble-weighted.ini", "standing = unsure", "standing = sure", NOISE, "standing is 'checked' or 'unsure', not 'sure'"),
    ("weighting/rumble-weighted.ini", "standing = unsure", "standding = unsure", NOISE, "'standding' is nothing that [curve] can say"),
    ("weighting/rumble-weighted.ini", "[points]", "[pionts]", NOISE, "[pionts] is no group of this file"),
    ("weighting/rumble-weighted.ini", "630 = -12", "630 = -12 Hz", NOISE, "'Hz' is not a unit of it"),
    ("weighting/rumble-weighted.ini", "630 = -12", "30 = -12", NOISE, "30 = -12 is no further point of a curve"),
]


def make_recordings(folder):
    tone = array.array("f", [0.3 * math.sin(2 * math.pi * 3150 * n / RATE_HZ) for n in range(40 * RATE_HZ)])
    (folder / "tone.wav").write_bytes(wav(tone.tobytes(), rate=RATE_HZ))
    spots = array.array("f", [0.3 * math.sin(2 * math.pi * hz * n / RATE_HZ) for hz in (315, 1000, 3150, 6300)
                              for n in range(3 * RATE_HZ)])
    (folder / "spots.wav").write_bytes(wav(spots.tobytes(), rate=RATE_HZ))
    draw = random.Random(1)
    hush = array.array("f", [1e-4 * draw.gauss(0, 1) for n in range(30 * RATE_HZ)])
    (folder / "hush.wav").write_bytes(wav(hush.tobytes(), rate=RATE_HZ))


def call(program, folder, data, arguments):
    os.environ["DECKWRIGHT_DATA"] = str(data)
    return run(program, arguments, folder)


def sheet_of(program, folder, data, arguments):
    got, out, err = call(program, folder, data, [*arguments, "--json"])
    return (json.loads(out), "") if got in (0, 3) and not err else (None, f"exit {got}: {err}")


def check_judged(program, folder, data, arguments, key):
    """With all the tables there, so that what is missing below is missing by the folder alone."""
    sheet, trouble = sheet_of(program, folder, data, arguments)
    if trouble or not key:
        return trouble
    verdicts = {reading["key"]: reading["verdict"] for reading in sheet["readings"]}
    return "" if verdicts.get(key) else f"{key} has no verdict: {verdicts}"


def check_missing(program, folder, data, arguments, key):
    """Measured, without a verdict, and a remark or a line of what was not measured says why."""
    sheet, trouble = sheet_of(program, folder, data, arguments)
    if trouble:
        return trouble
    judged = [reading["key"] for reading in sheet["readings"] if reading["verdict"]]
    why = [text for text in [*sheet["remarks"], *(line["reason"] for line in sheet["not_measured"])]
           if str(data) in text]
    if judged:
        return f"judged: {judged}"
    if not sheet["readings"] and not sheet["tables"] and not sheet["not_measured"]:
        return "nothing was measured"
    return "" if why else f"nothing says that the tables are missing: {sheet['remarks']}"


def check_mistake(program, folder, good, mistake):
    name, old, new, arguments, complaint = mistake
    data = folder / "mistaken"
    shutil.rmtree(data, ignore_errors=True)
    shutil.copytree(good, data)
    text = (data / name).read_text()
    if old not in text:
        return f"{name} does not say {old}"
    (data / name).write_text(text.replace(old, new, 1))
    got, out, err = call(program, folder, data, arguments)
    if got != 2 or out:
        return f"exit {got}: {err}{out[:200]}"
    return "" if str(data / name) in err and complaint in err and err.count("\n") == 1 else f"{err}wanted: {complaint}"


def check_stray(program, folder, good):
    data = folder / "mistaken"
    shutil.rmtree(data, ignore_errors=True)
    shutil.copytree(good, data)
    (data / "limits/hify.ini").write_text("")
    got, _, err = call(program, folder, data, SPEED)
    return "" if got == 2 and "there is no class of deck 'hify'" in err else f"exit {got}: {err}"


def garble(good, data):
    """Each file replaced by bytes that are no text."""
    shutil.copytree(good, data)
    draw = random.Random(2)
    for path in data.rglob("*"):
        if path.is_file():
            path.write_bytes(draw.randbytes(400))


def check_garbled(program, folder, data, arguments):
    got, out, err = call(program, folder, data, arguments)
    return "" if got == 2 and not out and err.startswith("deckwright: ") and err.count("\n") == 1 else f"exit {got}: {err}"


def empty(good, data):
    shutil.copytree(good, data)
    for path in data.rglob("*.ini"):
        path.write_bytes(b"")


def main(program, good):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        make_recordings(folder)
        (folder / "bare").mkdir()
        garble(good, folder / "garbled")
        empty(good, folder / "emptied")
        for arguments, key in CALLS:
            tap.say(f"all there: {arguments[0]}", check_judged(program, folder, good, arguments, key))
            for data in ["nowhere", "bare"]:
                tap.say(f"folder {data}: {arguments[0]}", check_missing(program, folder, folder / data, arguments, key))
            if arguments[0] != "noise":  # a curve without points cannot weigh
                tap.say(f"emptied: {arguments[0]}", check_missing(program, folder, folder / "emptied", arguments, key))
            tap.say(f"garbled: {arguments[0]}", check_garbled(program, folder, folder / "garbled", arguments))
        for mistake in MISTAKES:
            tap.say(f"{mistake[0]}: {mistake[2]}".replace("\n", ""), check_mistake(program, folder, good, mistake))
        tap.say("a file of limits that is no class's", check_stray(program, folder, good))
        tap.say("an oil of a list that is not there", "" if "oils.ini cannot be opened" in
                call(program, folder, folder / "bare", GRADE)[2] else "not said")
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2]))
