#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The procedures in the browser: every form, its values, recordings, sheets, what is kept, and the set-up. What the
bench measures is held against the same program called on the command line with the same values."""
import functools
import html
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import urllib.parse
from itertools import chain

from bench import Bench, Device, Tap

# Values enough for a sheet, as they are typed into a form. A procedure that stands nowhere here is tried with the
# values of its base in tests/oracle/truth_rows.txt.
TYPED = {
    "align": {"arm.pivot_to_spindle": "222 mm", "arm.effective_length": "9.42in", "arm.overhang": "17"},
    "template": {"arm.pivot_to_spindle": "222 mm", "arm.effective_length": "239.3 mm"},
    "force": {"force.reading": "1.8 g\n1.82 g\n1.79", "force.target": "1.8 g"},
    "rake": {"rake.measured": "91", "arm.effective_length": "230 mm"},
    "resonance": {"arm.effective_mass": "11 g", "cartridge.mass": "6 g", "cartridge.compliance": "14 um/mN",
                  "cartridge.compliance_frequency": "10 Hz"},
    "load": {"cartridge.inductance": "500 mH", "cartridge.resistance": "1 kohm", "cable.capacitance": "150 pF"},
    "riaa": {},
    "drive": {"drive.kind": "belt", "drive.motor_kind": "synchronous", "drive.motor_poles": "16", "drive.pulley_diameter": "14 mm",
              "drive.rim_diameter": "157 mm"},
    "ratio": {"ratio.first": "33.40", "ratio.second": "45.2"},
    "strobe": {"deck.mains": "60 Hz"},
    "bearing": {"platter.mass": "2 kg", "platter.diameter": "300 mm", "bearing.at": "0 s:33.3 rpm\n10 s:28 rpm\n20 s:23.4 rpm\n30 s:19.5 rpm"},
}
# Forms with a drawing of what is asked, and what it must follow.
DRAWN = [("bearing", "bearing.sleeve_length", "30 mm", "45 mm"), ("resonance", "arm.effective_mass", "9 g", "14 g"),
         ("load", "cable.capacitance", "100 pF", "180 pF"), ("strobe", "strobe.ring", "180", "216"), ("reseat", "reseat.angle", "90 deg", "180 deg"),
         ("startup", "startup.band", "1 %", "4 %"), ("ratio", "ratio.first", "33.3 rpm", "33.9 rpm"), ("channels", "channels.left", "5:25", "12:25"),
         ("noise", "noise.reference", "1:8", "2:9"), ("response", "record.start", "3 s", "9 s"), ("lowsweep", "record.end", "30 s", "60 s"),
         ("tracking", "tracking.level", "50\n60", "50\n80"), ("intermod", "intermod.low", "60 Hz", "400 Hz"), ("speed", "record.radius", "70 mm", "120 mm"),
         ("force", "force.reading", "1.5 g", "2 g"), ("azimuth", "azimuth.tilt", "1 deg", "-2 deg"), ("drive", "drive.pulley_diameter", "14 mm", "20 mm"),
         ("belt", "drive.belt_length", "380 mm", "460 mm"), ("film", "record.start", "2 s", "9 s"), ("pose", "touch.tip", "10:20", "10:20\n14:25"),
         ("pressing", "pressing.copies", "A, B", "A, A, B"), ("side", "record.plan", "twenty-band-side.plan", "seven-inch-side.plan"),
         ("held", "deck.speed", "33.333 rpm", "45 rpm"), ("twin", "record.end", "60 s", "90 s"), ("riaa", "riaa.measured", "50 Hz:16 dB", "50 Hz:18 dB")]
TRUTH = pathlib.Path(__file__).resolve().parent.parent / "oracle/truth_rows.txt"
# Tried elsewhere, by its plan (tests/web/browser/whole_job.mjs, tests/procedure/side.c, tests/oracle/pressing_takes.py).
BY_PLAN = {"side", "pressing"}
# What takes films and photographs, and the words for a file that is neither; tests/sight/on_the_bench.py sends real ones.
SEEN = {"film": ("film", "is no film"), "pose": ("photograph", "is no photograph"), "belt": ("photograph", "is no photograph")}
MOST_BYTES = 100 * 1024


def base(name):
    """The operands that the truth's table gives NAME, a ~ in them being a blank."""
    found = re.search(rf"^@{name} \|(.*)$", TRUTH.read_text(encoding="utf-8"), re.M)
    return dict(part.replace("~", " ").split("=", 1) for part in found[1].split()) if found else {}


@functools.cache
def by_kind(program):
    """The procedures of the program: those that compute, with their values, and those that measure recordings."""
    names = re.findall(r'dw_procedure_(\w+),', (TRUTH.parents[2] / "src/procedure/registry/registry.c").read_text(encoding="utf-8"))
    names = [name for name in names if name not in SEEN]
    recorded = [name for name in names if " RECORDING" in help_of(program, name).stdout.splitlines()[0] and name not in TYPED]
    return ({name: TYPED.get(name, base(name)) for name in names if name not in recorded},
            [name for name in recorded if name not in BY_PLAN])


@functools.cache
def help_of(program, name):
    return run(program, "help", name)


def run(program, *arguments, folder="."):
    return subprocess.run([program, *arguments], cwd=folder, capture_output=True, text=True, check=False)


