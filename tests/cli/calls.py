#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The program as a user calls it: a table of good and bad calls with exit status, stdout and stderr."""
import array
import json
import math
import os
import pathlib
import re
import sys
import tempfile

from support import Tap, run, wav

# The contract of `deckwright speed --json`: readings with their units, a table, the curves.
READINGS = {
    "tone.frequency": "Hz", "tone.level": "dBFS", "tone.snr": "dB", "tone.start": "s", "tone.length": "s",
    "tone.excluded": "%", "speed.mean": "rpm", "speed.error": "%", "speed.drift": "%/min",
    "flutter.weighted.two_sigma": "%", "flutter.weighted.quasi_peak": "%", "flutter.weighted.rms": "%",
    "flutter.weighted.average": "%", "flutter.unweighted.two_sigma": "%", "flutter.unweighted.quasi_peak": "%",
    "flutter.unweighted.rms": "%", "flutter.unweighted.average": "%", "flutter.wow": "%", "flutter.flutter": "%",
    "tone.noise": "%", "record.tone_error": "%", "flutter.floor": "%", "revolution.amplitude": "% peak", "revolution.phase": "deg", "revolution.second": "% peak",
    "revolution.eccentricity": "mm", "flutter.remainder": "%",
}
LINES = [("frequency", "Hz"), ("amplitude", "% peak"), ("order", "")]
CURVES = {"speed.deviation": ("s", "%"), "flutter.spectrum": ("Hz", "% peak"), "remainder.spectrum": ("Hz", "%/√Hz"),
          "remainder.floor": ("Hz", "%/√Hz")}
NO_TONE = (": No steady tone found between 0.0 and 5.0 s. Record the tone band of a test record (3150, 3000, 1000 or "
           "315 Hz) for 30 s or more, or give record.tone.")
NO_FORMAT = ": this is no recording in a known format. Give a WAV, FLAC, AIFF, Ogg, MP3 or M4A file."
SYNTH_USAGE = "synth [DECKFILE] OUT.wav|OUT.mov|OUT.jpg… [key=value …]"

