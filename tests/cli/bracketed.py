# SPDX-License-Identifier: MIT
"""A language in which every text of the catalogue stands in brackets: what is without them escaped the catalogue."""
import pathlib
import re
import subprocess

TEMPLATE = pathlib.Path(__file__).resolve().parents[2] / "po/deckwright.pot"
LITERAL = r'"(?:[^"\\]|\\.)*"'


def put(text):
    """TEXT in brackets, the blanks and ends of lines around it outside of them."""
    before, inner, after = re.fullmatch(r"((?:\s|\\n)*)(.*?)((?:\s|\\n)*)", text, re.S).groups()
    return f"{before}⟦{inner}⟧{after}"


# What printf and the drawings put in, and what C escapes.
PLACE = re.compile(r"(%(?:\d+\$)?[-+ #0]*(?:\d+|\*)?(?:\.(?:\d+|\*))?(?:hh|h|ll|l|z)?[a-zA-Z%]|\\.|\{\w+\})")


def widened(text):
    """TEXT in full-width letters, its places as they are: what stands there in plain ones comes from elsewhere."""
    return "".join(part if place % 2 else re.sub("[A-Za-z]", lambda letter: chr(ord(letter.group()) + 0xfee0), part)
                   for place, part in enumerate(PLACE.split(text)))


def bracketed(folder, put=put):
    """Makes the catalogue in FOLDER, for the language xx; PUT makes a text of it."""
    made = []
    for entry in TEMPLATE.read_text(encoding="utf-8").split("\n\n"):
        words = re.search(r"^msgid ((?:%s\s*)+)" % LITERAL, entry, re.M)
        joined = "".join(part[1:-1] for part in re.findall(LITERAL, words.group(1))) if words else ""
        if joined:  # the header has none
            plural = re.search(r'^msgid_plural "((?:[^"\\]|\\.)*)"', entry, re.M)
            entry = re.sub(r'^msgstr(\[0\])? ""', lambda found: f'msgstr{found.group(1) or ""} "{put(joined)}"', entry, flags=re.M)
            if plural:
                entry = entry.replace('msgstr[1] ""', f'msgstr[1] "{put(plural.group(1))}"')
        made.append(entry)
    messages = pathlib.Path(folder) / "xx/LC_MESSAGES"
    messages.mkdir(parents=True)
    source = pathlib.Path(folder) / "xx.po"
    source.write_text("\n\n".join(made), encoding="utf-8")
    subprocess.run(["msgfmt", "-o", str(messages / "deckwright.mo"), str(source)], check=True)