def operands(values):
    return [f"{key}={part}" for key, value in values.items() for part in value.split("\n")]


def sheet_of(device, answer):
    """The numbers behind the page that ANSWER leads to."""
    if answer.status != 303:
        return {"status": answer.status, "page": trouble(answer)}
    return json.loads(device.get(answer.headers["Location"] + "/json").text)


def trouble(answer):
    """What a page says is wrong."""
    return [html.unescape(words) for words in re.findall(r'class="[^"]*wrong"[^>]*>([^<]+)<', answer.text)]


def all_forms(tap, device, program):
    page = device.get("/measure?job=0001&as=received")
    links = dict(re.findall(r'href="/measure/(\w+)\?(job=0001&amp;as=received)"', page.text))
    names = [*chain(*by_kind(program))]
    tap.say("every procedure is on the list, and the job is carried on", sorted(set(names) - set(links)))
    tap.say("what is new stands on the list too", sorted(name for name in links if help_of(program, name).returncode))
    for name in links:
        form = device.get(f"/measure/{name}")
        helps = help_of(program, name).stdout
        keys = set(re.findall(r'name="([a-z]+\.[a-z_0-9]+)"', form.text))
        asked = set(re.findall(r"^\s+([a-z]+\.[a-z_0-9]+)\b", helps, re.M))
        labelled = set(re.findall(r'<label for="([^"]+)"', form.text))
        ids = set(re.findall(r'<(?:input|select|textarea)[^>]* id="(q[^"]+)"', form.text))
        tap.say(f"{name}: the form asks for all of its quantities, each with a label",
                f"{form.status} {asked ^ keys} {ids - labelled} {len(form.body)}"
                if form.status != 200 or asked != keys or ids - labelled or len(form.body) > MOST_BYTES else "")


def computed(tap, device, program):
    for name, values in by_kind(program)[0].items():
        answer = device.send(f"/measure/{name}", values, [])
        called = run(program, name, "--json", *operands(values))
        wanted = json.loads(called.stdout) if called.returncode in (0, 3) else called.stderr
        tap.say(f"{name}: the sheet is the command line's", "" if sheet_of(device, answer) == wanted else
                f"{sheet_of(device, answer)}\n{wanted}"[:2000])
        if answer.status == 303:
            page = device.get(answer.headers["Location"])
            tap.say(f"{name}: its page stands", not (page.status == 200 and len(page.body) < MOST_BYTES))


def values_as_typed(tap, device, program):
    point = sheet_of(device, device.post("/measure/align", TYPED["align"]))
    comma = sheet_of(device, device.post("/measure/align", {**TYPED["align"], "arm.effective_length": " 9,42 in "}))
    tap.say("a decimal comma is a decimal point", not (point["readings"] and point == comma))
    third = sheet_of(device, device.post("/measure/strobe", {"deck.speed": "33⅓"}))
    wanted = json.loads(run(program, "strobe", "--json", "deck.speed=33 1/3").stdout)
    tap.say("33⅓ is thirty-three and a third", not third == wanted)
    kilos = device.post("/measure/align", {**TYPED["align"], "record.inner_radius": "5 kg"})
    words = [words for words in trouble(kilos) if words.startswith("'kg' is not a unit of it. Use one of: mm")]
    tap.say("a wrong unit is said at its field, and what was typed stays",
            not (kilos.status == 400 and words and 'value="5 kg"' in kilos.text and "aria-invalid" in kilos.text))
    field = kilos.text.split('value="5 kg"')[1].split("</div></div>")[0]
    tap.say("the line stands below the field, in an open section",
            not ("'kg'" in html.unescape(field) and "<details open>" in kilos.text.split('value="5 kg"')[0] and
                 kilos.text.count("<details open>") == 1))
    far = device.post("/measure/align", {"arm.pivot_to_spindle": "9 m"})
    tap.say("what cannot be is refused", not (far.status == 400 and any("out of range" in said for said in trouble(far))))
    lacking = device.post("/measure/align", {"align.method": "own"})
    tap.say("what lacks is said by its label, not by its key",
            trouble(lacking) if lacking.status != 400 or any("align." in said for said in trouble(lacking)) or
            not trouble(lacking) else "")
    headers = {"Accept": "application/json"}
    read = json.loads(device.post("/measure/align/check", {"key": "arm.effective_length", "value": "9,42in"}, headers).text)
    tap.say("a value is read as it is typed", not (read["kept"] and read["words"] == "239.27\u202fmm"))
    wrong = device.post("/measure/align/check", {"key": "arm.effective_length", "value": "9 kg"}, headers)
    tap.say("or refused in words", not (wrong.status == 400 and "kg" in json.loads(wrong.text)["words"]))
    other = device.post("/measure/align/check", {"key": "record.tone", "value": "9"}, headers)
    tap.say("a value that is not asked for is not", not other.status == 404)
    tap.say("what cannot be measured is not there", not device.get("/measure/frobnicate").status == 404)


