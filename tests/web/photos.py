#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Photographs and measuring on them."""
import hashlib
import math
import pathlib
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile

from bench import Bench, Device, Tap
from pictures import exif, jpeg, jpeg_sides, png

SECRET = b"52.1234 N, 4.5678 E, my own camera"
JOB = "/job/0010"


class Book:
    """The book's file as another program reads it."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder)

    def rows(self, sql, *values):
        with sqlite3.connect(self.folder / "book.sqlite") as database:
            return database.execute(sql, values).fetchall()

    def photos(self):
        return self.rows("SELECT id, file, digest, original_name, phase, zone, caption, turn, position FROM attachment "
                         "WHERE job_id = (SELECT id FROM job WHERE number = 10) ORDER BY position, id")

    def bytes_of(self, file):
        return (self.folder / "attachments" / file).read_bytes()


def listed(page):
    return [int(found) for found in re.findall(r'<a href="/photo/(\d+)"><img', page.text)]


def add(device, files, field="chosen", **fields):
    device.get(JOB + "/photos")
    return device.send(JOB + "/photos", fields, [(field, name, content) for name, content in files])


def check_lost(tap, device, book):
    """A picture that is gone or altered is told on the job's page and on the board, until it is whole again."""
    rows = book.photos()
    whole = [book.folder / "attachments" / row[1] for row in rows]
    kept = [path.read_bytes() for path in whole[:2]]
    tap.say("whole pictures are no news", "Files lost" in device.get("/").text or "Missing from the book" in device.get(JOB).text)
    whole[0].unlink()
    page = device.get(JOB).text
    tap.say("a missing picture is told on the job's page", not ("Missing from the book" in page and "Changed since" not in page))
    tap.say("and on the board", "Files lost" not in device.get("/").text)
    whole[0].write_bytes(kept[0][:-1] + bytes([kept[0][-1] ^ 1]))
    page = device.get(JOB).text
    tap.say("an altered one of the same size too", not ("Changed since it was kept" in page and "Missing from the book" not in page))
    tap.say("and on the board again", "Files lost" not in device.get("/").text)
    whole[0].write_bytes(kept[0])
    tap.say("once it is whole nothing is said", "Files lost" in device.get("/").text or "Changed since" in device.get(JOB).text)


def check_adding(tap, device, book):
    held = jpeg(80, 60, head=exif(6, SECRET))
    sent = add(device, [("IMG 1.JPG", held)], "taken", phase="as received", zone="bearing", caption="Main bearing")
    tap.say("a photograph goes to the list", not (sent.status == 303 and sent.headers["Location"] == JOB + "/photos"))
    row = book.photos()[0]
    tap.say("its file stays as it came", not (book.bytes_of(row[1]) == held))
    tap.say("its digest is the file's", not (row[2] == hashlib.sha256(held).hexdigest()))
    tap.say("name, phase, zone and caption are kept",
            not (row[3:7] == ("IMG 1.JPG", "as received", "bearing", "Main bearing")))
    small = device.get(f"/photo/{row[0]}/small")
    tap.say("it is shown as it was held", not (jpeg_sides(small.body) == (60, 80)))
    told = [size for size in ("small", "large", "whole")
            if b"Exif" in device.get(f"/photo/{row[0]}/{size}").body or SECRET in device.get(f"/photo/{row[0]}/{size}").body]
    tap.say("where it was taken is not told", told)
    tap.say("it may be kept by this browser alone", not small.headers["Cache-Control"].startswith("private"))


