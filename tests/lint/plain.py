#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Plain English: what people read keeps to words that a technician uses, to one spelling of each, and every summary is a
sentence that begins with what is done."""
import pathlib
import re
import sys

# What is odd, archaic, or spelt in another way elsewhere: what to say instead.
ODD = {
    r"calliper": "caliper", r"feign\w*": "imitate", r"embrac\w*": "wrap, belt wrap", r"\bshown the door\b": "refused",
    r"\b(is|be|are) let go\b": "disposed of, due for deletion, closed", r"\bhangs on\b": "depends on, belongs to",
    r"\b(?:there|where|here)(?:of|upon|unto|fore)\b(?<!therefore)": "plain words", r"\bbegs\b": "asks for",
    r"\bperchance\b|\bhenceforth\b|\bnay\b|\blest\b|\btherewith\b": "plain words", r"\bnaught\b": "nothing", r"\bwhilst\b": "while",
    r"\bsent away\b": "removed", r"\bnought\b": "zero", r"\bbears? upon\b": "affects", r"\bto be had\b": "available",
    r"\bpart (?:it|them) by\b": "separate", r"\b(?:loaded|started|begins?|said|chosen) anew\b": "again, afresh, reloaded",
    r"\btold to be\b": "marked as", r"\bheld against\b": "compared with, judged by",
}
STRING = re.compile(r'"(?:[^"\\]|\\.)*"')
SUMMARY = re.compile(r'\.summary =\s*((?:"(?:[^"\\]|\\.)*"\s*)+)')
# What a name or a thing is called: an anti-skating weight hangs on its thread.
AS_IT_IS = ["What hangs on the thread"]


def spoken(path):
    """(line, text) of what people read in the file at PATH: literals of C, lines of data and docs without comments."""
    for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), 1):
        if path.suffix == ".c":
            if not re.match(r"\s*(//|#include)", line):
                yield from ((number, text) for text in STRING.findall(line))
        elif path.suffix == ".md" or not line.startswith(("#", ";")):
            yield number, line


def main(root):
    root = pathlib.Path(root)
    files = [*sorted((root / "src").rglob("*.c")), *sorted((root / "data").rglob("*.ini")), *sorted((root / "data").rglob("*.plan")),
             root / "README.md", *sorted((root / "docs").glob("*.md")), *sorted((root / "docs/methods").glob("*.md")),
             *sorted((root / "docs/handbook").glob("*.md")), *sorted((root / "docs/decisions").glob("*.md"))]
    results = []
    for path in files:
        wrong = [f"line {number}: say '{better}' for '{found.group(0)}'" for number, text in spoken(path)
                 if not any(kept in text for kept in AS_IT_IS) for odd, better in ODD.items()
                 if (found := re.search(odd, text, re.I))]
        if path.suffix == ".c":
            for match in SUMMARY.finditer(path.read_text(encoding="utf-8")):
                text = "".join(part[1:-1] for part in STRING.findall(match.group(1)))
                if not re.match(r"[A-Z]", text) or not text.endswith("."):
                    wrong.append(f"a summary is a sentence: '{text}'")
        results.append((path.relative_to(root), wrong))
    print(f"1..{len(results)}")
    for number, (path, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {path} {'; '.join(wrong)}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