# Arguments, exit status, the whole of stderr behind "deckwright: ". Nothing is left behind, stdout stays empty.
BAD_CALLS = [
    ("frobnicate", 2, "There is no command 'frobnicate'. 'deckwright help' lists them."),
    ("sped take.wav", 2, "There is no command 'sped'. Did you mean speed?"),
    ("help snyth", 2, "There is no command 'snyth'. Did you mean synth?"),
    ("speed", 2, "speed needs a recording: deckwright speed FILE [key=value …]."),
    ("speed take.wav take.wav", 2, "speed takes one recording, not 2. Measure them one after another."),
    ("speed take.wav --frob", 2, "--frob is not an option. The options are --deck, --json, --chart, --out, --job, --as, --book and --by."),
    ("speed take.wav -x", 2, "-x is not an option. The options are --deck, --json, --chart, --out, --job, --as, --book and --by."),
    ("speed take.wav --json=3", 2, "--json takes no word: --json=3."),
    ("speed take.wav --chart", 2, "--chart needs a word after it."),
    ("speed take.wav --deck", 2, "--deck needs a word after it."),
    ("speed take.wav --out sheet.pdf", 2, "speed prints no template; --chart FILE draws its sheet."),
    # Operands.
    ("speed take.wav deck.sped=45rpm", 2, "'deck.sped' is not a known quantity. Did you mean deck.speed?"),
    ("speed take.wav speed=45rpm", 2, "'speed' is not a known quantity. Did you mean deck.speed?"),
    ("speed take.wav zyzzyva=1", 2, "'zyzzyva' is not a known quantity. 'deckwright help quantities' lists them all."),
    ("speed take.wav =3", 2, "'=3' is not an operand. Write it as key=value."),
    ("speed take.wav record.tone=", 2, "record.tone: no value given. Write it as record.tone=VALUE."),
    ("speed take.wav record.tone=loud", 2,
     "record.tone: 'loud' is not a number. Give it as in record.tone=300Hz."),
    ("speed take.wav record.tone=nan", 2, "record.tone: 'nan' is not a number. Give it as in record.tone=300Hz."),
    ("speed take.wav record.tone=1e999Hz", 2,
     "record.tone: '1e999Hz' is not a number. Give it as in record.tone=300Hz."),
    ("speed take.wav deck.speed=45mm", 2, "deck.speed: 'mm' is not a unit of it. Use one of: rpm, Hz."),
    ("speed take.wav deck.speed=4500rpm", 2,
     "deck.speed: 4500rpm is out of range. Nominal speed can be from 5 to 200 rpm."),
    ("speed take.wav deck.class=best", 2,
     "deck.class: 'best' is not one of its choices. Use one of: hifi broadcast vintage portable."),
    ("speed take.wav arm.effective_length=230mm", 2,
     "speed does not use arm.effective_length. 'deckwright help speed' lists what it takes."),
    ("speed take.wav record.start=5s record.end=2s", 2, "record.end=2s must lie after record.start=5s."),
    ("speed take.wav record.start=100s", 2, "take.wav: ends at 12.0 s, before record.start. Give an earlier one."),
    ("speed take.wav record.tone=1500Hz", 2,
     re.compile(r"take\.wav: The steady tone found is at 31[45]\d\.\d Hz, too far from record\.tone=1500Hz for any speed "
                r"of the deck\. Check which band was recorded and what the record says of it\.")),
    # Recordings.
    ("speed none.wav", 2, "none.wav: there is no such file. Check the name and the folder."),
    ("speed empty.wav", 2, "empty.wav: the file is empty. Copy it again or record it again."),
    ("speed .", 2, ".: this is a folder. Name a recording in it."),
    ("speed words.txt", 2, "words.txt" + NO_FORMAT),
    ("speed words.wav", 2, "words.wav" + NO_FORMAT),
    ("speed head.wav", 2, re.compile(r"head\.wav: begins like a WAV file but cannot be read \(.+\)\. Copy it again from "
                                     r"where it was recorded, or record it again\.")),
    ("speed silence.wav", 2, "silence.wav" + NO_TONE),
    ("speed noise.wav", 2, "noise.wav" + NO_TONE),
    ("speed short.wav", 2, re.compile(r"short\.wav: Only [23]\.\d s of tone were found; three revolutions take "
                                      r"5\.4 s\. Record 30 s or more\.")),
    ("speed nan.wav", 2, re.compile(r"nan\.wav: A sample at [34]\.\d s is not a number \(NaN or infinite\)\. Export the "
                                    r"recording again\.")),
    ("speed infinite.wav", 2, re.compile(r"infinite\.wav: A sample at [34]\.\d s is not a number \(NaN or infinite\)\. "
                                         r"Export the recording again\.")),
    ("speed low.wav", 2, "low.wav has 4000 samples a second; record with 8000 or more."),
    # Charts.
    ("speed take.wav --chart sheet.gif", 2, "A chart is written as .svg, .png or .pdf; “sheet.gif” ends in none of them."),
    ("speed take.wav --chart nowhere/sheet.png", 1, "nowhere/sheet.png cannot be written: No such file or directory. "
     "Choose a folder that you may write to."),
    ("speed take.wav --chart words.txt/sheet.png", 1,
     "words.txt/sheet.png cannot be written: Not a directory. Choose a folder that you may write to."),
    ("speed take.wav --chart folder.svg", 1, re.compile(r"folder\.svg cannot be written: .+\. Choose another place for it\.")),
    # Deck files.
    ("speed take.wav --deck none.deck", 2, "none.deck: cannot open it (No such file or directory). Check the name."),
    ("speed take.wav --deck unknown.deck", 2,
     "unknown.deck: line 4: 'deck.sped' is not a known quantity. Did you mean deck.speed?"),
    ("speed take.wav --deck unit.deck", 2, "unit.deck: line 2: deck.speed: 'mm' is not a unit of it. Use one of: rpm, Hz."),
    ("speed take.wav --deck range.deck", 2,
     "range.deck: line 2: deck.speed: 4500 rpm is out of range. Nominal speed can be from 5 to 200 rpm."),
    ("speed take.wav --deck words.txt", 2,
     "words.txt: line 1 is neither [group] nor key = value, or is over 199 characters long."),
    ("speed take.wav --deck .", 2, ".: this is no ordinary file. Save it to a file first."),
    # Recordings made.
    ("synth", 2, f"synth needs a deck file and the recording to write: deckwright {SYNTH_USAGE}."),
    ("synth good.deck one.wav two.wav", 2,
     f"synth needs a deck file and the recording to write: deckwright {SYNTH_USAGE}."),
    ("synth good.deck", 2, "good.deck: the ending says no format. Use .wav, .flac, .aiff or .ogg."),
    ("synth good.deck made.mp3", 2, "made.mp3: the ending says no format. Use .wav, .flac, .aiff or .ogg."),
    ("synth none.deck made.wav", 2, "none.deck: cannot open it (No such file or directory). Check the name."),
    ("synth good.deck nowhere/made.wav", 1,
     "nowhere/made.wav: cannot be written (No such file or directory). Choose a folder you may write to."),
    ("synth good.deck folder.wav", 2, "folder.wav: this is no file that could be replaced. Give another name."),
    ("synth made.wav --json", 2,
     "synth tells what is true of a planned side only; add record.plan=FILE or leave out --json."),
    ("synth made.wav record.plan=none.plan", 2, "none.plan: cannot open it (No such file or directory). Check the name."),
    ("synth made.wav --chart a.svg", 2, "synth writes recordings and pictures and nothing else; leave out --chart."),
    ("synth made.wav synth.length=-3s", 2,
     "synth.length: -3s is out of range. Length of the tone can be from 0.1 to 100000 s."),
    ("synth made.wav synth.rate=44100.5Hz", 2,
     "synth.rate: 44100.5 Hz is not whole. Files hold a whole number of hertz."),
    # Pictures made.
    ("synth made.jpg made.mov", 2, "made.mov: a film is made alone. Make the photographs by a call of their own."),
    ("synth made.mov made.jpg", 2, "made.mov: a film is made alone. Make the photographs by a call of their own."),
    ("synth made.jpg made.jpg", 2, "made.jpg: named twice. Give each photograph a name of its own."),
    ("synth made.wav synth.scene=belt", 2, "synth.scene: a recording does not show it. Write a .mov or .jpg file with it."),
    ("synth made.mov synth.exposure=100ms", 2, "synth.exposure: a frame lasts 33.3 ms, and this is longer. Give less."),
    ("synth made.mov synth.length=0.1s synth.frame_rate=10Hz", 2,
     "synth.length: a film has 2 to 60000 frames, not 1. Make it longer."),
    ("synth made.jpg synth.scene=belt drive.belt_length=900mm", 2,
     "drive.belt_length: a belt of 900 mm does not lie free between the card's marks. Give another length, or "
     "template.paper=a3 for the large card."),
    ("synth nowhere/made.jpg", 1,
     "nowhere/made.jpg: cannot be written (No such file or directory). Choose a folder you may write to."),
    ("help purple elephants", 2, "Nothing speaks of these words. Try others, or fewer."),
]
# Arguments, exit status, what stands in stdout.
GOOD_CALLS = [
    ("", 2, ["deckwright speed ", "deckwright synth ", "deckwright help ", "Exit status: 0 measured"]),
    ("help how do I print a protractor?", 0, ["  template "]),
    ("help", 0, ["deckwright speed ", "deckwright synth ", "deckwright help ", "Exit status: 0 measured"]),
    ("--help", 0, ["deckwright speed "]),
    ("-h", 0, ["deckwright speed "]),
    ("--version", 0, ["deckwright "]),
    ("help speed", 0, ["deckwright speed RECORDING [key=value …]", "record.tone", "deck.speed", "flutter.split"]),
    ("speed --help", 0, ["deckwright speed RECORDING [key=value …]", "record.tone"]),
    ("help synth", 0, [f"deckwright {SYNTH_USAGE}"]),
    ("synth --help", 0, [f"deckwright {SYNTH_USAGE}"]),
    ("help quantities", 0, ["record.tone ", "fault.wow ", "arm.effective_length "]),
    ("speed take.wav", 3, ["Speed, wow and flutter: take.wav\n", "\n  Speed ", "\n  Weighted, two-sigma ", "[short]",
                           "\nStrongest flutter lines\n", "\nNot measured\n", "record.tone was not given"]),
    ("speed long.wav record.tone=3150Hz deck.speed=33.33rpm record.radius=100mm", 0,
     ["Speed, wow and flutter: long.wav\n", "0.31 % fast: a 20-minute side ends 3.7 s early, 5 cents sharp.",
      "Off-centre, if it is the record"]),
    ("speed long.wav --deck good.deck", 0, ["Speed, wow and flutter: long.wav\n"]),
    ("speed take.wav record.start=1s record.end=9s", 3, ["from 1.1 to 8.8 s of the recording"]),
    ("speed a=b/take.wav", 3, ["Speed, wow and flutter: take.wav\n"]),
    ("speed x=1.wav", 3, ["Speed, wow and flutter: x=1.wav\n"]),
    ("speed -- x=1.wav", 3, ["Speed, wow and flutter: x=1.wav\n"]),
    ("speed --deck=good.deck -- x=1.wav", 3, ["Speed, wow and flutter: x=1.wav\n"]),
    ("speed cut.wav", 3, ["The recording ends early: 8.0 of 12.0 seconds."]),
    ("synth synth.length=1s made.flac", 0, []),
    ("synth good.deck synth.channels=1 synth.rate=8000Hz made.wav", 0, []),
]
DECKS = {
    "good.deck": "; a remark\n[deck]\nspeed = 33 1/3 rpm\n[record]\ntone = 3150 Hz\n[synth]\nlength = 1 s\n",
    "unknown.deck": "[deck]\nspeed = 45 rpm\n\nsped = 45 rpm\n",
    "unit.deck": "[deck]\nspeed = 45 mm\n",
    "range.deck": "[deck]\nspeed = 4500 rpm\n",
}


