#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Who may come in, who is turned away, and that a refused request changed nothing."""
import contextlib
import html
import json
import pathlib
import re
import sqlite3
import subprocess
import sys
import tempfile

from bench import PATIENCE, Bench, Device, Tap

PASSWORD = "rumble below the groove"
NAME = "shop.example"


def settings(bench):
    return bench.call("book", "settings").stdout


def devices(bench):
    return json.loads(bench.call("bench", "devices", "--json").stdout)


def enter(device, password=PASSWORD, name="tablet", to="/"):
    device.get("/enter")
    return device.post("/enter", {"password": password, "device": name, "to": to})


def check_start(tap, program, folder):
    def refused(*operands):
        done = subprocess.run([program, "bench", "port=0", *operands, "--book", folder], capture_output=True, text=True,
                              check=False, timeout=PATIENCE)
        return done.returncode, done.stderr

    subprocess.run([program, "book", "new", "--book", folder], check=True, stdout=subprocess.DEVNULL)
    code, line = refused("listen=0.0.0.0")
    tap.say("without a password it listens to this computer alone",
            not (code == 2 and "bench password" in line and line.count("\n") == 1))
    code, line = refused("certificate=/nowhere/shop.pem")
    tap.say("a certificate without its key is refused", not (code == 2 and "key=" in line and line.count("\n") == 1))
    code, line = refused("certificate=/nowhere/shop.pem", "key=/nowhere/shop.key")
    tap.say("a certificate that cannot be read is refused in one line",
            not (code == 2 and "/nowhere/shop.pem" in line and line.count("\n") == 1))
    short = subprocess.run([program, "bench", "password", "--book", folder], input="short\n", capture_output=True,
                           text=True, check=False)
    tap.say("a short password is refused", not (short.returncode == 2 and "8 characters" in short.stderr))


def check_places(tap, bench):
    here, away = Device(bench), Device(bench, NAME)
    tap.say("this computer needs nothing", not (here.get("/shop").status == 200))
    answer = away.get("/shop/settings")
    tap.say("another device is shown the door",
            not (answer.status == 303 and answer.headers["Location"] == "/enter?to=/shop/settings"))
    answer = away.get("/shop", Accept="application/json")
    tap.say("its script is told so", not (answer.status == 401 and not json.loads(answer.text)["kept"]))
    for name in ("X-Forwarded-For", "Forwarded", "Via", "X-Real-IP"):
        answer = here.get("/shop", **{name: "127.0.0.1"})
        tap.say(f"what {name} passes on is not this computer", not (answer.status == 303))
    for host, known in ((f"localhost:{bench.port}", 200), (f"LOCALHOST:{bench.port}", 200), (f"{NAME}:{bench.port}", 303),
                        ("localhost", 421), (f"localhost:{bench.port + 1}", 421), ("", 421), (f"evil.example:{bench.port}", 421),
                        (f"127.0.0.1:{bench.port}x", 421), (f"127.0.0.1.evil.example:{bench.port}", 421), (f"0.0.0.0:{bench.port}", 421),
                        (f"0:{bench.port}", 421), (f"[::1]:{bench.port}", 421), (f"2130706433:{bench.port}", 421), (f"{NAME}.:{bench.port}", 421)):
        tap.say(f"the host '{host}' is answered {known}", not (Device(bench).get("/shop", Host=host).status == known))


