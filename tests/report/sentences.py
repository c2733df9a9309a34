#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every sentence of the papers stands where the book says so, and nowhere else.

The words of each sentence are replaced by a mark (the setting paper.words), the smallest books that answer its
question with yes, no and not at all are made, and the papers are read back: the mark stands in the one and not in the
others. A sentence without a row in the program's table fails, and so does a row without a recipe."""
import configparser
import os
import pathlib
import re
import sys
import tempfile

from sentence_books import IMPOSSIBLE, recipe_for
from small_book import Book, Tap

ANSWERS = ("yes", "no", "unknown")
# Groups that hold no sentences of papers: words of charts, verdicts, choices and units, and the words that call for a
# caution.
OTHER_GROUPS = ("charts", "verdicts", "caution_words", "numbers", "units", "choices")


def read_words(source):
    parser = configparser.ConfigParser(interpolation=None, delimiters="=")
    parser.optionxform = str
    parser.read(source + "/data/words/papers.ini", encoding="utf-8")
    return {f"{group}.{key}": parser[group][key].replace("\n", " ") for group in parser.sections() for key in parser[group]}


def read_rows(program, folder):
    lines = Book(program, folder).ok("report", "sentences").splitlines()
    return {name: tuple(rest.split(" to: ", 1)) for name, rest in (line.split(" = ", 1) for line in lines)}


def is_sentence(name, text):
    return name.split(".")[0] not in OTHER_GROUPS and (
        text.rstrip("”").endswith((".", "!", "?")) and "{item}" not in name and not name.startswith("service.question")
        or re.match(r"transport\.(lock|undo)\.", name) is not None or name.startswith("label.line"))


def check_table(tap, words, rows, source):
    tap.check("every sentence has a row in the table",
              [name for name, text in words.items() if is_sentence(name, text) and name not in rows])
    tap.check("every row has its words", [name for name in rows if name not in words])
    tap.check("every row has a recipe", [name for name, (_, question) in rows.items() if not recipe_for(name, question)])
    loose = []
    for path in sorted(pathlib.Path(source, "src/report").rglob("*.c")):
        code = re.sub(r"dw_fail\((?:[^;\"]|\"(?:[^\"\\]|\\.)*\")*;", "", path.read_text(encoding="utf-8"))
        loose += [f"{path.name}: {text}" for text in re.findall(r'"([A-Z][^"\\]* [^"\\]*\.)"', code)]
    tap.check("no sentence stands in the program's own text", loose)


def write_marks(words, rows, path):
    """A file of words in which each sentence is its mark; what is to be filled in stays, so that a hole shows."""
    marks, lines, group = {}, [], None
    for number, name in enumerate(rows):
        own, key = name.split(".", 1)
        marks[name] = f"Mrk{number:03}x"
        if own != group:
            lines.append(f"[{own}]")
            group = own
        holes = " ".join(dict.fromkeys(re.findall(r"\{\w+\}", words[name])))
        lines.append(f"{key} = {marks[name]} {holes}".rstrip())
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return marks


# Of the service report's words those that stand on its proof.
ON_PROOF = re.compile(r"service\.(proof\.(?:text|none|unknown)|path\.ended|measurements|taken|check|sources|doubtful|not_comparable|setup|charts|limits)")


class Papers:
    """The text of each recipe's papers, made once."""

    def __init__(self, program, folder, marks_file):
        self.program, self.folder, self.texts = program, folder, {}
        template = Book(program, folder + "/template")
        template.ok("book", "settings", f"paper.words={marks_file}")

    def text(self, recipe, paper, answer):
        key = (recipe.name, paper, answer)
        if key not in self.texts:
            book = Book(self.program, f"{self.folder}/book{len(self.texts)}", self.folder + "/template")
            more = recipe.make(book, answer) or []
            self.texts[key] = book.paper(paper, *(more if paper == "notice" else [])) or ""
        return self.texts[key]


def check_rows(tap, rows, marks, papers):
    for name, (stands, question) in rows.items():
        recipe = recipe_for(name, question)
        if not recipe:
            continue
        paper = recipe.paper or ("proof" if ON_PROOF.match(name) else None) or {"readings": "service", "cautions": "service", "paper": "service"}.get(
            name.split(".")[0], name.split(".")[0])
        wrong = []
        for answer in ANSWERS:
            if (recipe.name, answer) in IMPOSSIBLE:
                continue
            text = papers.text(recipe, paper, answer)
            if (marks[name] in text) != (answer == stands):
                wrong.append(f"{answer}: {'printed' if marks[name] in text else 'not printed'}")
        tap.check(f"{name} stands where the answer is {stands}", "; ".join(wrong))


def main(program, source):
    tap, program = Tap(), os.path.abspath(program)
    with tempfile.TemporaryDirectory() as folder:
        words, rows = read_words(source), read_rows(program, folder + "/rows")
        check_table(tap, words, rows, source)
        marks = write_marks(words, rows, pathlib.Path(folder, "marks.ini"))
        check_rows(tap, rows, marks, Papers(program, folder, folder + "/marks.ini"))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
