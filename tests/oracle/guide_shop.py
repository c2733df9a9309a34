# SPDX-License-Identifier: MIT
"""A shop that has handed decks over before: a job book with their confirmed causes, drawn as guide_model.py draws decks, of another seed."""
import os
import subprocess

import guide_model

SAID = "as told by the owner"


class Shop:
    """The job book in FOLDER; `open_job` books a deck and gives the job's number as `guide --job` takes it."""

    def __init__(self, program, folder):
        self.program, self.folder, self.decks = program, folder, {}
        self.env = os.environ | {"DECKWRIGHT_BOOK": str(folder / "book"), "USER": "Technician"}

    def call(self, *words):
        done = subprocess.run([self.program, *words], capture_output=True, text=True, env=self.env, check=False)
        if done.returncode:
            raise RuntimeError(f"{' '.join(words)}: {done.stderr.strip()}")
        return done.stdout

    def deck(self, drive, automatic):
        """Decks differ by drive and arm alone: no two are said to be of one model."""
        kind = (drive, "automatic" if automatic else "manual")
        if kind not in self.decks:
            self.call("deck", "add", "make=Invented", f"drive={kind[0]}", f"operation={kind[1]}")
            self.decks[kind] = len(self.decks) + 1
        return self.decks[kind]

    def open_job(self, drive, automatic):
        said = self.call("job", "open", "customer_id=1", f"deck_id={self.deck(drive, automatic)}", f"fault={SAID}")
        return next(word.strip(".:,") for word in said.split() if word.strip(".:,").isdigit())


def open_shop(program, folder, seed, closed, wrong):
    """A shop that has handed over so many decks, each with what its owner said and its causes confirmed."""
    shop = Shop(program, folder)
    shop.call("book", "new")
    shop.call("customer", "add", "name=Ann Example")
    for drive in (*guide_model.DRIVES, "unknown"):      # all decks are there before several sessions share the book
        for automatic in (False, True):
            shop.deck(drive, automatic)
    for number in range(closed):
        deck = guide_model.Deck(f"shop {seed}", number, wrong, 0)
        job = shop.open_job(deck.drive, deck.automatic)
        shop.call("guide", *(f"{key}=yes" for key in deck.complaints()), "--job", job)
        for fault in deck.faults:
            shop.call("guide", "confirm", fault.name, "--job", job)
        shop.call("job", "move", job, "handed over", "--sure")
    return shop
