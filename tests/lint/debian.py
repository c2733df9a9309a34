#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""debian/ keeps up with the house: it asks for what scripts/packages lists, and each file that is installed goes into
one package. scripts/package builds them; this finds what was forgotten without that."""
import fnmatch
import json
import pathlib
import re
import subprocess
import sys

OF_DEBIAN = {"gcc", "libc6-dev", "ninja-build"}  # build-essential brings them, or meson does


def listed(root, kind):
    lines = (root / "scripts/packages").read_text(encoding="utf-8").split("\n")
    return {line.split()[1] for line in lines if line.split()[:1] == [kind]}


def paragraphs(root):
    text = (root / "debian/control").read_text(encoding="utf-8")
    return [dict(re.findall(r"^([A-Za-z-]+):((?:.*\n)(?: .*\n?)*)", part + "\n", re.M)) for part in text.split("\n\n")]


def named(field):
    return {re.match(r"[^ (]+", part.strip()).group(0) for part in field.replace("\n", " ").split(",") if part.strip()}


def installed(build):
    done = subprocess.run(["meson", "introspect", "--installed", str(build)], check=True, capture_output=True, text=True)
    prefix = json.loads(subprocess.run(["meson", "introspect", "--buildoptions", str(build)], check=True, capture_output=True,
                                       text=True).stdout)
    prefix = next(option["value"] for option in prefix if option["name"] == "prefix").rstrip("/")
    return sorted({"usr" + place[len(prefix):] for place in json.loads(done.stdout).values() if place.startswith(prefix + "/")})


def takers(root, place):
    """The packages whose list has PLACE, or a folder that it lies in."""
    taken = []
    for path in sorted((root / "debian").glob("*.install")):
        rows = path.read_text(encoding="utf-8").split("\n")
        parents = [place, *(str(parent) for parent in pathlib.PurePosixPath(place).parents)]
        # A star of debhelper stops at a folder's end, so each parent is tried by itself.
        if any(row and parent.count("/") == row.count("/") and fnmatch.fnmatchcase(parent, row) for row in rows for parent in parents):
            taken.append(path.stem)
    rules = (root / "debian/rules").read_text(encoding="utf-8")
    return [package for package in taken if f"rm debian/{package}/{place}\n" not in rules]


def main(root, build):
    root = pathlib.Path(root)
    source, *packages = paragraphs(root)
    asked = named(source["Build-Depends"])
    has = set().union(*(named(package.get(kind, "")) for package in packages for kind in ("Depends", "Recommends", "Suggests")))
    places = installed(build)
    strays = [f"{place}: {', '.join(taken) or 'no package'}" for place in places if len(taken := takers(root, place)) != 1]
    results = [("what the program is built with is asked for", listed(root, "build") - OF_DEBIAN - asked),
               ("nothing else is", asked - listed(root, "build") - {"debhelper-compat"}),
               ("what it runs with is asked for", listed(root, "run") - has),
               ("the build says what it installs", [] if len(places) > 20 else [len(places)]),
               ("each file goes into one package", strays)]
    print(f"1..{len(results)}")
    for number, (what, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {what}")
        print("".join(f"# {row}\n" for row in sorted(map(str, wrong))), end="")
    return any(wrong for _, wrong in results)


sys.exit(main(*sys.argv[1:]))
