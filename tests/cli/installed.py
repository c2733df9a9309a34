#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The program installed and then moved elsewhere: it finds its files, names no place where it was built, and everything that a
desktop, a shell and a system are told of it is there and valid."""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

from support import Tap


def run(*words, folder=None, **more):
    return subprocess.run([str(word) for word in words], cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, text=True,
                          check=False, timeout=600, **more)


def commands_of(program):
    return set(re.findall(r"^  deckwright (\S+)", run(program, "help").stdout, re.M))


def check_place(tap, moved, source, build):
    """Nothing that was installed names where it was built, but for what debuggers are told apart."""
    for path in sorted(moved.rglob("*")):
        if path.is_file() and not path.is_symlink():
            content = path.read_bytes()
            named = [place for place in (source, build) if place.encode() in content]
            if named:
                tap.say(f"{path.relative_to(moved)} names no place where it was built", named)
    tap.say("the installed files were looked through", not list(moved.rglob("bin/deckwright")))


def check_calls(tap, program, folder):
    env = {key: value for key, value in os.environ.items() if not key.startswith("DECKWRIGHT")}
    env["HOME"] = str(folder)
    for words, told in [(("guide", "check"), ""), (("report", "words"), "["), (("speed", "--help"), "deckwright speed"),
                        (("book", "new", "--book", folder / "far" / "away"), "The job book is in"),
                        (("demo-shop", folder / "shop"), "The invented shop is in")]:
        done = run(program, *words, env=env)
        tap.say(f"deckwright {words[0]} {words[1]}", "" if done.returncode == 0 and told in done.stdout else done.stderr or done.stdout)
    # The bench is another program, found beside this one: it gets as far as to say that there is no book.
    done = run(program, "bench", "--book", folder / "none", env=env)
    tap.say("the bench is found, and says that there is no book",
            "" if done.returncode == 2 and "'deckwright book new --book" in done.stderr else done.stderr)
    bench = next(program.parent.parent.rglob("deckwright-bench"))
    bench.rename(bench.with_name("put-away"))
    done = run(program, "bench", "--book", folder / "none", env=env)
    tap.say("without it, what to install is said",
            "" if done.returncode == 1 and "install the package deckwright-bench" in done.stderr else done.stderr)


def check_manual(tap, program, share):
    pages = {path.name for path in (share / "man/man1").glob("*.1")}
    wanted = {"deckwright.1"} | {f"deckwright-{name}.1" for name in commands_of(program)}
    tap.say("each command has its manual page", wanted ^ pages)
    for page in sorted(pages):
        text = (share / "man/man1" / page).read_text(encoding="utf-8")
        if not text.startswith(".TH ") or ".SH DESCRIPTION" not in text or not (".SH OPTIONS" in text or "Options" in text or page):
            tap.say(page, "is no manual page")
    if shutil.which("man"):
        done = run("man", "--warnings", "-l", "-Tutf8", share / "man/man1/deckwright-speed.1", env={**os.environ, "LC_ALL": "C.UTF-8", "MANROFFSEQ": ""})
        tap.say("man reads them without a warning", done.stderr)


def check_desktop(tap, share):
    for tool, words in [("desktop-file-validate", [share / "applications/deckwright.desktop"]),
                        ("appstreamcli", ["validate", "--no-net", "--pedantic", next((share / "metainfo").iterdir())])]:
        if not shutil.which(tool):
            tap.skip(tool, "is not installed")
            continue
        done = run(tool, *words)
        tap.say(f"{tool} has nothing to say", done.returncode and done.stdout + done.stderr)


def check_completion(tap, program, share, folder):
    script = f'''PATH={program.parent}:$PATH
source {share}/bash-completion/completions/deckwright
COMP_LINE="$1"; COMP_POINT=${{#COMP_LINE}}; COMP_WORDBREAKS=" ="
compopt() {{ :; }}
_deckwright; printf '%s\\n' "${{COMPREPLY[@]}}"'''
    for line, wanted in [("deckwright spe", {"speed"}), ("deckwright speed deck.cla", {"deck.class="}),
                         ("deckwright align arm.kind=p", {"pivoted"}), ("deckwright job comp", {"compare"}),
                         ("deckwright job show 000", {f"000{n}" for n in range(1, 10)}), ("deckwright nonsense x", {""})]:
        done = run("bash", "-c", script, "bash", line, env={**os.environ, "DECKWRIGHT_BOOK": str(folder / "shop")})
        tap.say(f"bash completes '{line}'", "" if set(done.stdout.rstrip("\n").split("\n")) == wanted else done.stdout + done.stderr)


def main(meson, build, source):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        done = run(meson, "install", "-C", build, "--no-rebuild", "--destdir", folder / "first")
        tap.say("meson install", done.returncode and done.stderr + done.stdout)
        program = next((folder / "first").rglob("bin/deckwright"))
        moved = folder / "moved" / "there"
        moved.parent.mkdir()
        program.parent.parent.rename(moved)
        program, share = moved / "bin/deckwright", moved / "share"
        check_place(tap, moved, source, build)
        check_manual(tap, program, share)
        check_desktop(tap, share)
        check_calls(tap, program, folder)
        check_completion(tap, program, share, folder)
    return tap.end()


sys.exit(main(*sys.argv[1:4]))
