#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every script says what it does and takes when it is asked with --help, and does nothing else."""
import pathlib
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from support import Tap  # noqa: E402


def main(root):
    tap, root = Tap(), pathlib.Path(root)
    for path in sorted((root / "scripts").iterdir()):
        if not path.stat().st_mode & 0o100 or path.is_dir():
            continue
        # One that does not know the word would do its work.
        source = path.read_text(encoding="utf-8")
        if "--help" not in source and "argparse" not in source:
            tap.say(path.name, "does not know --help")
            continue
        done = subprocess.run([path, "--help"], cwd=root, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
        told = path.name in done.stdout and len(done.stdout.split()) > 8
        tap.say(f"scripts/{path.name} --help", "" if done.returncode == 0 and told and not done.stderr else f"{done.returncode} {done.stdout}{done.stderr}")
    return tap.end()


sys.exit(main(sys.argv[1]))
