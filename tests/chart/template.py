#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Measures the printed templates: rasterises small windows of their pages at
1200 dpi and compares where the ink lies with the geometry, to 0.05 mm.

The windows are looked for where the program says its marks are; every length
judged is measured between inked lines and compared with the arm's own. With one
more word every paper is measured, not the few that stand for all."""
import math
import os
import subprocess
import sys
import tempfile

DPI = int(os.environ.get("TEMPLATE_DPI", "1200"))
PER_MM = DPI / 25.4
TOLERANCE = 0.05
SPINDLE, PIVOT, INNER, OUTER, STYLUS, BAR_SPINDLE, BAR_PIVOT, ACROSS, ALONG, JOIN = range(10)

results = []


def check(name, value, wanted, tolerance=TOLERANCE):
    results.append((abs(value - wanted) <= tolerance, f"{name}: {value:.3f}, wanted {wanted:.3f}"))


class Window:
    """A part of a page, rasterised once; asked for in millimetres on the page."""

    def __init__(self, path, page, left, top, right, bottom):
        self.left, self.top = round(left * PER_MM), round(top * PER_MM)
        width, height = round((right - left) * PER_MM), round((bottom - top) * PER_MM)
        data = subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", "-f", str(page + 1), "-l", str(page + 1),
                               "-x", str(self.left), "-y", str(self.top), "-W", str(width), "-H", str(height), path],
                              check=True, capture_output=True).stdout
        magic, size, most, self.pixels = data.split(b"\n", 3)
        assert magic == b"P5" and most == b"255", (magic, most)
        self.columns, self.rows = map(int, size.split())

    def darkness(self, left, top, right, bottom):
        """Rows of 0 (paper) to 255 (ink), and the part's corner in pixels of the page."""
        x, y = round(left * PER_MM), round(top * PER_MM)
        x_to, y_to = round(right * PER_MM), round(bottom * PER_MM)
        assert self.left <= x < x_to <= self.left + self.columns and self.top <= y < y_to <= self.top + self.rows
        rows = []
        for row in range(y - self.top, y_to - self.top):
            start = row * self.columns - self.left
            rows.append([255 - pixel for pixel in self.pixels[start + x:start + x_to]])
        return rows, x, y

    def upright(self, x, y_from, y_to, reach=0.6):
        """Where the upright line near X runs, seen between two heights."""
        part, left, _ = self.darkness(x - reach, y_from, x + reach, y_to)
        return middle([sum(column) for column in zip(*part)], left)

    def level(self, y, x_from, x_to, reach=0.6):
        part, _, top = self.darkness(x_from, y - reach, x_to, y + reach)
        return middle([sum(row) for row in part], top)


def middle(weights, start):
    """The centre of the ink of a profile, in millimetres on the page."""
    total = sum(weights)
    if total == 0:
        raise ValueError("no ink where a line should be")
    return (start + sum((i + 0.5) * weight for i, weight in enumerate(weights)) / total) / PER_MM


class Sheet:
    def __init__(self, folder, name, marks):
        self.path = f"{folder}/{name}.pdf"
        self.name = name
        self.marks = marks

    def around(self, page, mark, reach):
        x, y = self.marks[page, mark]
        return Window(self.path, page, x - reach, y - reach, x + reach, y + reach), x, y

    def spindle(self, page, mark=SPINDLE):
        window, x, y = self.around(page, mark, 7)
        return window.upright(x, y + 4.2, y + 6.5), window.level(y, x - 6.5, x - 4.2)

    def cross(self, page, mark, near=3.5, far=5.5):
        window, x, y = self.around(page, mark, far + 0.5)
        return window.upright(x, y - far, y - near), window.level(y, x + near, x + far)

    def join(self, page, mark):
        window, x, y = self.around(page, mark, 5.5)
        return window.upright(x, y + 1, y + 4.5), window.level(y, x - 4.8, x - 0.4)

    def no_ink(self, page, mark):
        window, x, y = self.around(page, mark, 0.5)
        part, _, _ = window.darkness(x - 0.4, y - 0.4, x + 0.4, y + 0.4)
        results.append((not any(map(any, part)), f"{self.name}: no ink where the stylus stands ({mark})"))

    def rulers(self, page, across=100.0, along=100.0):
        x, y = self.marks[page, ACROSS]
        window = Window(self.path, page, x - 1, y - 5, x + across + 1, y - 3)
        ends = [window.upright(end, y - 4.8, y - 3.4) for end in (x, x + across)]
        check(f"{self.name} page {page + 1}: ruler across", ends[1] - ends[0], across)
        x, y = self.marks[page, ALONG]
        window = Window(self.path, page, x - 5, y - 1, x - 3, y + along + 1)
        ends = [window.level(end, x - 4.8, x - 3.4) for end in (y, y + along)]
        check(f"{self.name} page {page + 1}: ruler along", ends[1] - ends[0], along)


