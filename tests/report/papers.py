#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every paper of the invented shop on both sizes of paper, read back by poppler and zbar:
words and their order, margins, overlaps, fonts, title, language, amounts, codes, bad calls."""
import configparser
import datetime
import decimal
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

MARGIN = 20 / 25.4 * 72
SIZES = {"a4": (595.276, 841.89), "letter": (612, 792)}
PAPERS = ["receipt", "estimate", "service", "proof", "invoice", "label", "transport", "notice"]
# Words that stand on a paper of job 1 in this order.
ORDER = {
    "receipt": ["Quay Street Deck Workshop", "Intake receipt", "Job 0001", "Edda Marlow", "Hollin B2", "It warbles",
                "Received with it", "Dust cover", "manual: not received", "None other received", "Condition on arrival",
                "chip", "Terms", "Declaration", "Owner: Edda Marlow", "Received by: Ines"],
    "estimate": ["Estimate", "Version 1", "Minimum", "Recommended", "Full", "Fit a belt", "Stylus assembly", "Net",
                 "Tax, 20 %", "Total", "What was agreed", "Leave the stylus for now", "Terms"],
    "invoice": ["Invoice", "Edda Marlow", "Fit a belt", "Oil and cleaning", "Total", "What was agreed",
                "Parts, as declared", "the old one returned", "Warranty"],
    "transport": ["Transport card", "Pull the mains plug", "Locked for the journey", "On the road",
                  "Locked and checked by"],
    "service": ["Service report", "Safe to use?", "What to do", "Stylus: Replace within 150 hours", "Keep the deck level",
                "The next service is due", "In numbers", "What was done", "What was not tested", "What was wrong",
                "In your words: “It warbles.", "Belt stretched and swollen", "Main bearing dry", "What it cost",
                "143.40 EUR in all: invoice ", "paid on", "Warranty", "Caution", "the proof of job 0001",
                "Technician: Ines", "Received back: Edda Marlow"],
    "proof": ["Proof of the service report", "What follows supports the service report of job 0001", "It warbles",
              "Findings", "Item by item", "Every reading", "How it is set", "Charts",
              "Work", "Lubricants by point", "Parts", "Photographs", "Caution", "What these numbers cannot show",
              "Not measured"],
}


class Run:
    """One program run after another, each check a line of TAP."""

    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        self.count, self.failed = 0, False

    def check(self, name, wrong):
        self.count += 1
        self.failed = self.failed or bool(wrong)
        print(f"{'not ok' if wrong else 'ok'} {self.count} - {name}{': ' + str(wrong)[:300] if wrong else ''}")

    def call(self, *words):
        return subprocess.run([self.program, *words], capture_output=True, text=True, check=False)

    def book(self, *words):
        return self.call(*words, "--book", self.folder + "/shop")


def read(*words):
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    return done.stdout, done.stderr


def flat(text):
    return " ".join(text.split())


def pages_of(path):
    """The words of each page with their boxes, by poppler."""
    text, complaint = read("pdftotext", "-bbox", path, "-")
    pages = []
    for page in re.findall(r"<page .*?</page>", text, re.S):
        pages.append([(*map(float, word[:4]), word[4]) for word in re.findall(
            r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>', page)])
    return pages, complaint


def outside(pages, size):
    """Words beyond the margins; the foot stands on the lower one, its descenders below."""
    width, height = SIZES[size]
    return [word for page in pages for word in page
            if word[0] < MARGIN - 0.5 or word[2] > width - MARGIN + 0.5
            or word[1] < MARGIN - 0.5 or word[3] > height - MARGIN + 3]


def overlaps(pages):
    """Words that lie on one another by more than a fifth of the smaller."""
    found = []
    for page in pages:
        for i, a in enumerate(page):
            for b in page[i + 1:]:
                across, down = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
                least = min((a[2] - a[0]) * (a[3] - a[1]), (b[2] - b[0]) * (b[3] - b[1]))
                if across > 0 and down > 0 and across * down > 0.2 * least:
                    found.append((a[4], b[4]))
    return found


def check_structure(run, what, path, info):
    """What a screen reader is told, by poppler."""
    structure, complaint = read("pdfinfo", "-struct-text", path)
    tags = re.findall(r"^ *([A-Z]\w*)(?: \((?:block|inline)\))?$", structure, re.M)
    bytes_ = pathlib.Path(path).read_bytes()
    label = what.startswith("label")
    run.check(f"{what} is marked for a screen reader", complaint or "" if re.search(r"Tagged: +yes", info) else info)
    run.check(f"{what} has one title and headings", "" if label or tags.count("H1") == 1 and "H2" in tags or "notice" in what else tags)
    # Source (published): ISO 14289-1 (PDF/UA-1), 7.4.2: the first heading is H1 and no level is left out; 7.6: lists hold items with label and body.
    headings = [tag for tag in tags if re.fullmatch("H[1-6]", tag)]
    steps = [(first, second) for first, second in zip(headings, headings[1:]) if int(second[1]) > int(first[1]) + 1]
    run.check(f"{what} has its headings in order", "" if not headings or headings[0] == "H1" and not steps else headings)
    run.check(f"{what} has its facts as lists", "" if tags.count("Lbl") == tags.count("LBody") <= tags.count("LI") and
              (label or "Lbl" in tags) else tags)
    run.check(f"{what} has its rows in tables", "" if tags.count("TR") == 0 or (
        tags.count("TH") and tags.count("Table") <= tags.count("TR")) else tags)
    run.check(f"{what} has words for each picture", "" if len(re.findall(rb"/Alt <FEFF\w{4}", bytes_)) == tags.count("Figure") else
              tags.count("Figure"))
    run.check(f"{what} has its title as metadata too", "" if b"<dc:title>" in bytes_ and b"/DisplayDocTitle true" in bytes_ else "no")


def check_file(run, name, job, size, path):
    pages, complaint = pages_of(path)
    run.check(f"{name} {job} {size} is read without complaint", complaint)
    run.check(f"{name} {job} {size} stays within its margins", outside(pages, size))
    run.check(f"{name} {job} {size} writes nothing over anything", overlaps(pages))
    info = read("pdfinfo", path)[0]
    run.check(f"{name} {job} {size} has its title",
              "" if re.search(rf"Title: .* {job:04d}, ", info) else info)
    width, height = re.search(r"Page size: +([\d.]+) x ([\d.]+)", info).groups()
    run.check(f"{name} {job} {size} has its size",
              abs(float(width) - SIZES[size][0]) > 0.01 or abs(float(height) - SIZES[size][1]) > 0.01)
    fonts = read("pdffonts", path)[0].splitlines()[2:]
    run.check(f"{name} {job} {size} has its fonts in it",
              [line for line in fonts if not re.search(r" yes +yes +yes +\d+ +\d+$", line)] or not fonts)
    run.check(f"{name} {job} {size} is for nobody else to read", oct(pathlib.Path(path).stat().st_mode & 0o777) != "0o600")
    run.check(f"{name} {job} {size} names its language", b"/Lang (en-GB)" not in pathlib.Path(path).read_bytes())
    check_structure(run, f"{name} {job} {size}", path, info)
    footers = [f"page {i + 1} of {len(pages)}" for i in range(len(pages))]
    run.check(f"{name} {job} {size} counts its pages",
              [f for f, page in zip(footers, pages) if f not in " ".join(word[4] for word in page)])
    return pages


def check_order(run, name, size, path):
    text, at, missing = flat(read("pdftotext", path, "-")[0]), 0, []
    # Page by page in reading order; a table's columns may be read down, so search words from the last found on.
    for words in ORDER[name]:
        found = text.find(words, at)
        if found < 0:
            missing.append(words)
        else:
            at = found
    run.check(f"{name} {size} says what it has to in order", missing)


def check_first_page(run, path):
    text = flat(read("pdftotext", "-l", "1", path, "-")[0])
    whole = flat(read("pdftotext", "-layout", "-l", "1", path, "-")[0])
    # Each number has its verdict's word once, and its value as received once.
    numbers = whole.split("In numbers")[1].split("Filled mark")[0]
    run.check("page one has six numbers at most", not 1 <= numbers.count("Good") == numbers.count("as received") <= 6)
    wanted = ["Safe to use?", "Safe for records?", "Performs to its class?", "Attention soon", "For now, but not for long: Stylus",
              "What was done", "What was not tested", "Not tested: Rumble", "True to pitch", "Long notes stand still",
              "as received +0.86 %", "page 1 of"]
    run.check("page one says it all", [w for w in wanted if flat(w) not in text.replace("\u202f", " ")])
    # Nothing to look up: no keys, no statistics, no method.
    run.check("page one has nothing to look up",
              re.findall(r"two-sigma|quasi|\brms\b|±|\bDIN\b|\bIEC\b|\w+[._]\w+\.\w+|speed\.\w+", text))


def check_amounts(run, folder):
    """The totals against decimal arithmetic on the lines as the shop's file gives them."""
    labour, rate = decimal.Decimal("60.00"), decimal.Decimal("0.20")
    lines = [(0, labour * 20 / 60), (0, decimal.Decimal("18.50")), (1, labour * 40 / 60), (1, labour * 35 / 60),
             (1, decimal.Decimal("6.00")), (2, decimal.Decimal("64.00"))]
    totals = []
    for tier in range(3):
        net = sum(amount for least, amount in lines if least <= tier)
        tax = (net * rate).quantize(decimal.Decimal("0.01"), decimal.ROUND_HALF_UP)
        totals.append((f"{net:.2f}", f"{tax:.2f}", f"{net + tax:.2f}"))
    text = read("pdftotext", "-layout", folder + "/estimate-1-a4.pdf", "-")[0]
    for row, name in enumerate(("Net", "Tax, 20 %", "Total")):
        wanted = [total[row] for total in totals]
        found = [line.replace(name, "").split() for line in text.replace("\u202f", " ").splitlines()
                 if line.strip().startswith(name + " ")]
        run.check(f"estimate: {name} of all options is exact", found[0] != wanted if found else "missing")
    invoice = read("pdftotext", "-layout", folder + "/invoice-1-a4.pdf", "-")[0]
    total = [line.split()[-1] for line in invoice.splitlines() if line.strip().startswith("Total ")]
    run.check("invoice: the total is the option's", total != [totals[1][2]])


