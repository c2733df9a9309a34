# SPDX-License-Identifier: MIT
"""live-watch (live_watch.c) beside a test: what it says is read as it comes."""
import json
import subprocess
import threading
import time

from sound_servers import PATIENCE


class Watch:
    """The program under test on one input, for SECONDS and until it is ended."""

    def __init__(self, program, server, name, seconds, keep=None):
        words = [program, name, str(seconds)] + ([str(keep)] if keep else [])
        self.process = subprocess.Popen(words, env=server.environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.lines, self.news = [], threading.Condition()
        threading.Thread(target=self.read, daemon=True).start()

    def read(self):
        text = ""
        for line in self.process.stdout:
            text += line
            try:
                said = json.loads(text)
            except json.JSONDecodeError:  # a sheet takes several lines
                continue
            text = ""
            with self.news:
                self.lines.append(said)
                self.news.notify_all()
        with self.news:
            self.lines.append(None)
            self.news.notify_all()

    def wait(self, is_so, after=None):
        """The first line that IS_SO, of those that come after the line AFTER, or None once there is no more."""
        end = time.monotonic() + PATIENCE
        with self.news:
            at = next((i + 1 for i, line in enumerate(self.lines) if line is after), 0) if after else 0
        with self.news:
            while time.monotonic() < end:
                while at < len(self.lines):
                    if self.lines[at] is None or is_so(self.lines[at]):
                        return self.lines[at]
                    at += 1
                self.news.wait(0.5)
        return None

    def now(self):
        """The newest line."""
        with self.news:
            return next((line for line in reversed(self.lines) if line), None)

    def end(self):
        self.process.stdin.close()
        self.process.wait(PATIENCE)
        with self.news:
            while None not in self.lines:
                self.news.wait(0.5)
        return [line for line in self.lines if line and "deckwright_live" in line]

    def not_kept(self):
        """Why what was to be kept was not, "" where it was."""
        return "; ".join(line["not_kept"] for line in self.lines if line and "not_kept" in line)

    def sheet(self, which=0):
        """The sheet of the newest stretch, then that of the one before; None where it was not kept."""
        kept = [line for line in self.lines if line and ("readings" in line or "not_kept" in line)]
        return kept[which] if which < len(kept) and "readings" in kept[which] else None
