#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Strangers' files meet a decoder in its box alone: what decodes is called in the files below and nowhere else, and these are reached
from the boxed programs only."""
import pathlib
import re
import sys

DECODES = r"gdk_pixbuf_(?:new_from_(?!data)|loader_new|animation_new)|\bsf_open(?:_fd)?\s*\(|\"decodebin\"|cairo_image_surface_create_from_png|rsvg_"
INSIDE = {"report/picture_inside.c", "audio/file.c", "audio/decode_inside.c", "audio/film_inside.c"}
CALLS = r"\bdw_(?:picture|file|decode|film)_inside\s*\("
PROGRAMS = {"report/picture_program.c", "audio/decode_program.c"}


def main(root):
    source = pathlib.Path(root) / "src"
    files = {str(path.relative_to(source)): path.read_text() for path in sorted(source.rglob("*.c"))}
    outside = [name for name, text in files.items() if re.search(DECODES, text) and name not in INSIDE]
    callers = [name for name, text in files.items() if re.search(CALLS, text) and name not in INSIDE | PROGRAMS]
    open_ones = [name for name in PROGRAMS if "dw_box_shut(" not in files.get(name, "")]
    lost = [name for name in INSIDE if not re.search(DECODES, files.get(name, ""))]
    for number, (bad, what) in enumerate(((outside, "nothing outside the boxes decodes"), (callers, "the decoders are called by boxed programs alone"),
                                          (open_ones, "these shut themselves in"), (lost, "each file that may decode does")), 1):
        print(f"{'not ' if bad else ''}ok {number} - {what}")
        for name in bad:
            print(f"# src/{name}")
    print("1..4")
    return bool(outside or callers or open_ones or lost)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
