#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Tables are walked in one of two ways: by their size (sizeof), or to an empty last row, which is then always there. A
table of a fixed size inside a row has no room for the empty one when it is full, and is walked by a count."""
import pathlib
import re
import sys

# Types whose tables end in an empty row, and those who walk word lists to NULL, with the place of the list.
ENDED = ("DwWebRoute", "DwVerb", "DwOption")
TABLE = re.compile(r"\b(" + "|".join(ENDED) + r") (\w+)\[\] = \{(.*?)\n\s*\};", re.S)
WORDS = re.compile(r"\bconst char \*(?:const )?(\w+)\[\] = \{(.*?)\};", re.S)
WALKED = [r"\.quantities = {}\b", r"dw_sheet_add_table\([^;]*?\b{}\)", r"dw_book_call_only\(\w+, {},",
          r"dw_book_call_list\([^;]*?\b{}, message", r"DwDataGroup \w+(?:\[\])? = \{{[^;]*?\b{}\}}"]
WALK = re.compile(r"for \((?:const )?(Dw\w+) \*(\w+) = [^;]*; \2->\w+; \2\+\+\)")
LAST = re.compile(r"(?:NULL|\{0\}|\{NULL\}),?\s*$")


def wrong_in(text):
    wrong = []
    for table in TABLE.finditer(text):
        if not LAST.search(table[3]):
            wrong.append(f"{table[1]} {table[2]}[] has no empty last row")
    for words in WORDS.finditer(text):
        walked = [pattern for pattern in WALKED if re.search(pattern.format(words[1]), text)]
        if walked and not LAST.search(words[2]):
            wrong.append(f"{words[1]}[] is walked to its end and has no NULL there")
    for walk in WALK.finditer(text):
        if walk[1] not in ENDED:
            wrong.append(f"a table of {walk[1]} is walked to an empty row; give it a count")
    return wrong


# Each is wrong in one way, and must be found so.
PLANTED = ['const DwWebRoute dw_routes_x[] = {\n    {"GET", "/x", get_x, false},\n};\n',
           'static const DwVerb verbs[] = {\n    {"list", "", "", 0, 0, list},\n};\n',
           'static const char *const keys[] = {"a.b", "c.d"};\nx = {.quantities = keys};\n',
           'static const char *const columns[] = {"a|A||0"};\nDwTable *t = dw_sheet_add_table(sheet, "a", "b", columns);\n',
           'for (const DwQuestion *question = groups[i].questions; question->procedure; question++)\n    x();\n']


def main(root):
    source = pathlib.Path(root) / "src"
    results = [(f"finds: {line.splitlines()[0]}", [] if len(wrong_in(line)) == 1 else ["passes for right"])
               for line in PLANTED]
    tables = 0
    for path in sorted(source.rglob("*.c")):
        text = path.read_text(encoding="utf-8")
        tables += len(TABLE.findall(text)) + len(WORDS.findall(text))
        wrong = wrong_in(text)
        if wrong or TABLE.search(text):
            results.append((path.relative_to(source), wrong))
    results.append((f"{tables} tables are looked at", [] if tables > 150 else ["they are not recognised"]))
    print(f"1..{len(results)}")
    for number, (name, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {name} {'; '.join(wrong)}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
