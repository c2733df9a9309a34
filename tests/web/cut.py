#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A file whose sending is cut, by its connection or with the bench itself, goes on from a piece that came whole or is
clearly not kept: nothing of it is in the book, no leftover stays on the disk, and the same file sent again is kept once."""
import pathlib
import socket
import sqlite3
import sys
import tempfile
import time
import uuid

from bench import Bench, Device, Tap
from pictures import jpeg
from sending import ask, begin, piece

PHOTOS = "/job/0010/photos"


def half_of(device, path, fields, field, name, content, share):
    """An open connection on which SHARE of a form with a file was sent."""
    device.get(PHOTOS)
    mark, parts = uuid.uuid4().hex, []
    for key, value in [("form_token", device.form_token), *fields.items()]:
        parts.append(f'--{mark}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode())
    parts.append(f'--{mark}\r\nContent-Disposition: form-data; name="{field}"; filename="{name}"\r\nContent-Type: application/octet-stream\r\n\r\n'.encode() + content + b"\r\n")
    body = b"".join(parts) + f"--{mark}--\r\n".encode()
    cookies = "; ".join(f"{key}={value}" for key, value in device.cookies.items())
    head = (f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{device.bench.port}\r\nCookie: {cookies}\r\nContent-Type: multipart/form-data; boundary={mark}\r\n"
            f"Content-Length: {len(body)}\r\n\r\n").encode()
    connection = socket.create_connection(("127.0.0.1", device.bench.port))
    connection.sendall(head + body[:int(share * len(body))])
    return connection


def leftovers(shop):
    return sorted(path.name for path in (shop / "incoming").iterdir() if not path.name.startswith("."))


def counts(shop):
    with sqlite3.connect(f"file:{shop}/book.sqlite?mode=ro", uri=True) as base:
        return base.execute("SELECT count(*) FROM attachment").fetchone()[0], len(list((shop / "attachments").iterdir()))


def until(act):
    """Waits for ACT to be true: the test's own time limit ends it."""
    while not act():
        time.sleep(0.05)


def cut_connections(tap, device, shop, picture):
    before = counts(shop)
    for share in (0.02, 0.5, 0.999):
        connection = half_of(device, PHOTOS, {"phase": "as received", "kind": "photo"}, "chosen", "cut.jpg", picture, share)
        if share == 0.5:
            until(lambda: leftovers(shop))
        connection.close()
        device.get("/")
        until(lambda: not leftovers(shop))
        tap.say(f"cut at {100 * share:g} % of a form, nothing of the file is kept", "" if counts(shop) == before else f"{before} {counts(shop)}")
    for time_ in (1, 2):
        device.get(PHOTOS)
        added = device.send(PHOTOS, {"phase": "as received", "kind": "photo", "once": "c" * 32}, [("chosen", "cut.jpg", picture)])
        tap.say(f"sent again whole, {time_}: it is kept once", "" if added.status == 303 and counts(shop) == (before[0] + 1, before[1] + 1) else f"{added.status} {counts(shop)}")


def killed(tap, program, shop, picture, take):
    with Bench(program, shop) as bench:
        device = Device(bench)
        before = counts(shop)
        connection = half_of(device, PHOTOS, {"phase": "as received", "kind": "photo"}, "chosen", "killed.jpg", picture + b"more" * 50000, 0.5)
        until(lambda: leftovers(shop))
        device.get("/measure/speed")
        key = begin(device, len(take))["key"]
        piece(device, key, 0, take[:200000])
        second = half_of(device, f"/arriving/{key}", {"at": "200000"}, "piece", "piece", take[200000:400000], 0.6)
        until(lambda: len(leftovers(shop)) == 2)
        bench.process.kill()
        bench.process.wait()
        connection.close()
        second.close()
    with Bench(program, shop) as bench:
        device = Device(bench)
        device.get("/measure/speed")
        tap.say("after the bench was killed in the middle nothing of a form's file is kept", "" if counts(shop) == before else f"{before} {counts(shop)}")
        tap.say("and no leftover lies on its disk", leftovers(shop))
        there = ask(device, "GET", f"/arriving/{key}")["at"]
        tap.say("a file in pieces goes on behind its last whole piece", "" if there == 200000 else there)
        tap.say("whose bytes are those that were sent", "" if (shop / "arriving" / key).read_bytes() == take[:there] else "they are others")
        ended = piece(device, key, there, take[there:])
        tap.say("to its end", "" if ended["at"] == len(take) and (shop / "arriving" / key).read_bytes() == take else ended)
        status, errors = bench.end()
        tap.say("the bench ends cleanly", f"{status} {errors}" if status or errors else "")
        check = bench.call("book", "check")
        tap.say("the book is sound", "" if check.returncode == 0 else check.stdout + check.stderr)


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        shop = pathlib.Path(name) / "shop"
        picture = jpeg(900, 700) + bytes(range(256)) * 2000  # what stands behind a picture's end is nothing to it
        with Bench(program, shop) as bench:
            device = Device(bench)
            device.get("/")
            cut_connections(tap, device, shop, picture)
        killed(tap, program, shop, picture, bytes(range(251)) * 4000)
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(str(pathlib.Path(sys.argv[1]).resolve())))