def check_unsafe(run, folder):
    run.book("invoice", "draft", "2")
    run.book("report", "invoice", "2", "--out", folder + "/invoice-2-a4.pdf")
    for name in ("receipt", "estimate", "service", "proof", "invoice", "transport", "notice"):
        text = flat(read("pdftotext", "-l", "1", f"{folder}/{name}-2-a4.pdf", "-")[0])
        run.check(f"{name} says that the deck is unsafe, and who was told",
                  not ("Unsafe: Mains cord" in text and "Otis Brant was told on" in text
                       and "must not be connected" in text))
    text = read("pdftotext", f"{folder}/label-2-a4.pdf", "-")[0]
    run.check("every label says that the deck is unsafe", text.count("Unsafe: do not connect") != 6)
    text = read("pdftotext", f"{folder}/service-1-a4.pdf", "-")[0]
    run.check("a safe deck is not called unsafe", "Unsafe:" in text)


def code_of_label(folder, path, number, size, sheet):
    """What zbar reads off label NUMBER alone: a page of its own, or its place on a SHEET [points]."""
    dots, where = 250 / 25.4, ["-f", str(number + 1), "-l", str(number + 1)]
    if sheet:
        across, down = (int(sheet[i] * 25.4 / 72 / size[i]) for i in (0, 1))
        left, top = (sheet[0] * 25.4 / 72 - across * size[0]) / 2, (sheet[1] * 25.4 / 72 - down * size[1]) / 2
        x, y = left + number % across * size[0], top + number // across * size[1]
        where = ["-x", str(int(x * dots)), "-y", str(int(y * dots)), "-W", str(int(size[0] * dots)), "-H", str(int(size[1] * dots))]
    subprocess.run(["pdftoppm", "-r", "250", *where, "-singlefile", "-png", path, f"{folder}/sized"], check=True)
    return subprocess.run(["zbarimg", "-q", "--raw", f"{folder}/sized.png"], capture_output=True, text=True, check=False).stdout.strip()