CROSSED = {"Sec-Fetch-Site": "cross-site"}
LINK = {"Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}


def check_foreign(tap, bench):
    """What pages of other sites have a browser ask for, which sits at this computer or is paired."""
    here = Device(bench)
    style = re.search(r'href="(/look/[^"]+)"', here.get("/").text).group(1)
    tablet = Device(bench, NAME)
    enter(tablet, name="asks for others")
    own, ours = f"http://127.0.0.1:{bench.port}", f"http://{NAME}:{bench.port}"
    asked = (("/shop/settings", CROSSED | {"Sec-Fetch-Mode": "no-cors", "Sec-Fetch-Dest": "image"}), ("/shop/settings", CROSSED | LINK),
             ("/", CROSSED | {"Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "iframe"}), ("/", CROSSED | {"Sec-Fetch-Mode": "cors", "Sec-Fetch-Dest": "empty"}),
             ("/", {"Sec-Fetch-Site": "same-site", "Sec-Fetch-Mode": "no-cors", "Sec-Fetch-Dest": "script"}), ("/live", CROSSED),
             (style, CROSSED | {"Sec-Fetch-Mode": "no-cors", "Sec-Fetch-Dest": "style"}), ("/shop", {"Origin": "http://evil.example"}),
             ("/", {"Origin": "null"}), ("/shop", {"Referer": "http://evil.example/page"}), ("/shop", {"Referer": f"http://127.0.0.1:{bench.port}.evil.example/"}))
    for device, name in ((here, "this computer"), (tablet, "a paired device")):
        for path, headers in asked:
            said = " ".join(f"{key}: {value}" for key, value in headers.items()).replace(str(bench.port), "PORT")
            tap.say(f"{name} is refused {'a style' if path == style else path} for {said}", not (device.get(path, **headers).status == 403))
        tap.say(f"a link elsewhere leads {name} to the board", not (device.get("/", **CROSSED, **LINK).status == 200))
        tap.say(f"so does an old browser's on {name}", not (device.get("/", Referer="http://evil.example/page").status == 200))
        for headers in ({"Sec-Fetch-Site": "none"} | LINK, {"Sec-Fetch-Site": "same-origin"}, {"Referer": (own if device is here else ours) + "/shop"}):
            tap.say(f"our own page or a bookmark opens all on {name}", not (device.get("/shop/settings", **headers).status == 200))
    for path in ("/", "/shop/settings", style, "/nothing", "/shop/logo"):
        headers = here.get(path).headers
        tap.say(f"{'a style' if path == style else path} stands in no frame and no other site's page",
                not (headers["X-Frame-Options"] == "DENY" and "frame-ancestors 'none'" in headers["Content-Security-Policy"]
                     and headers["Cross-Origin-Resource-Policy"] == "same-origin"))
    number = devices(bench)[-1]["id"]
    bench.call("bench", "revoke", str(number))


def check_forms(tap, bench):
    here, before = Device(bench), settings(bench)
    here.get("/shop/settings")
    change = {"value": "Somebody Else's Shop"}
    path = "/shop/settings/shop.name"
    good, cookies = here.form_token, dict(here.cookies)
    here.form_token = ""
    tap.say("a form without its form token is refused", not (here.post(path, change).status == 403))
    here.form_token = "0" * 64
    tap.say("so is one with a wrong form token", not (here.post(path, change).status == 403))
    stranger = Device(bench)
    stranger.get("/shop/settings")
    here.form_token = stranger.form_token
    tap.say("so is one with another session's", not (here.post(path, change).status == 403))
    here.form_token, here.cookies = good, {}
    tap.say("so is one without its session", not (here.post(path, change).status == 403))
    here.form_token, here.cookies = good, cookies
    for origin in ("http://evil.example", f"https://127.0.0.1:{bench.port}", "null", f"http://127.0.0.1:{bench.port + 1}"):
        tap.say(f"a form from {origin} is refused", not (here.post(path, change, {"Origin": origin}).status == 403))
    tap.say("a browser that says it comes from another site is believed",
            not (here.post(path, change, {"Sec-Fetch-Site": "cross-site"}).status == 403))
    answer = here.ask("POST", path, '{"value":"x"}', {"Content-Type": "application/json", "Deckwright-Form-Token": good})
    tap.say("what is no form is refused", not (answer.status == 415))
    answer = here.post(path, {"value": "x" * (3 << 20)})
    tap.say("a field that is too long is refused", not (answer.status == 413))
    answer = here.post(path, [("value", "x"), *((f"n{i}", "y" * 60000) for i in range(80))])
    tap.say("so is a form that is", not (answer.status == 413))
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "FROB"):
        tap.say(f"{method} is no way to ask", not (here.ask(method, path).status == 405))
    tap.say("what is only asked for cannot be posted to", not (here.post("/shop/about", {}).status == 405))
    tap.say("what is only posted to cannot be asked for", not (here.get("/shop/check").status == 405))
    tap.say("none of this changed anything", not (settings(bench) == before))
    kept = here.post(path, change, {"Origin": f"http://127.0.0.1:{bench.port}", "Sec-Fetch-Site": "same-origin"})
    tap.say("the form as it was is kept", not (kept.status == 303 and "Somebody Else's Shop" in settings(bench)))
    head = here.ask("HEAD", "/shop")
    tap.say("HEAD is answered without the page", not (head.status == 200 and head.body == b"" and int(head.headers["Content-Length"]) > 1000))
    tap.say("a head that is too large is refused", not (here.get("/", Accept="x" * 30000).status == 431))
    tap.say("so is an address that is too long", not (here.get("/" + "x" * 5000).status == 414))
    style = re.search(r'href="(/look/[^"]+)"', here.get("/").text).group(1)
    fresh = Device(bench)
    tap.say("a style sheet begins no session", not (fresh.get(style).status == 200 and not fresh.cookies))
    worker = fresh.get("/worker.js")
    tap.say("nor does the app's worker, which is asked for anew each time", not (worker.status == 200 and not fresh.cookies
            and worker.headers["Cache-Control"] == "no-store" and "javascript" in worker.headers["Content-Type"]))
    tap.say("nor does what is not there", not (fresh.get("/favicon.ico").status == 404 and not fresh.cookies))


def check_paths(tap, bench, tablet):
    """A paired device names no place on the bench computer's disk, and learns of none."""
    keys = [line.split()[0] for line in settings(bench).splitlines() if re.match(r"[a-z]+\.[a-z_]+ ", line)]
    tap.say("the settings are listed", not (len(keys) > 20 and {"backup.folder", "paper.words", "shop.logo"} <= set(keys)))
    # A folder in which no backup can be, and files that are there until they were set.
    here, hidden, files = Device(bench), str(bench.folder / "book.sqlite" / "hidden place"), []
    here.get("/shop/settings")
    logo = re.search(r"^shop\.logo +Logo *(.*)", settings(bench), re.M).group(1)
    for key in ("backup.folder", "paper.words", "shop.logo"):
        for name in ("hidden place-first", f"hidden place-{key}"):
            value = str((bench.folder / "book.sqlite" if key == "backup.folder" else bench.folder.parent) / name)
            if key != "backup.folder":
                files.append(pathlib.Path(value))
                files[-1].write_bytes(b"\x89PNG\r\n\x1a\n")
            tap.say(f"the bench computer sets {key}", not (here.post(f"/shop/settings/{key}", {"value": value}).status == 303))
        for value in ("/dev/zero", "/etc/passwd", ""):
            answer = tablet.post(f"/shop/settings/{key}", {"value": value})
            tap.say(f"a device does not set {key} to '{value}'", not (answer.status == 400 and (not value or "set there alone" in answer.text)))
        with contextlib.closing(sqlite3.connect(bench.folder / "book.sqlite")) as book:
            line = book.execute("SELECT max(id) FROM journal WHERE entity = 'setting'").fetchone()[0]
        answer = tablet.post(f"/undo/{line}/{line}", {"back": "/shop/settings"})
        tap.say(f"nor puts {key} back to what it was", not (answer.status == 400 and "hidden place" not in answer.text))
    for path in set(files):
        path.unlink()
    for page in ("/shop/settings", "/shop/backup", "/shop"):
        tap.say(f"{page} tells a device no path", not ("hidden place" not in tablet.get(page).text))
    tablet.get("/shop/backup")
    answer = tablet.post("/shop/backup", {})
    tap.say("nor does a backup that fails", not (answer.status != 303 and "hidden" not in answer.text and "…" in answer.text))
    tap.say("the bench computer is told which", not (hidden in here.post("/shop/backup", {}).text))
    bench.call("customer", "add", "name=A. Sample")
    bench.call("deck", "add", "make=Example", "model=One")
    bench.call("job", "open", "customer_id=1", "deck_id=1")
    for page in ("/job/0001/sign", "/job/0001/paper/receipt"):
        tap.say(f"nor does {page}, whose words are gone", not ("hidden" not in tablet.get(page).text and "…" in tablet.get(page).text))
        tap.say(f"the bench computer is told them at {page}", not ("hidden" in here.get(page).text))
    bench.call("book", "settings", "backup.folder=", "paper.words=")
    here.post("/shop/settings/shop.logo", {"value": logo})  # the command line would take the picture into the book


def check_devices(tap, bench):
    tablet = Device(bench, NAME)
    door = tablet.get("/enter?to=/shop/settings")
    session = tablet.cookies["deckwright-session"]
    tap.say("the door asks for the password", not ('type="password"' in door.text and 'value="/shop/settings"' in door.text))
    for to in ("//evil.example", "http://evil.example/", "/\\evil", "/shop/../x", "/nothing"):
        text = tablet.get("/enter?to=" + to.replace("\\", "%5C")).text
        tap.say(f"it leads to no page like {to}", not ('name="to" value="/"' in text))
    wrong = enter(tablet, "not the password")
    tap.say("a wrong password stays outside", not (wrong.status == 403 and tablet.get("/shop").status == 303 and devices(bench) == []))
    right = enter(tablet, to="/shop/settings")
    cookie = right.headers["Set-Cookie"]
    tap.say("the right one comes in", not (right.status == 303 and right.headers["Location"] == "/shop/settings"))
    tap.say("it gets a session of its own, for long",
            not (tablet.cookies["deckwright"] != session and "HttpOnly" in cookie and "SameSite=Strict" in cookie
                 and "Max-Age=34560000" in cookie and cookie.count("deckwright=") == 1))
    came = Device(bench, NAME)  # the same browser by a link elsewhere, which brings no cookie
    came.get("/", **CROSSED, **LINK)
    came.get("/enter")
    tap.say("a link elsewhere takes no device's token away", not ("deckwright-session" in came.cookies and "deckwright" not in came.cookies))
    tap.say("it is known now", not (tablet.get("/shop").status == 200))
    dump = subprocess.run(["grep", "-c", tablet.cookies["deckwright"], str(bench.folder / "book.sqlite")], capture_output=True, text=True, check=False)
    tap.say("the book does not hold its token", not (dump.stdout.strip() == "0"))
    tap.say("nor the password", not (subprocess.run(["grep", "-qa", PASSWORD, str(bench.folder / "book.sqlite")], check=False).returncode == 1))
    tap.say("nor does a listing show the key", not ("token" not in bench.call("bench", "devices").stdout))
    tablet.get("/shop/settings")
    tablet.post("/shop/settings/shop.phone", {"value": "0100 200300"})
    tap.say("the journal names the device", not ("tablet setting" in bench.call("book", "journal", "setting").stdout))
    before = settings(bench)
    check_paths(tap, bench, tablet)
    tap.say("nothing was set by it", not (settings(bench) == before))
    number = devices(bench)[0]["id"]
    here = Device(bench)
    listed = here.get("/shop/devices")
    tap.say("it is listed with when it was seen", not ("tablet" in listed.text and "UTC" in listed.text))
    gone = here.post(f"/shop/devices/{number}/revoke", {})
    tap.say("sent away it stays outside", not (gone.status == 303 and tablet.get("/shop").status == 303))
    tablet.form_token = "0" * 64
    tap.say("and can post nothing", not (tablet.post("/shop/settings/shop.name", {"value": "x"}).status == 401))
    tap.say("sending it away twice is refused", not (here.post(f"/shop/devices/{number}/revoke", {}).status == 400))
    phone = Device(bench, NAME)
    enter(phone, name="phone")
    phone.get("/shop")
    tap.say("a device leaves by itself", not (phone.post("/leave", {}).headers["Location"] == "/enter" and phone.get("/shop").status == 303))
    here.get("/shop")
    tap.say("the bench computer cannot", not (here.post("/leave", {}).status == 400))
    enter(phone, name="phone")
    tap.say("the command line sends away too",
            not (phone.get("/shop").status == 200 and bench.call("bench", "revoke", str(devices(bench)[-1]["id"])).returncode == 0
                 and phone.get("/shop").status == 303))


def check_files(tap, bench):
    """A file is written only for a device that is known, and is gone afterwards."""
    here, away = Device(bench), Device(bench, NAME)
    png = b"\x89PNG\r\n\x1a\n" + b"\0" * 5000
    away.get("/enter")
    tap.say("an unknown device sends no file", not (away.send("/shop/logo", {}, [("logo", "l.png", png)]).status == 401))
    here.get("/shop/settings")
    tap.say("a file that is no picture is refused",
            not (here.send("/shop/logo", {}, [("logo", "logo.png", b"<svg onload=alert(1)>")]).status == 415))
    tap.say("so are more than 32 files", not (here.send("/shop/logo", {}, [("logo", "l.png", png)] * 40).status == 413))
    enter(away, name="camera")
    away.get("/shop/settings")
    sent = away.send("/shop/logo", {}, [("logo", "../../l\u00f8go\x01.png", png)])
    back = away.get("/shop/logo")
    tap.say("a paired device's file is kept", not (sent.status == 303 and back.status == 200 and back.body == png))
    tap.say("none is left behind", not (list((bench.folder / "incoming").iterdir()) == []))


def check_pairing(tap, bench):
    tablet = Device(bench, NAME)
    enter(tablet, name="tablet 2")
    page = tablet.get("/shop/pair?to=/shop/settings")
    address = html.unescape(re.search(r'class="address">([^<]+)<', page.text).group(1))
    code = address.rsplit("/", 1)[1]
    tap.say("the code's address is the one by which the tablet came", not (address == f"http://{NAME}:{bench.port}/pair/{code}" and len(code) == 32))
    tap.say("it is drawn too", not ('<svg class="code"' in page.text))
    phone, other = Device(bench, NAME), Device(bench, NAME)
    shown = phone.get(f"/pair/{code}")
    other.get(f"/pair/{code}")
    tap.say("the phone has one button to press", not (shown.status == 200 and shown.text.count("<button") == 1))
    paired = phone.post(f"/pair/{code}", {"device": "phone 2"})
    tap.say("and is in, at the page that was meant",
            not (paired.headers["Location"] == "/shop/settings" and phone.get("/shop").status == 200))
    tap.say("the code is for one device", not (other.post(f"/pair/{code}", {"device": "x"}).status == 410 and other.get(f"/pair/{code}").status == 410))
    tap.say("a guessed code is none", not (other.get("/pair/" + "0" * 32).status == 410))
    away = Device(bench).get("/shop/pair?to=//evil.example")
    tap.say("at the bench it shows the address of the network or the name", not (f"{NAME}:{bench.port}/pair/" in away.text))
    return tablet, code


def check_restart(tap, program, folder, bench, tablet):
    tablet.get("/shop/settings")
    port, old_token = bench.port, tablet.form_token
    status, errors = bench.end()
    tap.say("it ends cleanly", not (status == 0 and errors == ""))
    bench = Bench(program, folder, f"name={NAME}", "listen=0.0.0.0", port=port)
    tablet.bench = bench
    tap.say("a paired device is known after the bench was started again", not (tablet.get("/enter").status == 303))
    tablet.form_token = old_token
    answer = tablet.post("/shop/settings/shop.name", {"value": "x"})
    tap.say("a form from before says so and changes nothing", not (answer.status == 403 and "started again" in answer.text))
    tablet.get("/shop/password")
    answer = tablet.post("/shop/password", {"current": "wrong wrong", "password": "a new long one", "again": "a new long one"})
    tap.say("the password is not changed without the old one", not (answer.status == 403))
    answer = tablet.post("/shop/password", {"current": PASSWORD, "password": "a new long one", "again": "another one"})
    tap.say("nor to two that differ", not (answer.status == 400))
    answer = tablet.post("/shop/password", {"current": PASSWORD, "password": "a new long one", "again": "a new long one"})
    tap.say("with it, it is", not (answer.status == 303 and enter(Device(bench, NAME), "a new long one").status == 303))
    return bench


def check_limit(tap, bench):
    """Four wrong ones are free; then each costs a pause, whoever asks from that address."""
    door = Device(bench, NAME)
    statuses = [enter(door, "wrong one here").status for _ in range(8)]
    tap.say("guessing is slowed down", not (403 in statuses and statuses[-1] == 429))
    late = enter(door, "a new long one")
    tap.say("then the right one must wait too", not (late.status == 429 and int(late.headers["Retry-After"]) >= 1 and "Wait" in late.text))
    tap.say("this computer is not kept out by it", not (Device(bench).get("/shop").status == 200))


def check_crowd_of_guessers(tap, bench, password):
    """Many who guess shut out neither a new device of the shop nor one that is known."""
    known = Device(bench, NAME)
    enter(known, password, "known")
    tap.say("a device is paired before", not (known.get("/shop").status == 200))
    for number in range(45):
        guesser = Device(bench, NAME, f"127.0.7.{number + 1}")
        enter(guesser, "a wrong one")
    fresh = Device(bench, NAME, "127.0.8.1")
    tap.say("among guessers a new device comes in by the password", not (enter(fresh, password, "fresh").status == 303 and fresh.get("/shop").status == 200))
    tap.say("one of them that is wrong again must wait",
            not ([enter(guesser, "a wrong one").status for _ in range(3)][-1] == 429))
    shared = Device(bench, NAME, "127.0.7.45")
    shared.cookies = dict(known.cookies)
    shared.get("/shop/password")
    answer = shared.post("/shop/password", {"current": password, "password": password, "again": password})
    tap.say("a known device at a guesser's address is not kept out", not (answer.status == 303))


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder:
        check_start(tap, program, folder + "/start")
        shop = folder + "/shop"
        with Bench(program, shop, f"name={NAME}", password=PASSWORD) as inner:
            page = Device(inner).get("/shop/pair")
            tap.say("on loopback the page says how a phone can reach it",
                    not ("listen=0.0.0.0" in page.text and "/pair/" not in page.text.split("<main")[1]))
        bench = Bench(program, shop, f"name={NAME}", "listen=0.0.0.0")
        try:
            check_places(tap, bench)
            check_forms(tap, bench)
            check_devices(tap, bench)
            check_foreign(tap, bench)
            check_files(tap, bench)
            tablet, _ = check_pairing(tap, bench)
            bench = check_restart(tap, program, shop, bench, tablet)
            check_crowd_of_guessers(tap, bench, "a new long one")
            check_limit(tap, bench)
            status, errors = bench.end()
            tap.say("it ends cleanly again", not (status == 0 and errors == ""))
            tap.say("the book is sound", not (bench.call("book", "check").returncode == 0))
        finally:
            if bench.process.poll() is None:
                bench.end()
    return tap.end()


sys.exit(main(sys.argv[1]))
