#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The house's arrows: a folder includes itself and what its row names, nothing else."""
import pathlib
import re
import sys

MAY_INCLUDE = {
    "base": [],
    "physics": ["base"],
    "dsp": ["base"],
    "measure": ["base", "physics", "dsp"],
    "synth": ["base", "physics", "dsp"],
    "audio": ["base"],
    "chart": ["base"],
    "guide": ["base"],
    "book": ["base"],
    "report": ["base", "chart", "book"],
    "procedure": ["base", "physics", "dsp", "measure", "synth", "audio", "chart", "guide", "book"],
    "cli": ["base", "physics", "dsp", "measure", "synth", "audio", "chart", "guide", "book", "report", "procedure", "web"],
    "web": ["base", "physics", "dsp", "measure", "synth", "audio", "chart", "guide", "book", "report", "procedure"],
}
# Each outside library enters at one place only.
ONLY_IN = {
    "gsl/": ["physics", "dsp"], "fftw3.h": ["dsp"], "sndfile.h": ["audio"], "gst/": ["audio"], "glib.h": ["audio", "chart", "report"],
    "cairo": ["chart", "report"], "gdk-pixbuf/": ["report"], "qrencode.h": ["chart"], "pango/": ["chart", "report"], "sqlite3.h": ["book"], "ini.h": ["base"],
    "jansson.h": ["base", "book", "web"], "microhttpd.h": ["web"], "libintl.h": ["web"], "sodium.h": ["web", "book"], "gnutls/": ["web"],
}


def main(root):
    source = pathlib.Path(root) / "src"
    results = []
    for path in sorted(source.rglob("*.[ch]")):
        folder = path.relative_to(source).parts[0]
        text = path.read_text(encoding="utf-8")
        wrong = []
        for name in re.findall(r'^\s*#\s*include\s+"([^"]+)"', text, re.M):
            target = name.split("/")[0]
            if target != folder and target not in MAY_INCLUDE.get(folder, []):
                wrong.append(f"{folder} may not include {name}")
            if not (source / name).is_file():
                wrong.append(f"{name} must be named from src/")
        for name in re.findall(r"^\s*#\s*include\s+<([^>]+)>", text, re.M):
            for prefix, folders in ONLY_IN.items():
                if name.startswith(prefix) and folder not in folders:
                    wrong.append(f"<{name}> belongs to {', '.join(folders)}")
        if not text.startswith("// SPDX-License-Identifier: MIT\n"):
            wrong.append("no SPDX line at the top")
        if re.search(r"\bprintf\(|\bexit\(", text) and folder != "cli":
            wrong.append("only cli prints or exits")
        results.append((path.relative_to(source), wrong))
    print(f"1..{len(results)}")
    for number, (path, wrong) in enumerate(results, 1):
        print(f"{'not ok' if wrong else 'ok'} {number} - {path} {'; '.join(wrong)}")
    return any(wrong for _, wrong in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
