#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What a form refuses it refuses in the reader's language: each field of every measuring form, and of the forms
of the job and the book, is given what it cannot be, and neither an English word nor a word of the command line,
a key or a unit's typed name may stand in what is answered."""
import html
import json
import os
import re
import sys
import tempfile

from bench import Bench, Device, Tap
from forms import all_pages, encoded, forms_of, in_parts

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


# Pages on which a shop writes, and of forms what ends the session or is measuring's own.
LEFT_OUT = ("/leave", "/shop/password", "/enter", "/pair", "/shop/backup", "/live", "/measure", "/lock", "/job/new", "/shop/type")
NO_FIELDS = ("form_token", "once", "revision", "back")
BAD = ["one hand", "5 bananas", "1e30", "-5", "2099-13-45", "x" * 300]
# A key, a command, a typed unit or choice, a field's name behind its label: what no page speaks of.
RAW = re.compile(r"\bdeckwright \w|\b[a-z]{3,}[._][a-z_]{3,}\b|\([a-z_]+\)\.|\b(?:deg|um|ohm|kohm)\b|\w\|\w")
MARK = "a-mark-between-the-parts"
ALL = os.environ.get("DECKWRIGHT_TESTS") == "all"


def answered(device, form, **changed):
    """What a script is told of FORM with CHANGED fields that is refused, or nothing."""
    pairs = [pair for pair in form.pairs(**changed) if pair[0] not in ("once", "revision") and not pair[0].startswith("was.")]
    body, kind = (in_parts(pairs, MARK), f"multipart/form-data; boundary={MARK}") if form.files else (encoded(pairs), "application/x-www-form-urlencoded")
    answer = device.ask("POST", form.action, body, {"Content-Type": kind, "Accept": "application/json"})
    return json.loads(answer.text)["words"] if answer.status >= 400 else ""


def bare_words(text):
    for wrong in (*BAD, BAD[-1][:40]):
        text = text.replace(wrong, " ")
    return text


def fields_of(form):
    return [one for one in form.controls if one.name and one.kind not in ("hidden", "submit", "file", "checkbox", "radio") and one.name not in NO_FIELDS]


def hidden_key(form):
    return "".join(one.value for one in form.controls if one.name == "key" and one.kind == "hidden")


def shape_of(form):
    """Forms of one shape refuse alike: of the words of a paper each has one text, whatever it is called; a form
    without a field has nothing to refuse but its act."""
    alike = "/words/" in form.action or not fields_of(form)
    return re.sub(r"\d+", "N", form.action), "" if alike and not ALL else hidden_key(form)


def tries(form):
    """What is tried on FORM: a field with what it cannot be, and all of them empty."""
    return [("", "")] + [(one.name, bad) for one in fields_of(form) for bad in (BAD if one.kind != "select" else BAD[:1])]


def try_one(device, form, name, bad):
    return bare_words(answered(device, form, **({name: bad} if name else {one.name: "" for one in fields_of(form) if one.kind != "select"})))


def of_job_and_book(device):
    """What the forms of the job and the book refuse: each text where it is said first, and in their order the tries that
    bring it about: (path, which form of it, field, what it was given)."""
    said, seen, course = {}, set(), []
    for path, page in list(all_pages(device, 1)):
        for number, form in enumerate(forms_of(page)):
            if form.method != "post" or form.action.startswith(LEFT_OUT) or form.action.endswith(("/erase", "/sign?at=intake", "/sign?at=handover")):
                continue
            for name, bad in tries(form):
                shape = (*shape_of(form), name)
                if (*shape, bad) in seen:
                    continue
                seen.add((*shape, bad))
                text, where = try_one(device, form, name, bad), (path, number, name, bad)
                # What was kept belongs to it: what a field held before makes a second of the same a refusal.
                if text not in said if text else (*shape, True) not in seen:
                    course.append((where, bool(text)))
                if text:
                    said.setdefault(text, where)
                else:
                    seen.add((*shape, True))
    return said, course


def again(device, course):
    """The same in the language of DEVICE of each text that COURSE brings about; "" where something was not refused."""
    said, pages = {}, {path: forms_of(device.get(path).text) for path in {where[0] for where, _ in course}}
    for where, refuses in course:
        path, number, name, bad = where
        text = try_one(device, pages[path][number], name, bad)
        if text or refuses:
            said.setdefault(text, where)
    return said


def say(tap, language, said):
    amiss = {text: where for text, where in said.items() if not text or RAW.search(text) or (language != "en" and english(language, text))}
    tap.say(f"{len(said)} refusals of the job and the book are plain in the language {language}", "\n".join(f"{where}"[:200] + f": {text or 'not refused'}" for text, where in amiss.items()) if len(said) > 100 else f"only {len(said)}")


def main(program):
    tap = Tap()
    for language in ("en", "de", "fr", "es"):
        with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop", env={**os.environ, "LANGUAGE": language, "LC_ALL": "C.UTF-8"}) as bench:
            if language != "en":
                measuring(tap, Device(bench), language)
                say(tap, language, again(Device(bench), course))
            else:
                said, course = of_job_and_book(Device(bench))
                say(tap, language, said)
    sys.exit(tap.end())


main(*sys.argv[1:])
