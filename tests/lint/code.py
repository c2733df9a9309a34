#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What STYLE asks of the code and no compiler checks, one test line a rule and file:
a function of at most 60 lines, a type's name once in the house, a public function with
a comment that tells what it gives, clang-format's layout, a header that compiles alone."""
import collections
import json
import pathlib
import re
import shlex
import subprocess
import sys

LONGEST = 60


def files(root, *endings):
    return sorted(path for folder in ("src", "tests") for path in (root / folder).rglob("*")
                  if path.suffix in endings and "node_modules" not in path.parts)


def long_functions(path):
    """Functions of more than LONGEST lines: they begin at an unindented brace and end at the next one."""
    begin, head = None, ""
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if line == "{":
            begin = number
        elif begin and line.startswith("}"):
            if number - begin + 1 > LONGEST:
                yield f"{head}: {number - begin + 1} lines"
            begin = None
        elif not begin and (found := re.match(r"\w[^;={]*?(\w+)\(", line)):
            head = found.group(1)


def type_names(path):
    text = path.read_text(encoding="utf-8")
    yield from re.findall(r"^\}\s*(Dw\w+);", text, re.M)
    yield from re.findall(r"^struct\s+(Dw\w+)\s*\{", text, re.M)


def bare_functions(path):
    """Functions of a header without a comment right above them or above the run of lines that they stand in."""
    commented = False
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("//") or line.endswith("*/"):
            commented = True
        elif not line.strip() or line.startswith("#"):
            commented = False
        elif not commented and (found := re.match(r"(?!typedef|static|extern|struct|enum|union|return)\w[\w\s*]*?\b(dw_\w+)\(", line)):
            yield found.group(1)


def formatter():
    """Whether clang-format is of the version whose layout the tree has; others lay some lines out anew."""
    try:
        return " 14." in subprocess.run(["clang-format", "--version"], capture_output=True, text=True, check=False).stdout
    except FileNotFoundError:
        return False


def misformatted(paths):
    done = subprocess.run(["clang-format", "--dry-run", *map(str, paths)], capture_output=True, text=True, check=False)
    return sorted({line.split(":")[0] for line in done.stderr.splitlines() if "warning:" in line})


def flags_by_folder(build):
    """The compiler and flags of one file of each folder, from the build's own commands."""
    commands = json.loads((build / "compile_commands.json").read_text(encoding="utf-8"))
    for row in commands:
        words = [word for word in shlex.split(row["command"]) if word != "ccache"]
        kept = [word for word in words[1:] if word.startswith(("-I", "-D", "-W", "-std", "-isystem", "-pthread"))]
        yield (pathlib.Path(row["directory"]) / row["file"]).resolve(), [words[0], *kept]


def headers_alone(root, build):
    """What the compiler says of each header by itself."""
    by_folder = {}
    for path, flags in flags_by_folder(build):      # of a folder with a small program beside its library the library's
        by_folder[path.parent] = max(by_folder.get(path.parent, []), flags, key=len)
    of_tests = by_folder[root / "tests" / "measure"] + [f"-I{root / 'tests'}"]
    for header in files(root, ".h"):
        flags = of_tests if "tests" in header.relative_to(root).parts else by_folder.get(header.parent)
        if not flags:
            yield header, "no source beside it says how it is compiled"
            continue
        done = subprocess.run([*flags, "-Werror", "-fsyntax-only", "-x", "c", "-"], input=f'#include "{header}"\nextern int alone;\n',
                              cwd=build, capture_output=True, text=True, check=False)
        yield header, done.stderr.splitlines()[0] if done.returncode else ""


def main(root, build):
    root, build = pathlib.Path(root).resolve(), pathlib.Path(build).resolve()
    results = [(f"functions of {path.relative_to(root)}", "; ".join(long_functions(path))) for path in files(root, ".c")]
    homes = collections.defaultdict(list)
    for path in files(root, ".c", ".h"):
        if "src" in path.relative_to(root).parts:
            for name in type_names(path):
                homes[name].append(str(path.relative_to(root)))
    results += [(f"type {name}", " and ".join(places) if len(places) > 1 else "") for name, places in sorted(homes.items())]
    results += [(f"comments of {path.relative_to(root)}", ", ".join(bare_functions(path))) for path in files(root, ".h") if "src" in path.relative_to(root).parts]
    laid_out = misformatted(files(root, ".c", ".h")) if formatter() else []
    results.append(("clang-format" + ("" if formatter() else " # SKIP no clang-format 14"),
                    "; ".join(str(pathlib.Path(path).relative_to(root)) for path in laid_out)))
    results += [(f"alone: {path.relative_to(root)}", said) for path, said in headers_alone(root, build)]
    print(f"1..{len(results)}")
    for number, (what, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {what}{': ' + wrong if wrong else ''}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
