#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Public functions and tables that no other file of the program uses, by the symbols of the objects that were built.
One that nobody uses is a fault; one that only tests use is named in ONLY_TESTS with what they want of it; one that
only its own file uses is told of, and could be static."""
import collections
import json
import pathlib
import re
import subprocess
import sys

ONLY_TESTS = {
    "dw_journal_undo": "undoing without a page",
    "dw_arm_aim_cost": "what a move is judged by, held against other moves",
    "dw_band_plan_parse": "a plan from text, without a file",
    "dw_content_of": "told by its first bytes, without a file",
    "dw_curve_path_points_most": "the bound that its path is held to",
    "dw_describe_curve": "one curve's sentence by itself",
    "dw_drive_eccentric_percent": "the textbook's formula beside the procedure",
    "dw_drive_fitted_belt_mm": "the belt's length within the rates",
    "dw_drive_tension_ratio": "the textbook's formula beside the grip",
    "dw_guide_calibrated": "the line through the odds by itself",
    "dw_halfband_finish": "the end of a stream, against the direct sum",
    "dw_loading_thermal_density": "Nyquist's formula by itself",
    "dw_music_pitch": "a note's name against a table of pitches",
    "dw_music_plan_parse": "a piece from text, without a file",
    "dw_oklab_from_colour": "the colour arithmetic against published values",
    "dw_oklab_from_xyz": "the colour arithmetic against published values",
    "dw_raster_field": "where a raster is drawn",
    "dw_reading_cell_rule": "where a cell's rule stands",
    "dw_response_load_of": "the textbook's resonance undone, without a curve",
    "dw_sheet_chart_draw": "a sheet drawn onto a canvas of the test's",
    "dw_sheet_chart_height": "how high a chart becomes",
    "dw_sheet_chart_write_pair": "two sheets over one another, as a file",
    "dw_side_wiring_word": "the wiring found, in a failed test's words",
    "dw_strobe_page": "the disc's page, measured by an outside reader",
    "dw_strobe_ring_radii": "the disc's rings, measured by an outside reader",
    "dw_synth_deviation": "the truth of a made recording",
    "dw_synth_dropouts": "the truth of a made recording",
    "dw_synth_frames": "the truth of a made recording",
    "dw_synth_line": "the truth of a made recording",
    "dw_synth_ticks": "the truth of a made recording",
    "dw_template_locate": "where a template's point lies, measured by an outside reader",
    "dw_theme_contrast": "the colours against WCAG's formula",
    "dw_writer_limited": "whether a writer had to clip",
    "dw_words_file_free": "what a fuzzed catalogue holds; those of the program stay as long as it runs",
}


def objects(build):
    """The objects of the program and of the tests, as the build's own commands name them."""
    found = {"src": [], "tests": []}
    for row in json.loads((build / "compile_commands.json").read_text(encoding="utf-8")):
        path = build / row["output"]
        if path.parts[len(build.parts)] in found and path.exists():
            found[path.parts[len(build.parts)]].append(str(path))
    return found["src"], found["tests"]


def symbols(paths, *options):
    done = subprocess.run(["nm", "--format=posix", *options, *paths], capture_output=True, text=True, check=True)
    for line in done.stdout.splitlines():
        words = line.split()
        if len(words) >= 2 and words[0].startswith("dw_"):
            yield words[0], words[1]


def main(root, build):
    root, build = pathlib.Path(root).resolve(), pathlib.Path(build).resolve()
    of_program, of_tests = objects(build)
    defined = {name for name, kind in symbols(of_program, "--defined-only", "--extern-only") if kind in "TDBR"}
    called = {name for name, _ in symbols(of_program, "--undefined-only")}
    tested = {name for name, _ in symbols(of_tests, "--undefined-only")}
    words = collections.Counter(word for path in (root / "src").rglob("*.c")
                                for word in re.findall(r"\bdw_\w+", path.read_text(encoding="utf-8")))
    results = [("symbols are found", "" if len(defined) > 1000 and len(tested) > 200 else "build everything first")]
    alone = []
    for name in sorted(defined - called):
        if name in tested:
            results.append((f"only tests use {name}", "" if name in ONLY_TESTS else "say in tests/lint/unused.py what for, or take it out"))
        elif words[name] > 1:
            alone.append(name)
        else:
            results.append((name, "nobody uses it: take it out"))
    for name in sorted(set(ONLY_TESTS) - (defined - called)):
        results.append((name, "stands in ONLY_TESTS for nothing: the program uses it, or it is gone"))
    print(f"1..{len(results)}")
    for number, (what, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {what}{': ' + wrong if wrong else ''}")
    for name in alone:
        print(f"# only its own file uses {name}: it could be static")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