def several_at_once(tap, device, program):
    """Readings that repeat come a line each or as a list; the arms of a deck are kept apart."""
    wanted = json.loads(run(program, "force", "--json", *[f"force.reading={value}" for value in ("1.54", "1.51", "1.50")]).stdout)
    for typed in ("1.54\r\n1.51\r\n1.50", "1.54; 1.51; 1.50", "1.54,1.51\n1.50"):
        tap.say(f"three readings typed as {typed!r} are three", not sheet_of(device, device.post("/measure/force", {"force.reading": typed}))["readings"] == wanted["readings"])
    own = device.get("/measure/align?job=0001&as=received").text
    rear = device.get("/measure/align?job=0001&as=received&arm.name=rear").text
    known = [re.findall(r'name="(arm\.[a-z_]+)" value="([^"]+)"', page) for page in (own, rear)]
    tap.say("a named arm's form has nothing of the deck's own", [pair for pair in known[1] if pair in known[0] or pair[0] not in ("arm.name",)])
    tap.say("and carries its name", not ("arm.name", "rear") in known[1] and known)
    answer = device.post("/measure/align?job=0001&as=received", {"arm.name": "rear", "arm.pivot_to_spindle": "295 mm"})
    place = answer.headers.get("Location", "")
    tap.say("its sheet says whose it is", not "(rear)" in device.get(place).text)
    kept = device.post(place + "/keep", {"job": "0001", "as": "received"})
    note(device, "/job/0001/setup", "arm.overhang", "13.1 mm", "received", arm="rear")
    pages = [device.get(f"/job/0001/setup?as=received{arm}").text for arm in ("", "&arm=rear")]
    tap.say("a setting of a named arm stands on its own page only", not (pages[0].count("13.1") == 0 and "13.1" in pages[1] and
            "arm.name=rear" in pages[1]))
    tap.say("and fills its own forms only", not ('value="13.1"' in device.get("/measure/align?job=0001&as=received&arm.name=rear").text and
            "13.1" not in device.get("/measure/align?job=0001&as=received").text))
    tap.say("a name that cannot be one is refused", device.get("/job/0001/setup?arm=a%22b").status != 400)
    tap.say("once kept it is offered by its name", not (kept.status == 303 and ">rear</button>" in device.get("/measure/force?job=0001").text))


def recordings(tap, device, program, folder, take):
    for name in by_kind(program)[1]:
        empty = device.send(f"/measure/{name}", {}, [])
        tap.say(f"{name}: without a recording it says so", not (empty.status == 400 and any("ecording" in said for said in trouble(empty))))
        two = [("recording1", "take.wav", take), ("recording2", "take.wav", take)]
        answer = device.send(f"/measure/{name}", {}, two if name == "reseat" else two[:1])
        page = device.get(answer.headers["Location"]) if answer.status == 303 else answer
        said = " ".join(trouble(answer)) + (device.get(answer.headers["Location"] + "/json").text if answer.status == 303 else "")
        tap.say(f"{name}: measures the recording or says why not, without a path of the server",
                f"{answer.status} {trouble(answer)}" if answer.status not in (303, 400) or "incoming" in page.text + said or
                str(folder) in page.text + said or (answer.status == 400 and not trouble(answer)) or
                len(page.body) > MOST_BYTES else "")
    values = {"record.tone": "3150 Hz", "record.name": "band 2"}
    answer = device.send("/measure/speed", values, [("recording1", "take.wav", take)])
    wanted = json.loads(run(program, "speed", "take.wav", "--json", *operands(values), folder=folder).stdout)
    tap.say("a sent recording gives the sheet of the command line", not (sheet_of(device, answer) == wanted and wanted["readings"]))
    text = device.send("/measure/speed", values, [("recording1", "notes.txt", b"#EXTM3U\nfile:///etc/hostname\n" * 9)])
    tap.say("what is no recording is refused", not (text.status == 400 and any(said.startswith("notes.txt is no recording") for said in trouble(text))))
    torn = device.send("/measure/speed", values, [("recording1", "torn.wav", take[:60])])
    tap.say("a torn one is refused by its name", not (torn.status == 400 and trouble(torn) and "incoming" not in torn.text))
    evil = '<img src=x onerror=alert(1)>.wav'
    answer = device.send("/measure/speed", {"deck.name": "<script>alert(1)</script>"}, [("recording1", evil, take)])
    page = device.get(answer.headers["Location"])
    tap.say("hostile names stay words", not (page.status == 200 and "<img src=x" not in page.text and
            "<script>alert" not in page.text and "&lt;script&gt;alert(1)&lt;/script&gt;" in page.text))
    hostile = device.send("/measure/speed", {"record.tone": '"><script>alert(1)</script>'}, [("recording1", "take.wav", take)])
    tap.say("also in a field that is wrong", not (hostile.status == 400 and "<script>alert" not in hostile.text))
    tap.say("nothing that was sent is left", not list((folder / "shop" / "incoming").iterdir()) == [])


