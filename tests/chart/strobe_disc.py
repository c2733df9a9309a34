#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The printed stroboscope disc, rasterised at 1200 dots per inch: each edge of each bar
within 0.05 degrees of its place, the ruler's marks within 0.1 mm, the paper's size."""
import pathlib
import re
import subprocess
import sys
import tempfile

import numpy

DPI = 1200
DOTS = DPI / 25.4  # per mm


def rasterise(pdf, left, top, width, height):
    """The darkness, 0 to 1, of a part of the page (mm), and its true left and top."""
    box = [round(value * DOTS) for value in (left, top, width, height)]
    stem = pdf.with_suffix("")
    subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", "-singlefile", "-x", str(box[0]), "-y", str(box[1]),
                    "-W", str(box[2]), "-H", str(box[3]), pdf, stem], check=True)
    data = stem.with_suffix(".pgm").read_bytes()
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    shape = int(head[2]), int(head[1])
    dark = 255 - numpy.frombuffer(data, numpy.uint8, offset=head.end()).reshape(shape)
    return dark, box[0], box[1]


def crossings(values, places):
    """Where VALUES cross one half, by straight lines between samples: risings, fallings."""
    above = values > 0.5
    rise = numpy.nonzero(~above[:-1] & above[1:])[0]
    fall = numpy.nonzero(above[:-1] & ~above[1:])[0]
    step = places[1] - places[0]
    found = [places[at] + step * (0.5 - values[at]) / (values[at + 1] - values[at]) for at in (rise, fall)]
    return found


def around(dark, x, y, radius):
    """Darkness along a circle (dots), by bilinear interpolation; degrees clockwise from twelve."""
    degrees = numpy.arange(-0.9, 359.1, 0.004)
    angle = numpy.radians(degrees - 90)
    across, down = x + radius * numpy.cos(angle) - 0.5, y + radius * numpy.sin(angle) - 0.5
    column, row = numpy.floor(across).astype(int), numpy.floor(down).astype(int)
    u, v = across - column, down - row
    value = ((1 - u) * (1 - v) * dark[row, column] + u * (1 - v) * dark[row, column + 1]
             + (1 - u) * v * dark[row + 1, column] + u * v * dark[row + 1, column + 1]) / 255
    return degrees, value


def worst_edge(dark, x, y, radius, bars):
    """The largest error (degrees) of a bar's edges on a circle, or NaN for a wrong count."""
    degrees, value = around(dark, x, y, radius)
    rises, falls = crossings(value, degrees)
    pitch = 360 / bars
    # Modulo the turn, so that it does not matter where the circle is cut.
    worst = 0
    for edges, first in ((rises, -pitch / 4), (falls, pitch / 4)):
        if len(edges) not in (bars, bars - 1, bars + 1):
            return float("nan")
        places = (edges - first) / pitch
        numbers = numpy.round(places)
        if len(set(numbers % bars)) != bars:
            return float("nan")
        worst = max(worst, numpy.abs(places - numbers).max() * pitch)
    return worst


def worst_mark(pdf, ruler_x, ruler_y):
    """The largest error (mm) of the ruler's 21 marks, or NaN for a wrong count."""
    dark, left, _ = rasterise(pdf, ruler_x - 1, ruler_y - 1.6, 102, 1.4)
    profile = dark[10:-20].mean(axis=0) / 255
    # A hair line is some seven dots wide; its middle is its centre of darkness.
    dots = numpy.nonzero(profile > 0.02)[0]
    groups = numpy.split(dots, numpy.nonzero(numpy.diff(dots) > 20)[0] + 1)
    middles = [(numpy.average(group, weights=profile[group]) + 0.5 + left) / DOTS - ruler_x for group in groups]
    if len(middles) != 21:
        return float("nan")
    return max(abs(middle - 5 * mark) for mark, middle in enumerate(middles))


def check_paper(printer, paper, report):
    with tempfile.TemporaryDirectory() as folder:
        pdf = pathlib.Path(folder) / "disc.pdf"
        told = subprocess.run([printer, paper, pdf], check=True, capture_output=True, text=True).stdout.splitlines()
        width, height, x, y, ruler_x, ruler_y = map(float, told[0].split())
        info = subprocess.run(["pdfinfo", pdf], check=True, capture_output=True, text=True).stdout
        size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info)
        off = max(abs(float(size[1]) * 25.4 / 72 - width), abs(float(size[2]) * 25.4 / 72 - height))
        report(off < 0.01, f"{paper} is {width} by {height} mm, off by {off:.4f}")
        dark, left, top = rasterise(pdf, x - 90, y - 90, 180, 180)
        for line in told[1:]:
            bars, inner, outer = map(float, line.split())
            radius = (inner + outer) / 2 * DOTS
            worst = worst_edge(dark, x * DOTS - left, y * DOTS - top, radius, int(bars))
            report(worst < 0.05, f"{paper}: {bars:.0f} bars, worst edge {worst:.4f} degrees off")
        worst = worst_mark(pdf, ruler_x, ruler_y)
        report(worst < 0.1, f"{paper}: ruler, worst mark {worst:.4f} mm off")


def main(printer):
    results = []
    for paper in ("a4", "letter"):
        check_paper(printer, paper, lambda good, words: results.append((good, words)))
    print(f"1..{len(results)}")
    for number, (good, words) in enumerate(results, 1):
        print(f"{'ok' if good else 'not ok'} {number} - {words}")
    return not all(good for good, _ in results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
