#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What is posted arrives whole or is refused with a line: every script at every length about the edges of
buffers, sent at once, byte by byte and cut anywhere; every field of every form filled and emptied; the edges of
the encodings, against python's own reader of forms; and what is no form."""
import http.client
import json
import random
import re
import socket
import sqlite3
import sys
import tempfile
import urllib.parse

from bench import Bench, Device, Tap
from forms import all_pages, encoded, forms_of, in_parts
from support import alike

EDGES = (512, 1024, 4096, 16384, 32768, 65536)
SCRIPTS = {
    "Latin": "Plattentellerlager schleift, Größe prüfen. ", "accents": "éèçñßøåłžőğ", "Greek": "αβγδεζηθικλμνξοπρστυφχψω",
    "Cyrillic": "Проигрыватель гудит ", "Hebrew": "פטיפון מזמזם ", "Arabic": "القرص الدوار ", "Chinese and Japanese": "唱机转盘レコード盤",
    "emoji": "🎛️👩🏽‍🔧🔧", "combining": "e\u0301a\u0308n\u0303o\u0302\u0332", "beyond the base plane": "𐍈𝄞𠀋",
}
MARK = "a-mark-between-the-parts"
SEED = 20261125
# Forms whose act would end the test's own session, or is none that can be tried again and again.
LEFT_OUT = ("/leave", "/shop/password", "/enter", "/pair", "/shop/backup", "/live")


class Reader:
    """A device that posts raw bytes to one job, and looks into the book for what came of it."""

    def __init__(self, bench):
        self.bench, self.device = bench, Device(bench)
        self.device.get("/job/0001")
        self.book = sqlite3.connect(f"file:{bench.folder}/book.sqlite?mode=ro", uri=True)
        self.row = self.book.execute("SELECT id FROM job WHERE number = 1").fetchone()[0]
        self.path = f"/record/job/{self.row}"

    def fault(self):
        return self.book.execute("SELECT fault FROM job WHERE id = ?", (self.row,)).fetchone()[0]

    def request(self, body, kind, path=None):
        cookies = "; ".join(f"{key}={value}" for key, value in self.device.cookies.items())
        lines = [f"POST {path or self.path} HTTP/1.1", f"Host: 127.0.0.1:{self.bench.port}", f"Cookie: {cookies}",
                 "Accept: application/json", f"Deckwright-Form-Token: {self.device.form_token}", f"Content-Type: {kind}",
                 f"Content-Length: {len(body)}", "Connection: close", "", ""]
        return "\r\n".join(lines).encode() + body

    def send(self, body, kind, cuts=(), path=None):
        """(status, what was said) of BODY, sent in the pieces that CUTS make of the request."""
        request = self.request(body, kind, path)
        places = [0, *sorted(cut % len(request) for cut in cuts), len(request)]
        with socket.create_connection(("127.0.0.1", self.bench.port)) as connection:
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            for first, last in zip(places, places[1:]):
                connection.sendall(request[first:last])
            answer = http.client.HTTPResponse(connection)
            answer.begin()
            text = answer.read().decode("utf-8", "replace")
        try:
            return answer.status, json.loads(text).get("words", "")
        except ValueError:
            return answer.status, text

    def keep(self, text, files, cuts=()):
        """Posts TEXT as the job's fault, with FILES in parts; "" or what went wrong."""
        pairs = [("fault", text)]
        status, said = self.send(in_parts(pairs, MARK), f"multipart/form-data; boundary={MARK}", cuts) if files else \
            self.send(encoded(pairs), "application/x-www-form-urlencoded", cuts)
        stands = self.fault()
        if status == 200 and stands == text:
            return ""
        return f"{len(text)} letters: told {status} {said!r}, {len(stands)} stand, alike for {common(stands, text)}"


def common(one, other):
    return next((i for i, pair in enumerate(zip(one, other)) if pair[0] != pair[1]), min(len(one), len(other)))


def of_bytes(script, size):
    """Letters of SCRIPT that are SIZE bytes when they are sent, filled up with dots; a number makes each one new."""
    text, letters, left = "", SCRIPTS[script], size
    for i in range(size):
        letter = letters[i % len(letters)]
        if len(letter.encode()) > left:
            break
        text += letter
        left -= len(letter.encode())
    return text.rstrip() + "." * (size - len(text.rstrip().encode()))


