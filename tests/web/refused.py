#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What a form refuses it refuses in the reader's language: each field of every measuring form is
given what it cannot be, and no English word may stand in what is answered."""
import html
import os
import re
import sys
import tempfile

from bench import Bench, Device, Tap

# Words of English that none of the three languages has.
ENGLISH = re.compile(r"\b(the|is|are|of|and|or not|not|give|given|with|be|must|than|from|between|which|what|there|it|this|that|but|without|cannot|wants|takes|nothing|was|a number|value|possible|choose|leave)\b")
SPARED = {"fr": {"possible"}, "es": set(), "de": {"was"}}
# What is no number, no unit, no pair, far too large, below nothing, two at once, and what no list holds.
WRONG = ["one hand", "5 bananas", "3:", "1e30", "-1e30", "0", "nan", "1 mm 2 mm", "7:8:9", "12 kg", "2099-13-45", "…"]


def refused(page):
    """What PAGE says is wrong: at its fields, and above the form."""
    found = re.findall(r'class="[^"]*\bwrong\b[^"]*"[^>]*>(.*?)</', page, re.S) + re.findall(r'class="[^"]*\b(?:refusal|trouble|remark wrong)\b[^"]*"[^>]*>(.*?)</', page, re.S)
    return {re.sub(r"<[^>]+>", " ", html.unescape(text)).strip() for text in found} - {""}


def fields(page):
    return re.findall(r'name="([a-z_]+\.[a-z_]+)"', page)


def english(language, text):
    bare = text
    for wrong in WRONG:
        bare = bare.replace(wrong, " ")
    return [word for word in ENGLISH.findall(bare) if word not in SPARED[language]]


def measuring(tap, device, language):
    names = sorted(set(re.findall(r'href="/measure/([a-z]+)', device.get("/measure").text)))
    said = {}
    for name in names:
        keys = sorted(set(fields(device.get(f"/measure/{name}").text)))
        for wrong in WRONG if language == "de" else WRONG[:4]:
            for text in refused(device.post(f"/measure/{name}", {key: wrong for key in keys}).text):
                said.setdefault(text, f"{name}: {wrong}")
        for text in refused(device.post(f"/measure/{name}", {}).text):
            said.setdefault(text, f"{name}: nothing")
    amiss = {text: where for text, where in said.items() if english(language, text)}
    tap.say(f"{len(said)} refusals of {len(names)} forms are in the language {language}", "\n".join(f"{where}: {text}" for text, where in amiss.items()) if len(said) > 100 else f"only {len(said)}")


def main(program):
    tap = Tap()
    for language in ("de", "fr", "es"):
        with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop", env={**os.environ, "LANGUAGE": language, "LC_ALL": "C.UTF-8"}) as bench:
            measuring(tap, Device(bench), language)
    sys.exit(tap.end())


main(*sys.argv[1:])