def check_label_sizes(run, folder):
    """Labels alone and on sheets, of the size that was asked for: each with its code, its warning and all of it on it."""
    point = 72 / 25.4
    for words, size, pages_wanted, page in (("62 x 29", (62, 29), 6, None), ("30 x 15mm", (30, 15), 6, None), ("100×150", (100, 150), 6, None),
                                            ("70 x 37 sheet", (70, 37), 1, "a4"), ("99.1 x 67.7 sheet", (99.1, 67.7), 1, "letter")):
        run.check(f"labels of {words} are a setting", run.book("book", "settings", f"label.size={words}").stderr)
        path = f"{folder}/sized.pdf"
        run.check(f"labels of {words} are written",
                  run.book("report", "label", "2", "--out", path, "--paper", page or "a4").stderr)
        pages, complaint = pages_of(path)
        width, height = SIZES[page] if page else (size[0] * point, size[1] * point)
        info = read("pdfinfo", path)[0]
        found = [float(n) for n in re.search(r"Page size: +([\d.]+) x ([\d.]+)", info).groups()]
        run.check(f"labels of {words} have their size", complaint or "" if abs(found[0] - width) < 0.1 and abs(found[1] - height) < 0.1
                  and len(pages) == pages_wanted else info)
        run.check(f"labels of {words} are whole", [w for p in pages for w in p if w[0] < 0 or w[1] < 0 or w[2] > width or w[3] > height]
                  or overlaps(pages))
        text = flat(read("pdftotext", path, "-")[0])
        run.check(f"labels of {words} all warn", "" if text.count("Unsafe:") == 6 else text)
        codes = [code_of_label(folder, path, number, size, (width, height) if page else None) for number in range(6)]
        run.check(f"labels of {words} have codes that are read", [code for code in codes if code != "JOB 0002"])
    run.check("a size that is none is refused", "is no size such as" not in run.book("book", "settings", "label.size=62").stderr)
    run.check("and so is one for nothing to stand on", "is no size such as" not in run.book("book", "settings", "label.size=5 x 5").stderr)
    run.book("book", "settings", "label.size=")


