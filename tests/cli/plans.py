#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Plans of sides on the command line: what is said of good and bad ones, and what is proposed from a recording."""
import pathlib
import sys
import tempfile

from support import Tap, run

HEAD = "[record]\nname = Test\nspeed = 33 1/3 rpm\nreference = 5 cm/s\nlead_in = 2 s\ngap = 2 s\n"
TONE = "[band 1]\nkind = tone\nchannel = lateral\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 8 s\n"
GOOD = (HEAD + TONE + "[band 2]\nkind = tone\nchannel = left\nfrequency = 1 kHz\nlevel = 3.54 cm/s\nlength = 8 s\n"
        "[band 3]\nkind = tone\nchannel = right\nfrequency = 1 kHz\nlevel = 3.54 cm/s\nlength = 8 s\n")
# Name, contents, exit status, stdout.
PLANS = [
    ("good.plan", GOOD, 0, "good.plan: 3 bands, 0.5 min; nothing is wrong with it.\n"),
    ("empty.plan", "", 2,
     "empty.plan: There is no band in it. Add [band 1] with kind, channel, frequency, level and length.\n"),
    ("many.plan", HEAD + "[band 1]\nkind = tune\nlength = 8 s\n"
     "[band 3]\nkind = sweep\nchannel = left\nfrom = 20 Hz\nto = 20 Hz\nlength = 50 min\n"
     "[band 4]\nkind = tone\nchannel = right\nfreq = 1 kHz\nlevel = 5\nlength = 8 parsec\n", 2,
     "many.plan: The bands add up to 50 min, more than a side holds. Check the lengths and their units.\n"
     "many.plan:8: [band 1] 'tune' is no kind. Use one of: tone, sweep, steps, silence, two-tone.\n"
     "many.plan:11: doubtful: [band 3] follows 1: number 2 is missing. Add it or close the gap.\n"
     "many.plan:14: [band 3] from and to are equal: a sweep needs two ends. A steady tone is kind = tone.\n"
     "many.plan:17: [band 4] frequency is missing. A band of kind tone needs it.\n"
     "many.plan:19: [band 4] 'freq' is no key of a band. Did you mean frequency?\n"
     "many.plan:21: [band 4] length: 'parsec' is not a unit of it. Use one of: s, ms, min, h, a.\n"),
    ("doubt.plan", HEAD + TONE + "[band 3]\nkind = silence\nlength = 30 s\nfrequency = 3 Hz\n", 3,
     "doubt.plan:14: doubtful: [band 3] follows 1: number 2 is missing. Add it or close the gap.\n"
     "doubt.plan:16: doubtful: [band 3] frequency means nothing for a band of kind silence. Leave it out.\n"),
    ("radii.plan", HEAD + TONE + "radius = 120 mm\n[band 2]\nkind = silence\nlength = 30 s\nradius = 121 mm\n", 2,
     "radii.plan:15: [band 2] begins at 121 mm, not inside [band 1] at 120 mm. Radii must fall from band to band.\n"),
]
NEEDS = ("deckwright: plan needs what to do: deckwright plan check PLAN, or deckwright plan guess RECORDING "
         "[--out PLAN].\n")
# Arguments, exit status, the whole of stderr.
BAD_CALLS = [
    ("plan", 2, NEEDS),
    ("plan chek good.plan", 2, NEEDS),
    ("plan check good.plan --out other.plan", 2, NEEDS),
    ("plan check good.plan --json", 2, "deckwright: plan takes no option but --out, and that with guess.\n"),
    ("plan check none.plan", 2, "deckwright: none.plan: cannot open it (No such file or directory). Check the name.\n"),
    ("plan guess none.wav", 2, "deckwright: none.wav: there is no such file. Check the name and the folder.\n"),
    ("side side.wav", 2, "deckwright: side needs the plan of the record's side: record.plan=FILE. 'deckwright plan guess "
     "RECORDING' proposes one.\n"),
    ("side side.wav record.plan=empty.plan", 2,
     "deckwright: empty.plan: no band of it can be used. 'deckwright plan check' says why.\n"),
    ("plan guess side.wav --out good.plan", 2,
     "deckwright: good.plan is there already and is not overwritten. Give --out another name.\n"),
]
GUESSED = """# Proposed from a recording. Compare it with the record's sleeve or label before use.
# Speed: played +1.20 % off nominal, if 3 of its 3 tones are of a usual frequency.
# Levels: assumed that band 1 is cut at 5 cm/s. Correct them all if it is not.
# Low ends of sweeps, how they are cut, and left and right are as heard.
[record]
name = Guessed from a recording
speed = 33 1/3 rpm
reference = 5 cm/s
lead_in = 2 s
gap = 2 s

[band 1]
kind = tone
channel = lateral
frequency = 1000 Hz
level = 5 cm/s
length = 8 s

[band 2]
kind = tone
channel = left
frequency = 1000 Hz
level = 3.54 cm/s
length = 8 s

[band 3]
kind = tone
channel = right
frequency = 1000 Hz
level = 3.54 cm/s
length = 8 s
gap = 0 s
"""


def differs(got, wanted):
    return "" if got == wanted else f"got {got!r}, wanted {wanted!r}"


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        for name, text, status, out in PLANS:
            pathlib.Path(folder, name).write_text(text, encoding="utf-8")
            tap.say(f"plan check {name}", differs(run(program, ["plan", "check", name], folder), (status, out, "")))
        run(program, ["synth", "side.wav", "record.plan=good.plan", "fault.speed_error=1.2%"], folder)
        for call, status, complaint in BAD_CALLS:
            tap.say(call, differs(run(program, call.split(), folder), (status, "", complaint)))
        tap.say("plan guess", differs(run(program, ["plan", "guess", "side.wav"], folder), (0, GUESSED, "")))
        tap.say("plan guess --out", differs(run(program, ["plan", "guess", "side.wav", "--out", "new.plan"], folder),
                                            (0, "", "")))
        tap.say("what was written", differs(pathlib.Path(folder, "new.plan").read_text(encoding="utf-8"), GUESSED))
        for name, bands, minutes in (("set-up-side", 9, 8.2), ("twenty-band-side", 20, 16.1), ("seven-inch-side", 7, 3.4)):
            tap.say(f"plan check {name}", differs(run(program, ["plan", "check", name], folder),
                                                  (0, f"{name}: {bands} bands, {minutes} min; nothing is wrong with it.\n", "")))
        status, out, _ = run(program, ["side", "side.wav", "record.plan=good.plan"], folder)
        tap.say("side by a plan", "" if status in (0, 3) and "Bands found" in out and "Channel balance" in out else out)
        tap.say("side by the proposed plan",
                differs(run(program, ["side", "side.wav", "record.plan=new.plan"], folder)[1], out))
        status, out, _ = run(program, ["help", "plan"], folder)
        tap.say("help plan", "" if status == 0 and "plan check PLAN | plan guess RECORDING" in out else out)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