def check_heic(tap, device, book):
    """What a telephone saves as HEIC is kept as it came and shown as JPEG, of its own size."""
    if not shutil.which("heif-enc"):
        return tap.say("HEIC # SKIP heif-enc is not there", "")
    before = len(book.photos())
    with tempfile.TemporaryDirectory() as folder:
        picture, coded = pathlib.Path(folder) / "a.jpg", pathlib.Path(folder) / "a.heic"
        picture.write_bytes(jpeg(320, 240))
        subprocess.run(["heif-enc", "-o", str(coded), str(picture)], check=True, capture_output=True)
        sent = coded.read_bytes()
    answer = add(device, [("deck.heic", sent)])
    rows = book.photos()
    tap.say("HEIC is taken", "" if answer.status < 400 and len(rows) == before + 1 else f"{answer.status}: {answer.text[-300:]}")
    tap.say("and kept as it came", "" if book.bytes_of(rows[-1][1]) == sent else "changed")
    shown = device.get(f"/photo/{rows[-1][0]}/whole?turn=0")
    good = shown.headers.get("Content-Type") == "image/jpeg" and jpeg_sides(shown.body) == (320, 240)
    tap.say("and shown as JPEG", "" if good else f"{shown.status} {shown.headers.get('Content-Type')}")
    tap.say("a HEIC that is cut off is refused", "" if add(device, [("cut.heic", sent[:len(sent) // 2])]).status == 400 else "it is not")
    device.get(f"/photo/{rows[-1][0]}")
    device.post(f"/photo/{rows[-1][0]}/remove", {})


def check_several(tap, device, book):
    # Long enough to come in many pieces, which must go to the file they belong to.
    many = [jpeg(160, 120, lambda x, y, i=i: (40 + 60 * i + x) % 256, padding=4) for i in range(3)]
    add(device, [(f"{i}.jpg", content) for i, content in enumerate(many)], phase="during")
    kept = [book.bytes_of(row[1]) for row in book.photos()[1:]]
    tap.say("several in one form come whole and in order", not (kept == many))


def check_hostile(tap, device, book):
    before, files = len(book.photos()), len(list((book.folder / "attachments").iterdir()))
    good = jpeg(80, 60)
    bad = {
        "words called a picture": b"GIF89a is not welcome here",
        "a drawing that could hold a script": b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
        "half a photograph": jpeg(800, 600, lambda x, y: (x * y) % 256)[:4000],
        "a head that claims more than memory holds": png(60000, 60000),
        "a photograph's first bytes": b"\xFF\xD8\xFF\xE1",
        "nothing": b"",
    }
    for name, content in bad.items():
        answer = add(device, [("good.jpg", good), ("bad.jpg", content)] if content else [("bad.jpg", content)])
        tap.say(f"refused: {name}", not (answer.status == 400 and (not content or "bad.jpg" in answer.text)))
    tap.say("nothing of them was kept, nor of what came with them",
            not (len(book.photos()) == before and len(list((book.folder / "attachments").iterdir())) == files))
    tap.say("a signature is not added among the photographs",
            not (add(device, [("a.jpg", good)], kind="signature").status == 400 and len(book.photos()) == before))
    device.form_token = "0" * 64
    answer = device.send(JOB + "/photos", {}, [("chosen", "a.jpg", good)])
    tap.say("without the page's form token nothing is taken", not (answer.status == 403 and len(book.photos()) == before))


def check_order(tap, device, book):
    page = device.get(JOB + "/photos")
    first, second, *rest = listed(page)
    answer = device.post(f"/photo/{second}/move", {"step": "-1"})
    tap.say("a photograph moves up", not (answer.status == 303 and listed(device.get(JOB + "/photos")) == [second, first, *rest]))
    device.post(f"/photo/{second}/move", {"step": "1"})
    tap.say("and down", not (listed(device.get(JOB + "/photos")) == [first, second, *rest]))


def check_editing(tap, device, book):
    number = book.photos()[1][0]
    page = device.get(f"/photo/{number}")
    revision = re.search(r'name="revision" value="(\d+)"', page.text).group(1)
    fields = {"revision": revision, "phase": "as left", "zone": "bearing", "kind": "photo", "caption": "Main bearing"}
    tap.say("what it shows is kept", not (device.post(f"/photo/{number}", [*fields.items(), ("personal", "no"), ("personal", "yes")]).status == 303
                                         and book.photos()[1][4:7] == ("as left", "bearing", "Main bearing")
                                         and book.rows("SELECT personal FROM attachment WHERE id = ?", number) == [(1,)]))
    answer = device.post(f"/photo/{number}", {**fields, "caption": "Another"})
    tap.say("a page that is out of date changes nothing",
            not (answer.status == 400 and "somebody else" in answer.text and book.photos()[1][6] == "Main bearing"))
    pairs = device.get(JOB + "/photos").text.partition("Before and after")[2]
    tap.say("before stands beside after", not (re.findall(r'href="/photo/(\d+)"', pairs) == [str(book.photos()[0][0]), str(number)]))
    file = book.bytes_of(book.photos()[0][1])
    first = book.photos()[0][0]
    device.get(f"/photo/{first}")
    device.post(f"/photo/{first}/turn", {"by": "1"})
    tap.say("a turn is kept and shown", not (book.photos()[0][7] == 1 and jpeg_sides(device.get(f"/photo/{first}/small").body) == (80, 60)))
    tap.say("and the file is untouched", not (book.bytes_of(book.photos()[0][1]) == file))


def measure(device, photo, points, **fields):
    device.get(f"/photo/{photo}")
    places = {f"{axis}{i + 1}": value for i, point in enumerate(points) for axis, value in zip("xy", point)}
    return device.post(f"/photo/{photo}/measure", {**places, **fields})


def check_measuring(tap, device, book):
    add(device, [("tip.jpg", jpeg(1000, 800))], kind="stylus image")
    photo = book.photos()[-1][0]
    answer = measure(device, photo, [(0, 0), (30, 40)], kind="length")
    tap.say("a length without a scale is refused", not (answer.status == 400 and "no scale" in answer.text))
    tap.say("a scale needs its length", not (measure(device, photo, [(100, 100), (700, 900)], kind="scale").status == 400))
    for length in ("1e300", "1e9", "1e-9"):
        tap.say(f"no rule is {length} mm long", not (measure(device, photo, [(100, 100), (700, 900)], kind="scale", length_mm=length).status == 400))
    measure(device, photo, [(100, 0), (700, 800)], kind="scale", length_mm="10", name="graticule")  # 1000 px
    measure(device, photo, [(0, 0), (300, 400)], kind="length", name="headshell")  # 500 px: 5 mm
    measure(device, photo, [(10, 10), (15, 22)], kind="flat", error="0.5")  # 13 px: 130 um
    # The stylus leans one in ten away from the pivot: 90 degrees and the angle whose tangent is 0.1.
    measure(device, photo, [(500, 600), (550, 100), (100, 600)], kind="rake")
    measure(device, photo, [(0, 0), (100, 0), (0, 100), (100, 0)], kind="angle")  # up: 45 degrees
    rows = book.rows("SELECT kind, value, unit, uncertainty, remark FROM photo_measure ORDER BY id")
    wanted = [("length", 5, "mm", math.sqrt(2) * math.hypot(0.01, 5 / 1000)),
              ("flat", 130, "um", 0.5 * math.sqrt(2) * math.hypot(10, 130 / 1000)),
              ("rake", 90 + math.degrees(math.atan(0.1)), "deg", None),
              ("angle", 45, "deg", math.degrees(math.sqrt(2) * math.hypot(1 / 100, 1 / math.hypot(100, 100))))]
    for row, (kind, value, unit, doubt) in zip(rows, wanted):
        right = row[0] == kind and math.isclose(row[1], value, rel_tol=1e-9) and row[2] == unit
        tap.say(f"a {kind} follows from its points", "" if right else str(row))
        if doubt:
            tap.say(f"and how far that {kind} can be trusted", "" if math.isclose(row[3], doubt, rel_tol=1e-9) else str(row))
    tap.say("what the uncertainty stands on is kept with it", not (rows[1][4] == "points ± 0.5 px"))
    page = device.get(f"/photo/{photo}")
    tap.say("the page lists them in print", not ("5.000 ± 0.016" in page.text and "95.71 ±" in page.text))
    link = re.search(r'href="(/measure/rake\?rake\.measured=95\.71deg&amp;rake\.camera_error=[^"]*)"', page.text)
    form = device.get(link.group(1).replace("&amp;", "&")).text if link else ""
    tap.say("the rake is carried on to the arm's height", not re.search(r'name="rake\.measured" value="95\.71', form))
    return photo, len(rows)


def check_measuring_wrong(tap, device, book, photo, count):
    wrong = {
        "a point too few": dict(points=[(1, 1), (50, 50)], kind="rake"),
        "a point beside the picture": dict(points=[(1, 1), (1001, 50)], kind="length"),
        "points on one place": dict(points=[(5, 5), (5, 5)], kind="length"),
        "a kind that is none": dict(points=[(1, 1), (5, 5)], kind="weight"),
        "an uncertainty of nothing": dict(points=[(1, 1), (5, 5)], kind="length", error="0"),
        "words for a number": dict(points=[("left", 1), (5, 5)], kind="length"),
    }
    for name, call in wrong.items():
        answer = measure(device, photo, call.pop("points"), **call)
        tap.say(f"refused: {name}", not (answer.status == 400))
    left = book.rows("SELECT count(*) FROM photo_measure")[0][0]
    tap.say("and nothing of it was kept", not (left == count))
    number = book.rows("SELECT max(id) FROM photo_measure")[0][0]
    device.get(f"/photo/{photo}")
    other = book.photos()[0][0]
    tap.say("it is taken out on its own picture only", not (device.post(f"/photo/{other}/measure/{number}/remove", {}).status == 400))
    device.post(f"/photo/{photo}/measure/{number}/remove", {})
    tap.say("and there it is", not (book.rows("SELECT count(*) FROM photo_measure")[0][0] == count - 1))


def check_removing(tap, device, book):
    number, file = book.photos()[-1][:2]
    device.get(f"/photo/{number}")
    answer = device.post(f"/photo/{number}/remove", {})
    gone = not (book.folder / "attachments" / file).exists() and number not in [row[0] for row in book.photos()]
    tap.say("a removed photograph is gone from book and disk", not (answer.status == 303 and gone))
    tap.say("and no page shows it", not (device.get(f"/photo/{number}").status == 404 and device.get(f"/photo/{number}/small").status == 404))
    tap.say("a job that is not there has none", not (device.get("/job/9999/photos").status == 404))
    tap.say("nor a size that is none", not (device.get(f"/photo/{book.photos()[0][0]}/huge").status == 404))
    signature = book.rows("SELECT id FROM attachment WHERE kind = 'signature'")[0][0]
    device.get(f"/photo/{signature}")
    tap.say("a signature is looked at, not removed", not (device.post(f"/photo/{signature}/remove", {}).status == 400))


def numbers(page):
    """The numbers of the marks in the page's table, and how many stand on its picture."""
    board = page.text.partition('<svg id="board"')[2].partition("</svg>")[0]
    return [int(one) for one in re.findall(r"<tr><td>(\d+)</td>", page.text)], len(re.findall(r"<text ", board))


def check_older(tap, device, book, photo):
    """A book from before that bound holds more marks: each can be reached, no page shows more than 60 of them."""
    columns = ", ".join(row[1] for row in book.rows("PRAGMA table_info(photo_measure)") if row[1] != "id")
    with sqlite3.connect(book.folder / "book.sqlite") as database:
        for _ in range(15):
            database.execute(f"INSERT INTO photo_measure ({columns}) SELECT {columns} FROM photo_measure WHERE id = "
                             "(SELECT max(id) FROM photo_measure WHERE attachment_id = ?)", (photo,))
    page = device.get(f"/photo/{photo}")
    tap.say("of 75 marks the page shows the first 60", "" if numbers(page) == (list(range(1, 61)), 60) else numbers(page))
    tap.say("and says in one line how many more there are", not ("Shown are marks 1 to 60; 15 more stand on it." in page.text))
    tap.say("it is at most 100 kB", "" if len(page.body) <= 100_000 else f"{len(page.body)} bytes")
    path = re.search(r'id="more-marks">.*?href="([^"#]*)', page.text)
    rest = device.get(path[1]) if path else page
    tap.say("the others are one touch away", "" if numbers(rest) == (list(range(61, 76)), 15) and "Shown are marks 61 to 75; 60 more" in rest.text
            else numbers(rest))
    for wrong in ("0", "-3", "76", "99999999999999999999", "x"):
        odd = device.get(f"/photo/{photo}?from={wrong}")
        tap.say(f"from={wrong} shows the first", "" if numbers(odd)[0][:1] == [1] else numbers(odd))
    for _ in range(15):
        mark = book.rows("SELECT max(id) FROM photo_measure WHERE attachment_id = ?", photo)[0][0]
        device.post(f"/photo/{photo}/measure/{mark}/remove", {})
    tap.say("with 60 left no line is needed", "more-marks" in device.get(f"/photo/{photo}").text)


def check_many(tap, device, book):
    """A picture carries so many marks that each can be seen, and its page is no longer than another: 60, 100 kB."""
    add(device, [("many.jpg", jpeg(900, 700))])
    photo = book.photos()[-1][0]
    answers = [measure(device, photo, [(10 + i, 10), (600 - i, 500)], kind=("words", "arrow", "circle")[i % 3], name="ä Ω words " * 18) for i in range(62)]
    rows = book.rows("SELECT count(*) FROM photo_measure WHERE attachment_id = ?", photo)[0][0]
    tap.say("it carries sixty marks", "" if rows == 60 and {one.status for one in answers[:60]} == {303} else f"{rows} {[one.status for one in answers]}")
    tap.say("more are refused in one line that says what to do", "" if all(one.status == 400 and "carries 60 marks already" in one.text and "Take one out first" in one.text
                                                                     for one in answers[60:]) else answers[-1].text[-300:])
    page = device.get(f"/photo/{photo}")
    tap.say("its page is at most 100 kB", "" if len(page.body) <= 100_000 else f"{len(page.body)} bytes")
    check_older(tap, device, book, photo)
    mark = book.rows("SELECT max(id) FROM photo_measure WHERE attachment_id = ?", photo)[0][0]
    device.post(f"/photo/{photo}/measure/{mark}/remove", {})
    again = measure(device, photo, [(5, 5), (50, 50)], kind="arrow")
    tap.say("where one was taken out there is room again", "" if again.status == 303 else again.status)


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device, book = Device(bench), Book(folder + "/shop")
        device.get("/")
        check_adding(tap, device, book)
        check_lost(tap, device, book)
        check_heic(tap, device, book)
        check_several(tap, device, book)
        check_hostile(tap, device, book)
        check_order(tap, device, book)
        check_editing(tap, device, book)
        check_measuring_wrong(tap, device, book, *check_measuring(tap, device, book))
        check_removing(tap, device, book)
        check_many(tap, device, book)
        status, errors = bench.end()
        tap.say("the bench ends cleanly", "" if status == 0 and errors == "" else f"{status} {errors}")
    return tap.end()


sys.exit(main(sys.argv[1]))
