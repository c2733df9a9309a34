#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A header that one other file alone includes must be worth its file. It is where it is the face of its room (the one
that includes it lies in another room), where a test holds on to it, or where it tells of a thing: a type of its own or
three functions. One that is none of these is folded into its room's own header, or into the source that uses it."""
import collections
import pathlib
import re
import sys

FUNCTIONS_ENOUGH = 3
# Kept all the same, and why.
EXCEPTIONS = {
    "procedure/align/force_skating.h": "with it procedure_force.c would pass 500 lines, and no header of the room is both's",
}


def users_of(root):
    """{header as it is included: files that do}."""
    users = collections.defaultdict(set)
    for path in sorted((*(root / "src").rglob("*.[ch]"), *(root / "tests").rglob("*.[ch]"))):
        if "node_modules" not in path.parts:
            for name in re.findall(r'^\s*#\s*include\s+"([^"]+)"', path.read_text(encoding="utf-8"), re.M):
                users[name].add(path)
    return users


def is_thin(text):
    types = re.findall(r"^(?:typedef|struct|enum|#define \w+(?!_H$)\b.*\S)", re.sub(r"^#define \w+_H$", "", text, flags=re.M), re.M)
    functions = re.findall(r"^(?!typedef)\w[^\n;{]*\bdw_\w+\(", text, re.M)
    return not types and len(functions) < FUNCTIONS_ENOUGH


def main(root):
    root = pathlib.Path(root)
    source, users, results = root / "src", users_of(root), []
    for header in sorted(source.rglob("*.h")):
        name = str(header.relative_to(source))
        others = {path for path in users[name] if path != header.with_suffix(".c")}
        wrong = "" if others else "nobody else includes it"
        if len(others) == 1 and next(iter(others)).parent == header.parent and is_thin(header.read_text(encoding="utf-8")):
            wrong = f"serves {next(iter(others)).name} alone: fold it into its room's own header, or there"
        if name in EXCEPTIONS:
            wrong = "" if wrong else "is no exception any more: take it off the list"
        results.append((name, wrong))
    results += [(name, "is not there") for name in sorted(set(EXCEPTIONS) - {name for name, _ in results})]
    print(f"1..{len(results)}")
    for number, (name, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {name}{' ' + wrong if wrong else ''}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