def failing(tap, device, folder, program):
    """What was sent for a measurement that fails is on the job, once, and need not be sent again."""
    run(program, "synth", "short.wav", "record.tone=3150Hz", "synth.length=1s", folder=folder)
    short = (folder / "short.wav").read_bytes()
    path = "/measure/speed?job=0003&as=left"
    failed = device.send(path, {"record.tone": "3150 Hz"}, [("recording1", "short.wav", short)])
    again = device.send(path, {"record.tone": "3150 Hz"}, [("recording1", "short.wav", short)])
    tap.say("a measurement that fails keeps its recording on the job, once", not (
        failed.status == again.status == 400 and "The recording is kept on the job" in failed.text
        and device.get(path).text.count(">short.wav</option>") == 1) and f"{failed.status} {trouble(failed)} {again.status}")
    torn = device.send(path, {}, [("recording1", "torn.wav", short[:30])])
    tap.say("but not one that cannot be read", not (torn.status == 400 and "The recording is kept on the job:" not in torn.text
                                                   and "torn.wav</option>" not in device.get(path).text))


def keeping(tap, device, other, take):
    values = {"record.tone": "3150 Hz", "record.name": "Quay test record, copy 2", "chain.name": "Bench chain"}
    files = [("recording1", "before.wav", take)]
    answer = device.send("/measure/speed?job=0007&as=received", {**values, "keep": "yes"}, files)
    place = answer.headers["Location"]
    page = device.get(place)
    tap.say("the sheet offers to be kept on its job", not re.search(r'<option value="0007" selected>', page.text))
    tap.say("another device does not see it", not other.get(place).status == 404)
    tap.say("it is kept with a job and a phase only",
            not (device.post(place + "/keep", {"job": "0007", "as": "someday"}).status == 400 and
                 device.post(place + "/keep", {"job": "7777", "as": "received"}).status == 400))
    device.get(place)
    measured = json.loads(device.get(place + "/json").text)
    kept = device.post(place + "/keep", {"job": "0007", "as": "received"})
    first = kept.headers["Location"] or ""
    tap.say("keeping leads to the sheet in the book", not (kept.status == 303 and re.fullmatch(r"/sheet/\d+", first)))
    tap.say("what is kept is what was measured", not json.loads(device.get(first + "/json").text) == measured)
    tap.say("it is kept once", not device.post(place + "/keep", {"job": "0007", "as": "received"}).status == 409)
    form = device.get("/measure/speed?job=0007&as=left")
    tap.say("record and chain of the sheet before stand in the form",
            not ('value="Quay test record, copy 2"' in form.text and 'value="3150.0"' in form.text))
    chosen = re.search(r'<option value="(\d+)">before.wav</option>', form.text)
    tap.say("the recording is kept on the job and can be chosen", not chosen)
    again = device.post("/measure/speed?job=0007&as=left", {**values, "kept1": chosen.group(1) if chosen else ""})
    same = sheet_of(device, again)
    tap.say("and measures the same", not same == measured)
    stolen = device.post("/measure/speed?job=0001", {**values, "kept1": chosen.group(1) if chosen else ""})
    tap.say("but not for another job", not stolen.status == 400)
    second = device.post(again.headers["Location"] + "/keep", {"job": "0007", "as": "left"}).headers["Location"]
    pair = device.get(f"{second}?with={first.rsplit('/', 1)[1]}")
    tap.say("before and after stand on the same axes", not (pair.status == 200 and "As received: " in pair.text and
            "No change beyond the uncertainties." in pair.text and 'class="before"' in pair.text))
    mixed = device.send("/measure/speed", {**values, "chain.name": "another"}, files)
    third = device.post(mixed.headers["Location"] + "/keep", {"job": "0007", "as": "left"}).headers["Location"]
    apart = device.get(f"{third}?with={first.rsplit('/', 1)[1]}")
    tap.say("another chain is no comparison, and it says why",
            not ("Not comparable: The recording chain differs: Bench chain as received, another as left." in apart.text and
                 'class="before"' not in apart.text))
    tap.say("the deck of another job is no pair", not device.get(f"{second}?with=1").status == 404)
    for look in ("light", "dark"):
        picture = device.get(f"{second}/picture/1?wide=480&look={look}&with={first.rsplit('/', 1)[1]}")
        tap.say(f"its picture is drawn, {look}", not (picture.status == 200 and b"<svg" in picture.body[:300] and b"<desc" in picture.body[:2000]))
    tap.say("a picture it has not is not there", not device.get(f"{second}/picture/99").status == 404)
    tap.say("the sheet is to be had as PDF", not device.get(f"{second}/paper").body.startswith(b"%PDF"))
    device.get(third)
    tap.say("withdrawing wants a reason", not device.post(third + "/withdraw", {"why": ""}).status == 400)
    device.get(third)
    device.post(third + "/withdraw", {"why": "the wrong <chain>"})
    tap.say("and keeps it", not "Withdrawn: the wrong &lt;chain&gt;" in device.get(third).text)


def printing(tap, device):
    answer = device.post("/measure/template", TYPED["template"])
    place = answer.headers["Location"]
    tap.say("the template says how to print it", not "Print it at 100 %, not fitted to the page" in device.get(place).text)
    paper = device.get(place + "/print")
    tap.say("and prints", not (paper.body.startswith(b"%PDF") and paper.headers["Content-Type"] == "application/pdf"))
    answer = device.post("/measure/riaa", {})
    tap.say("what has no paper prints none", not device.get(answer.headers["Location"] + "/print").status == 400)


def written(drawing):
    """What stands on a drawing, by its description for those who cannot see it."""
    return re.sub(r"\s", " ", re.search(r"<desc[^>]*>(.*?)</desc>", drawing, re.S)[1]) if "<desc" in drawing else ""


