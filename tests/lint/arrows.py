#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The house's arrows: a folder includes itself and what its row names, nothing else;
a room of a folder includes itself, its folder's top and the rooms that its row names.
The tables hold no circle."""
import pathlib
import re
import sys

MAY_INCLUDE = {
    "base": [],
    "physics": ["base"],
    "dsp": ["base"],
    "measure": ["base", "physics", "dsp"],
    "synth": ["base", "physics", "dsp"],
    "audio": ["base"],
    "sight": ["base", "dsp"],
    "chart": ["base"],
    "guide": ["base"],
    "book": ["base"],
    "report": ["base", "chart", "book"],
    "procedure": ["base", "physics", "dsp", "measure", "synth", "audio", "sight", "chart", "guide", "book"],
    "cli": ["base", "physics", "dsp", "measure", "synth", "audio", "chart", "guide", "book", "report", "procedure", "web"],
    "web": ["base", "physics", "dsp", "measure", "synth", "audio", "chart", "guide", "book", "report", "procedure"],
}
# Inner rooms. A folder named here has all its files in rooms, unless a row "" stands for its top.
ROOMS = {
    "measure": {
        "tone": [],
        "band": ["tone"],
        "sweep": ["tone"],
        "speed": ["tone"],
        "side": ["tone", "band"],
        "music": ["tone"],
        "live": ["tone", "band", "speed"],
    },
    "procedure": {
        "registry": [],
        "job": ["registry"],
        "input": ["registry"],
        "align": ["registry"],
        "load": ["registry"],
        "drive": ["registry", "input"],
        "tone": ["registry", "input"],
        "band": ["registry", "input"],
        "music": ["registry", "input"],
        "side": ["registry", "input"],
        "live": ["registry", "input"],
        "sight": ["registry", "input", "align"],
    },
    "book": {
        "store": [],
        "shop": ["store"],
        "job": ["store", "shop"],
        "money": ["store", "shop", "job"],
        "care": ["store", "shop", "job", "money"],
        "model": ["store", "shop", "job"],
        "entry": ["store", "shop", "job", "money", "model"],
    },
    "web": {
        "server": [],
        "page": ["server"],
        "record": ["server", "page"],
        "shop": ["server", "page"],
        "job": ["server", "page", "record"],
        "measure": ["server", "page", "job"],
        "live": ["server", "page", "job", "measure"],
        "photo": ["server", "page", "job"],
        "paper": ["server", "page", "job", "photo"],
        "touch": ["server", "page", "job", "photo"],
        "bench": ["server", "page", "record", "shop", "job", "measure", "live", "photo", "paper", "touch"],
    },
    "chart": {
        "draw": [],
        "sheet": ["draw"],
        "template": ["draw", "sheet"],
    },
}
# What no other room looks into, though it may include the room.
OF_ITS_ROOM = ["web/server/private.h"]
# Each outside library enters at one place only.
ONLY_IN = {
    "gsl/": ["physics", "dsp", "sight"], "fftw3.h": ["dsp"], "sndfile.h": ["audio"], "gst/": ["audio"], "glib.h": ["audio", "chart", "report", "sight"],
    "cairo": ["chart", "report"], "gdk-pixbuf/": ["report", "sight"], "qrencode.h": ["chart"], "pango/": ["chart", "report"], "sqlite3.h": ["book"], "ini.h": ["base"], "apriltag/": ["chart", "sight"], "ebur128.h": ["dsp"],
    "jansson.h": ["base", "book", "web"], "microhttpd.h": ["web"], "libintl.h": ["web"], "sodium.h": ["web", "book"], "gnutls/": ["web"], "avahi-": ["web"],
}


def circle(arrows):
    """A circle among ARROWS ({from: [to]}), as the names along it, or nothing."""
    done, path = set(), []

    def walk(name):
        if name in path:
            return path[path.index(name):] + [name]
        if name in done:
            return None
        path.append(name)
        found = next(filter(None, map(walk, arrows.get(name, []))), None)
        path.pop()
        done.add(name)
        return found

    return next(filter(None, map(walk, arrows)), None)


def wrong_rooms(path, name):
    """What is wrong with an include of NAME by PATH (both from src/), by the inner rooms of their folder."""
    folder = path.parts[0]
    rooms = ROOMS.get(folder)
    target = pathlib.PurePosixPath(name).parts
    if not rooms or target[0] != folder:
        return []
    here, there = ("/".join(parts[1:-1]) for parts in (path.parts, target))
    if here not in rooms:
        return [f"{folder} has no room {here or 'at its top'}: give tests/lint/arrows.py its row"]
    allowed = there == here or there in rooms[here] and name not in OF_ITS_ROOM
    return [] if allowed else [f"{folder}/{here} may not include {name}"]


def tables_have_circles():
    return [f"circle in {where}: {' -> '.join(found)}"
            for where, arrows in [("the house", MAY_INCLUDE), *ROOMS.items()] if (found := circle(arrows))]


def main(root):
    source = pathlib.Path(root) / "src"
    results = [(pathlib.Path("the tables of arrows"), tables_have_circles())]
    for path in sorted(source.rglob("*.[ch]")):
        folder = path.relative_to(source).parts[0]
        text = path.read_text(encoding="utf-8")
        wrong = []
        for name in re.findall(r'^\s*#\s*include\s+"([^"]+)"', text, re.M):
            target = name.split("/")[0]
            if target != folder and target not in MAY_INCLUDE.get(folder, []):
                wrong.append(f"{folder} may not include {name}")
            wrong += wrong_rooms(path.relative_to(source), name)
            if not (source / name).is_file():
                wrong.append(f"{name} must be named from src/")
        for name in re.findall(r"^\s*#\s*include\s+<([^>]+)>", text, re.M):
            for prefix, folders in ONLY_IN.items():
                if name.startswith(prefix) and folder not in folders:
                    wrong.append(f"<{name}> belongs to {', '.join(folders)}")
        if "gsl_set_error_handler" in text and path.name != "gsl_quiet.c":
            wrong.append("GSL's handler is turned off in physics/gsl_quiet.c, once for all threads")
        if re.search(r'"DECKWRIGHT_(DATA|WORDS)"|DW_INSTALLED_SHARE', text) and path.stem != "place":
            wrong.append("where the program's files are, base/place.h says alone")
        if not text.startswith("// SPDX-License-Identifier: MIT\n"):
            wrong.append("no SPDX line at the top")
        if re.search(r"\bprintf\(|\bexit\(", text) and folder != "cli":
            wrong.append("only cli prints or exits")
        results.append((path.relative_to(source), wrong))
    print(f"1..{len(results)}")
    for number, (path, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {path} {'; '.join(wrong)}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