def check_codes(run, folder):
    dots = 200
    for size, (width, _) in SIZES.items():
        # Each label is cut out first, as it is on the bench.
        across, down = (width - 2 * MARGIN) / 2 * dots / 72, 17 * 10.5 * dots / 72
        for label in range(6):
            left, top = MARGIN * dots / 72 + label % 2 * across, MARGIN * dots / 72 + label // 2 * down
            cut = f"{folder}/label-{size}-{label}"
            read("pdftoppm", "-r", str(dots), "-png", "-singlefile", "-x", f"{left:.0f}", "-y", f"{top:.0f}",
                 "-W", f"{across:.0f}", "-H", f"{down:.0f}", f"{folder}/label-1-{size}.pdf", cut)
            code = read("zbarimg", "-q", "--raw", cut + ".png")[0]
            run.check(f"the code of label {label + 1} on {size} is read", code != "JOB 0001\n")


def check_photos(run, folder):
    images = read("pdfimages", "-list", f"{folder}/proof-1-a4.pdf")[0].splitlines()[2:]
    photos = [line.split() for line in images if line.split()[8] == "jpeg"]
    run.check("twelve photographs are in the proof, as JPEG", len(photos) != 12)
    run.check("none has more pixels than print can show", [p for p in photos if int(p[3]) > 900 or int(p[4]) > 900])


def check_words(run, source):
    """Every text that the papers ask for is in the file, and no text is there for nothing."""
    parser = configparser.ConfigParser(interpolation=None, delimiters="=")
    parser.optionxform = str
    parser.read(source + "/data/words/papers.ini", encoding="utf-8")
    # The words that call for a caution stand under the caution's name.
    run.check("each caution has its words, and no words are for nothing",
              set(parser["cautions"]) ^ set(parser["caution_words"]) ^ {"altered"})
    known = {(group, key) for group in parser.sections() for key in parser[group]}
    code = "\n".join(p.read_text(encoding="utf-8") for p in sorted(pathlib.Path(source, "src/report").rglob("*.c")))
    quoted = set(re.findall(r'"((?:[^"\\]|\\.)*)"', code))
    # Keys made while printing.
    made = {f"flag.{w}" for w in ("clipped", "short", "gaps", "approximate", "noisy", "unsteady")}
    made |= {k for _, k in known if k.endswith(".text") and k[:-5] in quoted}
    made |= {f"path.{answer}" for answer in ("yes", "no", "unknown", "asked")}
    # Those of sources are held against the program's ranges in languages.py.
    unused = [f"[{g}] {k}" for g, k in known if g not in ("sources", "names", "proof_names", "unmeasured", "labels", "readings", "charts", "verdicts", "caution_words", "cautions", "choices", "units") and k not in quoted | made]
    run.check("every text of the papers is used", unused)
    # A label is what the bench's own code calls a sheet, a curve or an axis, and each procedure's sheet has one.
    bench = "\n".join(p.read_text(encoding="utf-8") for p in sorted(pathlib.Path(source, "src").rglob("*.c")))
    run.check("every label is one of the bench's", [label for label in parser["labels"] if f'"{label}"' not in bench])
    titles = set(re.findall(r'\.title = "([^"]*)"', "\n".join(p.read_text(encoding="utf-8") for p in pathlib.Path(source, "src/procedure").rglob("*.c"))))
    run.check("every sheet's title is a label", sorted(titles - set(parser["labels"])))


# What only the bench needs to know: instructions to whoever measures, keys, options, commands.
WORKSHOP = re.compile(r"\b(?:State|Give|Add|needs) (?:[“\"]|\w+\.\w)|pan is not iron|\bdeckwright\b|--\w|"
                      r"\b(?!quaystreet\.|marlow\.)[a-z]{3,}[._][a-z][a-z._]+\b(?!@)|\b\w+=\w")