def stylus(distance, length, radius):
    """Where a stylus stands at RADIUS: right of and below the spindle, the pivot straight above it."""
    cosine = (radius * radius + distance * distance - length * length) / (2 * radius * distance)
    return radius * math.sqrt(1 - cosine * cosine), -radius * cosine


def arc_radii(sheet, page, spindle, pivot, distance, length, radii):
    """The distances of the arc's ink from the pivot's cross, one a radius."""
    found = []
    for radius in radii:
        x, y = stylus(distance, length, radius)
        x, y = spindle[0] + x, spindle[1] + y
        window = Window(sheet.path, page, x - 0.1, y - 0.9, x + 0.1, y + 0.9)
        part, left, top = window.darkness(x - 0.05, y - 0.8, x + 0.05, y + 0.8)
        columns = [middle(column, top) for column in zip(*part)]
        here = (left + len(columns) / 2) / PER_MM, sum(columns) / len(columns)
        found.append(math.dist(here, pivot))
    return found


def measure_arc(sheet, distance, length, nulls):
    spindle, pivot = sheet.spindle(0), sheet.cross(0, PIVOT)
    check(f"{sheet.name}: pivot to spindle", math.dist(spindle, pivot), distance)
    check(f"{sheet.name}: pivot straight above the spindle", spindle[0] - pivot[0], 0)
    for radius, found in zip((93, 100, 143), arc_radii(sheet, 0, spindle, pivot, distance, length, (93, 100, 143))):
        check(f"{sheet.name}: radius of the arc near {radius} mm", found, length)
    for mark, radius in zip((INNER, OUTER), nulls):
        measure_null(sheet, mark, spindle, radius)
    sheet.rulers(0)


def measure_null(sheet, mark, spindle, radius, page=0):
    """The axis of a grid: its two ends beyond the grid give its line; it must be
    tangent to a circle of RADIUS about the spindle, at the mark."""
    x, y = sheet.marks[page, mark]
    angle = math.atan2(y - spindle[1], x - spindle[0])
    window, ends = Window(sheet.path, page, x - 7, y - 19, x + 7, y + 19), []
    for side in (-1, 1):
        reach = 17.9 if "grid" in sheet.name else 13.9
        end = x - side * reach * math.sin(angle), y + side * reach * math.cos(angle)
        ends.append((window.upright(end[0], end[1] - 0.1, end[1] + 0.1), end[1]))
    (x0, y0), (x1, y1) = ends
    away = abs((x1 - x0) * (y0 - spindle[1]) - (x0 - spindle[0]) * (y1 - y0)) / math.dist(*ends)
    check(f"{sheet.name}: radius of tangency", away, radius)
    foot = math.dist(((x0 + x1) / 2, (y0 + y1) / 2), (x, y))
    check(f"{sheet.name}: the grid's axis is centred on the point", foot, 0)
    sheet.no_ink(page, mark)


def measure_tiles(sheet, pages, spindle_page, distance):
    """The crosses that two pages share must lie on each other: joined by them,
    the spindle stands at its distance from the pivot of the first page."""
    results.append((pages > 1, f"{sheet.name}: takes {pages} sheets"))
    marks = sorted(mark for page, mark in sheet.marks if page == 0 and mark >= JOIN)
    shifts = []
    for mark in marks:
        here, there = sheet.join(0, mark), sheet.join(spindle_page, mark)
        shifts.append((here[0] - there[0], here[1] - there[1]))
    results.append((len(marks) >= 2, f"{sheet.name}: {len(marks)} crosses join its pages"))
    for shift in shifts[1:]:
        check(f"{sheet.name}: all crosses ask for one shift", math.dist(shift, shifts[0]), 0)
    spindle, pivot = sheet.spindle(spindle_page), sheet.cross(0, PIVOT)
    joined = spindle[0] + shifts[0][0], spindle[1] + shifts[0][1]
    check(f"{sheet.name}: pivot to spindle over the join", math.dist(joined, pivot), distance)
    for page in range(pages):
        sheet.rulers(page)