def follows_its_form(tap, device, picture):
    """Every form has its drawing; what it says is what stands in the form, and what the papers and the standard say."""
    names = sorted(set(re.findall(r'href="/measure/([a-z]+)', device.get("/measure").text)))
    bare = [name for name in names if f'data-drawn="/measure/{name}/picture"' not in device.get(f"/measure/{name}").text]
    tap.say(f"each of {len(names)} forms has a drawing", "" if len(names) > 25 and not bare else f"{names}: none of {bare}")
    # Source (published): IEC 60098, 3180, 318 and 75 microseconds; one over two pi times them is 50, 500 and 2122 Hz.
    for name, values, said in (("riaa", {}, ["3180 µs; 50 Hz", "318 µs; 500 Hz", "75 µs; 2122 Hz"]),
                               ("held", {"deck.speed": "45 rpm", "music.tuning": "442 Hz"}, ["one turn 1.33", "442"]),  # 60 / 45
                               ("side", {"record.plan": "twenty-band-side.plan"}, ["Twenty-band side", "20 bands"]),
                               ("side", {"record.plan": "../demo/shop.ini"}, ["choose the record"]),
                               ("belt", {"belt.thickness": "4 mm", "print.scale": "99.5 %"}, ["stands 4.00", "99.5"]),
                               ("belt", {"drive.belt_length": "700 mm"}, ["the large card"]),
                               ("belt", {"drive.belt_length": "400 mm"}, ["when new 400"]),
                               ("film", {"camera.shutter": "global"}, ["the whole picture at once"]),
                               ("pose", {"touch.pivot": "10:20\n0:0\n12:25"}, ["10 Pivot of the arm: 2×", "9 Arm tube, behind"]),
                               ("pressing", {"pressing.copies": "A, A, B"}, ["The deck's errors stay in what all share."]),
                               ("pressing", {"pressing.decks": "one, two"}, ["what a deck adds is the deck's"]),
                               ("pressing", {"pressing.copies": "A, A, B", "pressing.decks": "one, two"}, ["3 copies are named, but 2 decks"])):
        drawn = written(html.unescape(picture(f"/measure/{name}/picture?wide=800&look=light&" + urllib.parse.urlencode(values))[2]))
        tap.say(f"the drawing of {name} says {said[0]}", "" if all(words in drawn for words in said) else drawn[:400])
    small = written(html.unescape(picture("/measure/belt/picture?wide=800&look=light&drive.belt_length=400mm")[2]))
    tap.say("a belt that the card holds asks for no larger one", "large card" in small)


def drawn_as_typed(tap, device):
    """The form shows the arm that stands in it: a drawing by the values of the address, an empty one while they say too little."""
    def picture(path):
        answer = device.get(path)
        return answer.status, answer.headers["Content-Type"], answer.text
    whole = picture("/measure/align/picture?arm.pivot_to_spindle=222%20mm&found.error_at=66%3A-1.4%0A121%3A-1.2")
    tap.say("the arm is drawn from what is typed", "" if whole[:2] == (200, "image/svg+xml") and "222.0 mm" in whole[2] else whole[2][:200])
    other = picture("/measure/align/picture?arm.pivot_to_spindle=231%20mm")
    tap.say("and follows it", "" if "231.0 mm" in other[2] and "222.0" not in other[2] else other[2][:200])
    half = picture("/measure/align/picture?arm.pivot_to_spindle=231%20mm&found.null_inner=66")
    tap.say("half a reading leaves the arm drawn", "" if "231.0 mm" in half[2] else half[2][:200])
    for what, path in (("too little is said", "/measure/align/picture"), ("it is a word", "/measure/align/picture?arm.pivot_to_spindle=far")):
        found = picture(path)
        tap.say(f"an empty drawing where {what}", "" if found[0] == 200 and len(found[2]) < 120 else str(found)[:200])
    for name, key, one, other in DRAWN:
        first, second = (picture(f"/measure/{name}/picture?wide=480&look=light&" + urllib.parse.urlencode({key: value}))[2] for value in (one, other))
        empty = picture(f"/measure/{name}/picture?wide=480&look=light")[2]
        tap.say(f"the drawing of {name} follows {key}", "" if len({first, second, empty}) == 3 and "<title" in first else first[:200])
        figure = 'data-drawn="/measure/' + name
        tap.say(f"and stands on its form", "" if figure in device.get(f"/measure/{name}").text else "it does not")
    tap.say("what is not measured here has none", "" if device.get("/measure/nothing/picture").status == 404 else "no 404")
    form = html.unescape(device.get("/measure/align?arm.pivot_to_spindle=222%20mm").text)
    named = re.search(r'<img src="(/measure/align/picture[^"]*)"', form)
    tap.say("the form names the drawing of its values", "" if named and "222.0 mm" in device.get(named[1]).text else str(named))
    narrow = re.search(r'media="\(max-width: 640px\), [^"]*" srcset="(/measure/align/picture[^"]*)"', form)
    size = re.search(r'<svg[^>]* width="(\d+)', device.get(narrow[1]).text) if narrow else None
    tap.say("and one as wide as a phone", "" if size and int(size[1]) == 480 else f"{narrow} {size}")
    follows_its_form(tap, device, picture)
    for name, values, said in (("force", {"force.reading": "1.9 g"}, ["reads 1.90", "g"]),
                               ("azimuth", {"azimuth.tilt": "4 deg"}, ["tilt 4.00"]),
                               ("drive", {"drive.kind": "belt", "drive.rim_diameter": "150 mm"}, ["driven rim 150", "pulley ?"]),
                               ("speed", {"record.radius": "98 mm"}, ["band 98.0"])):
        drawn = html.unescape(device.get(f"/measure/{name}/picture?look=light&wide=800&" + urllib.parse.urlencode(values)).text)
        shown = f'data-drawn="/measure/{name}/picture"' in device.get(f"/measure/{name}").text
        bare = device.get(f"/measure/{name}/picture?look=dark&wide=480")
        tap.say(f"the form of {name} has the drawing of what is measured", "" if shown and all(words in written(drawn) for words in said) and bare.status == 200 else written(drawn)[:300])
        other = device.get(f"/measure/{name}/picture?look=light&wide=800").text
        tap.say("which follows what is typed", "" if other != drawn else "it does not")
    broken = device.get("/measure/drive/picture?look=light&wide=800&drive.pulley_diameter=" + urllib.parse.quote("one hand"))
    tap.say("what is no number is left out of it", "" if broken.status == 200 else broken.status)


