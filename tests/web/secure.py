#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The bench with the shop's own certificate, which is made here."""
import pathlib
import shutil
import socket
import ssl
import subprocess
import sys
import tempfile
import warnings

from bench import PATIENCE, Bench, Device, Tap


def make_pair(folder, name):
    certificate, key = folder / f"{name}.pem", folder / f"{name}.key"
    subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
                    "-subj", "/CN=localhost", "-out", str(certificate), "-keyout", str(key)], check=True, capture_output=True)
    return certificate, key


def check_refusals(tap, program, book, folder, first, second):
    nothing = folder / "nothing.pem"
    nothing.write_text("")
    words = folder / "words.pem"
    words.write_text("no certificate at all\n")
    for name, certificate, key in (("a key of another certificate", first[0], second[1]), ("an empty file", nothing, first[1]),
                                   ("what is no certificate", words, first[1]), ("what is no key", first[0], words),
                                   ("a folder", folder, first[1])):
        done = subprocess.run([program, "bench", "port=0", f"certificate={certificate}", f"key={key}", "--book", str(book)],
                              capture_output=True, text=True, check=False, timeout=PATIENCE)
        tap.say(f"{name} is refused in one line", not (done.returncode == 2 and done.stderr.count("\n") == 1))


def speaks(bench, version):
    """Whether the bench answers a client that knows that version of TLS alone."""
    client = ssl._create_unverified_context()
    client.set_ciphers("ALL:@SECLEVEL=0")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        client.minimum_version = client.maximum_version = version
    try:
        with socket.create_connection(("127.0.0.1", bench.port), timeout=60) as plain, client.wrap_socket(plain) as spoken:
            return bool(spoken.version())
    except (ssl.SSLError, ConnectionError):
        return False


def check_pages(tap, program, book, pair):
    with Bench(program, book, f"certificate={pair[0]}", f"key={pair[1]}") as bench:
        device = Device(bench)
        board = device.get("/")
        cookie = board.headers["Set-Cookie"]
        tap.say("pages come encrypted", not (bench.scheme == "https" and board.status == 200))
        tap.say("the session goes over TLS alone",
                not (cookie.startswith("__Host-deckwright-session=") and "Secure" in cookie and "HttpOnly" in cookie and "Path=/" in cookie))
        tap.say("no browser is bound to it for months", not ("Strict-Transport-Security" not in board.headers))
        device.get("/shop/settings")
        kept = device.post("/shop/settings/shop.phone", {"value": "0100"}, {"Origin": f"https://127.0.0.1:{bench.port}"})
        tap.say("forms are kept", not (kept.status == 303))
        for version in (ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1, ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3):
            broken = version in (ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1)
            tap.say(f"{version.name} is {'refused' if broken else 'taken'}", speaks(bench, version) == broken)
        crossed = device.post("/shop/settings/shop.phone", {"value": "0"}, {"Origin": f"http://127.0.0.1:{bench.port}"})
        tap.say("one from an unencrypted page is refused", not (crossed.status == 403))
        status, errors = bench.end()
        tap.say("it ends cleanly", not (status == 0 and errors == ""))


def main(program):
    if not shutil.which("openssl"):
        print("1..0 # SKIP openssl makes the certificate and is not here")
        return 0
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        book = folder / "book"
        subprocess.run([program, "book", "new", "--book", str(book)], check=True, stdout=subprocess.DEVNULL)
        first, second = make_pair(folder, "first"), make_pair(folder, "second")
        check_refusals(tap, program, book, folder, first, second)
        check_pages(tap, program, book, first)
    return tap.end()


sys.exit(main(sys.argv[1]))
