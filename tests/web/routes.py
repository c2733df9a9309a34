#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every route of the bench, as its tables in src/web name them: a page answers, or says that it has nothing; a form
without its token is refused and changes nothing. A page that is added is asked without a line here, unless its
path has a part of a new kind."""
import pathlib
import re
import sys
import tempfile

from bench import Bench, Device, Tap

# What stands in the parts of a path: of the invented shop, or what nothing has.
PARTS = {"number": "1", "id": "1", "first": "1", "last": "1", "entity": "customer", "procedure": "speed", "name": "bench.css",
         "index": "1", "key": "0" * 16, "code": "0" * 32, "paper": "receipt", "size": "small", "measure": "1"}
# Pages of what this shop has not: a sheet that was not kept, a code of nobody.
NOTHING = ("/result/", "/pair/")
ROUTE = re.compile(r'\{"(GET|POST)", "([^"]+)", \w+')
TABLE = re.compile(r"^const DwWebRoute dw_routes_\w+\[\] = \{(.*?)^\};", re.M | re.S)


def routes(root):
    for path in sorted((root / "src/web").rglob("*.c")):
        for table in TABLE.findall(path.read_text(encoding="utf-8")):
            yield from ROUTE.findall(table)


def state(bench):
    """The book's tables as it exports them."""
    with tempfile.TemporaryDirectory() as folder:
        done = bench.call("book", "export", folder + "/all")
        return done.stderr, {path.name: path.read_bytes() for path in sorted((pathlib.Path(folder) / "all").glob("*.csv"))}


def main(program, root):
    tap, asked = Tap(), {"GET": 0, "POST": 0}
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device = Device(bench)
        device.get("/")
        before = state(bench)
        for method, pattern in sorted(routes(pathlib.Path(root))):
            unknown = [part for part in re.findall(r":(\w+)", pattern) if part not in PARTS]
            path = re.sub(r":(\w+)", lambda part: PARTS.get(part[1], "x"), pattern)
            asked[method] += 1
            if method == "GET":
                answer = device.get(path)
                fits = answer.status in ((404, 410) if pattern.startswith(NOTHING) else (200,)) and answer.body or (answer.status, pattern) == (303, "/enter")
            else:
                answer = device.ask("POST", path, "seal=" + "0" * 64, {"Content-Type": "application/x-www-form-urlencoded"})
                fits = answer.status == 403
            trouble = f"give tests/web/routes.py a value of :{unknown[0]}" if unknown else "" if fits else f"{answer.status} {answer.body[-300:]}"
            tap.say(f"{method} {pattern}", trouble)
        tap.say(f"pages and forms are found: {asked['GET']} and {asked['POST']}", not (asked["GET"] > 30 and asked["POST"] > 30))
        said, tables = before
        tap.say("nothing of it changed the book", said or ("" if tables and state(bench) == before else "it did"))
    return tap.end()


sys.exit(main(*sys.argv[1:]))
