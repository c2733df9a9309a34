#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Fifty devices open at once, among clients that dribble, stop in the middle or go away."""
import http.client
import pathlib
import socket
import subprocess
import sys
import tempfile
import threading

from bench import Bench, Device, Tap

DEVICES = 50
SLOW = 40


def open_slow(bench, text, source="127.0.0.1"):
    """Sends TEXT, which is no whole request, and stays."""
    connection = socket.create_connection(("127.0.0.1", bench.port), timeout=120, source_address=(source, 0))
    connection.sendall(text)
    return connection


def status_of(connection):
    answer = http.client.HTTPResponse(connection)
    answer.begin()
    answer.read()
    return answer.status


def dribble(bench, results):
    """A whole request, a byte at a time."""
    with socket.create_connection(("127.0.0.1", bench.port), timeout=120) as connection:
        for byte in f"GET /shop/about HTTP/1.1\r\nHost: localhost:{bench.port}\r\n\r\n".encode():
            connection.sendall(bytes([byte]))
        results.append(status_of(connection))


def ask(connection, path):
    """As a browser does it: anew when the bench let go of a connection that was long unused."""
    for _ in range(2):
        try:
            connection.request("GET", path)
            answer = connection.getresponse()
            answer.read()
            return answer.status
        except ConnectionError:
            connection.close()
    return 0


def visit(bench, opened, results):
    """A device that keeps its connection open: asks, waits until all are there, asks again."""
    connection = http.client.HTTPConnection("127.0.0.1", bench.port, timeout=120)
    statuses = [ask(connection, "/shop")]
    opened.wait()
    statuses += [ask(connection, path) for path in ("/", "/shop/settings", "/shop/about")]
    results.append(statuses)
    opened.wait()
    connection.close()


