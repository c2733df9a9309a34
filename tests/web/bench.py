# SPDX-License-Identifier: MIT
"""A bench of an invented shop on a free port of this computer, and a device that visits it."""
import http.client
import http.cookies
import pathlib
import re
import ssl
import subprocess
import sys
import time
import urllib.parse
import uuid

for room in ("cli", "support"):
    sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / room))
import demo_shop  # noqa: E402
from support import Tap  # noqa: E402,F401

# Seconds after which something that is waited for is taken for hung: a last guard, never a pace.
PATIENCE = 900


def in_time(act, seconds=20):
    """What ACT returns. The bench closes a connection that is silent for half a minute: where the machine was too
    busy to run ACT within SECONDS, it showed nothing and is done again."""
    for _ in range(40):
        begun = time.monotonic()
        result = act()
        if time.monotonic() - begun < seconds:
            break
    return result


class Bench:
    """The program serving FOLDER; made from the demonstration shop when there is no book in it."""

    def __init__(self, program, folder, *operands, env=None, port=0, password=None):
        self.program, self.folder = str(program), pathlib.Path(folder)
        if not (self.folder / "book.sqlite").exists():
            demo_shop.make(self.program, self.folder)
        if password:
            self.call("bench", "password", given=password + "\n")
        self.process = subprocess.Popen([self.program, "bench", f"port={port}", *operands, "--book", str(self.folder)],
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=env)
        line = self.process.stdout.readline()
        found = re.search(r"(https?)://([^:/]+):(\d+)/", line)
        if not found:
            raise RuntimeError(line + self.process.stderr.read())
        self.scheme, self.host, self.port = found.group(1), found.group(2), int(found.group(3))

    def call(self, *words, given=None):
        """Runs the program on the same book. Returns the finished process."""
        return subprocess.run([self.program, *words, "--book", str(self.folder)], input=given, capture_output=True,
                              text=True, check=False)

    def end(self):
        """Ends it as the system would. Returns the exit status and what stood on stderr."""
        self.process.terminate()
        _, errors = self.process.communicate(timeout=PATIENCE)
        return self.process.returncode, errors

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.end()


class Answer:
    def __init__(self, status, headers, body):
        self.status, self.headers, self.body = status, headers, body

    @property
    def text(self):
        return self.body.decode("utf-8")

    @property
    def form_token(self):
        found = re.search(r'<meta name="form-token" content="([0-9a-f]+)">', self.text)
        return found.group(1) if found else ""


class Device:
    """A browser without scripts: keeps its cookies, and the form token of the page it read last.
    One that calls the bench by the name HOST is another device to it, not this computer;
    SOURCE is the address it comes from, of 127.0.0.0/8."""

    def __init__(self, bench, host="127.0.0.1", source=None):
        self.bench, self.host, self.source, self.cookies, self.form_token = bench, host, source and (source, 0), {}, ""

    def connect(self):
        if self.bench.scheme == "https":
            trusting = ssl._create_unverified_context()
            return http.client.HTTPSConnection("127.0.0.1", self.bench.port, timeout=PATIENCE, context=trusting, source_address=self.source)
        return http.client.HTTPConnection("127.0.0.1", self.bench.port, timeout=PATIENCE, source_address=self.source)

    def ask(self, method, path, body=None, headers=None):
        connection = self.connect()
        sent = {"Host": f"{self.host}:{self.bench.port}", **(headers or {})}
        if self.cookies:
            sent["Cookie"] = "; ".join(f"{key}={value}" for key, value in self.cookies.items())
        connection.request(method, path, body=body, headers=sent)
        reply = connection.getresponse()
        answer = Answer(reply.status, reply.headers, reply.read())
        for line in reply.headers.get_all("Set-Cookie") or []:
            for key, morsel in http.cookies.SimpleCookie(line).items():
                self.cookies[key] = morsel.value
        connection.close()
        if "text/html" in (reply.headers.get("Content-Type") or "") and answer.form_token:
            self.form_token = answer.form_token
        return answer

    def get(self, path, **headers):
        return self.ask("GET", path, headers=headers)

    def post(self, path, fields, headers=None):
        """Posts FIELDS (a dict, or pairs) with the form token of the page read last."""
        pairs = list(fields.items()) if isinstance(fields, dict) else list(fields)
        body = urllib.parse.urlencode([("form_token", self.form_token), *pairs])
        return self.ask("POST", path, body, {"Content-Type": "application/x-www-form-urlencoded", **(headers or {})})

    def send(self, path, fields, files):
        """The same with FILES: (field, file name, bytes)."""
        mark, parts = uuid.uuid4().hex, []
        for key, value in [("form_token", self.form_token), *fields.items()]:
            parts.append(f'--{mark}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode())
        for key, name, content in files:
            parts.append(f'--{mark}\r\nContent-Disposition: form-data; name="{key}"; filename="{name}"\r\n'
                         'Content-Type: application/octet-stream\r\n\r\n'.encode() + content + b"\r\n")
        body = b"".join(parts) + f"--{mark}--\r\n".encode()
        return self.ask("POST", path, body, {"Content-Type": f"multipart/form-data; boundary={mark}"})
