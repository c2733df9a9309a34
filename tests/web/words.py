#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every text of the pages comes from the one catalogue: with a catalogue that puts each text
into brackets, nothing stands without them but what is data."""
import html
import os
import pathlib
import re
import sys
import tempfile

from bench import Bench, Device, Tap

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from bracketed import bracketed  # noqa: E402

TEMPLATE = pathlib.Path(__file__).resolve().parents[2] / "po/deckwright.pot"
# Pages of which the demonstration shop writes next to nothing.
PAGES = ["/job/new", "/measure", "/measure/speed", "/measure/align", "/measure/force", "/book", "/shop",
         "/shop/settings", "/shop/devices", "/find?words=zzz", "/nothing", "/job/9999", "/book/deck/9999"]
# Not words of the program: numbers, units, signs, keys of quantities, names of the demonstration shop's registers.
DATA = re.compile(r"[\W\d_]*|([\d.,–−±]+|[A-Za-zµΩ°%·²/^0-9]{1,8}|[a-z_]+\.[a-z_.]+)|Deckwright|.*\.(plan|ini).*")


def bare(page):
    """Texts of PAGE that stand outside brackets, data apart."""
    page = re.sub(r"<(script|style|textarea|title|datalist)\b.*?</\1>", " ", page, flags=re.S)
    texts = re.split(r"<[^>]*>", page) + re.findall(r'(?:aria-label|placeholder|alt)="([^"]*)"', page)
    found = []
    for text in texts:
        text = html.unescape(text).strip()
        while (inner := re.sub(r"⟦[^⟦⟧]*⟧", " ", text)) != text:  # words within words
            text = inner
        text = text.strip()
        if text and not DATA.fullmatch(text):
            found.append(text[:90])
    return found


# Beside numbers with their units: what the demonstration shop calls its decks, records and instruments, names of files and
# of people, and sources that it typed.
OF_SHEETS = re.compile(r"·.*·|[\d.,]+\s\S+(\s:\s[\d.,]+\s\S+)?|%\speak|Platter .*|Insulation of .*|Entered by hand|\S+\.wav|(Hollin|Corvin|Alder|Sable|Sorrel) .*|Quay test record.*|Bench chain|Stylus scale 1|Stopwatch|Insulation tester"
                       r"|Counterweight, shift|\((the cartridge's sheet|this shop's own decks)\)\.|Löfgren.*")


def typed():
    """What somebody of the demonstration shop typed: values of its file, without the commas that may stand in brackets."""
    lines = (TEMPLATE.parents[1] / "data/demo/shop.ini").read_text(encoding="utf-8").split("\n")
    return {line.split("=", 1)[1].replace(",", "").strip() for line in lines if "=" in line}


def of_sheet(page):
    """Texts of a sheet's page outside brackets, but those that pictures are described with and what somebody typed."""
    page = re.sub(r'</?a\b[^>]*>|<img\b[^>]*>|<svg\b[^>]*>', "", page)  # a link stands within its sentence
    known = typed()
    return [text for text in bare(page) if not OF_SHEETS.fullmatch(text) and re.sub(r"\s*,?\s+", " ", text) not in known]


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        bracketed(folder)
        env = {**os.environ, "LC_ALL": "C.UTF-8", "LANGUAGE": "xx", "DECKWRIGHT_WORDS": folder}
        with Bench(program, folder + "/shop", env=env) as bench:
            device = Device(bench)
            tap.say("the catalogue of the user's language is found", "⟦" not in device.get("/shop").text and "no brackets")
            for page in PAGES:
                tap.say(f"{page} says nothing that is not in the catalogue", "\n".join(bare(device.get(page).text)))
            opened = re.search(r"\d{4}", bench.call("job", "open", "customer_id=1", "deck_id=1").stdout).group()
            kept = re.search(r"measurement id (\d+)", bench.call("drive", "--job", opened, "--as", "received").stdout)
            said = re.sub(r"<[^>]*>", "", device.get(f"/sheet/{kept.group(1)}").text) if kept else ""
            tap.say("a sheet says what it took from the book, choices in the reader's language",
                    "" if re.search(r"⟦From the job book: .*⟦Kind of drive⟧ ⟦(belt|idler|direct)⟧", said) else re.findall(".*job book.*", said))
            sheets = [answer.text for answer in (device.get(f"/sheet/{number}") for number in range(1, 40)) if answer.status == 200]
            tap.say("there are kept sheets", len(sheets) < 8 and len(sheets))
            left = sorted({text for page in sheets for text in of_sheet(page)})
            tap.say("what they say is in the catalogue", "\n".join(left))
    return tap.end()


sys.exit(main(sys.argv[1]))
