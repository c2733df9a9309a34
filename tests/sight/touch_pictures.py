#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Renders photographs of one drawn set-up over the printed card into a folder, and writes what is true of them: for tests of the pages."""
import json
import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "oracle"))
import camera_model     # noqa: E402
import pose             # noqa: E402

if __name__ == "__main__":
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    case = pose.Pose(3, 1, camera_model.paper_of(program, "card"), size=(2400, 1800))
    files = case.write([folder / f"side-{which}.jpg" for which in range(2)])
    (folder / "truth.json").write_text(json.dumps({"files": [str(file) for file in files]} | case.truth()), encoding="utf-8")
