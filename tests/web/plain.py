#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What stands on the pages is written for people: no key of the catalogue, no option of the command line, no path of a
file. A page of each kind is read, every measuring form and every sheet of the demonstration shop; the page that edits
the words of a paper apart, whose texts have keys."""
import html
import html.parser
import pathlib
import re
import sys
import tempfile

from bench import Bench, Device, Tap

WRONG = {"an option": re.compile(r"(?<![\w-])--[a-z]{2,}"), "a path": re.compile(r"\bdata/\w+"), "an underscore": re.compile(r"\b[a-z]+_[a-z_]+\b"),
         "a unit without its sign": re.compile(r"(?<![\w/.-])(?:deg|degC|u[mVFH]|um/mN|[kM]?[oO]hm|deg/cm|mm2/s|kg\.m2|[pfn][AV]/rtHz)(?![\w/])")}
# A job's parts, each of which is a page of its own.
PARTS = ["intake", "safety", "as-received", "findings", "estimate", "work", "set-up", "as-left", "papers", "state"]
SHEETS = 40


def keys(root):
    """Every key of the catalogue."""
    texts = (path.read_text(encoding="utf-8") for path in sorted((root / "src/base/catalogue").glob("*.c")))
    return {key for text in texts for key in re.findall(r'\.key = "([a-z_.]+)"', text)}


def kind(path):
    """Pages that differ only by a number or a query are of one kind."""
    return re.sub(r"\d+", "N", path.partition("?")[0])


def shown(text):
    text = re.sub(r"<(script|style).*?</\1>", " ", text, flags=re.S)
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


class Fields(html.parser.HTMLParser):
    """Every numeric field of a page that holds something: its name, its value, and the unit that stands beside it."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.found, self.in_unit = [], False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        of = {key: value or "" for key, value in attrs}
        if tag in ("input", "textarea") and ("data-units" in of or "data-pad" in of):
            self.found.append([of.get("name", ""), of.get("value", ""), ""])
            self.in_area = tag == "textarea"
        self.in_unit = tag == "span" and of.get("class") == "unit" and "-unit" in of.get("id", "")

    def handle_endtag(self, tag):
        self.in_unit = False
        if tag == "textarea":
            self.in_area = False

    def handle_data(self, data):
        if self.in_unit:
            self.found[-1][2] += data
        elif getattr(self, "in_area", False) and self.found:
            self.found[-1][1] += data


def twice(text):
    """The fields that hold the unit that stands beside them, by its sign or as it is typed."""
    typed = {"°": ("deg", "°"), "°C": ("degC", "°C"), "Ω": ("ohm", "Ω"), "kΩ": ("kohm", "kOhm", "kΩ"), "µm": ("um", "µm"), "µm/mN": ("um/mN", "µm/mN"),
             "mm²/s": ("mm2/s", "cSt", "mm²/s")}
    wrong = []
    for name, value, unit in Fields(text).found:
        for line in value.splitlines():
            held = re.sub(r"^[-+−\d.,/ \u202f]*", "", line)
            if unit and held.strip() in typed.get(unit, (unit,)):
                wrong.append(f"{name}: “{line}” beside “{unit}”")
    return wrong


def check_units(tap, device, raw):
    """A number that stands in a field has its unit beside it, and once: on every page, and on every procedure's form for
    jobs that the book knows much of."""
    names = sorted(set(re.findall(r'href="/measure/([a-z]+)"', raw["/measure"])))
    forms = dict(raw)
    for job in ("0001", "0007", "0010"):
        for name in names:
            for phase in ("received", "left"):
                path = f"/measure/{name}?job={job}&as={phase}"
                forms[path] = device.get(path).text
        forms[f"/live?job={job}&as=left"] = device.get(f"/live?job={job}&as=left").text
    filled = sum(bool(value and unit) for text in forms.values() for _, value, unit in Fields(text).found)
    tap.say(f"{filled} fields that are filled are looked at, of {len(names)} procedures", "" if filled > 100 and len(names) > 25 else "these are few")
    tap.say("none holds its unit twice", [f"{path} {one}" for path, text in forms.items() for one in twice(text)][:5])


def read_all(device, raw):
    done, seen, sheets, waiting = {}, set(), 0, ["/"]
    while waiting:
        path = waiting.pop(0)
        of = kind(path)
        sheets += of.startswith("/sheet/")
        if path in done or "/words/" in path or (of in seen and not (of.startswith("/sheet/N") and sheets < SHEETS)):
            continue
        seen.add(of)
        answer = device.get(path)
        done[path] = ""
        if not answer.headers["Content-Type"].startswith("text/html"):
            continue
        done[path], raw[path] = shown(answer.text), answer.text
        waiting += [html.unescape(link) for link in re.findall(r'href="(/[^"#]*)', answer.text)
                    if not link.startswith("/look/") and "open=" not in link]
    return done


def main(program, root):
    tap = Tap()
    known = keys(pathlib.Path(root))
    tap.say(f"{len(known)} keys are looked for", "" if len(known) > 200 else "these are few")
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device = Device(bench)
        raw = {}
        pages = read_all(device, raw)
        for job in ("0001", "0010"):
            pages |= {path: shown(device.get(path).text) for path in [f"/job/{job}?at={part}" for part in PARTS] + [f"/job/{job}/setup?as=received"]}
        tap.say(f"{len(pages)} pages are read", "" if len(pages) > 60 else sorted(pages))
        for path, text in sorted(pages.items()):
            found = [key for key in set(re.findall(r"\b[a-z_]+\.[a-z_.]*[a-z]\b", text)) if key in known]
            found += [f"{what}: {word}" for what, words in WRONG.items() for word in words.findall(text)]
            tap.say(path, ", ".join(found))
        check_units(tap, device, raw)
    sys.exit(tap.end())


main(*sys.argv[1:3])