def check_customers_words(run, folder):
    """Every paper of every job of the shop, of three jobs on both sizes: nothing on it is for the workshop alone, no page but a
    label's holds less than a quarter of what it could, and no table leaves one row on a page."""
    for job in range(1, 14):
        for name in PAPERS:
            for size in SIZES if job <= 3 or os.environ.get("DECKWRIGHT_TESTS") == "all" else ["a4"]:
                path = f"{folder}/all-{name}-{job}-{size}.pdf"
                if run.book("report", name, str(job), "--out", path, "--paper", size).returncode:
                    continue
                text = flat(read("pdftotext", path, "-")[0])
                run.check(f"{name} {job} {size} has no workshop's words", WORKSHOP.findall(text))
                pages = pages_of(path)[0]
                if name == "service":
                    run.check(f"{name} {job} {size} is two pages at most", len(pages) if len(pages) > 2 else "")
                    run.check(f"{name} {job} {size} has no method to look up",
                              re.findall(r"two-sigma|quasi|\brms\b|±|\bDIN\b|\bIEC\b", text))
                height = SIZES[size][1]
                low = [max((word[3] for word in page if word[3] < height - MARGIN - 20), default=0) for page in pages]
                run.check(f"{name} {job} {size} has no near-empty page",
                          [i + 1 for i, bottom in enumerate(low) if i and name != "label" and bottom < MARGIN + height / 4])


def check_answers(run, folder):
    """What stands on one job's paper and, being untrue of the other, not on the other's. What a job says of which nothing
    is written down is tried in sentences.py: the shop has none."""
    for name, words, own, other in (
            ("estimate", "Edda Marlow agreed (Recommended), 143.40 EUR", 1, 2), ("service", "paid on", 1, 12), ("service", "not yet paid", 12, 1), ("service", "Nothing needs doing", 13, 1)):
        texts = [flat(read("pdftotext", f"{folder}/all-{name}-{job}-a4.pdf", "-")[0]) for job in (own, other)]
        run.check(f"{name} says “{words}” of job {own} and not of job {other}", [words in text for text in texts] != [True, False])


def check_own_words(run, folder):
    own = pathlib.Path(folder, "own.ini")
    own.write_text("[service]\ntitle = Werkstattbericht\nremark = Prüfung nach Wunsch: Ωµ 33⅓.\n", encoding="utf-8")
    done = run.book("report", "service", "1", "--out", folder + "/own.pdf", "--words", str(own))
    text = flat(read("pdftotext", "-l", "1", folder + "/own.pdf", "-")[0])
    run.check("the shop's own words stand on the paper",
              done.stderr or not ("Werkstattbericht" in text and "Prüfung nach Wunsch: Ωµ 33⅓." in text))
    for key in ("service.title", "service.remark"):
        run.book("report", "drop", "1", "service", key)
    words = run.call("report", "words")
    run.check("all words can be had to edit", words.returncode != 0 or "[service]\ntitle = Service report" not in words.stdout)


def paper_text(run, name, job, *words):
    path = run.folder + "/again.pdf"
    done = run.book("report", name, str(job), "--out", path, *words)
    return flat(read("pdftotext", path, "-")[0]) if done.returncode == 0 else done.stderr


def check_edits(run, folder):
    """What is edited for one job stands on that paper of that job, until it is dropped."""
    run.check("an edit is kept", run.book("report", "edit", "1", "service", "service.remark", "Edda, it sings.").stderr)
    run.check("it stands on the paper", "Edda, it sings." not in paper_text(run, "service", 1))
    run.check("and not on another job's", "Edda, it sings." in paper_text(run, "service", 12))
    texts = run.book("report", "texts", "1", "service").stdout.splitlines()
    run.check("the paper's texts are listed with their keys",
              [t for t in ("* service.remark = Edda, it sings.", "  service.title = Service report",
                           "  paper.pages = page {page} of {pages}") if t not in texts])
    run.check("and no others", [t for t in texts if t[2:].startswith(("notice.", "transport.", "label."))])
    own = pathlib.Path(folder, "edits.ini")
    own.write_text("[service]\nremark = Edda, it hums.\n[names]\nshop.hum = Hum\n", encoding="utf-8")
    run.check("a file of edits is printed", "Edda, it hums." not in paper_text(run, "service", 1, "--words", str(own)))
    run.book("report", "edit", "1", "service", "service.findings", "What we saw")
    run.check("what is edited for the report holds for its proof", "What we saw" not in paper_text(run, "proof", 1))
    run.book("report", "drop", "1", "service", "service.findings")
    run.check("and kept", "Edda, it hums." not in paper_text(run, "service", 1))
    run.check("edits are listed", run.book("report", "edits", "1").stdout !=
              "1 service service.remark en-GB = Edda, it hums.\n1 service names.shop.hum en-GB = Hum\n")
    for key in ("service.remark", "names.shop.hum"):
        run.check(f"{key} is dropped", run.book("report", "drop", "1", "service", key).stderr)
    run.check("the paper says again what it said", "Edda, it" in paper_text(run, "service", 1))
    shop = pathlib.Path(folder, "shop.ini")
    shop.write_text("[service]\ntitle = Bench report\n", encoding="utf-8")
    run.book("book", "settings", f"paper.words={shop}")
    run.check("the shop's words are a setting", "Bench report" not in paper_text(run, "service", 12))
    run.book("book", "settings", "paper.words=")


