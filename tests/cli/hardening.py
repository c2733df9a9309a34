#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The built program as the linker left it: what stands against the misuse of a fault in it."""
import re
import subprocess
import sys

from support import Tap


def main(program, readelf, build):
    def read(*options):
        return subprocess.run([readelf, "-W", *options, program], check=True, capture_output=True, text=True).stdout

    tap = Tap()
    head, segments, dynamic, symbols = read("-h"), read("-l"), read("-d"), read("--dyn-syms")
    tap.say("it may lie anywhere in the memory", not re.search(r"Type:\s+DYN", head))
    tap.say("its tables are read-only", "GNU_RELRO" not in segments)
    tap.say("all of them, from the start", not re.search(r"\(FLAGS(_1)?\).*\b(BIND_)?NOW\b", dynamic))
    stack = re.search(r"GNU_STACK(.*)", segments)
    tap.say("nothing on the stack is run", not (stack and not re.search(r"\bRWE\b|\bE\b", stack.group(1))))
    tap.say("no part of the memory is written and run", re.search(r"LOAD.*\bRWE\b", segments))
    tap.say("it holds no path to look for libraries at", re.search(r"\((RPATH|RUNPATH)\)", dynamic))
    tap.say("a stack that was overrun ends it", "__stack_chk_fail" not in symbols)
    if build == "fortified":
        checked = set(re.findall(r"__(\w+)_chk\b", symbols))
        tap.say("calls that fill memory check its size", not {"memcpy", "snprintf"} <= checked and f"checked are: {sorted(checked)}")
    return tap.end()


sys.exit(main(*sys.argv[1:4]))
