#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every number that is read from inputs names its unit: one of its dimension, the one that the variable it goes into
is named after, and without a factor by hand beside it."""
import pathlib
import re
import sys

# What the end of a variable's name says of the unit in it (shared style: the unit in the name).
SUFFIX = {"mm": "mm", "deg": "deg", "hz": "Hz", "s": "s", "g": "g", "mn": "mN", "ppm": "ppm", "percent": "%", "db": "dB",
          "rpm": "rpm", "mv": "mV", "pf": "pF pF/m", "ohm": "ohm", "cm_s": "cm/s", "v": "V V/rtHz", "a": "A/rtHz", "k": "K",
          "rad": "rad", "per_s": "fraction/s /s", "kg": "kg", "h": "H"}
TEXT = r'"((?:[^"\\]|\\.)*)"'
CALL = re.compile(r"dw_inputs_in(?:_at)?\(\s*[\w>.-]+,\s*" + TEXT + r"(?:,\s*(?!\")[^,()]+(?:\([^()]*\))?)?,\s*" + TEXT + r"\s*\)")
PAIR = re.compile(r"dw_inputs_pair_in\(\s*[\w>.-]+,\s*" + TEXT + r",\s*[^,]+,\s*" + TEXT + r",\s*" + TEXT)
NAMED = re.compile(r"([A-Za-z]\w*)\s*=\s*$")
FACTOR_AFTER = re.compile(r"\s*[*/]\s*(?:1e-?\d+|10+(?:\.0*)?|60|3600|180|M_PI|273\.15|DEGREES?|DW_FORCE_MN_PER_G)\b|\s*\+\s*273")
FACTOR_BEFORE = re.compile(r"(?:1e-?\d+|10+(?:\.0*)?|60|180|M_PI|DEGREES?)\s*\*\s*$")


def catalogue(source):
    """Of each number or pair: its dimensions."""
    rows = {}
    for path in sorted((source / "base/catalogue").glob("*.c")):
        for part in re.split(r"\.key = ", path.read_text(encoding="utf-8"))[1:]:
            key = re.match(TEXT, part)[1]
            dimension = re.search(r"\.dimension = (\w+)", part)
            second = re.search(r"\.second_dimension = (\w+)", part)
            rows[key] = (dimension and dimension[1], second and second[1])
    return rows


def units(source):
    """The names of each dimension's units."""
    found = {}
    for dimension, name in re.findall(r"\{(DW_DIMENSION_\w+), " + TEXT, (source / "base/unit.c").read_text(encoding="utf-8")):
        found.setdefault(dimension, set()).add(name)
    return found


def wrong_in(text, rows, known):
    wrong = []
    for call in CALL.finditer(text):
        key, unit = call[1], call[2]
        line = text.count("\n", 0, call.start()) + 1
        if key not in rows:
            wrong.append(f"line {line}: {key} is no quantity")
        elif unit not in known.get(rows[key][0] or "DW_DIMENSION_NUMBER", set()):
            wrong.append(f"line {line}: {key} has no unit '{unit}'")
        named = NAMED.search(text[:call.start()])
        if named:
            end = re.search(r"_(cm_s|per_s|[a-z]+)$", named[1])
            if end and end[1] in SUFFIX and unit not in SUFFIX[end[1]].split() and text[call.end():call.end() + 1] in ",;":
                wrong.append(f"line {line}: {named[1]} is given {key} in '{unit}'")
        if FACTOR_AFTER.match(text[call.end():]) or FACTOR_BEFORE.search(text[:call.start()]):
            wrong.append(f"line {line}: a factor by hand beside {key}; name the unit that is wanted")
    for call in PAIR.finditer(text):
        for unit, dimension in zip((call[2], call[3]), rows.get(call[1], (None, None))):
            if unit not in known.get(dimension or "DW_DIMENSION_NUMBER", set()):
                line = text.count("\n", 0, call.start()) + 1
                wrong.append(f"line {line}: {call[1]} has no unit '{unit}'")
    return wrong


# Each line is wrong in one way, and must be found so.
PLANTED = ['x.clock_error_ppm = 1e4 * dw_inputs_in(inputs, "chain.clock_error", "ppm");',
           'x.clock_error_ppm = dw_inputs_in(inputs, "chain.clock_error", "%");',
           'double y = dw_inputs_in(inputs, "chain.clock_error", "mm");',
           'double y = dw_inputs_in(inputs, "arm.offset", "deg") * M_PI / 180;',
           'double y_mm = dw_inputs_in_at(inputs, "force.reading", i, "g");',
           'dw_inputs_pair_in(inputs, "found.error_at", i, "deg", "deg", &a, &b);']
# What goes through all rows alike, and may read a number in its row's own unit.
OWN = {"base/inputs.c", "base/inputs.h", "base/sheet.c", "procedure/registry/run.c"}


def main(root):
    source = pathlib.Path(root) / "src"
    rows, known = catalogue(source), units(source)
    results = [(f"finds {line}", [] if len(wrong_in(line, rows, known)) == 1 else ["passes for right"]) for line in PLANTED]
    calls = 0
    for path in sorted(source.rglob("*.[ch]")):
        text = path.read_text(encoding="utf-8")
        name = path.relative_to(source).as_posix()
        calls += len(CALL.findall(text))
        wrong = wrong_in(text, rows, known)
        if "dw_inputs_own(" in text and name not in OWN:
            wrong.append("dw_inputs_own is for what goes through all rows alike")
        if "dw_inputs_" in text or wrong:
            results.append((name, wrong))
    results.append((f"{calls} numbers are read", [] if calls > 250 else ["the calls are not recognised"]))
    print(f"1..{len(results)}")
    for number, (name, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {name} {'; '.join(wrong)}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