def run(target, count, *arguments):
    threads = [threading.Thread(target=target, args=arguments) for _ in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def open_halves(bench):
    """Requests that stop in the head, and forms that stop in the body."""
    head = f"Host: localhost:{bench.port}\r\n"
    body = "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 11\r\n\r\nseal="
    heads = [open_slow(bench, f"GET /shop HTTP/1.1\r\n{head}X-Slow: ".encode()) for _ in range(SLOW // 2)]
    return heads, [open_slow(bench, f"POST /shop/type HTTP/1.1\r\n{head}{body}".encode()) for _ in range(SLOW // 2)]


def check_pauses(tap, bench):
    heads, bodies = open_halves(bench)
    tap.say("who pauses keeps nobody waiting", not (Device(bench).get("/shop").status == 200))
    for connection in heads:
        connection.sendall(b"1\r\n\r\n")
    tap.say("who paused in the head is answered", not ([status_of(one) for one in heads] == [200] * len(heads)))
    bodies.pop().close()  # goes away in the middle
    for connection in bodies:
        connection.sendall(b"123456")
    tap.say("who paused in the body is refused for its seal alone",
            not ([status_of(one) for one in bodies] == [403] * len(bodies)))
    for connection in heads + bodies:
        connection.close()


def check_crowd(tap, bench):
    heads, bodies = open_halves(bench)  # and they stay so
    dribbled, visited = [], []
    slow = threading.Thread(target=run, args=(dribble, 10, bench, dribbled))
    slow.start()
    run(visit, DEVICES, bench, threading.Barrier(DEVICES, timeout=240), visited)
    tap.say("fifty devices that are open at once are all answered", not (visited == [[200] * 4] * DEVICES))
    slow.join()
    tap.say("so is who sends a byte at a time", not (dribbled == [200] * 10))
    for connection in heads + bodies:
        connection.close()


def check_uploads(tap, bench):
    """Files that are broken off leave nothing behind."""
    device = Device(bench)
    device.get("/shop/settings")
    start = (f"POST /shop/logo HTTP/1.1\r\nHost: 127.0.0.1:{bench.port}\r\nCookie: deckwright-visit={device.cookies['deckwright-visit']}\r\n"
             "Content-Type: multipart/form-data; boundary=a-mark-between-parts\r\nContent-Length: 9000000\r\n\r\n"
             "--a-mark-between-parts\r\nContent-Disposition: form-data; name=\"logo\"; filename=\"l.png\"\r\n\r\n").encode()
    broken = [open_slow(bench, start + b"x" * 200000) for _ in range(5)]
    incoming = bench.folder / "incoming"

    def wait_for(count):
        for _ in range(5000):
            if len(list(incoming.iterdir())) == count:
                return True
            device.get("/look/bench.css")
        return False

    tap.say("a file is written as it comes", not wait_for(len(broken)))
    for connection in broken:
        connection.close()
    tap.say("one that was broken off is gone", not wait_for(0))


def check_flood(tap, bench):
    """A form without end is cut off before it fills the memory."""
    start = (f"POST /shop/type HTTP/1.1\r\nHost: 127.0.0.1:{bench.port}\r\nContent-Length: 4000000000\r\n"
             "Content-Type: multipart/form-data; boundary=a-mark-between-parts\r\n\r\n").encode()
    part = b'--a-mark-between-parts\r\nContent-Disposition: form-data; name="n"\r\n\r\n' + b"x" * 1000000 + b"\r\n"
    connection = open_slow(bench, start)
    sent = 0
    try:
        while sent < 2000:
            connection.sendall(part)
            sent += 1
    except ConnectionError:
        pass
    connection.close()
    tap.say("a form without end is cut off", not (sent < 2000))


def is_open(connection):
    """Whether the bench has not let go of it yet."""
    connection.setblocking(False)
    try:
        return connection.recv(1) != b""
    except BlockingIOError:
        return True
    except ConnectionError:
        return False


def check_hoarder(tap, bench):
    """One address may not take every connection there is: the oldest give way to the new."""
    held = [open_slow(bench, b"GET") for _ in range(200)]
    tap.say("this computer gets a page all the same", not (Device(bench).get("/shop").status == 200))
    still = [is_open(one) for one in held]
    tap.say("one address holds no more than its share", not (DEVICES + SLOW < sum(still) <= 120))
    tap.say("its oldest were let go", not (not any(still[:50]) and all(still[-50:])))
    for connection in held:
        connection.close()


PASSWORD = "rumble below the groove"
NAME = "shop.example"


def check_strangers(tap, bench):
    """Slow strangers of many addresses keep out neither the shop nor one another's like."""
    paired = Device(bench, NAME, "127.0.9.1")
    paired.get("/enter")
    paired.post("/enter", {"password": PASSWORD, "device": "tablet", "to": "/"})
    tap.say("a device is paired before", not (paired.get("/shop").status == 200))
    first = [open_slow(bench, b"GET", f"127.0.10.{number % 4 + 1}") for number in range(480)]
    second = [open_slow(bench, b"GET", f"127.0.11.{number % 240 + 1}") for number in range(480)]
    statuses = [Device(bench).get("/shop").status, paired.get("/shop").status,
                Device(bench, NAME, "127.0.12.1").get("/enter").status]
    left = sum(map(is_open, first + second))
    tap.say("strangers still hold connections", not (0 < left))
    tap.say("they hold no more than a share", not (left <= 200))
    tap.say("this computer, a paired device and a newcomer are answered among them", not (statuses == [200, 200, 200]))
    for connection in first + second:
        connection.close()


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name) / "book"
        subprocess.run([program, "book", "new", "--book", str(folder)], check=True, stdout=subprocess.DEVNULL)
        with Bench(program, folder, f"name={NAME}", password=PASSWORD) as bench:
            silent = open_slow(bench, b"")
            check_pauses(tap, bench)
            check_crowd(tap, bench)
            check_uploads(tap, bench)
            check_flood(tap, bench)
            check_hoarder(tap, bench)
            check_strangers(tap, bench)
            tap.say("who says nothing is let go", not (silent.recv(1) == b""))
            busy = open_slow(bench, b"GET /shop HTTP/1.1\r\n")
            status, errors = bench.end()
            busy.close()
            tap.say("the system's word ends it in the middle of it all", not (status == 0 and errors == ""))
            tap.say("the book is sound", not (bench.call("book", "check").returncode == 0))
    return tap.end()


sys.exit(main(sys.argv[1]))
