#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Signing, and the papers as PDF."""
import pathlib
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile

from bench import Bench, Device, Tap
from pictures import drawn_signature, jpeg, png


class Book:
    def __init__(self, folder):
        self.folder = pathlib.Path(folder)

    def rows(self, sql, *values):
        with sqlite3.connect(self.folder / "book.sqlite") as database:
            return database.execute(sql, values).fetchall()

    def signatures(self, job):
        return self.rows("SELECT a.phase, a.caption, a.file, a.personal FROM attachment a JOIN job j ON j.id = a.job_id "
                         "WHERE a.kind = 'signature' AND number = ? ORDER BY a.id", job)

    def consents(self, job):
        return self.rows("SELECT answer, amount, person, how, words FROM consent c JOIN job j ON j.id = c.job_id "
                         "WHERE number = ? ORDER BY c.id", job)


def send_drawn(device, path, content, **fields):
    device.get(path)
    return device.send(path, fields, [("signature", "signature.png", content)])


def check_intake(tap, device, book):
    path = "/job/0003/sign?at=intake"
    page = device.get(path)
    ceiling = book.rows("SELECT ceiling FROM intake i JOIN job j ON j.id = i.job_id WHERE number = 3")[0][0]
    accessories = [name for name, in book.rows("SELECT name FROM accessory a JOIN intake i ON i.id = a.intake_id JOIN job j "
                                               "ON j.id = i.job_id WHERE number = 3 AND received = 1")]
    tap.say("what is signed names each thing received", [name for name in accessories if name not in page.text])
    tap.say("and the shop's terms", not ("Old parts are returned" in page.text))
    before = len(book.signatures(3)), len(book.consents(3))
    bad = {"words": b"no picture", "a photograph": jpeg(80, 60), "a head that lies": png(50000, 50000),
           "half of it": drawn_signature()[:60]}
    for name, content in bad.items():
        tap.say(f"no signature: {name}", not (send_drawn(device, path, content).status == 400))
    tap.say("nor nothing at all", not (device.post(path, {"typed": "  "}).status == 400))
    tap.say("and nothing of it was kept", not ((len(book.signatures(3)), len(book.consents(3))) == before))
    drawn = drawn_signature()
    answer = send_drawn(device, path, drawn, person="Pat Example", list_correct="no", terms_accepted="yes")
    phase, caption, file, personal = book.signatures(3)[-1]
    tap.say("a drawn one leads on to the papers", not (answer.status == 303 and answer.headers["Location"] == "/job/0003/papers"))
    tap.say("it is kept as it was drawn, by whom, and as a person's own",
            not ((book.folder / "attachments" / file).read_bytes() == drawn and phase == "as received" and personal == 1
                 and caption == "Pat Example, signed by hand"))
    answer, amount, person, how, words = book.consents(3)[-1]
    tap.say("the consent log says who, how and up to what",
            not (person == "Pat Example" and how == "counter" and "by hand" in words and amount == (ceiling or 0)
                 and answer == ("agreed up to" if ceiling else "agreed")))
    tap.say("and what it stood under", [name for name in accessories if name not in words])
    ticks = book.rows("SELECT list_correct, terms_accepted FROM intake i JOIN job j ON j.id = i.job_id WHERE number = 3")
    tap.say("what was ticked and what was not is kept", not (ticks == [(0, 1)]))
    tap.say("the page shows who signed already", not ("Pat Example, signed by hand" in device.get(path).text))


def check_hand_over(tap, device, book):
    path = "/job/0012/sign?at=handover"
    device.get(path)
    answer = device.post(path, {"typed": "Kim <b>Sample</b>", "person": "Kim Sample"})
    phase, caption, file, _ = book.signatures(12)[-1]
    content = (book.folder / "attachments" / file).read_bytes()
    tap.say("a name that was typed is kept as such", not (answer.status == 303 and phase == "as left" and caption == "Kim Sample, typed"
                                                         and content.startswith(b"\x89PNG")))
    tap.say("the log says so too", not ("by typing the name" in book.consents(12)[-1][4]))
    tap.say("one signs at intake or hand-over", not (device.get("/job/0012/sign?at=lunch").status == 400))
    tap.say("an intake that was not written down is not signed", not (device.get("/job/0004/sign?at=intake").status == 400))


def pdf_facts(content):
    """Title and first page's size as another program reads them."""
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(content)
        file.flush()
        done = subprocess.run(["pdfinfo", file.name], capture_output=True, text=True, check=False)
        words = subprocess.run(["pdftotext", "-layout", file.name, "-"], capture_output=True, text=True, check=False)
    title = re.search(r"^Title:\s+(.*)$", done.stdout, re.M)
    size = re.search(r"^Page size:\s+([\d.]+) x ([\d.]+)", done.stdout, re.M)
    return title.group(1) if title else "", tuple(float(side) for side in size.groups()) if size else (), words.stdout