def printed(day):
    """A day as an English paper writes it."""
    names = "Jan Feb Mar Apr May June July Aug Sept Oct Nov Dec".split()
    return f"{day.day} {names[day.month - 1]} {day.year}"


def check_notices(run):
    """Days by the calendar, storage by decimal arithmetic; the demonstration's charge is 2.00 a day after 14 days."""
    today = datetime.date.today()
    told = today - datetime.timedelta(days=20)
    run.check("a notice is noted", run.book("job", "add", "12", "notice", "kind=ready", f"sent_on={told}").stderr)
    text = paper_text(run, "notice", 12, "kind=storage-charge")
    wanted = ["Storage is being charged", f"you were told on {printed(told)}", f"until {printed(told + datetime.timedelta(days=14))}",
              "2.00 EUR a day", f"{decimal.Decimal('2.00') * 6} EUR", "To pay: 72.00 EUR, invoice "]
    run.check("storage is told by the day", [w for w in wanted if w not in text.replace("\u00a0", " ")])
    text = paper_text(run, "notice", 12)
    run.check("the newest notice is printed", "Your deck is ready" not in text)
    run.check("with the day until when it stands free", f"Until {printed(told + datetime.timedelta(days=14))} it stands here without charge" not in text)
    run.check("with its day", printed(told) not in paper_text(run, "notice", 12))
    text = paper_text(run, "notice", 12, "kind=last-notice")
    run.check("the last notice leaves the rest to the law", not ("Last notice" in text and "local law decides" in text))
    run.check("a declined deck is not called ready", "can be collected as it is" not in paper_text(run, "notice", 2))


def check_measured(run):
    """What was measured on a photograph stands under it: 30 pixels of 0.4 um, a flat of 12 um."""
    shown = run.book("job", "show", "1", "--json").stdout
    picture = f"{run.folder}/tip.png"
    shutil.copy(next(pathlib.Path(run.folder, "shop", "attachments").glob("*.png")), picture)
    listed = run.book("job", "attach", "12", picture, "kind=stylus-image", "caption=The tip",
                      "scale_um_per_pixel=0.4", "--json").stdout
    number = re.search(r'"id": *(\d+)', listed)
    run.check("a stylus image is kept", not (shown and number))
    added = run.book("register", "add", "photo_measure", f"attachment_id={number.group(1)}", "kind=flat", "name=worn flat",
                     "x1=10", "y1=10", "x2=28", "y2=34", "uncertainty=2")
    run.check("a flat is measured on it", added.stderr or "Value                      12" not in added.stdout)
    text = paper_text(run, "proof", 12).replace("\u202f", " ")
    run.check("it stands under the picture", not re.search(r"The tip, .*; worn flat 12\.0 ± 2\.0+ [µμ]m", text))


def check_cautions(run):
    """What the work on a job calls for stands on its papers, and nothing else."""
    added = [("operation", "name=Recap the motor board: capacitors"), ("part", "name=Glass platter"),
             ("finding", "symptom=belt was microwaved by its owner"), ("operation", "name=Speed set by strobe"),
             ("operation", "name=Shellac cleaned with isopropyl"), ("verdict", "item=Earth continuity", "grade=good")]
    words = {"mains": "Pull the mains plug", "capacitors": "Capacitors hold their charge", "glass": "A glass platter",
             "heat": "never boiled, microwaved or oiled", "strobe": "Flickering strobe light",
             "solvent": "Isopropyl alcohol burns", "tests": "belong to a competent person; no reading"}
    run.book("customer", "add", "name=A. Careful")
    run.book("job", "open", "customer_id=1", "deck_id=1")
    job = run.book("board").stdout.splitlines()[-1].split()[0]
    text = paper_text(run, "service", job)
    run.check("a job of nothing has one caution", [w for k, w in words.items() if (w in text) != (k == "mains")])
    for kind, *fields in added:
        run.check(f"{fields[0]} is added", run.book("job", "add", job, kind, *fields).stderr)
    run.book("job", "add", job, "intake", "words=hums", "modified_mains=yes")
    words["altered"] = "The mains wiring was altered"
    for name in ("receipt", "service", "transport"):
        text = paper_text(run, name, job)
        wanted = words if name == "service" else ("mains", "glass", "altered")
        run.check(f"{name} says the cautions it has to, and no others",
                  [w for k, w in words.items() if (w in text) != (k in wanted)])
    text = paper_text(run, "label", job)
    run.check("labels warn of altered mains and of glass",
              not ("Mains altered: do not connect" in text and "Glass: lift with both hands" in text))