def known_values(tap, device):
    page = device.get("/measure/align?job=0001&as=received")
    tap.say("the deck's values stand in the form", not ('value="214"' in page.text and 'value="14.5"' in page.text and
            "From what is noted of the deck." in page.text))
    tap.say("the overhang as found stands, not the arm's own length that contradicts it", 'value="230"' in page.text)
    tap.say("the deck's name and class too", not 'value="Hollin B2 H2-01877"' in device.get("/measure/speed?job=0001").text)
    tap.say("the maker's range of force", not 'value="1.601"' in device.get("/measure/force?job=0001").text)
    tap.say("a job that is not there has no form", not device.get("/measure/speed?job=7777").status == 404)


def spoken_in_grams(tap, device, bench):
    """The book keeps a force in millinewtons; who works says grams. Source (published): 1 g is 9.80665 mN (ISO 80000-4)."""
    page = device.get("/book/cartridge/1")
    label = re.search(r'>Least tracking force \(g\)</label><input[^>]*value="1\.60"', page.text)
    tap.say("a cartridge's force stands in grams", "" if label else re.findall(r"Least tracking force.{0,200}", page.text)[:1])
    revision = re.search(r'name="revision" value="(\d+)"', page.text).group(1)
    for typed, expected in (("1.60", 15.7), ("1.75", 17.1616), ("18 mN", 18), ("1,6 g", 15.6906)):
        answer = device.post("/record/cartridge/1", {"revision": revision, "force_low_mn": typed})
        shown = json.loads(bench.call("register", "show", "cartridge", "1", "--json").stdout or "{}").get("force_low_mn")
        tap.say(f"'{typed}' is {expected} mN", "" if shown is not None and abs(float(shown) - expected) < 0.001 else f"{answer.status} {shown}")
        revision = re.search(r'name="revision" value="(\d+)"', device.get("/book/cartridge/1").text).group(1)
    journal = html.unescape(device.get("/journal/cartridge/1").text)
    tap.say("and the journal says grams", "" if "“1.60 g” → “1.75 g”" in journal else re.findall(r"Least tracking.{0,120}", journal)[:2])
    sheet = html.unescape(device.get(device.post("/measure/force", {"force.reading": "1.8 g"}).headers["Location"]).text)
    tap.say("a sheet says grams first", "" if sheet.index("1.80") < sheet.index("17.7") else "it does not")


def named_fields(tap, device):
    """A remark names a quantity by its label, which leads to its field with all that was typed before."""
    answer = device.post("/measure/force", {"force.reading": "2.41 g", "force.target": "1.8 g"})
    page = device.get(answer.headers["Location"]).text
    told = re.search(r'Lift the arm[^<]*<a href="([^"]*)">([^<]*)</a>', page)
    tap.say("a remark leads to the field that it names", not told and page[-1500:])
    path, _, place = html.unescape(told.group(1)).partition("#")
    form = device.get(path).text
    tap.say("the field is there, with what was typed", not (f'id="{place}"' in form and "2.41" in form and "force.reading" not in told.group(2)) and told.group(0))


def next_steps(tap, device):
    """What a sheet leads to, and measuring as left the way it was measured as received."""
    device.get("/measure/align?job=0001&as=left")
    made = device.post("/measure/align?job=0001&as=left", {"arm.pivot_to_spindle": "214 mm", "arm.effective_length": "231.9 mm"})
    kept = device.post(made.headers["Location"] + "/keep", {"job": "0001", "as": "left"})
    sheet = html.unescape(device.get(kept.headers["Location"]).text)
    link = re.search(r'href="(/measure/template[^"]*)">Print the template for this', sheet)
    tap.say("an alignment leads to its template", "" if link else sheet[-400:])
    form = device.get(link[1]).text if link else ""
    tap.say("which has its numbers", "" if 'value="214"' in form else "it has not")
    tap.say("and is noted in the set-up in one touch", "" if "Note in the set-up: Overhang" in sheet else "it is not")
    card = device.get("/job/0001?at=as-received").text
    same = [row for row in re.findall(r'href="/sheet/(\d+)"', card) if "Speed" in device.get(f"/sheet/{row}").text.split("</h1>")[0]]
    again = html.unescape(device.get(f"/measure/speed?job=0001&as=left&same={same[0]}").text) if same else ""
    tap.say("as left it is measured the same way", "" if again.count("From what was measured as received, ") >= 2 else f"{same} {again.count('From ')}")
    other = html.unescape(device.get(f"/measure/speed?job=0003&as=left&same={same[0]}").text) if same else ""
    tap.say("but not the way of another job", "From what was measured as received" in other)


