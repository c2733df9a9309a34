#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Adds up the results of meson's test logs: one plain line, N passed, N failed."""
import sys
import xml.etree.ElementTree as xml


def main(folders):
    passed = failed = skipped = 0
    for folder in folders:
        root = xml.parse(f"{folder}/meson-logs/testlog.junit.xml").getroot()
        for case in root.iter("testcase"):
            if case.find("skipped") is not None:
                skipped += 1
            elif case.find("failure") is not None or case.find("error") is not None:
                failed += 1
                print(f"failed in {folder}: {case.get('classname', '')} {case.get('name')}")
            else:
                passed += 1
    print(f"{passed} passed, {failed} failed" + (f", {skipped} skipped" if skipped else ""))
    return failed > 0 or passed == 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