BAD = [
    (["report", "notice", "3", "--out", "F/x.pdf"], 2,
     "Job 0003 is measuring: its deck does not wait for its owner, and no such notice is noted."),
    (["report", "notice", "12", "kind=poem", "--out", "F/x.pdf"], 2,
     "\"poem\" is no notice. There are: ready|reminder|storage charge|last notice."),
    (["report", "notice", "2", "kind=reminder", "--out", "F/x.pdf"], 2,
     "Nothing says when the owner of job 0002 was told that the deck is ready. "
     "'deckwright job add 0002 notice kind=ready sent_on=DAY' notes it."),
    (["report", "edit", "1", "poem", "service.remark", "x"], 2,
     "There is no paper called \"poem\". There are: receipt, estimate, service, proof, invoice, label, transport, notice."),
    (["report", "edit", "1", "service", "service.rhyme", "x"], 2,
     "No paper has a text \"service.rhyme\". 'deckwright report words' lists them all, as [group] and key; "
     "here they are written group.key."),
    (["report", "edit", "1", "service", "service.remark", ""], 2,
     "The wording has no Wording (text). Give it and save again."),
    (["report", "drop", "1", "service", "service.remark"], 2,
     "\"service.remark\" was not edited on this job's paper \"service\"."),
    (["report", "service", "1"], 2, "Say where to write it: --out FILE.pdf."),
    (["report", "service", "99", "--out", "F/x.pdf"], 2, "There is no job 0099 in the book."),
    (["report", "service", "--out", "F/x.pdf"], 2,
     "The call is: deckwright report service JOB --out FILE.pdf [--paper a4|letter] [--words FILE]"),
    (["report", "poem", "1", "--out", "F/x.pdf"], 2,
     "report cannot 'poem'. 'deckwright report --help' lists what it can."),
    (["report", "label", "1", "--out", "F/x.pdf", "--paper", "a3"], 2,
     "\"a3\" is no paper to print on; a4 and letter are."),
    (["report", "receipt", "4", "--out", "F/x.pdf"], 2,
     "Job 0004 has no intake yet. 'deckwright job add 0004 intake words=…' writes it down."),
    (["report", "invoice", "3", "--out", "F/x.pdf"], 2,
     "Job 0003 has no invoice. 'deckwright invoice draft 0003' starts one."),
    (["report", "label", "1", "--out", "F/none/x.pdf"], 1,
     "F/none/x.pdf cannot be written: No such file or directory. Choose a folder that you may write to."),
    (["report", "label", "1", "--out", "F/x.pdf", "--words", "F/none.ini"], 2,
     "F/none.ini: cannot open it (No such file or directory). Check the name."),
    (["customer", "list", "--out", "F/x.pdf"], 2, "--out is not an option. The options are --book, --by and --json."),
    (["register", "add", "poem", "name=x"], 2,
     "\"poem\" is not kept in a register. There are: arm, cartridge, stylus, test_record, instrument, "
     "instrument_check, chain, bound, accessory, mark, photo_scale, photo_measure."),
    (["register", "play", "1", "many"], 2, "\"many\" is no number of hours."),
    (["invoice", "draft", "3", "tier=full"], 2, "tier is an option of an estimate; say which: estimate=NUMBER."),
    (["invoice", "draft", "3", "estimate=1", "tier=some"], 2, "\"some\" is none of: minimum|recommended|full."),
]


def check_bad_calls(run, folder):
    for words, status, complaint in BAD:
        done = run.book(*[word.replace("F/", folder + "/") for word in words])
        wanted = "deckwright: " + complaint.replace("F/", folder + "/") + "\n"
        run.check("bad call: " + " ".join(words),
                  "" if (done.returncode, done.stderr) == (status, wanted) else f"{done.returncode} {done.stderr!r}")
    done = run.call("demo-shop", folder + "/shop")
    run.check("no invented past in a book that is there", done.returncode != 2 or "a job book in" not in done.stderr)


