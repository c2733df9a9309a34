#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Ten thousand requests that are not quite what they should be: whatever comes, the bench
answers with a status that fits, changes nothing it should not, and goes on.

The requests are those of a paired device, changed at random places; the seed is fixed, so that
a failure can be repeated. DECKWRIGHT_MUTATIONS sets another number, DECKWRIGHT_SEED another seed.
"""
import collections
import concurrent.futures
import errno
import html
import os
import random
import re
import socket
import sys
import tempfile

from bench import PATIENCE, Bench, Device, Tap

COUNT = int(os.environ.get("DECKWRIGHT_MUTATIONS", "10000"))
SEED = int(os.environ.get("DECKWRIGHT_SEED", "20261125"))
NAME, PASSWORD = "shop.example", "rumble below the groove"
WORKERS = 4
# What may be said to a request that is wrong; 505 to one of another version of HTTP.
FITTING = {200, 303, 400, 401, 403, 404, 405, 409, 410, 411, 413, 414, 415, 417, 421, 429, 431, 505}
# Forms that would end the session itself.
LEFT_OUT = ("/leave", "/shop/password", "/enter", "/pair/")
SPLICES = [b"\0", b"\r\n", b"\n", b"\r", b"%00", b"%0d%0a", b"../", b"%2e%2e%2f", b"//", b"\\", b"?", b"&", b"=", b"%", b"%zz",
           b"\xff\xfe", b"\xc3\xa9", b"\xed\xa0\x80", b"'\"<script>", b"A" * 300, b"9" * 40, b"-1", b"0x7fffffff", b"NaN",
           b"1e999", b"%s%n%d", b"{", b";", b":", b" ", b"\t", b"\xe2\x80\xae", b"--", b"' OR 1=1 --", b"[]", b"*"]
METHODS = [b"GET", b"POST", b"HEAD", b"PUT", b"DELETE", b"OPTIONS", b"TRACE", b"CONNECT", b"PATCH", b"get", b"", b"GETGETGET" * 9]
HEADERS = [b"Content-Length: -1", b"Content-Length: 99999999999999999999", b"Content-Length: 5", b"Transfer-Encoding: chunked",
           b"Transfer-Encoding: identity, chunked", b"Expect: 100-continue", b"Connection: close", b"Connection: Upgrade",
           b"Upgrade: websocket", b"X-Forwarded-For: 127.0.0.1", b"Range: bytes=0-", b"Accept: application/json", b"Host:",
           b"Host: localhost", b"Cookie: deckwright=" + b"0" * 64, b"Cookie: deckwright-session=" + b"0" * 64, b"Cookie: " + b"a=b; " * 400, b"Origin: null", b"no colon here",
           b": no name", b" folded", b"Content-Type: multipart/form-data; boundary=", b"Content-Type: application/json",
           b"Content-Type: multipart/form-data; boundary=" + b"x" * 300, b"If-None-Match: *", b"X: " + b"y" * 20000]


def head(bench, device, method, path, *lines):
    cookie = "; ".join(f"{key}={value}" for key, value in device.cookies.items())
    return "\r\n".join([f"{method} {path} HTTP/1.1", f"Host: {NAME}:{bench.port}", f"Cookie: {cookie}", *lines, "", ""]).encode()


def urlencoded(bench, device, path, fields):
    body = "&".join(f"{key}={value}" for key, value in fields)
    return head(bench, device, "POST", path, "Content-Type: application/x-www-form-urlencoded",
                f"Content-Length: {len(body.encode())}") + body.encode()


def multipart(bench, device, path, fields, mark="a-mark-between-parts"):
    parts = "".join(f'--{mark}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n' for key, value in fields)
    parts += f'--{mark}\r\nContent-Disposition: form-data; name="logo"; filename="l.png"\r\nContent-Type: image/png\r\n\r\n'
    body = parts.encode() + b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8 + f"\r\n--{mark}--\r\n".encode()
    return head(bench, device, "POST", path, f"Content-Type: multipart/form-data; boundary={mark}",
                f"Content-Length: {len(body)}") + body


def forms_of(page):
    for found in re.finditer(r'<form method="post" action="([^"]+)"([^>]*)>(.*?)</form>', page, re.S):
        fields = [(name, html.unescape(value)) for name, value in
                  re.findall(r'<(?:input|select|textarea|option)[^>]* name="([^"]+)"(?:[^>]* value="([^"]*)")?', found.group(3))]
        yield html.unescape(found.group(1)), "multipart" in found.group(2), fields


def collect(bench, device):
    """Requests as a browser makes them: the pages that links lead to, one of each shape, and their forms."""
    requests, waiting, seen = [], ["/"], set()
    while waiting:
        path = waiting.pop(0)
        shape = re.sub(r"\d+", "N", path)
        if shape in seen or len(seen) > 80:
            continue
        seen.add(shape)
        answer = device.get(path)
        requests.append(head(bench, device, "GET", path))
        if "text/html" not in (answer.headers.get("Content-Type") or ""):
            continue
        for action, files, fields in forms_of(answer.text):
            if not action.startswith(LEFT_OUT) and ("form", action) not in seen:
                seen.add(("form", action))
                requests.append((multipart if files else urlencoded)(bench, device, action, fields))
        waiting += [html.unescape(link) for link in re.findall(r'(?:href|src)="(/[^"#]*)', answer.text)]
    return requests


def change(request, generator):
    """One change of one kind."""
    kind = generator.randrange(12)
    place = generator.randrange(len(request))
    if kind == 0:  # a byte
        return request[:place] + bytes([generator.randrange(256)]) + request[place + 1:]
    if kind == 1:  # a piece is left out
        return request[:place] + request[place + generator.randrange(1, 30):]
    if kind == 2:  # a piece comes twice
        return request[:place] + request[place:place + generator.randrange(1, 200)] + request[place:]
    if kind in (3, 4):  # something that is read in a special way
        return request[:place] + generator.choice(SPLICES) + request[place:]
    if kind == 5:  # another method
        return generator.choice(METHODS) + request[request.find(b" "):]
    if kind in (6, 7):  # a header more
        line = request.find(b"\r\n") + 2
        return request[:line] + generator.choice(HEADERS) + b"\r\n" + request[line:]
    if kind == 8:  # broken off
        return request[:place]
    if kind == 9:  # two at once
        return request + request
    if kind == 10:  # a place in the address
        start, end = request.find(b"/"), request.find(b" HTTP")
        place = generator.randrange(start, max(end, start + 1))
        return request[:place] + generator.choice(SPLICES) + request[place:]
    body = request.find(b"\r\n\r\n") + 4  # a larger body than was said
    return request[:body] + generator.choice(SPLICES) * generator.randrange(1, 2000) + request[body:]


def mutation(requests, number):
    generator = random.Random(f"{SEED} {number}")
    request = generator.choice(requests)
    for _ in range(generator.choice((1, 1, 1, 2, 3, 6))):
        request = change(request, generator) or b"\r\n"
    return request


def exchange(port, request):
    """What came back until the bench had no more to say."""
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as connection:
        answer = b""
        try:
            connection.sendall(request)
            connection.shutdown(socket.SHUT_WR)
            while True:
                block = connection.recv(65536)
                if not block:
                    break
                answer += block
        except OSError as error:
            # Refused before all was sent; a connection that is closed already cannot be half closed.
            if not isinstance(error, ConnectionError) and error.errno != errno.ENOTCONN:
                raise
        return answer


def statuses_of(answer):
    """The statuses of the answers that stand one after another; 0 for what is none."""
    found = []
    if answer and not answer.startswith(b"HTTP/1."):
        return [0]
    for line in re.findall(rb"(?:^|[^\r\n]|\r\n)HTTP/1\.[01] (\d{3}) [A-Z]", answer):
        found.append(int(line))
    return found


def run(bench, requests, numbers):
    told, wrong = collections.Counter(), []
    for number in numbers:
        try:
            found = statuses_of(exchange(bench.port, mutation(requests, number)))
        except OSError as error:
            wrong.append((number, str(error)))
            continue
        told.update(found or ["closed"])
        wrong += [(number, status) for status in found if status not in FITTING and not 100 <= status < 200]
    return told, wrong


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(program, folder + "/shop", "listen=0.0.0.0", f"name={NAME}", password=PASSWORD)
        device = Device(bench, NAME)
        device.get("/enter")
        device.post("/enter", {"password": PASSWORD, "device": "tablet"})
        requests = collect(bench, device)
        tap.say("the device is in and finds its pages", not (len(requests) > 20))
        with concurrent.futures.ThreadPoolExecutor(WORKERS) as pool:
            parts = list(pool.map(lambda first: run(bench, requests, range(first, COUNT, WORKERS)), range(WORKERS)))
        told = sum((part[0] for part in parts), collections.Counter())
        wrong = [one for part in parts for one in part[1]]
        print(f"# {COUNT} requests, seed {SEED}: " + ", ".join(f"{key}: {told[key]}" for key in sorted(told, key=str)))
        for number, status in wrong[:10]:
            print(f"# request {number} was told {status}: {mutation(requests, number)[:300]!r}")
        tap.say("every answer fits", bool(wrong))
        tap.say("many were refused and many answered", not (told[200] > COUNT // 20 and told[400] + told[404] + told[403] > COUNT // 20))
        tap.say("the bench still answers", not (bench.process.poll() is None and Device(bench).get("/").status == 200))
        tap.say("no file was left behind", not (list((bench.folder / "incoming").iterdir()) == []))
        status, errors = bench.end()
        if errors:
            print("# " + errors.replace("\n", "\n# "))
        tap.say("it ends cleanly and has leaked nothing", not (status == 0 and errors == ""))
        tap.say("the book is sound", not (bench.call("book", "check").returncode == 0))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
