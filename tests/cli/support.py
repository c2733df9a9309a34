# SPDX-License-Identifier: MIT
"""What the tests of the command line share: running the program as a user does, and TAP."""
import os
import struct
import subprocess
import zlib


class Tap:
    def __init__(self):
        self.number = 0
        self.failed = 0

    def say(self, name, trouble):
        """One test; TROUBLE is what is wrong, empty when nothing is."""
        self.number += 1
        self.failed += bool(trouble)
        print(f"{'not ok' if trouble else 'ok'} {self.number} - {name}".replace("#", r"\#"), flush=True)
        for line in str(trouble or "").splitlines():
            print(f"# {line}")

    def skip(self, name, reason):
        self.number += 1
        print(f"ok {self.number} - {name} # SKIP {reason}", flush=True)

    def end(self):
        print(f"1..{self.number}")
        return self.failed > 0


def alike(usual, sanitized):
    """How many of what is alike are tried: SANITIZED of them where the program runs under a sanitizer, which looks at what a
    path of the code does and not at figures (tests/support/alike.h), unless everything is asked for."""
    usually = "few" if os.environ.get("DECKWRIGHT_SANITIZED") else "all"
    return sanitized if os.environ.get("DECKWRIGHT_TESTS", usually) == "few" else usual


def run(program, arguments, folder, stdout=subprocess.PIPE):
    """Exit status, stdout and stderr of PROGRAM called in FOLDER."""
    done = subprocess.run([os.path.abspath(program), *arguments], cwd=folder, stdin=subprocess.DEVNULL, stdout=stdout,
                          stderr=subprocess.PIPE, timeout=120, check=False)
    out = done.stdout.decode() if done.stdout is not None else ""
    return done.returncode, out, done.stderr.decode()


def wav(samples, rate=48000, channels=1, tag=3, bits=32):
    """The bytes of a WAV file around the bytes SAMPLES."""
    frame = channels * bits // 8
    return struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + len(samples), b"WAVE", b"fmt ", 16, tag, channels, rate,
                       rate * frame, frame, bits, b"data", len(samples)) + samples


def png(side=16):
    """A whole grey picture of SIDE by SIDE pixels, as PNG. Source (published): ISO/IEC 15948."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    rows = zlib.compress((b"\0" + b"\x80" * side) * side)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
