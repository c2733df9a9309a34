#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What a new procedure, entry of the book or page still lacks, told with the file that it belongs into; CONTRIBUTING.md
names the same files. One test line a procedure, an entry, a page table, a class of deck."""
import pathlib
import re
import sys


def read(root, *names):
    return "\n".join((root / name).read_text(encoding="utf-8") for name in names)


# --- procedures ------------------------------------------------------------------------------------------------------

def procedures(root):
    return re.findall(r"^\s+&dw_procedure_(\w+),", read(root, "src/procedure/registry/registry.c"), re.M)


def methods(root):
    """The headings of the pages of methods."""
    pages = [root / "docs/methods.md", *sorted((root / "docs/methods").glob("*.md"))]
    headings = [line for page in pages for line in page.read_text(encoding="utf-8").splitlines() if line.startswith("#")]
    return {page.stem for page in pages}, "\n".join(headings)


def lacks_procedure(root, name, texts):
    pages, headings = texts["methods"]
    if not list((root / "src/procedure").glob(f"*/procedure_{name}.c")):
        yield f"src/procedure/*/procedure_{name}.c"
    if f"extern const DwProcedure dw_procedure_{name};" not in texts["procedures.h"]:
        yield "a line in src/procedure/registry/procedures.h"
    if not re.search(rf"^\|[^|]*`{name}`", texts["README"], re.M):
        yield "a row of README's table"
    if name not in pages and f"`{name}`" not in headings:
        yield f"docs/methods/{name}.md, or a heading with its name in a page of docs/methods"
    if not re.search(rf"^@{name} \|", texts["truth"], re.M) or not re.search(rf"^{name}(:\w+)? \|", texts["truth"], re.M):
        yield "a base and rows in tests/oracle/truth_rows.txt"
    if f'"{name}": Model(' not in texts["models"]:
        yield "a model in tests/oracle/model_*.py"
    if f'{{"{name}", N_(' not in texts["questions"]:
        yield "its question in src/web/measure/question.c"
    if f"`{name}`" not in texts["CHANGELOG"]:
        yield "a line of CHANGELOG.md"


# --- limits ----------------------------------------------------------------------------------------------------------

def limited(text):
    """The readings that a class of deck judges, and those that it says it does not."""
    return set(re.findall(r"^\[([^\] ]+)[^\]]*\]", text, re.M)), set(" ".join(re.findall(r"^# no limit: (.*)$", text, re.M)).split())


def lacks_limits(root):
    classes = {path.name: limited(path.read_text(encoding="utf-8")) for path in sorted((root / "data/limits").glob("*.ini"))}
    known = set(re.findall(r'\{"([^"]+)", "', read(root, "src/procedure/registry/limit_rows.c")))
    every = set().union(*(judged for judged, _ in classes.values()))
    for name, (judged, without) in classes.items():
        wrong = [f"[{key}], or its name after '# no limit:'" for key in sorted(every - judged - without)]
        wrong += [f"only one word about {key}: it is judged and is said not to be" for key in sorted(judged & without)]
        wrong += [f"a known reading instead of {key}" for key in sorted((judged | without) - known)]
        yield f"data/limits/{name}", wrong


# --- entries ---------------------------------------------------------------------------------------------------------

# Entries that the book writes beside another: they need no form.
BESIDE = {"ownership": "with a deck's owner", "acknowledgement": "with a signature", "stock_move": "with a booking of stock",
          "wording": "with an edited paper", "stage": "with a job's move", "model_value": "with model note", "kept_reading": "with a kept sheet"}


def entities(root):
    """Of each entity its name, its table's, its fields (label, entity referred to) and the file it stands in."""
    order = re.findall(r"^\s+&dw_(\w+)_entity,", read(root, "src/book/entry/entity.c"), re.M)
    source = {path: path.read_text(encoding="utf-8") for path in sorted((root / "src/book").rglob("*.c"))}
    for name in order:
        path, found = next(((path, found) for path, text in source.items()
                            if (found := re.search(rf"const DwEntity dw_{name}_entity = \{{(.*?)\}};", text, re.S))), (None, None))
        table = re.search(r"(\w*fields)\b", found[1])[1] if found else ""
        body = re.search(rf"static const DwField {table}\[\] = \{{(.*?)^\}};", source[path], re.S | re.M) if found else None
        rows = re.findall(r'\{"(\w+)", "([^"]*)", DW_FIELD_\w+,(.*?)\}(?=,\n)', body[1], re.S) if body else []
        table = re.search(r'"(\w+)"', found[1])[1] if found else name
        yield name, table, [(key, label, re.search(r'\.refers = "(\w+)"', rest)) for key, label, rest in rows], path, order