def make_files(program, folder):
    """The recordings and deck files that the table names."""
    for name, seconds, error in [("take.wav", 12, 0), ("long.wav", 32, 0.31), ("short.wav", 3, 0)]:
        run(program, ["synth", name, f"synth.length={seconds}s", f"fault.speed_error={error}%", "fault.wow=0.1%"], folder)
    take = (folder / "take.wav").read_bytes()
    (folder / "a=b").mkdir()
    (folder / "empty name with blanks").mkdir()
    for copy in ["a=b/take.wav", "x=1.wav", "empty name with blanks/my take.wav"]:
        (folder / copy).write_bytes(take)
    (folder / "cut.wav").write_bytes(take[:len(take) - (len(take) - 44) // 3])
    (folder / "head.wav").write_bytes(take[:30])
    (folder / "empty.wav").write_bytes(b"")
    for name in ["words.txt", "words.wav"]:
        (folder / name).write_text("These are words and no recording.\n" * 20)
    tone = array.array("f", [0.3 * math.sin(2 * math.pi * 3150 * n / 48000) for n in range(5 * 48000)])
    (folder / "silence.wav").write_bytes(wav(bytes(4 * 5 * 48000)))
    (folder / "low.wav").write_bytes(wav(tone.tobytes(), rate=4000))
    seed, noise = 1, array.array("f")
    for _ in range(5 * 48000):  # Source (published): a linear congruential generator (D. E. Knuth, MMIX)
        seed = (seed * 6364136223846793005 + 1442695040888963407) % 2**64
        noise.append((seed >> 40) / 2**24 - 0.5)
    (folder / "noise.wav").write_bytes(wav(noise.tobytes()))
    for name, value in [("nan.wav", math.nan), ("infinite.wav", math.inf)]:
        tone[4 * 48000] = value
        (folder / name).write_bytes(wav(tone.tobytes()))
    for name in ["folder.svg", "folder.wav"]:
        (folder / name).mkdir()
    for name, text in DECKS.items():
        (folder / name).write_text(text)


def files_in(folder):
    return sorted(str(path) for path in folder.rglob("*"))


def matches(pattern, text):
    return pattern.fullmatch(text) if isinstance(pattern, re.Pattern) else pattern == text


def check_bad_call(program, folder, arguments, status, complaint):
    before = files_in(folder)
    got, out, err = run(program, arguments.split(), folder)
    if got != status:
        return f"exit {got}, not {status}: {err}"
    if out:
        return f"stdout is not empty: {out[:200]}"
    if not err.startswith("deckwright: ") or not err.endswith("\n") or not matches(complaint, err[12:-1]):
        return f"stderr:   {err}expected: {getattr(complaint, 'pattern', complaint)}"
    left = set(files_in(folder)) ^ set(before)
    return f"left behind or taken away: {left}" if left else ""


def check_good_call(program, folder, arguments, status, parts):
    got, out, err = run(program, arguments.split(), folder)
    if got != status or err:
        return f"exit {got}, not {status}: {err}"
    missing = [part for part in parts if part not in out]
    wrong = re.findall(r"\b(?:nan|inf)\b", out, re.I)
    return f"missing {missing} or wrong {wrong} in:\n{out}" if missing or wrong else ""


def refuse_constant(name):
    raise ValueError(f"{name} is no JSON")


def check_json(program, folder, arguments, without=()):
    """The whole contract of the sheet as JSON."""
    _, out, err = run(program, arguments, folder)
    if err:
        return err
    sheet = json.loads(out, parse_constant=refuse_constant)
    trouble = []
    if sheet["deckwright"] != 1 or sheet["procedure"] != "speed":
        trouble.append("not version 1 of speed's sheet")
    units = {reading["key"]: reading["unit"] for reading in sheet["readings"]}
    wanted = {key: unit for key, unit in READINGS.items() if key not in without}
    if units != wanted:
        trouble.append(f"readings part by {set(units.items()) ^ set(wanted.items())}")
    for reading in sheet["readings"]:
        absent = {"key", "label", "value", "unit", "uncertainty", "flags", "limit", "verdict"} - set(reading)
        if absent or not isinstance(reading["value"], float):
            trouble.append(f"{reading['key']}: no {absent or 'value'}")
    if {entry["key"] for entry in sheet["not_measured"]} & set(READINGS) != set(without):
        trouble.append("what is not measured is not listed")
    lines = [(column["key"], column["unit"]) for table in sheet["tables"] if table["key"] == "flutter.lines"
             for column in table["columns"]]
    if lines != LINES:
        trouble.append(f"the columns of flutter.lines are {lines}")
    curves = {curve["key"]: (curve["x"]["unit"], curve["y"]["unit"]) for curve in sheet["curves"]}
    if curves != CURVES:
        trouble.append(f"the curves are {curves}")
    for curve in sheet["curves"]:
        x = curve["x"]["values"]
        least = 50 if curve["key"].startswith("remainder.") else 100        # bands, of a take of a few seconds
        if len(x) < least or len(x) != len(curve["y"]["values"]) or x != sorted(x):
            trouble.append(f"{curve['key']}: its x does not ascend or has no y")
    if not sheet["inputs"] or not sheet["remarks"] or not isinstance(sheet["cautions"], list):
        trouble.append("inputs, remarks or cautions are missing")
    return "\n".join(trouble)


def check_chart(program, folder, name, magic):
    before = files_in(folder)
    got, out, err = run(program, ["speed", "take.wav", "--chart", name], folder)
    if got != 3 or err or not out:
        return f"exit {got}: {err}"
    if set(files_in(folder)) - set(before) != {str(folder / name)}:
        return "made something else"
    start = (folder / name).read_bytes()[:200]
    return "" if start.startswith(magic) else f"begins with {start[:20]}"


def check_full(program, folder, arguments):
    with open("/dev/full", "wb") as full:
        got, _, err = run(program, arguments.split(), folder, stdout=full)
    wanted = "deckwright: The output could not be written. Is the disk full?\n"
    return "" if (got, err) == (1, wanted) else f"exit {got}: {err}"


def check_unwritable(program, folder, arguments):
    """In a folder that nobody may write to, nothing is left and the exit is 1."""
    locked = folder / "locked"
    locked.mkdir()
    locked.chmod(0o555)
    got, _, err = run(program, arguments.split(), folder)
    left = list(locked.iterdir())
    locked.chmod(0o755)
    locked.rmdir()
    return "" if got == 1 and "Permission denied" in err and not left else f"exit {got}: {err} {left}"


def check_untouched(program, folder):
    """A recording that cannot be made leaves the one that stands there as it is."""
    before = (folder / "take.wav").read_bytes()
    got, _, _ = run(program, ["synth", "range.deck", "take.wav"], folder)
    return "" if got == 2 and (folder / "take.wav").read_bytes() == before else "the old recording has changed"


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        make_files(program, folder)
        for arguments, status, complaint in BAD_CALLS:
            tap.say(f"bad call: {arguments}", check_bad_call(program, folder, arguments, status, complaint))
        for arguments, status, parts in GOOD_CALLS:
            tap.say(f"good call: {arguments}", check_good_call(program, folder, arguments, status, parts))
        tap.say("a name with blanks", check_json(program, folder, ["speed", "empty name with blanks/my take.wav", "--json",
                                                                   "record.radius=100mm"]))
        tap.say("JSON, all stated", check_json(program, folder, ["speed", "--json", "long.wav", "record.radius=100mm"]))
        tap.say("JSON, no radius", check_json(program, folder, ["speed", "take.wav", "--json"],
                                              without=["revolution.eccentricity"]))
        for chart, magic in [("sheet.svg", b"<?xml"), ("sheet.png", b"\x89PNG\r\n\x1a\n"), ("sheet.pdf", b"%PDF-"),
                             ("empty name with blanks/a=b.SVG", b"<?xml")]:
            tap.say(f"chart: {chart}", check_chart(program, folder, chart, magic))
        for arguments in ["speed take.wav", "speed take.wav --json", "help", "--version", "help speed", "synth --help"]:
            tap.say(f"stdout is full: {arguments}", check_full(program, folder, arguments))
        for arguments in ["speed take.wav --chart locked/a.png", "synth good.deck locked/a.wav"]:
            if os.geteuid() == 0:
                tap.skip(f"unwritable folder: {arguments}", "root may write everywhere")
            else:
                tap.say(f"unwritable folder: {arguments}", check_unwritable(program, folder, arguments))
        tap.say("an old recording is kept", check_untouched(program, folder))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
