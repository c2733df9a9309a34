#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every text of the pages comes from the one catalogue: with one that lengthens every word and puts accents on its vowels
nothing stands with plain ones but what somebody typed, names, and keys. A page of each kind that a link leads to, every
part of three jobs, every measuring form and every kept sheet."""
import html
import os
import pathlib
import re
import sys
import tempfile

from bench import Bench, Device, Tap

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from bracketed import bracketed, escaped, lengthened, typed  # noqa: E402

ROOT = pathlib.Path(__file__).resolve().parents[2]
PARTS = ["intake", "safety", "as-received", "findings", "estimate", "work", "set-up", "as-left", "papers", "state"]
JOBS = ["0001", "0005", "0007"]
# Pages that no link leads to.
MORE = ["/find?words=zzz", "/nothing", "/job/9999", "/book/deck/9999"] + [f"/job/{job}?at={part}" for job in JOBS for part in PARTS]
# What a page that tells of the program names, commands that it quotes, what was typed that the program has as a word, too,
# parts as billed in the journal, and a reading that a shop's own limit is for where no sheet says its name.
NAMES = ["Avahi", "BSD-3-Clause", "FFTW", "GStreamer", "Jansson", "Pango", "SQLite", "libmicrohttpd", "libqrencode", "libsndfile", "libsodium", "gdk-pixbuf",
         "Cairo", "inih", "deckwright bench listen=0.0.0.0", "deckwright book restore FOLDER", "set-up-side", "seven-inch-side", "twenty-band-side", "MIT", "ISC", "GnuTLS", "new|returned", "scale", "captive", "tracking g"]


def shop_typed():
    """What somebody of the demonstration shop typed: values of its file, and what the program makes of them."""
    text = re.sub(r"\n +", " ", (ROOT / "data/demo/shop.ini").read_text(encoding="utf-8"))
    values = [value.strip() for value in re.findall(r"(?m)^\w[\w.]* *=(.*)", text)]
    parts = [part.strip() for value in values for part in re.split("[;|,]", value)]
    beginnings = [value[:length] for value in values if len(value) > 60 for length in range(60, min(len(value), 100))]
    return typed([*values, *parts, *beginnings], NAMES)


def texts(page):
    """What is read on PAGE: links and stress stand within their sentence. Papers have words of their own (paper.words)."""
    page = re.sub(r'<(script|style)\b.*?</\1>|<[^>]*\bdata-paper-words\b.*?</[^>]*>', " ", page, flags=re.S)
    found = re.split(r"<[^>]*>", re.sub(r"</?(?:a|b|em|strong|span|small)\b[^>]*>", " ", page))
    return [re.sub(r"\s+", " ", html.unescape(text)).strip() for text in found + re.findall(r'(?:aria-label|placeholder|alt|title)="([^"]*)"', page)]


def kind(path):
    return re.sub(r"\d+", "N", path.partition("?")[0])


def all_pages(device):
    """Path and text of a page of every kind, and of every sheet."""
    waiting, seen, pages = ["/", *MORE], set(), {}
    while waiting:
        path = waiting.pop(0)
        of = kind(path)
        if path in pages or path.startswith("/look/") or "/words/" in path or (of in seen and path not in MORE and of != "/sheet/N"):
            continue
        seen.add(of)
        answer = device.get(path)
        if answer.headers["Content-Type"].startswith("text/html"):
            pages[path] = answer.text
            waiting += [html.unescape(link) for link in re.findall(r'href="(/[^"#]*)', answer.text)]
    return pages


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        bracketed(folder, lengthened)
        env = {**os.environ, "LC_ALL": "C.UTF-8", "LANGUAGE": "xx", "DECKWRIGHT_WORDS": folder}
        with Bench(program, folder + "/shop", env=env) as bench:
            device = Device(bench)
            untyped = shop_typed()
            tap.say("the catalogue of the user's language is found", "⟦" not in device.get("/shop").text and "no brackets")
            opened = re.search(r"\d{4}", bench.call("job", "open", "customer_id=1", "deck_id=1").stdout).group()
            kept = re.search(r"measurement id (\d+)", bench.call("drive", "--job", opened, "--as", "received").stdout)
            said = re.sub(r"<[^>]*>", "", device.get(f"/sheet/{kept.group(1)}").text) if kept else ""
            tap.say("a sheet says what it took from the book, choices in the reader's language",
                    "" if re.search(rf"{lengthened('From the job book: ')[:-2]}.*{lengthened('Kind of drive')} {lengthened('belt')}", said) else said)
            pages = all_pages(device)
            sheets = sum(kind(path) == "/sheet/N" for path in pages)
            tap.say(f"{len(pages)} pages are read, {sheets} sheets among them", len(pages) < 100 or sheets < 8)
            for path, page in pages.items():
                left = [f"{words}: {text[:160]}" for text in texts(page) if (words := escaped(text, untyped))]
                tap.say(f"{path} says nothing that is not in the catalogue", "\n".join(left))
    return tap.end()


sys.exit(main(sys.argv[1]))