def lacks_entry(root, name, table, fields, path, order, texts):
    if not path:
        yield f"its table of fields: dw_{name}_entity in src/book"
        return
    if not fields:
        yield f"fields in {path.relative_to(root)}"
    for key, label, refers in fields:
        if not label:
            yield f"a label of {key} in {path.relative_to(root)}"
        if refers and refers[1] not in order[:order.index(name) + 1]:
            yield f"a place behind {refers[1]} in src/book/entry/entity.c"
        if not re.search(rf"\b{key}\b", texts["schema"]):
            yield f"the column {key} in the newest src/book/store/schema_N.c"
    if not re.search(rf"CREATE TABLE {table} ?\(", texts["schema"]):
        yield "its table in the newest src/book/store/schema_N.c"
    if f"dw_{name}_entity" not in texts["forms"] and name not in BESIDE:
        yield "a form: a shelf in src/web/record/book_page.c, or a place on a page of src/web, or a verb in src/cli"


# --- pages -----------------------------------------------------------------------------------------------------------

def page_tables(root):
    for path in sorted((root / "src/web").rglob("*.c")):
        for name in re.findall(r"^const DwWebRoute dw_routes_(\w+)\[\] = \{", path.read_text(encoding="utf-8"), re.M):
            yield name, path


def routes_of(path, name):
    """The patterns of a table; of one that is nowhere, one."""
    text = path.read_text(encoding="utf-8") if path.is_file() else ""
    table = re.search(rf"^const DwWebRoute dw_routes_{name}\[\] = \{{(.*?)^\}};", text, re.M | re.S)
    return sorted(set(re.findall(r'\{"(?:GET|POST)", "([^"]+)"', table[1]))) if table else ["/no_such_page"]


def lacks_page(root, name, path, texts):
    header = path.parent / ("route.h" if path.parent.name == "server" else "pages.h")
    if not header.is_file() or f"extern const DwWebRoute dw_routes_{name}[];" not in header.read_text(encoding="utf-8"):
        yield f"a line in {header.relative_to(root)}"
    if not re.search(rf"\bdw_routes_{name},", texts["bench.c"]):
        yield "a line in routes of src/web/bench/bench.c"
    if f"'{path.relative_to(root / 'src/web')}'" not in texts["web"]:
        yield "its file in src/web/meson.build"
    for look in sorted(set(re.findall(r'\.(?:style|script) = "([^"]+)"', path.read_text(encoding="utf-8") if path.is_file() else ""))):
        if not (root / "data/web" / look).is_file():
            yield f"data/web/{look}"
        if f'"{look}"' not in texts["asset.c"]:
            yield f"a row of {look} in src/web/server/asset.c"
    # The word that tells a path from others stands in the test of what it does; what asks every page asks no more.
    for pattern in routes_of(path, name):
        word = [part for part in pattern.split("/") if not part.startswith(":")][-1]
        if not re.search(rf"\b{re.escape(word)}\b", texts["web tests"]):
            yield f"a test in tests/web of what {pattern} does"


def main(root):
    root = pathlib.Path(root).resolve()
    texts = {
        "README": read(root, "README.md"), "CHANGELOG": read(root, "CHANGELOG.md"), "methods": methods(root),
        "procedures.h": read(root, "src/procedure/registry/procedures.h"), "truth": read(root, "tests/oracle/truth_rows.txt"),
        "models": read(root, *(path.relative_to(root) for path in (root / "tests/oracle").glob("model_*.py"))),
        "questions": read(root, "src/web/measure/question.c"),
        "web tests": read(root, *(path.relative_to(root) for folder in ("tests/web", "tests/web/browser") for path in (root / folder).glob("*.*")
                                  if path.name not in ("routes.py", "meson.build"))),
        "schema": read(root, *sorted(path.relative_to(root) for path in (root / "src/book/store").glob("schema_*.c"))),
        "forms": "\n".join(path.read_text(encoding="utf-8") for folder in ("src/web", "src/cli") for path in (root / folder).rglob("*.c")),
        "asset.c": read(root, "src/web/server/asset.c"), "bench.c": read(root, "src/web/bench/bench.c"), "web": read(root, "src/web/meson.build"),
    }
    results = [(f"procedure {name}", list(lacks_procedure(root, name, texts))) for name in procedures(root)]
    results += lacks_limits(root)
    results += [(f"entry {entity[0]}", list(lacks_entry(root, *entity, texts))) for entity in entities(root)]
    results += [(f"page table {name}", list(lacks_page(root, name, path, texts))) for name, path in page_tables(root)]
    nothing = list(lacks_procedure(root, "no_such", texts)) + list(lacks_page(root, "no_such", root / "src/web/no.c", texts))
    results.append(("what is nowhere lacks everything", [] if len(nothing) == 12 else nothing))
    print(f"1..{len(results)}")
    for number, (what, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {what}{': it lacks ' + '; '.join(wrong) if wrong else ''}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
