# SPDX-License-Identifier: MIT
"""A log of drawn cases that a trial can go on from: one line of JSON a case as it is done, with what the trial draws by."""
import json

OF_A_LOG = '{"trial": '


def read(path, trial):
    """The cases of TRIAL that stand in the log at PATH, by number; a line that broke off does not count."""
    done = {}
    if not path or not path.exists():
        return done
    for line in path.read_text(encoding="utf-8").splitlines():
        if line[:len(OF_A_LOG)] != OF_A_LOG[:len(line)]:
            raise SystemExit(f"{path}: not a log of this trial. Name another file.")
        try:
            row = json.loads(line)
        except ValueError:
            continue
        if row.pop("trial") == trial:
            done[row["number"]] = row
    return done


def add(path, trial, one):
    """A line that broke off before it keeps a line of its own."""
    with open(path, "a+b") as log:
        if log.tell():
            log.seek(-1, 2)
            if log.read(1) != b"\n":
                log.write(b"\n")
        log.write(json.dumps({"trial": trial, **one}).encode() + b"\n")


def try_all(pool, try_one, numbers, path, trial):
    """The cases of all NUMBERS in their order: those of the log, and the others tried now."""
    done = read(path, trial)
    for one in pool.imap_unordered(try_one, [number for number in numbers if number not in done]):
        done[one["number"]] = one
        if path:
            add(path, trial, one)
    return [done[number] for number in numbers]
