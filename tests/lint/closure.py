#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What a page must be read and built with: how many of the .c files' headers each file of src/web reaches by its
includes, one through another. The rooms that measure nothing reach nothing that does. A header that serves a single
file of its own room beside its .c is part of that room's own header."""
import pathlib
import re
import sys

MOST = 39
MEASURES = {"audio", "dsp", "measure", "physics", "synth"}
# Rooms and files that are about measuring, and what puts all rooms together.
MAY_MEASURE = ("web/bench/", "web/live/", "web/measure/", "web/photo/photo_measure.c")
# The form that is watched by name.
WATCHED = "web/record/customer_page.c"


def includes(text):
    return re.findall(r'^\s*#\s*include\s+"([^"]+)"', text, re.M)


def reached(name, read):
    """The headers that the file NAME reaches; READ gives a file's text by its name from src/."""
    seen, open_names = set(), [name]
    while open_names:
        for header in includes(read(open_names.pop())):
            if header not in seen:
                seen.add(header)
                open_names.append(header)
    return seen


def wrong_with(name, headers):
    """HEADERS, as reached() gives them, that have a .c file each."""
    wrong = [f"{len(headers)} headers, more than {MOST}"] if len(headers) > MOST else []
    if not name.startswith(MAY_MEASURE):
        wrong += [f"reaches {header}" for header in sorted(headers) if header.split("/")[0] in MEASURES]
    return wrong


def serves_one(header, texts):
    """The one file of its own room that HEADER serves beside its own .c, or nothing. TEXTS are all files by their names."""
    users = [name for name, text in texts.items() if name != header[:-1] + "c" and header in includes(text)]
    room = header.rpartition("/")[0]
    return users[0] if len(users) == 1 and users[0].rpartition("/")[0] == room else None


def main(root):
    source = pathlib.Path(root) / "src"
    texts = {path.relative_to(source).as_posix(): path.read_text(encoding="utf-8") for path in source.rglob("*.[ch]")}
    trials = {f"tests/{path.name}": path.read_text(encoding="utf-8") for path in (pathlib.Path(root) / "tests/web").glob("*.c")}
    planted = {"web/shop/x.c": '#include "a.h"', "a.h": '#include "b.h"\n# include "dsp/c.h"', "b.h": '#include "a.h"', "dsp/c.h": ""}
    results, watched = [], 0
    for name in sorted(name for name in texts if name.startswith("web/") and name.endswith(".c")):
        headers = [header for header in reached(name, texts.__getitem__) if header[:-1] + "c" in texts]
        watched = len(headers) if name == WATCHED else watched
        results.append((f"{name} {len(headers)}", wrong_with(name, headers)))
    found = wrong_with("web/shop/x.c", reached("web/shop/x.c", planted.__getitem__))
    for name in sorted(name for name in texts if name.startswith("web/") and name.endswith(".h")):
        only = serves_one(name, texts | trials)
        results.append((name, [f"serves {only} alone: fold it into the room's own header"] if only else []))
    results.append(("a planted header that serves one file is found", [] if serves_one("b.h", planted) == "a.h" else ["it is not"]))
    results.append(("a planted include is found through another", [] if found == ["reaches dsp/c.h"] else found or ["nothing"]))
    results.append((f"the customer's form reaches {watched}", [] if 0 < watched <= MOST else ["it is not there"]))
    print(f"1..{len(results)}")
    for number, (what, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {what} {'; '.join(wrong)}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