def supplying(tap, device, take):
    """What spoils the comparison is supplied after both were kept, or measured anew from the recording."""
    values = {"record.tone": "3150 Hz", "record.name": "Quay test record, copy 2", "chain.name": "Bench chain"}
    files = [("recording1", "supplied.wav", take)]
    sheets = {}
    for phase, typed in (("received", values), ("left", {**values, "record.name": "", "chain.name": "Desk", "keep": "yes"})):
        device.get("/measure/speed?job=0009")
        made = device.send(f"/measure/speed?job=0009&as={phase}", typed, files)
        device.get(made.headers["Location"])
        kept = device.post(made.headers["Location"] + "/keep", {"job": "0009", "as": phase})
        sheets[phase] = kept.headers["Location"].rsplit("/", 1)[1]
    card = html.unescape(device.get("/job/0009?at=as-left").text)
    link = f'/sheet/{sheets["left"]}?with={sheets["received"]}'
    tap.say("the job says what spoils the comparison and leads to supplying it", "" if f'href="{link}#supply"' in card else card[-900:])
    page = html.unescape(device.get(link).text)
    tap.say("the sheet says it too", "" if "The two cannot be compared: The test record is not stated as left." in page else trouble(device.get(link)))
    tap.say("and offers its recording to be measured again with the settings as received",
            "" if re.search(rf'href="/measure/speed\?job=0009&as=left&same={sheets["received"]}&kept1=\d+"', page) else "it does not")
    names = {"with": sheets["received"], "test_record": values["record.name"], "chain": "Bench chain"}
    refused = device.post(f'/sheet/{sheets["left"]}/supply', {**names, "why": ""})
    tap.say("without saying how it is known nothing is supplied", "" if refused.status == 400 else refused.status)
    device.get(link)
    done = device.post(f'/sheet/{sheets["left"]}/supply', {**names, "why": "the sleeve on the bench"})
    place = done.headers["Location"] or ""
    pair = html.unescape(device.get(place).text)
    tap.say("then the two are compared", "" if place.endswith("?with=" + sheets["received"]) and "No change beyond the uncertainties." in pair
            and "cannot be compared" not in pair else f"{done.status} {place} {trouble(done)}")
    old = html.unescape(device.get("/sheet/" + sheets["left"]).text)
    tap.say("the sheet as it was stays, withdrawn with the reason", "" if "Withdrawn: Another sheet has its place" in old and
            "the sleeve on the bench" in old and "/supply" not in old else "it does not")
    tap.say("the journal tells it", "" if "the sleeve on the bench" in html.unescape(device.get("/job/0009/journal").text) else "it does not")
    card = html.unescape(device.get("/job/0009?at=as-left").text)
    tap.say("the job compares the two", "" if "no measurable change" in card and "#supply" not in card else card[-900:])


def note(device, path, key, value, phase="left", **more):
    return device.post(path, {"key": key, "value": value, "as": phase, **more})