def check_registers(run):
    added = run.book("register", "add", "bound", "class=hifi", "key=shop.lift", "low=1", "high=3", "source=our own")
    run.check("a limit of the shop is kept", added.stderr)
    noted = run.book("job", "note", "3", "shop.lift", "5.0 s", "as=left", "label=Lift", "instrument=eye")
    run.check("a reading by hand is kept", noted.stderr)
    run.book("report", "proof", "3", "--out", run.folder + "/bound.pdf")
    text = flat(read("pdftotext", "-layout", run.folder + "/bound.pdf", "-")[0])
    run.check("the shop's own limit judges it", not re.search(r"Lift, s .*5\.0 .*1 to 3 .*Attention soon", text))
    run.check("and its source is named", "our own" not in text)
    state = run.book("register", "state", "Stylus scale 1").stdout
    run.check("an instrument's state is told", not state.startswith("Stylus scale 1 is in order, last checked "))
    drafted = run.book("invoice", "draft", "3", "--json")
    number = re.search(r'"id": *(\d+)', drafted.stdout)
    run.check("an invoice is drafted", drafted.stderr or not number)
    run.book("invoice", "line", number.group(1), "name=Inspection", "amount=12.34")
    shown = run.book("invoice", "show", number.group(1)).stdout
    run.check("its total is exact", "net 12.34  tax 2.47  total 14.81" not in shown)
    run.book("report", "invoice", "3", "--out", run.folder + "/draft.pdf")
    text = flat(read("pdftotext", run.folder + "/draft.pdf", "-")[0])
    run.check("a draft is called a draft", "Draft This invoice has not been issued" not in text)


def check_strange(run):
    """A job with far too much of everything, and a shop that set nothing."""
    folder = run.folder + "/bare"
    run.call("book", "new", "--book", folder)
    def call(*words):
        return run.call(*words, "--book", folder)
    call("customer", "add", "name=" + "Long" * 60)
    call("deck", "add", "make=" + "M" * 90, "model=x")
    call("job", "open", "customer_id=1", "deck_id=1")
    call("job", "add", "1", "intake", "words=" + "warbles and growls, " * 400 + "end of the words")
    for i in range(12):
        call("register", "add", "mark", "intake_id=1", "zone=plinth-top", "kind=scratch", f"across={i / 12}", "along=0.5",
             f"note={'scuff ' * 3 * i}end{i}")
    for size in SIZES:
        for name in ("receipt", "service", "proof", "label"):
            path = f"{run.folder}/bare-{name}-{size}.pdf"
            done = call("report", name, "1", "--out", path, "--paper", size)
            pages, complaint = pages_of(path) if done.returncode == 0 else ([], done.stderr)
            run.check(f"{name} of far too much on {size}", complaint or outside(pages, size))
    text = flat(read("pdftotext", f"{run.folder}/bare-proof-a4.pdf", "-")[0])
    run.check("the proof has the owner's words in full", text.count("warbles") != 400)
    run.check("the report is short all the same", len(pages_of(f"{run.folder}/bare-service-a4.pdf")[0]) > 2)
    text = flat(read("pdftotext", f"{run.folder}/bare-receipt-a4.pdf", "-")[0])
    run.check("nothing of it is lost", not ("end of the words" in text and text.count("warbles") == 400
                                            and all(f"end{i}" in text for i in range(12))))


def main(program, source):
    with tempfile.TemporaryDirectory() as folder:
        run = Run(program, folder)
        done = run.call("demo-shop", folder + "/shop")
        run.check("the invented shop is filled", done.stderr)
        states = run.book("board").stdout
        run.check("it has jobs in every state",
                  [s for s in ("booked", "received", "measuring", "estimating", "waiting for approval",
                               "waiting for part", "waiting for soak", "on the bench", "verifying", "ready", "declined")
                   if f"  {s} " not in states])
        loose = [str(path) for path in pathlib.Path(folder, "shop").rglob("*") if path.stat().st_mode & 0o77 or path.name.startswith("logo")]
        run.check("its folder holds the book and its attachments, the logo among them, for nobody else to read", loose)
        run.check("its book is sound", "The book is sound" not in run.book("book", "check").stdout)
        for job in (1, 2, 12):
            for name in PAPERS:
                if (job, name) in ((1, "notice"), (2, "invoice"), (12, "estimate")):
                    continue
                for size in SIZES if job == 1 else ("a4",):
                    path = f"{folder}/{name}-{job}-{size}.pdf"
                    done = run.book("report", name, str(job), "--out", path, "--paper", size)
                    run.check(f"{name} {job} {size} is written", done.stderr)
                    check_file(run, name, job, size, path)
                    if job == 1 and name in ORDER:
                        check_order(run, name, size, path)
        for size in SIZES:
            check_first_page(run, f"{folder}/service-1-{size}.pdf")
        check_amounts(run, folder)
        check_unsafe(run, folder)
        check_codes(run, folder)
        check_label_sizes(run, folder)
        check_photos(run, folder)
        check_words(run, source)
        check_bad_calls(run, folder)
        check_customers_words(run, folder)
        check_answers(run, folder)
        check_own_words(run, folder)
        check_edits(run, folder)
        check_notices(run)
        check_measured(run)
        check_cautions(run)
        check_registers(run)
        check_strange(run)
        print(f"1..{run.count}")
        return run.failed


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
