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
import time

from bench import PATIENCE, Bench, Device, Tap, in_time

DEVICES = 50
SLOW = 40


def open_slow(bench, text, source="127.0.0.1"):
    """Sends TEXT, which is no whole request, and stays."""
    connection = socket.create_connection(("127.0.0.1", bench.port), timeout=PATIENCE, source_address=(source, 0))
    connection.sendall(text)
    return connection


def status_of(connection):
    answer = http.client.HTTPResponse(connection)
    answer.begin()
    answer.read()
    return answer.status


def dribble_once(bench):
    """A whole request, a byte at a time."""
    with socket.create_connection(("127.0.0.1", bench.port), timeout=PATIENCE) as connection:
        for byte in f"GET /shop/about HTTP/1.1\r\nHost: localhost:{bench.port}\r\n\r\n".encode():
            try:
                connection.sendall(bytes([byte]))
            except ConnectionError:
                return 0
        try:
            return status_of(connection)
        except (ConnectionError, http.client.HTTPException):
            return 0


def dribble(bench, results):
    results.append(in_time(lambda: dribble_once(bench)))


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
    connection = http.client.HTTPConnection("127.0.0.1", bench.port, timeout=PATIENCE)
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
    body = "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 17\r\n\r\nform_token="
    heads = [open_slow(bench, f"GET /shop HTTP/1.1\r\n{head}X-Slow: ".encode()) for _ in range(SLOW // 2)]
    return heads, [open_slow(bench, f"POST /shop/type HTTP/1.1\r\n{head}{body}".encode()) for _ in range(SLOW // 2)]


def statuses_of(connections, rest):
    """The answers when each has sent its REST; 0 from one that the bench has let go of."""
    found = []
    for connection in connections:
        try:
            connection.sendall(rest)
            found.append(status_of(connection))
        except (ConnectionError, http.client.HTTPException):
            found.append(0)
    return found


def pause(bench):
    """What a device is told beside halves of requests, and what these are told when they come whole."""
    heads, bodies = open_halves(bench)
    beside = Device(bench).get("/shop").status
    bodies.pop().close()  # goes away in the middle
    told = beside, statuses_of(heads, b"1\r\n\r\n"), statuses_of(bodies, b"123456")
    for connection in heads + bodies:
        connection.close()
    return told


def check_pauses(tap, bench):
    beside, heads, bodies = in_time(lambda: pause(bench))
    tap.say("who pauses keeps nobody waiting", not (beside == 200))
    tap.say("who paused in the head is answered", not (heads == [200] * (SLOW // 2)))
    tap.say("who paused in the body is refused for its form token alone", not (bodies == [403] * (SLOW // 2 - 1)))


def check_crowd(tap, bench):
    heads, bodies = open_halves(bench)  # and they stay so
    dribbled, visited = [], []
    slow = threading.Thread(target=run, args=(dribble, 10, bench, dribbled))
    slow.start()
    run(visit, DEVICES, bench, threading.Barrier(DEVICES, timeout=PATIENCE), visited)
    tap.say("fifty devices that are open at once are all answered", not (visited == [[200] * 4] * DEVICES))
    slow.join()
    tap.say("so is who sends a byte at a time", not (dribbled == [200] * 10))
    for connection in heads + bodies:
        connection.close()


def check_uploads(tap, bench):
    """Files that are broken off leave nothing behind."""
    device = Device(bench)
    device.get("/shop/settings")
    start = (f"POST /shop/logo HTTP/1.1\r\nHost: 127.0.0.1:{bench.port}\r\nCookie: deckwright-session={device.cookies['deckwright-session']}\r\n"
             "Content-Type: multipart/form-data; boundary=a-mark-between-parts\r\nContent-Length: 9000000\r\n\r\n"
             "--a-mark-between-parts\r\nContent-Disposition: form-data; name=\"logo\"; filename=\"l.png\"\r\n\r\n").encode()
    incoming = bench.folder / "incoming"

    def wait_for(count, seconds):
        end = time.monotonic() + seconds
        while len(list(incoming.iterdir())) != count:
            if time.monotonic() > end:
                return False
            device.get("/look/bench.css")
        return True

    def break_off():
        """Whether all five were there at once, before the bench let go of the first for its silence."""
        broken = [open_slow(bench, start + b"x" * 200000) for _ in range(5)]
        written = wait_for(len(broken), 25)
        for connection in broken:
            connection.close()
        return written, wait_for(0, PATIENCE)

    written, gone = in_time(break_off)
    tap.say("a file is written as it comes", not written)
    tap.say("one that was broken off is gone", not gone)


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
