# SPDX-License-Identifier: MIT
"""Owners' sentences (guide_words.txt), and which complaints `deckwright guide` hears in them."""
import json
import pathlib
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent


def questions(program):
    """The name of the complaint by its question."""
    listed = subprocess.run([program, "guide", "list", "symptoms"], capture_output=True, text=True, check=True).stdout
    return {line.split(None, 1)[1].strip(): line.split()[0].removeprefix("symptom.") for line in listed.splitlines() if line.startswith("symptom.")}


def heard(program, said, names):
    done = subprocess.run([program, "guide", said, "--json"], capture_output=True, text=True, check=False)
    if done.returncode == 2:
        return {"?" + name for ask, name in names.items() if ask in done.stderr}
    answers = next(table for table in json.loads(done.stdout)["tables"] if table["key"] == "guide.answers")
    key = [column["key"] for column in answers["columns"]].index("key")
    return {row[key].removeprefix("symptom.") for row in answers["rows"] if row[key] != "owner.words"}  # those are what was not understood


def main():
    program = sys.argv[1]
    names, failed = questions(program), 0
    lines = [line for line in (HERE / "guide_words.txt").read_text(encoding="utf-8").splitlines() if line and line[0] != "#"]
    print(f"1..{len(lines)}")
    for number, line in enumerate(lines, 1):
        said, wanted = (part.strip() for part in line.split("|"))
        got = heard(program, said, names)
        good = got >= set(wanted.split()) if wanted.startswith("?") else got == set(wanted.split())
        failed += not good
        print(f"{'ok' if good else 'not ok'} {number} - {said}" + ("" if good else f": heard {' '.join(sorted(got)) or 'nothing'}, not {wanted}"))
    return failed > 0


if __name__ == "__main__":
    sys.exit(main())