TITLES = {"receipt": "Intake receipt", "estimate": "Estimate", "service": "Service report",
          "proof": "Proof of the service report", "invoice": "Invoice",
          "label": "Labels", "transport": "Transport card"}


def check_papers(tap, device):
    page = device.get("/job/0001/papers")
    for name, title in TITLES.items():
        links = re.findall(rf'href="(/job/0001/paper/{name}\?[^"]*)"', page.text)
        papers = [device.get(link.replace("&amp;", "&")) for link in links]
        facts = [pdf_facts(paper.body) for paper in papers]
        tap.say(f"{title}: a PDF with its title", not (len(papers) == 2 and all(
            paper.headers["Content-Type"] == "application/pdf" and fact[0].startswith(title + (", Job 0001" if name == "invoice" else " 0001"))
            for paper, fact in zip(papers, facts))))
        sizes = [tuple(round(side) for side in fact[1]) for fact in facts]
        tap.say(f"{title}: on A4 and on Letter", "" if sizes == [(595, 842), (612, 792)] else str(sizes))
        tap.say(f"{title}: opened, not saved", [1 for paper in papers if not paper.headers["Content-Disposition"].startswith("inline")])
    tap.say("a paper that is none is 404", not (device.get("/job/0001/paper/poem").status == 404))
    tap.say("a size that is none is refused", not (device.get("/job/0001/paper/label?size=a0").status == 400))
    bare = device.get("/job/0004/papers").text
    tap.say("a paper that has nothing to say is not offered", not ("/paper/invoice" not in bare and "There is no invoice yet." in bare))
    tap.say("and asking for it says why", not (device.get("/job/0004/paper/invoice").status == 400))
    notice = device.get("/job/0012/paper/notice?notice=last-notice")
    tap.say("a notice of the kind asked for", not (notice.status == 200 and notice.body.startswith(b"%PDF")))


def check_signed_papers(tap, device):
    words = pdf_facts(device.get("/job/0012/paper/service").body)[2]
    tap.say("the service report says who took the deck back", not ("Received back:" in words))
    words = pdf_facts(device.get("/job/0010/paper/service").body)[2]
    tap.say("and nobody did where nobody signed", not ("Received back:" not in words))


def check_unsafe(tap, device, book):
    item = book.rows("SELECT item FROM verdict v JOIN job j ON j.id = v.job_id WHERE grade = 'unsafe' AND number = 2")[0][0]
    page = device.get("/job/0002/papers")
    tap.say("an unsafe deck's papers say so before they are opened",
            not ('class="unsafe-box"' in page.text and f"<li>{item}</li>" in page.text))
    words = pdf_facts(device.get("/job/0002/paper/receipt").body)[2]
    tap.say("and on the paper", not (f"Unsafe: {item}" in words))
    tap.say("a safe deck has no such box", not ("unsafe-box" not in device.get("/job/0001/papers").text))


def check_words(tap, device, book):
    path = "/job/0001/words/receipt"
    page = device.get(path)
    tap.say("each text of a paper has a field", not ('value="receipt.declaration.terms"' in page.text))
    said = "The terms were read aloud & accepted <twice>."
    answer = device.post(path, {"key": "receipt.declaration.terms", "text": said})
    words = pdf_facts(device.get("/job/0001/paper/receipt").body)[2]
    tap.say("an edited text stands on this job's paper", not (answer.status == 303 and said in words))
    other = pdf_facts(device.get("/job/0002/paper/receipt").body)[2]
    tap.say("and on no other job's", not (said not in other and "The terms were read and accepted." in other))
    tap.say("the page says that it was edited", not ("Edited for this job." in device.get(path).text))
    device.post(path, {"key": "receipt.declaration.terms", "act": "drop"})
    words = pdf_facts(device.get("/job/0001/paper/receipt").body)[2]
    tap.say("taken back, it says what it said before", not ("The terms were read and accepted." in words))
    tap.say("a text that no paper has is refused", not (device.post(path, {"key": "receipt.rubbish", "text": "x"}).status == 400))
    tap.say("and kept nowhere", not (book.rows("SELECT count(*) FROM wording") == [(0,)]))


def main(program):
    tap = Tap()
    for tool in ("pdfinfo", "pdftotext"):
        if not shutil.which(tool):
            tap.skip("the papers", f"{tool} is not here")
            return tap.end()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device, book = Device(bench), Book(folder + "/shop")
        device.get("/")
        check_intake(tap, device, book)
        check_hand_over(tap, device, book)
        check_papers(tap, device)
        check_signed_papers(tap, device)
        check_unsafe(tap, device, book)
        check_words(tap, device, book)
        status, errors = bench.end()
        tap.say("the bench ends cleanly", "" if status == 0 and errors == "" else f"{status} {errors}")
    return tap.end()


sys.exit(main(sys.argv[1]))