def set_up(tap, device):
    path = "/job/0003/setup"
    page = device.get(path)
    order = re.findall(r'<li class="setting" id="([^"]+)"', page.text)
    tap.say("the settings stand in their order", not (order.index("setup.level") < order.index("setup.height") <
            order.index("arm.overhang") < order.index("setup.azimuth") < order.index("force.reading") < order.index("setup.anti_skate")))
    tap.say("nothing is doubtful yet", not (page.status == 200 and "Look again" not in page.text))
    note(device, path, "setup.azimuth", "0.4 deg", "received")
    kept = note(device, path, "setup.azimuth", "0,1°", instrument="bands of the record")
    place = kept.headers["Location"]
    tap.say("a note leads back to its setting", not (place.startswith(path + "?kept=") and place.endswith("#setup.azimuth")))
    tap.say("which says that it was kept", "Kept." not in device.get(place.partition("#")[0]).text)
    note(device, path, "force.reading", "1.8 g")
    tap.say("force follows azimuth", not "Look again" not in device.get(path).text)
    note(device, path, "setup.height", "31.5")
    page = device.get(path)
    stale = re.findall(r'<li class="setting stale" id="([^"]+)"', page.text)
    tap.say("after the height, azimuth and force are to be looked at again", stale if stale != ["setup.azimuth", "force.reading"] else "")
    tap.say("and it is said why, with both times", not (re.search(r"Arm height was changed [\d: -]+, after this was set [\d: -]+\. Where", page.text) and
            "2 settings must be looked at again." in page.text))
    note(device, path, "setup.azimuth", "0,1", unit="°")
    stale = re.findall(r'<li class="setting stale" id="([^"]+)"', device.get(path).text)
    tap.say("looked at and found the same, it stands and makes nothing else doubtful", stale if stale != ["force.reading"] else "")
    found = device.get(path + "?as=received").text
    tap.say("as received has its own values", not ("0.4" in found and "31.5" not in found and "Look again" not in found))
    note(device, path, "arm.overhang", "17,2mm")
    form = device.get("/measure/align?job=0003&as=left")
    tap.say("what was set stands in the procedure's form", not 'value="17,2"' in form.text)
    tap.say("but not in that of the deck as received", not 'value="17,2 mm"' not in device.get("/measure/align?job=0003&as=received").text)
    tap.say("what was read off a scale does not: it is measured anew", not "1.8" not in device.get("/measure/force?job=0003&as=left").text)
    device.get(path)
    tap.say("a value of the catalogue is checked", not note(device, path, "arm.overhang", "17 kg").status == 400)
    device.get(path)
    tap.say("a setting that is not there is refused", not note(device, path, "setup.colour", "blue").status == 400)
    device.get(path)
    note(device, path, "", "<b>3 turns</b>", label="Feet & <spikes>")
    page = device.get(path)
    tap.say("the shop's own setting is noted, as words", not ("Feet &amp; &lt;spikes&gt;" in page.text and "<b>3 turns" not in page.text))
    tap.say("each setting leads to what measures it", not "/measure/force?job=0003&amp;as=left" in page.text)
    tap.say("the page is not large", not len(page.body) < MOST_BYTES)
    tap.say("a job that is not there has no set-up", not device.get("/job/7777/setup").status == 404)


SIDE = """[record]
reference = 5 cm/s
lead_in = 2 s
gap = 2 s
[band 1]
kind = tone
channel = lateral
frequency = 1 kHz
level = 0 dB
length = 8 s
[band 2]
kind = silence
length = 12 s
[band 3]
kind = tone
channel = left
frequency = 10 kHz
level = 1 cm/s
length = 6 s
"""


def seen(tap, device, take):
    """Films and photographs are asked for by their own words."""
    for name, (what, said) in SEEN.items():
        form = device.get(f"/measure/{name}")
        accept = "video/*" if what == "film" else "image/*"
        tap.say(f"{name}: the form asks for it", not (form.status == 200 and f'accept="{accept}"' in form.text and "Take it live" not in form.text))
        empty = device.send(f"/measure/{name}", {}, [])
        tap.say(f"{name}: without one it says so", not (empty.status == 400 and trouble(empty)))
        wrong = device.send(f"/measure/{name}", {}, [("recording1", "take.wav", take)])
        tap.say(f"{name}: a sound is refused", not (wrong.status == 400 and any(said in words for words in trouble(wrong))))


def a_side(tap, device, program, folder):
    """Each band of a side opens on the readings that were measured on it."""
    (folder / "side.plan").write_text(SIDE, encoding="utf-8")
    run(program, "synth", "side.wav", "record.plan=side.plan", folder=folder)
    answer = device.send("/measure/side", {}, [("recording1", "side.wav", (folder / "side.wav").read_bytes()),
                                               ("plan", "side.plan", SIDE.encode())])
    page = device.get(answer.headers["Location"]) if answer.status == 303 else answer
    bands = dict(re.findall(r'<details id="band-(\d)">(.*?)</details>', page.text, re.S))
    tap.say("a side's bands open on the page", f"{answer.status} {trouble(answer)} {sorted(bands)}" if sorted(bands) != ["1", "2"] else "")
    tap.say("on what was measured on them", not ("Speed error" in bands.get("1", "") and "Hiss" in bands.get("2", "") and
                                                 "Hiss" not in bands.get("1", "")))
    tap.say("a band without a reading is named", not re.search(r'<p id="band-3"[^>]*>3 · tone left 10 kHz', page.text))
    tap.say("nothing is written twice", not page.text.count(">Speed error<") <= 2)


def main(program):
    tap = Tap()
    program = str(pathlib.Path(program).resolve())
    with tempfile.TemporaryDirectory() as name, Bench(program, name + "/shop") as bench:
        folder = pathlib.Path(name)
        run(program, "synth", "take.wav", "record.tone=3150Hz", "synth.length=12s", folder=folder)
        take = (folder / "take.wav").read_bytes()
        device, other = Device(bench), Device(bench)
        other.get("/measure")
        all_forms(tap, device, program)
        computed(tap, device, program)
        values_as_typed(tap, device, program)
        recordings(tap, device, program, folder, take)
        seen(tap, device, take)
        a_side(tap, device, program, folder)
        drawn_as_typed(tap, device)
        known_values(tap, device)
        spoken_in_grams(tap, device, bench)
        named_fields(tap, device)
        next_steps(tap, device)
        keeping(tap, device, other, take)
        supplying(tap, device, take)
        failing(tap, device, folder, program)
        printing(tap, device)
        set_up(tap, device)
        several_at_once(tap, device, program)
        status, errors = bench.end()
        tap.say("the bench ends cleanly", f"{status} {errors}" if status or errors else "")
    return tap.end()


sys.exit(main(sys.argv[1]))
