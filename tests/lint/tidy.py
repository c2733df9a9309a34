#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""clang-tidy over src with the checks of .clang-tidy, and what cppcheck calls an error: one test line a
folder. Passed over where the program is not installed."""
import concurrent.futures
import os
import pathlib
import re
import shutil
import subprocess
import sys


def tidy(build, paths):
    # Only the checks of .clang-tidy count, also where the tree is built with -Werror: clang's own warnings are not gcc's.
    done = subprocess.run(["clang-tidy", "-p", str(build), "--quiet", "--extra-arg=-Wno-error", *map(str, paths)], capture_output=True, text=True, check=False)
    found = sorted(set(re.findall(r"^(\S+:\d+):\d+: (?:warning|error): (.*)$", done.stdout, re.M)))
    return [f"{place} {words}" for place, words in found] or ([done.stderr[-300:]] if done.returncode else [])


# What cppcheck says of this code without cause.
BESIDE = ["uninitvar", "legacyUninitvar",  # it does not see what dw_record_init() and a reader of tables fill
          "unknownMacro"]  # jansson's loops


def cppcheck(root):
    """Only what it calls an error; its style and its guesses are not asked for."""
    done = subprocess.run(["cppcheck", "--quiet", "--std=c11", f"-j{os.cpu_count()}", "-I", str(root / "src"),
                           *(f"--suppress={kind}" for kind in BESIDE),
                           "--template={file}:{line} {severity}: {message} [{id}]", str(root / "src")], capture_output=True, text=True, check=False)
    return [line for line in done.stderr.splitlines() if " error: " in line]


def main(root, build):
    root, build = pathlib.Path(root).resolve(), pathlib.Path(build).resolve()
    folders, results = {}, []
    for path in sorted((root / "src").rglob("*.c")):
        folders.setdefault(path.relative_to(root).parts[1], []).append(path)
    if shutil.which("clang-tidy"):
        pieces = [(folder, paths[i:i + 12]) for folder, paths in folders.items() for i in range(0, len(paths), 12)]
        with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
            said = list(pool.map(lambda piece: tidy(build, piece[1]), pieces))
        for folder in folders:
            results.append((f"clang-tidy src/{folder}", [line for (name, _), lines in zip(pieces, said) if name == folder for line in lines]))
    else:
        results.append(("clang-tidy # SKIP it is not installed", []))
    results.append(("cppcheck src", cppcheck(root)) if shutil.which("cppcheck") else ("cppcheck # SKIP it is not installed", []))
    print(f"1..{len(results)}")
    for number, (what, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {what}{': ' + '; '.join(wrong) if wrong else ''}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