def measure_all(sheets, pages):
    nine, nulls = (222, 239.2961), (65.998, 120.891)
    measure_arc(sheets["arc-a4"], *nine, nulls)
    measure_arc(sheets["arc-letter"], *nine, nulls)
    measure_arc(sheets["arc-twelve-a3"], 295, 308.227, nulls)
    measure_arc(sheets["arc-underhung"], 241.8171, 228.6, (78.851,))
    measure_tiles(sheets["arc-twelve-a4"], pages["arc-twelve-a4"], 1, 295)
    measure_tiles(sheets["strip-twelve-letter"], pages["strip-twelve-letter"], 1, 295)
    corrected = sheets["arc-corrected"]
    corrected.rulers(0, 100 / 0.99, 100 / 1.015)
    check("arc-corrected: pivot to spindle, along", corrected.spindle(0)[1] - corrected.cross(0, PIVOT)[1], 222 / 1.015)
    grid = sheets["grid-a4"]
    for mark, radius in zip((INNER, OUTER), nulls):
        measure_null(grid, mark, grid.spindle(0), radius)
    grid.rulers(0)
    gauge = sheets["overhang-a4"]
    check("overhang-a4: overhang", gauge.cross(0, STYLUS, 1, 3.8)[1] - gauge.spindle(0)[1], 17.2961)
    gauge.no_ink(0, STYLUS)
    gauge.rulers(0)
    strip = sheets["strip-a4"]
    pivot, spindle = strip.cross(0, PIVOT), strip.spindle(0)
    check("strip-a4: pivot to spindle", math.dist(pivot, spindle), 222)
    check("strip-a4: effective length", math.dist(strip.cross(0, STYLUS, 1, 3.8), pivot), 239.2961)
    x, y = strip.marks[0, BAR_PIVOT]
    bar = strip.around(0, BAR_PIVOT, 9)[0].level(y, x - 8, x - 3)
    check("strip-a4: mounting-distance bar", strip.spindle(0, BAR_SPINDLE)[1] - bar, 222)
    strip.no_ink(0, STYLUS)


# Null radii and outermost groove of each size of record (alignment A). Source (worked apart): NumPy.
SIZES = {"all": (65.998, 120.891, 146.05), "ten": (62.387, 104.202, 121), "seven": (56.028, 77.372, 84)}


def every_sheet():
    return [f"{size}-{paper}-{distance}" for size in SIZES for paper in ("a4", "letter", "a3")
            for distance in range(180, 321, 10 if size == "all" else 35)]


def measure_every(sheets, pages):
    """Pivot to spindle, the arc, both points and the rulers of every paper, whichever of its sheets they lie on."""
    for name in every_sheet():
        sheet, distance = sheets[name], float(name.split("-")[2])
        first, second, _ = SIZES[name.split("-")[0]]
        page = pages[name] - 1
        shift = (0.0, 0.0)
        if pages[name] > 1:
            mark = min(mark for number, mark in sheet.marks if number == 0 and mark >= JOIN)
            here, there = sheet.join(0, mark), sheet.join(page, mark)
            shift = here[0] - there[0], here[1] - there[1]
        pivot, spindle = sheet.cross(0, PIVOT), sheet.spindle(page)
        pivot = pivot[0] - shift[0], pivot[1] - shift[1]
        check(f"{name}: pivot to spindle", math.dist(spindle, pivot), distance)
        length, between = math.sqrt(distance ** 2 + first * second), (first + second) / 2
        check(f"{name}: radius of the arc", arc_radii(sheet, page, spindle, pivot, distance, length, (between,))[0], length)
        for mark, radius in ((INNER, first), (OUTER, second)):
            measure_null(sheet, mark, spindle, radius, page)
        for number in range(pages[name]):
            sheet.rulers(number)


