# SPDX-License-Identifier: MIT
"""bracketed.py FOLDER: makes a language xx in FOLDER in which every text of the catalogue stands in brackets: what is
without them escaped the catalogue. As a program it also lengthens every word, as a language with longer ones would."""
import math
import pathlib
import re
import subprocess
import sys

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


ACCENTED = str.maketrans("aeiouyAEIOUY", "âéîôûýÂÉÎÔÛÝ")
LONGER = 0.4


def longer(word):
    """WORD with accents on its vowels, the first of them said again until it is longer by 40 %; the program's name as it is."""
    if word == "deckwright":
        return word
    said = word.translate(ACCENTED)
    vowel = re.search("[âéîôûý]", said, re.I)
    more = math.ceil(LONGER * len(word))
    return said[:vowel.end()] + vowel.group().lower() * more + said[vowel.end():] if vowel else said


def lengthened(text):
    """TEXT in brackets, its words longer and with accents, its places as they are. No vowel is left without an accent:
    where brackets are torn apart, as by the lines of a paper, a word with plain ones comes from elsewhere."""
    return put("".join(part if place % 2 else re.sub("[A-Za-z]+", lambda word: longer(word.group()), part)
                       for place, part in enumerate(PLACE.split(text))))


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


# Typed as they are in every language, or names: classes of decks, papers, units, kinds of files.
NAMES = {"hifi", "broadcast", "vintage", "portable", "deckwright", "Deckwright", "Letter", "deg", "degC", "ohm", "kohm", "Mohm", "rad", "min", "MPa", "kPa", "WAV", "bit", "float",
         "Baerwald"}
KEY = re.compile(r"\b[0-9a-f]{32,}\b|\w+://\S+|\S+@\S+|[\w-]*(?:[.=/_]\w[\w-]*)+|--\w[\w-]*")


def typed(values, names=()):
    """What takes VALUES, which somebody typed, and NAMES out of a text; a choice that the catalogue has is not typed freely."""
    known = set(re.findall(r'^msgid "([a-z].*)"$', TEMPLATE.read_text(encoding="utf-8"), re.M))
    kept = {re.sub(r"\s+", " ", value).strip() for value in values} - known | set(names)
    longest = sorted((value for value in kept if re.search("[A-Za-z]{3}", value)), key=len, reverse=True)
    values = "|".join(r"\s+".join(map(re.escape, value.split(" "))) for value in longest) or "(?!)"
    pattern = re.compile(rf"(?<![\w.])(?:{values})(?![\w])")
    return lambda text: pattern.sub(" ", text)


def escaped(text, untyped=lambda text: text):
    """Words of TEXT with plain vowels that are no data: they escaped a catalogue of lengthened() texts."""
    words = re.findall(r"[^\W\d_]{3,}", KEY.sub(" ", untyped(text)))
    return [word for word in words if re.search("[aeiouAEIOU]", word) and word.isascii() and word not in NAMES]


if __name__ == "__main__":
    bracketed(sys.argv[1], lengthened)
