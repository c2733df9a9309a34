#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The names of all commands and procedures of the sources at ROOT, a line each: each has a manual page."""
import pathlib
import re
import sys

NAME = re.compile(r'^const Dw(?:Procedure|Command) dw_\w+ = \{\s*(?:\.name = )?"([^"]+)"', re.M)
sources = pathlib.Path(sys.argv[1]) / "src"
files = [*sources.glob("procedure/*/procedure_*.c"), *sources.glob("cli/command_*.c")]
print("\n".join(sorted({name for file in files for name in NAME.findall(file.read_text(encoding="utf-8"))})))