def scripts_and_lengths(tap, reader):
    for place, script in enumerate(SCRIPTS):
        wrong = []
        # Percent-encoded a byte is three; lengths about the edge in either measure, and of the field's name before it.
        for edge in EDGES[alike(0, place % 3)::alike(1, 3)]:
            for files, size in [(files, edge // per + off) for files, per in ((False, 3), (True, 1)) for off in range(-5, 6)]:
                wrong.append(reader.keep(of_bytes(script, size), files))
        tap.say(f"{script} of every length about the edges stands as it was sent", "\n".join(filter(None, wrong[:6])) or
                "\n".join([one for one in wrong if one][:5]))
    text = SCRIPTS["Greek"] * 5
    tap.say("a hundred and ten Greek letters are kept", reader.keep(text[:110], False))
    generator = random.Random(SEED)
    german = SCRIPTS["Latin"] + SCRIPTS["accents"]
    wrong = [reader.keep("".join(generator.choice(german) for _ in range(2498)) + f"{i:02}", i % 2 == 1) for i in range(alike(40, 8))]
    tap.say("German texts of 2,500 letters are kept whole", "\n".join(filter(None, wrong)))


def pieces(tap, reader):
    generator = random.Random(SEED)
    for files in (False, True):
        way = "in parts" if files else "encoded"
        text = "".join(letters[:7] for letters in SCRIPTS.values())
        whole = len(reader.request(in_parts([("fault", text)], MARK) if files else encoded([("fault", text)]), "x")) + 200
        tap.say(f"byte by byte, {way}", reader.keep(text + "1", files, range(whole)))
        wrong = [reader.keep(f"{text}{cut}", files, [cut]) for cut in range(300, whole, alike(3, 15))]
        tap.say(f"cut in two, {way}", "\n".join([one for one in wrong if one][:5]))
        wrong = [reader.keep("".join(generator.choice(text) for _ in range(9000)), files,
                             [generator.randrange(20000) for _ in range(12)]) for _ in range(alike(20, 5))]
        tap.say(f"long, cut anywhere, {way}", "\n".join([one for one in wrong if one][:5]))


# Bodies and what python's own reader of forms makes of them.
ENCODED = ["fault=a", "fault=", "fault", "fault=a=b", "fault=%41%zz%4", "fault=%", "fault=a%2", "fault=a+b%2Bc", "fault=+", "&&fault=x&&",
           "fault=%C3%A9", "fault=\u00e9 raw", "fault=a%26b%3Dc", "f%61ult=name", "x=1&fault=last", "fault=first&x=1", "fault=l1%0D%0Al2",
           "fault=l1%0Al2", "=nameless&fault=y", "fault=a;b", "fault=%F0%9F%8E%9B", "fault=tab%09stop", "fault=x&note=", "note=&fault="]
NO_TEXT = [b"fault=%FF", b"fault=%C3", b"fault=%ED%A0%80", b"fault=%C0%AF", b"fault=%F5%80%80%80", b"fault=a%00b", b"fault=\xe9",
           b"fault=%E2%82", b"f%FFault=a", b"fault=ok&x=%80", b"fault=%F4%90%80%80", b"fault=\0"]


def encodings(tap, reader):
    kind = "application/x-www-form-urlencoded"
    for number, body in enumerate(ENCODED):
        reader.keep(f"before {number}", False)
        status, said = reader.send(body.encode(), kind)
        wanted = dict(urllib.parse.parse_qsl(body, keep_blank_values=True)).get("fault")
        wanted = wanted.replace("\r\n", "\n").strip()
        stands = reader.fault()
        tap.say(f"{body!r} is read as another reader reads it", "" if status == 200 and stands.strip() == wanted else f"{status} {said!r}: {stands!r}, not {wanted!r}")
    for body in NO_TEXT:
        reader.keep("stays", False)
        status, said = reader.send(body, kind)
        tap.say(f"{body!r} is refused in a line", "" if status == 400 and "no text" in said and reader.fault() == "stays" else f"{status} {said!r}: {reader.fault()!r}")
    parts = in_parts([("fault", "x\udcffy")], MARK)
    status, said = reader.send(parts, f"multipart/form-data; boundary={MARK}")
    tap.say("a part that is no text is refused", "" if status == 400 and "no text" in said and reader.fault() == "stays" else f"{status} {said!r}")
    status, said = reader.send(b"fault=one&fault=two", kind)
    tap.say("a field that came twice is refused, not halved", "" if status == 400 and "twice" in said and reader.fault() == "stays" else f"{status} {said!r}: {reader.fault()!r}")


def wrong_parts(tap, reader):
    part = b'\r\nContent-Disposition: form-data; name="fault"\r\n\r\nchanged\r\n'
    mark, kind = b"--m", "multipart/form-data; boundary=m"
    for name, body, sent_as in [
        ("no boundary", mark + part + mark + b"--\r\n", "multipart/form-data"), ("an empty boundary", mark + part + mark + b"--", "multipart/form-data; boundary="),
        ("a boundary of 300 letters", mark + part + mark + b"--", "multipart/form-data; boundary=" + "x" * 300),
        ("another boundary than it has", b"--o" + part + b"--o--\r\n", kind), ("no end", mark + part, kind), ("half an end", mark + part + mark + b"-", kind),
        ("a part without a name", mark + b"\r\nContent-Disposition: form-data\r\n\r\nx\r\n" + mark + b"--", kind),
        ("a part without a head", mark + b"\r\n\r\nx\r\n" + mark + b"--", kind), ("a head without end", mark + b"\r\nX: " + b"y" * 20000 + part + mark + b"--", kind),
        ("words behind the mark", mark + b"zz" + part + mark + b"--", kind), ("nothing", b"", kind),
    ]:
        status, said = reader.send(body, sent_as)
        tap.say(f"parts with {name} are answered and refused", "" if status == 400 and said and reader.fault() == "stays" else f"{status} {said!r}: {reader.fault()!r}")
    for name, body in [("words before and after", b"words before\r\n" + mark + part + mark + b"--\r\nwords after"), ("spaces behind the mark", mark + b" \t" + part + mark + b"-- "),
                       ("the mark's beginning in it", mark + part.replace(b"changed", b"changed\r\n--\r\n-m\r\n--n") + mark + b"--")]:
        status, said = reader.send(body, kind)
        tap.say(f"parts with {name} are read", "" if status == 200 and reader.fault().startswith("changed") else f"{status} {said!r}: {reader.fault()!r}")
        reader.keep("stays", False)
    for name, body, sent_as, wanted in [("words", b"fault=x", "text/plain", 415), ("4 MB and more", b"fault=" + b"x" * (4 << 20), "application/x-www-form-urlencoded", 413),
                                        ("a field over 2 MB", b"fault=" + b"x" * (2 << 20) + b"y", "application/x-www-form-urlencoded", 413),
                                        ("two million fields", b"a&" * 1000000, "application/x-www-form-urlencoded", 413)]:
        status, said = reader.send(body, sent_as)
        tap.say(f"{name} posted as {sent_as} is {wanted}", "" if status == wanted and said and reader.fault() == "stays" else f"{status} {said!r}")


def heads_that_contradict(tap, reader):
    """Two readers of such a head would not agree on whom it is for or where it ends. Source (published): RFC 9112, 3.2 and 6.3."""
    good = encoded([("fault", "by a head of two minds")])
    reader.keep("stays", False)
    for name, extra in [("two hosts", "Host: evil.example"), ("two lengths", f"Content-Length: {len(good) + 7}")]:
        request = reader.request(good, "application/x-www-form-urlencoded").replace(b"Accept:", extra.encode() + b"\r\nAccept:", 1)
        with socket.create_connection(("127.0.0.1", reader.bench.port)) as connection:
            connection.sendall(request)
            connection.shutdown(socket.SHUT_WR)
            status = connection.recv(100).split(b" ")[1:2]
        tap.say(f"a head with {name} is refused", "" if status in ([b"400"], []) and reader.fault() == "stays" else f"{status} {reader.fault()!r}")


def fitting(control):
    """A value that a person may well type into CONTROL, another than stands there."""
    if control.kind == "select":
        others = [value for value in control.options if value and value != control.value]
        return others[-1] if others else None
    if control.kind == "date":
        return "2026-02-03"
    if control.kind == "datetime-local":
        return "2026-02-03T10:20"
    if control.kind == "color":
        return "#336699"
    if control.kind in ("text", "textarea", "search", "tel", "email", "url"):
        return "Ω 7 ж"
    return None


def same(stands, sent):
    """Whether a page shows what was sent, in its own way of writing numbers."""
    number = re.compile(r"[-−+]?[\d.,\s]+")
    if stands is not None and number.fullmatch(stands or "x") and number.fullmatch(sent or "x"):
        return float(stands.replace(",", ".").replace("−", "-")) == float(sent.replace(",", ".").replace("−", "-"))
    return stands is not None and stands.replace("\r\n", "\n").strip() == sent.replace("\r\n", "\n").strip()


class Walk:
    """Fills and empties the fields of a page's forms one by one, and looks whether the page then shows it."""

    def __init__(self, device):
        self.device, self.seen, self.wrong, self.tried, self.emptied, self.refused, self.gone = device, set(), [], 0, 0, 0, 0

    def form(self, path, action, number):
        same_action = [one for one in forms_of(self.device.get(path).text) if one.method == "post" and one.action == action]
        return same_action[number] if number < len(same_action) else None

    def post(self, path, action, number, name, value):
        """Posts the form as it stands with one field changed: (status, what stands in it afterwards)."""
        form = self.form(path, action, number)
        if form is None or form.value(name) is None:
            raise LookupError  # what was changed before took it off the page
        pairs = form.pairs(**{name: value})
        body, kind = (in_parts(pairs, MARK), f"multipart/form-data; boundary={MARK}") if form.files else (encoded(pairs), "application/x-www-form-urlencoded")
        status = self.device.ask("POST", action, body, {"Content-Type": kind}).status
        after = self.form(path, action, number)
        return status, form.value(name), after.value(name) if after else None

    def control(self, path, action, number, control):
        filled = fitting(control)
        numbers = ["12"] if control.kind in ("text", "search") else []
        for value in filter(None, [filled, *numbers]):
            status, before, stands = self.post(path, action, number, control.name, value)
            self.tried += 1
            if status == 303:
                if not same(stands, value):
                    self.wrong.append(f"{path}: {action} {control.name} was sent {value!r} and kept, but {stands!r} stands")
                break
            if status not in (400, 409) or stands != before:
                self.wrong.append(f"{path}: {action} {control.name} = {value!r} was told {status}, {before!r} became {stands!r}")
        if control.kind == "color" or (control.kind == "select" and "" not in control.options):
            return  # no browser can send these empty
        status, before, stands = self.post(path, action, number, control.name, "")
        self.emptied += status == 303
        self.refused += status in (400, 409)
        if (status == 303 and not same(stands, "")) or (status in (400, 409) and stands != before) or status not in (303, 400, 409):
            self.wrong.append(f"{path}: {action} {control.name} was emptied and told {status}, {before!r} became {stands!r}")

    def page(self, path, text):
        counts = {}
        for form in forms_of(text):
            number = counts[form.action] = counts.get(form.action, -1) + 1
            changes = re.search(r"/record/\w+/\d+$|/shop/settings", form.action) is not None
            if form.method != "post" or not changes or form.action.startswith(LEFT_OUT):
                continue
            for control in form.controls:
                shape = (re.sub(r"\d+", "N", form.action), control.name if "settings" not in form.action else str(form.pairs()[1:2]))
                if control.kind in ("hidden", "submit", "file", "checkbox", "radio") or shape in self.seen:
                    continue
                self.seen.add(shape)
                try:
                    self.control(path, form.action, number, control)
                except LookupError:
                    self.gone += 1


def every_field(tap, bench):
    walk = Walk(Device(bench))
    paths = list(all_pages(walk.device))
    for path, text in paths:
        walk.page(path, text)
    print(f"# {len(paths)} pages, {len(walk.seen)} fields, {walk.tried} filled, {walk.emptied} emptied, {walk.refused} must not be empty, {walk.gone} went with another")
    tap.say("many fields were found, filled and emptied", "" if len(walk.seen) > 100 and walk.emptied > 60 else f"{len(walk.seen)}, {walk.emptied}")
    tap.say("each field stands as it was filled and as it was emptied", "\n".join(walk.wrong[:20]))


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        reader = Reader(bench)
        encodings(tap, reader)
        wrong_parts(tap, reader)
        heads_that_contradict(tap, reader)
        pieces(tap, reader)
        scripts_and_lengths(tap, reader)
        every_field(tap, bench)
        status, errors = bench.end()
        tap.say("the bench ends cleanly", "" if status == 0 and errors == "" else f"{status} {errors}")
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