def measure_seams(sheets, pages):
    """Spindle, arc and both grids lie on one sheet; the seam runs between pivot and spindle, clear of grids and words."""
    for name in every_sheet():
        sheet, distance = sheets[name], float(name.split("-")[2])
        first, second, outer = SIZES[name.split("-")[0]]
        length = math.sqrt(distance**2 + first * second)
        whole = [page for page in range(pages[name]) if all((page, mark) in sheet.marks for mark in (SPINDLE, INNER, OUTER))]
        results.append((len(whole) == 1, f"{name}: spindle and both points lie on one sheet ({pages[name]} pages)"))
        if not whole:
            continue
        spindle = sheet.marks[whole[0], SPINDLE]
        top = spindle[1] + stylus(distance, length, outer)[1] - 24
        seams = {round(place[1], 2) for (page, mark), place in sheet.marks.items() if page == whole[0] and mark >= JOIN}
        results.append((all(spindle[1] - distance < seam < top for seam in seams),
                        f"{name}: the seam at {seams} mm lies above the arc's top at {top:.1f} and below the pivot"))
        if pages[name] > 1:
            # Nothing is written across the seam: the words stand on the sheet of the arc.
            text = subprocess.run(["pdftotext", "-f", "1", "-l", str(whole[0]), sheet.path, "-"], check=True, capture_output=True,
                                  text=True).stdout
            results.append(("Caution" not in text and "Tangent at" not in text, f"{name}: no words on the pivot's sheet"))
        text = subprocess.run(["pdftotext", "-f", str(whole[0] + 1), "-l", str(whole[0] + 1), sheet.path, "-"], check=True,
                              capture_output=True, text=True).stdout
        results.append(("Arc protractor" in text and "Measure both rulers." in text, f"{name}: all words stand on the arc's sheet"))


def measure_pillar(sheet):
    """The notch leaves the pivot's place free; the cross's arms stand outside it, in line with the pivot."""
    x, y = sheet.marks[0, PIVOT]
    window = Window(sheet.path, 0, x - 21, y - 2, x + 24, y + 24)
    check("arc-pillar: the cross's level arm", window.level(y, x + 17, x + 21), y)
    check("arc-pillar: the cross's upright arm", window.upright(x, y + 17, y + 21), x)
    part, _, _ = window.darkness(x - 13, y - 1, x + 13, y + 13)
    inside = [pixel for j, row in enumerate(part) for i, pixel in enumerate(row) if math.hypot(i - len(row) / 2, j - PER_MM) < 13 * PER_MM]
    results.append((not any(inside), "arc-pillar: no ink where the pillar stands"))
    words = subprocess.run(["pdftotext", sheet.path, "-"], check=True, capture_output=True, text=True).stdout
    results.append(("Cut the notch" in words and "pivot cross" not in words, "arc-pillar: the steps speak of the notch, not of a cross"))
    check("arc-pillar: pivot to spindle", math.dist(sheet.spindle(0), (window.upright(x, y + 17, y + 21), window.level(y, x + 17, x + 21))), 222)


def measure_askew(sheet):
    """The body's lines stand 2° outwards of the cantilever's: away from the spindle at the nose."""
    x, y = sheet.marks[0, INNER]
    window = Window(sheet.path, 0, x - 8, y - 18, x + 8, y + 20)
    middle_line = [window.upright(x, end - 0.1, end + 0.1) for end in (y - 17.9, y + 17.9)]
    check("grid-askew: the cantilever's line is upright", middle_line[1] - middle_line[0], 0)
    # The fifth line of the body turns about the point: at ±12 mm it stands 12·tan 2° aside.
    side = [window.upright(x + 5 / math.cos(math.radians(2)) + end * math.tan(math.radians(2)), y + end - 0.1, y + end + 0.1, 0.3)
            for end in (-11.1, 11.1)]
    check("grid-askew: the body's line leans", math.degrees(math.atan((side[1] - side[0]) / 22.2)), 2, 0.15)


