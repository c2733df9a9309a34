# SPDX-License-Identifier: MIT
"""Operands as the models read them: numbers in the bench's usual units, from whatever unit they were written in.

Factors: the international inch is 25.4 mm and the standard acceleration 9.80665 m/s² (both exact by definition); the rest is decimal.
"""
import re

STANDARD_G = 9.80665
FACTORS = {
    "mm": {"mm": 1, "cm": 10, "m": 1000, "in": 25.4, "um": 1e-3}, "deg": {"deg": 1, "rad": 57.29577951308232},
    "g": {"g": 1, "mg": 1e-3, "kg": 1e3, "mN": 1 / STANDARD_G}, "Hz": {"Hz": 1, "kHz": 1e3},
    "s": {"s": 1, "ms": 1e-3, "min": 60},
    "%": {"%": 1, "ppm": 1e-4}, "ppm": {"ppm": 1, "%": 1e4}, "pF": {"pF": 1, "nF": 1e3},
    "kohm": {"kohm": 1, "ohm": 1e-3, "Mohm": 1e3},
    "ohm": {"ohm": 1, "kohm": 1e3}, "mH": {"mH": 1, "H": 1e3, "uH": 1e-3}, "um": {"um": 1, "mm": 1e3},
    "m": {"m": 1, "cm": 1e-2, "mm": 1e-3, "in": 0.0254}, "cm/s": {"cm/s": 1, "mm/s": 0.1, "m/s": 100},
    "mV": {"mV": 1, "uV": 1e-3, "V": 1e3}, "rpm": {"rpm": 1},
}


class Inputs:
    """Operands by key, each a list of words; asked with the unit that the model counts in."""

    presets = {}

    def __init__(self, words):
        self.words = words

    @classmethod
    def of(cls, operands):
        words = {}
        for operand in operands:
            key, value = operand.split("=", 1)
            words.setdefault(key, []).append(value.replace("~", " "))
        return cls(words)

    def changed(self, key, value):
        """The same with another value; several are parted by semicolons, 'absent' takes the operand away."""
        words = {name: list(values) for name, values in self.words.items()}
        if value == "absent":
            words.pop(key, None)
        else:
            words[key] = value.split(";")
        return Inputs(words)

    def operands(self):
        """As the program takes them; what has no dot (take=…) is for the model alone: which recording is played."""
        return [f"{key}={value}" for key, values in self.words.items() if "." in key for value in values]

    def has(self, key):
        return key in self.words

    def word(self, key, preset=None):
        if key in self.words:
            return self.words[key][0]
        return self.presets.get(key, preset)

    def number(self, key, unit, preset=None):
        word = self.word(key)
        return preset if word is None else quantity(word, unit)

    def numbers(self, key, unit):
        return [quantity(word, unit) for word in self.words.get(key, [])]

    def pairs(self, key, first, second):
        return [tuple(quantity(part, unit) for part, unit in zip(word.split(":"), (first, second)))
                for word in self.words.get(key, [])]


def quantity(word, unit):
    """A number with an optional unit, in the unit asked for."""
    found = re.fullmatch(r"([-+]?[\d.]+(?:e[-+]?\d+)?)\s*(\D\S*)?", word)
    if not found:
        raise ValueError(f"no number: {word}")
    value, written = float(found[1]), found[2]
    if not written or written == unit:
        return value
    if unit not in FACTORS or written not in FACTORS[unit]:
        raise ValueError(f"{word} in {unit}?")
    return value * FACTORS[unit][written]


class Model:
    """A procedure's truth: from operands to readings. Told otherwise, it plays no recording and reads no table."""

    def __init__(self, truth, recordings=None, more=None):
        self.truth = truth
        self.recordings = recordings or (lambda prog, inputs: [])
        self.more = more or (lambda sheet, inputs: {})
