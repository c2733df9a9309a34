#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every route of the bench, as its tables in src/web name them: a page answers, or says that it has nothing; a form
without its token is refused and changes nothing; one that holds nothing is done, or refused by the one page that says
so, and not by the page it came from. A page that is added is asked without a line here, unless its path has a part of
a new kind."""
import pathlib
import re
import sys
import tempfile

from bench import Bench, Device, Tap

# What stands in the parts of a path: of the invented shop, or what nothing has.
PARTS = {"number": "1", "id": "1", "first": "1", "last": "1", "entity": "customer", "procedure": "speed", "name": "bench.css",
         "index": "1", "key": "0" * 16, "code": "0" * 32, "paper": "receipt", "size": "small", "measure": "1", "invoice": "1", "month": "2026-11", "table": "invoices"}
# Pages of what this shop has not: a sheet that was not kept, a code of nobody, a file of which nothing came.
NOTHING = ("/result/", "/pair/", "/arriving/", "/job/:number/ears/sound/") # of the last the shop has no piece to hear; tests/web/ears.py makes some
ROUTE = re.compile(r'\{"(GET|POST)", "([^"]+)", \w+')
TABLE = re.compile(r"^const DwWebRoute dw_routes_\w+\[\] = \{(.*?)^\};", re.M | re.S)


def routes(root):
    for path in sorted((root / "src/web").rglob("*.c")):
        for table in TABLE.findall(path.read_text(encoding="utf-8")):
            yield from ROUTE.findall(table)


# What was typed into this form stands in it again, with what is wrong at its field.
SHOWN_AGAIN = {"/measure/:procedure"}


def path_of(pattern):
    return re.sub(r":(\w+)", lambda part: PARTS.get(part[1], "x"), pattern)


def not_the_small_page(answer):
    """Why ANSWER is not the page of a refusal, or nothing."""
    words = [word for word in ("<title>Not done · ", "<h1>That was not done</h1>") if word not in answer.text]
    return f"{answer.status} without {words}" if words else "it holds a form" if '<form method="post"' in answer.text else ""


def check_refused(tap, device, patterns):
    """Each form with its token and nothing else in it, from this computer and at last from a device that is not known."""
    refused = 0
    device.get("/")
    for pattern in sorted(set(patterns) - SHOWN_AGAIN):
        answer = device.post(path_of(pattern), {})
        refused += answer.status >= 400
        tap.say(f"POST {pattern} without a word: {answer.status}", not_the_small_page(answer) if answer.status >= 400 else "")
        told = device.post(path_of(pattern), {}, {"Accept": "application/json"})
        said = told.headers["Content-Type"] if told.status >= 400 else ""
        tap.say(f"and to a script: {told.status}", "" if said in ("", "application/json") else f"a refusal as {said}")
    tap.say(f"many are refused: {refused}", not refused > 20)
    stranger = Device(device.bench, "elsewhere")
    stranger.get("/enter")
    for pattern, fields in (("/enter", {"password": "a wrong one", "device": "tablet", "to": "/shop"}), ("/shop/type", {"size": "large"})):
        answer = stranger.post(pattern, fields)
        tap.say(f"a stranger's POST {pattern} is refused: {answer.status}", not_the_small_page(answer) if answer.status in (401, 403) else answer.text)


def state(bench):
    """The book's tables as it exports them."""
    with tempfile.TemporaryDirectory() as folder:
        done = bench.call("book", "export", folder + "/all")
        return done.stderr, {path.name: path.read_bytes() for path in sorted((pathlib.Path(folder) / "all").glob("*.csv"))}


def main(program, root):
    tap, asked = Tap(), {"GET": 0, "POST": 0}
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop", "name=elsewhere", password="a long enough one") as bench:
        device = Device(bench)
        device.get("/")
        before = state(bench)
        for method, pattern in sorted(routes(pathlib.Path(root))):
            unknown = [part for part in re.findall(r":(\w+)", pattern) if part not in PARTS]
            path = path_of(pattern)
            asked[method] += 1
            if method == "GET":
                answer = device.get(path)
                fits = answer.status in ((404, 410) if pattern.startswith(NOTHING) else (200,)) and answer.body or answer.status == 303 and pattern in ("/enter", "/unlock")
            else:
                answer = device.ask("POST", path, "form_token=" + "0" * 64, {"Content-Type": "application/x-www-form-urlencoded"})
                fits = answer.status == 403
            trouble = f"give tests/web/routes.py a value of :{unknown[0]}" if unknown else "" if fits else f"{answer.status} {answer.body[-300:]}"
            tap.say(f"{method} {pattern}", trouble)
        tap.say(f"pages and forms are found: {asked['GET']} and {asked['POST']}", not (asked["GET"] > 30 and asked["POST"] > 30))
        said, tables = before
        tap.say("nothing of it changed the book", said or ("" if tables and state(bench) == before else "it did"))
        check_refused(tap, device, [pattern for method, pattern in routes(pathlib.Path(root)) if method == "POST"])
    return tap.end()


sys.exit(main(*sys.argv[1:]))