def measure_beside(folder, sheets, pages):
    """The arm from above stands where the drawing leaves room, else on a page of its own, and never on the drawing's ink."""
    for name, like, page, more in (("beside-own-page", "arc-a4", 1, 1), ("beside-below", "all-a3-220", 0, 0), ("beside-over", "arc-twelve-a4", 0, 0)):
        results.append((pages[name] == pages[like] + more, f"{name}: {pages[name]} pages, {pages[like]} without the picture"))
        text = subprocess.run(["pdftotext", "-f", str(page + 1), "-l", str(page + 1), f"{folder}/{name}.pdf", "-"], check=True,
                              capture_output=True, text=True).stdout
        for words in ("The arm from above", "not to set by", "pivot to spindle", "offset", "overhang"):
            results.append((words in text, f"{name}: page {page + 1} shows {words}"))
        for number in range(pages[name]):
            sheets[name].rulers(number)
    for name, like in (("beside-own-page", "arc-a4"), ("beside-over", "arc-twelve-a4")):
        for number in range(pages[like]):
            mine, bare = ([value < 250 for value in raster(f"{folder}/{which}.pdf", number)] for which in (name, like))
            lost = sum(one and not other for one, other in zip(bare, mine))
            # Only the count of pages at the foot may be printed over.
            results.append((lost < 400, f"{name}: {lost} of {sum(bare)} inked points of page {number + 1} are gone"))
            grown = sum(other and not one for one, other in zip(bare, mine))
            results.append((grown > 2000 if name == "beside-over" and number == 0 else grown < 400, f"{name}: {grown} new points on page {number + 1}"))


def raster(path, page):
    data = subprocess.run(["pdftoppm", "-r", "100", "-gray", "-f", str(page + 1), "-l", str(page + 1), path], check=True, capture_output=True).stdout
    return data.split(b"\n", 3)[3]


def sides_are_right(folder):
    """The note on looking from the front and in a mirror, on bodies: the paper's pivot at the back, the stylus to the spindle's right,
    complex numbers with the right as 1 and the back as i."""
    spindle, stylus = 0, 100 + 0j
    nose = -1j * complex(math.cos(0.05), -math.sin(0.05))       # towards the front, turned a little clockwise seen from above
    inwards = abs(stylus + 5 * nose - spindle) < abs(stylus + 5 * -1j - spindle)
    from_the_front = "left" if nose.real < 0 else "right"       # whoever looks to the back has the right on his right
    # Whoever looks to the front has the left on his right; a mirror that he faces shows each side where it is.
    in_the_mirror = "right" if from_the_front == "left" else "left"
    for name in ("arc-a4", "grid-a4"):
        text = " ".join(subprocess.run(["pdftotext", f"{folder}/{name}.pdf", "-"], check=True, capture_output=True, text=True).stdout.split())
        said = (f"a nose that points {from_the_front} is turned {'inwards' if inwards else 'outwards'};",
                f"looked into from behind, that is to the {in_the_mirror}.", "the spindle is on your left")
        results.append((all(words in text for words in said), f"{name}: the sides of what is seen from the front and in a mirror"))


def words_stand(folder):
    """What a technician must not miss stands on each kind."""
    for name in ("arc-a4", "grid-a4", "overhang-a4", "strip-a4"):
        text = subprocess.run(["pdftotext", f"{folder}/{name}.pdf", "-"], check=True, capture_output=True,
                              text=True).stdout
        text = " ".join(text.split())
        for words in ("plug out of the wall", "Never let it drag", "stylus guard", "must measure 100.0 mm", "Print at 100"):
            results.append((words in text, f"{name} says “{words}”"))


def main(program, every=""):
    with tempfile.TemporaryDirectory() as folder:
        lines = subprocess.run([program, folder], check=True, capture_output=True, text=True).stdout.splitlines()
        pages, marks = {}, {}
        for line in lines:
            kind, name, *numbers = line.split()
            if kind == "pages":
                pages[name] = int(numbers[0])
            else:
                marks.setdefault(name, {})[int(numbers[0]), int(numbers[1])] = float(numbers[2]), float(numbers[3])
        sheets = {name: Sheet(folder, name, places) for name, places in marks.items()}
        measure_all(sheets, pages)
        measure_seams(sheets, pages)
        if every:
            measure_every(sheets, pages)
        measure_pillar(sheets["arc-pillar"])
        measure_askew(sheets["grid-askew"])
        measure_beside(folder, sheets, pages)
        words_stand(folder)
        sides_are_right(folder)
    print(f"1..{len(results)}")
    for number, (good, words) in enumerate(results, 1):
        print(f"{'ok' if good else 'not ok'} {number} - {words}")
    return any(not good for good, _ in results)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
