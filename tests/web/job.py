#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A whole job by forms alone, from intake to hand-over: each station's state, undo, two devices, hostile names."""
import datetime
import html
import json
import re
import sys
import tempfile
import urllib.parse

from bench import Bench, Device, Tap

HOSTILE = "<script>alert('x')</script> & \"quoted\" 🎛️"
LONG = "long " * 800  # 4,000 characters
PARTS = ["intake", "safety", "as-received", "findings", "estimate", "work", "set-up", "as-left", "papers", "state"]


class Page:
    """What a person sees and can press, by names and labels, without running anything."""

    def __init__(self, text):
        self.text = text

    def forms(self):
        """(action, method, fields of the form as a browser would send them) of each form."""
        for found in re.finditer(r"<form ([^>]*)>(.*?)</form>", self.text, re.S):
            attributes, inside = found.groups()
            action = html.unescape(re.search(r'action="([^"]*)"', attributes).group(1))
            yield action, inside

    def form(self, action, number=0):
        return [inside for path, inside in self.forms() if path == action][number]

    @staticmethod
    def fields(inside):
        fields = {}
        for found in re.finditer(r"<(textarea|select)([^>]*)>(.*?)</(?:textarea|select)>|<(input)([^>]*)>", inside, re.S):
            tag, attributes, text = found.group(1) or "input", found.group(2) or found.group(5), found.group(3)
            name = re.search(r'name="([^"]*)"', attributes)
            if not name or ("checkbox" in attributes or "radio" in attributes) and " checked" not in attributes:
                continue
            value = re.search(r'value="([^"]*)"', attributes)
            if tag == "textarea":
                fields[name.group(1)] = html.unescape(text)
            elif tag == "select":
                chosen = re.search(r'value="([^"]*)" selected', text) or re.search(r'value="([^"]*)"', text)
                fields[name.group(1)] = html.unescape(chosen.group(1)) if chosen else ""
            else:
                fields[name.group(1)] = html.unescape(value.group(1)) if value else "yes"
        return fields

    def stations(self):
        return {key: state for state, key in re.findall(r'<li class="station (\w+)"><a href="[^"]*#([a-z-]+)"', self.text)}


class Bench2:
    """A device on one job's page."""

    def __init__(self, device, path):
        self.device, self.path = device, path

    def page(self, query=""):
        """All parts of the job one after another, or the one that QUERY opens."""
        if query:
            return Page(self.device.get(self.path + query).text)
        return Page("".join(self.device.get(f"{self.path}?at={part}").text for part in PARTS))

    def submit(self, action, changes, query="", number=0):
        """Fills the form that posts to ACTION as it stands on the page with CHANGES, and sends it."""
        fields = Page.fields(self.page(query).form(action, number))
        fields.pop("form_token", None)
        return self.device.post(action, {**fields, **changes})

    def act(self, act, changes, number=0):
        return self.submit(f"{self.path}/{act}", changes, number=number)

    def add(self, entity, changes, number=0):
        return self.submit(f"/record/{entity}", changes, number=number)

    def change(self, entity, row, changes, query=""):
        """In the form of that record which has the first of the fields."""
        action, key = f"/record/{entity}/{row}", next(iter(changes))
        for path, inside in self.page(query).forms():
            if path == action and f'name="{key}"' in inside:
                fields = Page.fields(inside)
                fields.pop("form_token", None)
                return self.device.post(action, {**fields, **changes})
        raise AssertionError(f"no form of {entity} {row} has {key}")

    def station(self, key):
        return self.page().stations()[key]


def whole_journal(device, path):
    """All its pages, newest first."""
    text, number = "", 0
    while not number or f"?page={number + 1}" in page:
        number += 1
        page = device.get(f"{path}?page={number}").text
        text += page
    return text


def where(answer):
    return answer.headers.get("Location", "")


def expect(tap, name, answer, status=303, words=""):
    """That ANSWER has STATUS and says WORDS."""
    trouble = "" if answer.status == status else f"status {answer.status}: {re.sub('<[^>]*>', ' ', answer.text)[-300:]}"
    if words and words not in html.unescape(answer.text):
        trouble += f" without '{words}': {re.sub('<[^>]*>', ' ', answer.text)[-300:]}"
    tap.say(name, trouble)


def stands(tap, name, job, key, state):
    found = job.page().stations().get(key)
    tap.say(name, "" if found == state else f"{key} is {found}")


def begin(tap, device):
    nothing = device.get("/job/new")
    tap.say("a new job has a page", nothing.status != 200)
    expect(tap, "a job without any word of its deck is refused", device.post("/job/new", {"make": "", "words": ""}), 400,
           "Say which deck")
    made = device.post("/job/new", {"make": HOSTILE, "model": "Two", "serial": "S-99", "name": HOSTILE, "phone": "0123",
                                    "words": "It hums <b>left</b>.", "here": "yes"})
    expect(tap, "a job is opened", made)
    return Bench2(device, where(made))


def check_empty(tap, device):
    made = device.post("/job/new", {"model": "Bare"})
    job = Bench2(device, where(made))
    page = job.page()
    tap.say("a job of which only the deck is known has its page",
            "" if set(page.stations().values()) == {"open"} and "Owner not named yet" in page.text
            else f"its stations: {page.stations()}")
    expect(tap, "it is taken in later", job.act("take-in", {}))
    tap.say("and is received then", "" if "received" in job.page().text.split("</h1>")[1][:400] else "it is not")
    expect(tap, "it is taken in once", device.post(job.path + "/take-in", {}), 400)


def check_escaping(tap, job):
    text = job.page().text
    tap.say("a hostile name is words and no markup",
            "" if "<script>alert" not in text and html.escape(HOSTILE, quote=False)[:12] in text else "it is not escaped")
    tap.say("an emoji stands", "" if "🎛️" in text else "it is gone")
    expect(tap, "4,000 characters are kept", job.add("finding", {"symptom": LONG}))
    expect(tap, "and are removed again", job.device.post("/record/finding/" + newest(job, "finding") + "/remove",
                                                         {"back": job.path}))


def newest(job, entity):
    rows = re.findall(rf'id="{entity}-(\d+)"', job.page().text)
    return str(max(map(int, rows)))


def check_intake(tap, job):
    stands(tap, "the intake is open", job, "intake", "open")
    intake = newest(job, "intake")
    ticked = Page.fields(job.page().form(job.path + "/accessories"))
    ticked.pop("form_token")
    expect(tap, "accessories are ticked", job.device.post(job.path + "/accessories", {**ticked, "usual0": "yes"}))
    tap.say("what is ticked is listed", "" if re.search(r"<strong>cover</strong>", job.page().text) else "it is not")
    expect(tap, "one that was ticked wrongly is taken back", job.act("accessories", {"usual0": "no"}))
    both = [("usual1", "no"), ("usual1", "yes")]  # what a browser sends for a tick that is set
    expect(tap, "a tick is sent after what stands for none", job.device.post(job.path + "/accessories", both))
    tap.say("and counts", "" if re.search(r"<strong>mat</strong>", job.page().text) else "it does not")
    expect(tap, "flags are ticked", job.change("intake", intake, {"modified_mains": "yes"}))
    tap.say("and warn", "" if "mains wiring was altered" in job.page().text else "they do not")
    expect(tap, "a mark is set in the zone that was touched",
           job.submit("/record/mark", {"kind": "scratch", "note": "3 mm"}, query="?zone=7"))
    tap.say("the map counts it", "" if "1 mark" in job.page().text else "it does not")
    expect(tap, "no zone of that number is no page's trouble", job.device.get(job.path + "?zone=99"), 200)
    expect(tap, "the owner agrees to the list",
           job.change("intake", intake, {"none_other_received": "yes", "list_correct": "yes"}))
    stands(tap, "the intake is done", job, "intake", "done")
    expect(tap, "an amount of too many decimals is refused", job.change("intake", intake, {"ceiling": "12.345"}), 400)
    expect(tap, "a moment is kept on the shop's clock", job.change("intake", intake, {"at": "2026-02-03T10:15"}))
    tap.say("and shown so", "" if 'value="2026-02-03T10:15"' in job.page().text else "it is not")


def check_safety(tap, job):
    stands(tap, "safety is open", job, "safety", "open")
    expect(tap, "an item is judged unsafe", job.add("verdict", {"item": "mains lead", "grade": "unsafe", "aspect": "use",
                                                                "phase": "as received"}))
    stands(tap, "the line breaks at safety", job, "safety", "stale")
    tap.say("the head says so with its mark", "" if 'class="mark unsafe"' in job.page().text.split("</dl>")[0] else "no mark")
    expect(tap, "it cannot be made ready", job.device.post(job.path + "/move", {"state": "ready", "sure": "yes"}), 400, "unsafe")
    tap.say("and did not move", "" if "received" in job.page().text.split("</h1>")[1][:400] else "it did")
    expect(tap, "an acknowledgement without words is refused", job.act("acknowledge", {"words": ""}), 400, "what was said")
    expect(tap, "whoever was told is written down", job.act("acknowledge", {"words": "Do not plug it in."}))
    stands(tap, "safety is done", job, "safety", "done")
    expect(tap, "then it can be ready", job.device.post(job.path + "/move", {"state": "ready", "sure": "yes"}))
    expect(tap, "the item is made safe", job.add("verdict", {"item": "mains lead", "grade": "good", "aspect": "use",
                                                             "phase": "as left"}))
    expect(tap, "and the work goes on", job.device.post(job.path + "/move", {"state": "on the bench"}))


def check_bench(tap, job):
    stands(tap, "as received is open", job, "as-received", "open")
    expect(tap, "a reading without its name is refused", job.act("reading", {"value": "1.8 g"}), 400, "Say what was read")
    expect(tap, "a reading by hand is kept", job.act("reading", {"label": "Lid <hinge>", "value": "loose"}))
    stands(tap, "as received is done", job, "as-received", "done")
    stands(tap, "findings are open", job, "findings", "open")
    expect(tap, "a finding is added", job.add("finding", {"symptom": "hum, left"}))
    finding = newest(job, "finding")
    stands(tap, "a finding that was not tried leaves it open", job, "findings", "open")
    expect(tap, "its form opens in place", job.device.get(f"{job.path}?open=finding-{finding}"), 200)
    expect(tap, "and keeps", job.change("finding", finding, {"confirmed": "confirmed", "cause": "earth"},
                                        f"?open=finding-{finding}"))
    stands(tap, "findings are done", job, "findings", "done")
    return finding


def check_money(tap, job):
    stands(tap, "the estimate is open", job, "estimate", "open")
    expect(tap, "an estimate is started", job.act("estimate", {}))
    expect(tap, "it cannot be given out empty", job.act("issue-estimate", {}), 400, "no lines")
    expect(tap, "a line is added", job.add("estimate_line", {"name": "service", "minutes": "60", "price": "40"}))
    tap.say("its amount follows", "" if "40.00" in job.page().text else "it does not")
    expect(tap, "it is given out", job.act("issue-estimate", {}))
    stands(tap, "it is open until it is answered", job, "estimate", "open")
    expect(tap, "the owner's answer is written down", job.add("consent", {"answer": "agreed", "tier": "full",
                                                                          "how": "telephone"}))
    stands(tap, "the estimate is done", job, "estimate", "done")
    expect(tap, "another version", job.act("estimate", {}))
    stands(tap, "breaks the line there", job, "estimate", "stale")
    draft = newest(job, "estimate")
    expect(tap, "a draft is removed with its lines", job.device.post(f"/record/estimate/{draft}/remove", {"back": job.path}))
    stands(tap, "and the line is whole again", job, "estimate", "done")


def check_work(tap, job):
    expect(tap, "an operation is added", job.add("operation", {"name": "clean", "quoted_minutes": "30"}))
    stands(tap, "the work is open", job, "work", "open")
    expect(tap, "it is done now", job.act("done", {}))
    stands(tap, "the work is done", job, "work", "done")
    expect(tap, "what was agreed to is put on the bench", job.act("plan", {}))
    plan = job.page().text
    tap.say("as a plan with its steps", "" if "The plan: 0 of 1 done" in plan and "Done now: service" in plan else plan[-600:])
    expect(tap, "a step is left out with its reason", job.act("leave-out", {"left_out": "no time"}))
    tap.say("which is shown", "" if "no time" in job.page().text else "it is not")
    ticked = job.act("done", {})
    expect(tap, "it is ticked off", ticked)
    after = job.device.get(where(ticked).partition("#")[0])
    tap.say("and the page can undo that", "" if "The plan: 1 of 1 done" in after.text and "/undo/" in after.text else after.text[-600:])
    expect(tap, "the tick is taken away", job.act("undone", {}))
    expect(tap, "and set again", job.act("done", {}))
    expect(tap, "a point is oiled", job.add("lubrication", {"point": "main bearing", "lubricant": "oil", "drops": "2"}))
    expect(tap, "a part is fitted", job.add("part", {"name": "earth lead", "quantity": "1", "price": "3"}))
    expect(tap, "nothing of another job is finished from here",
           job.device.post(job.path + "/done", {"operation": "1"}), 400, "another job")
    expect(tap, "as left is measured", job.act("reading", {"label": "Lid <hinge>", "value": "firm"}, number=1))
    stands(tap, "as left is done", job, "as-left", "done")
    text = job.page().text
    tap.say("the two are held against one another", "" if "firm" in text and "loose" in text else "they are not")


def check_papers(tap, job):
    stands(tap, "the papers are open", job, "papers", "open")
    expect(tap, "an invoice is started", job.act("invoice", {"tier": "full"}))
    draft = newest(job, "invoice")
    expect(tap, "its day is changed", job.change("invoice", draft, {"due_on": "2099-01-01"}, f"?open=invoice-{draft}"))
    expect(tap, "and issued", job.act("issue-invoice", {}))
    stands(tap, "the papers are done", job, "papers", "done")
    journal = whole_journal(job.device, f"/journal/invoice/{draft}")
    tap.say("what was issued is not offered to be undone", "" if "To be paid by" in journal and "/undo/" not in journal else journal[-1500:])
    expect(tap, "a part of it is paid", job.add("payment", {"kind": "payment", "amount": "10", "method": "card"}))
    tap.say("the page says what is left", "" if "Left to pay: 38.00" in html.unescape(job.page().text).replace("\u00a0", " ")
            else re.sub("<[^>]*>", " ", job.page().text)[-1500:])
    expect(tap, "no more is taken than is left", job.add("payment", {"kind": "payment", "amount": "38.01"}), 400, "No more than 38.00")
    expect(tap, "it is paid", job.act("pay", {}))
    expect(tap, "a deposit has its form", job.add("payment", {"kind": "deposit", "amount": "5"}, number=1))
    deposit = re.sub(r"<details.*?</details>", "", job.page().text, flags=re.S)
    tap.say("and is listed", "" if "5.00" in re.sub("[^a-z0-9.]+", " ", re.sub("<[^>]*>", " ", deposit)).split() else "it is not")
    expect(tap, "a cancellation says why", job.act("cancel", {"why": ""}), 400, "Say why")
    expect(tap, "a credit note is started", job.act("credit", {}))
    stands(tap, "which leaves the papers done", job, "papers", "done")
    expect(tap, "and issued", job.act("issue-invoice", {}))
    tap.say("what was paid is to be paid back", "" if "To be paid back: 48.00" in html.unescape(job.page().text).replace("\u00a0", " ")
            else re.sub("<[^>]*>", " ", job.page().text)[-1500:])
    expect(tap, "its money goes back", job.add("payment", {"kind": "refund", "amount": "48"}))
    month = job.device.get(f"/shop/month/{datetime.date.today().isoformat()[:7]}/invoices")
    number = re.search(r"/shop/invoice/(\d+)/electronic", job.page().text)
    xml = job.device.get(f"/shop/invoice/{number.group(1)}/electronic") if number else None
    tap.say("an invoice goes out as XML", "" if xml and xml.status == 200 and "<cbc:ID>" in xml.text and "xml" in xml.headers["Content-Type"]
            else xml and xml.text[:300] or "it has no link")
    tap.say("one that is not there does not", "" if job.device.get("/shop/invoice/9999/electronic").status in (400, 404) else "it did")
    tap.say("the month has both", "" if ",invoice," in month.text and ",credit note," in month.text else month.text)
    expect(tap, "the owner is told", job.add("contact", {"how": "telephone", "words": "Ready on Friday."}))
    expect(tap, "the job is ready", job.act("move", {"state": "ready"}))
    expect(tap, "handed over without a signature it is asked about", job.act("move", {"state": "handed over"}), 200,
           "Nobody signed for it")
    tap.say("and has not moved", "" if "Move it to" in job.act("move", {"state": "handed over"}).text else "it moved")
    expect(tap, "and handed over", job.device.post(job.path + "/move", {"state": "handed over", "sure": "yes"}))
    tap.say("the board has it no more", "" if job.path not in job.device.get("/").text else "it has")


def check_undo(tap, job, finding):
    device = job.device
    kept = job.change("finding", finding, {"cause": "belt"}, f"?open=finding-{finding}")
    told = Page(device.get(where(kept).split("#")[0]).text)
    action = next((path for path, _ in told.forms() if path.startswith("/undo/")), None)
    tap.say("after a change the page offers to undo it", "" if action else "it does not")
    before = device.get(f"/journal/finding/{finding}").text
    undone = device.post(action, {"back": job.path})
    expect(tap, "it is undone", undone)
    tap.say("and the page says so", "" if "Undone." in device.get(where(undone)).text else where(undone))
    tap.say("an address says nothing that was not kept",
            "" if "class=\"word told\"" not in device.get(job.path + "?kept=1-1-<b>").text else "it does")
    page = device.get(f"{job.path}?open=finding-{finding}").text
    tap.say("what stood before stands again", "" if ">earth</textarea>" in page else "it does not")
    after = device.get(f"/journal/finding/{finding}").text
    tap.say("the journal keeps both", "" if after.count("<li") > before.count("<li") else "it does not")
    expect(tap, "what changed again since is not undone", device.post(action, {"back": job.path}), 400,
           "changed again since: it is now")
    expect(tap, "going back leads to no other site", device.post(action, {"back": "//elsewhere.example/"}), 400)
    expect(tap, "a removed finding", device.post(f"/record/finding/{finding}/remove", {"back": job.path}))
    journal = Page(device.get(job.path + "/journal").text)
    lines = [(path, inside) for path, inside in journal.forms() if path.startswith("/undo/")]
    expect(tap, "comes back", device.post(lines[0][0], {"back": job.path + "/journal"}))
    tap.say("with what it said", "" if "hum, left" in job.page().text else "it does not")
    tap.say("the journal says why a line cannot be undone",
            "" if "Cannot be undone: State is not typed" in whole_journal(device, job.path + "/journal") else "it does not")


def check_two_devices(tap, bench, job):
    first, second = job, Bench2(Device(bench), job.path)
    row = re.search(r'action="/record/job/(\d+)"', first.page().text).group(1)
    action = f"/record/job/{row}"
    fields = Page.fields(second.page().form(action))
    fields.pop("form_token")
    expect(tap, "one device keeps a place", first.change("job", row, {"place": "shelf 9"}))
    stale = second.device.post(action, {**fields, "place": "shelf 1"})
    expect(tap, "the other's older page is refused with words", stale, 400, "changed by somebody else meanwhile")
    tap.say("and nothing was lost", "" if 'value="shelf 9"' in first.page().text else "it was")
    said = first.device.post(action, {"place": "shelf 2"}, {"Accept": "application/json"})
    answer = json.loads(said.text)
    tap.say("a script is told the revision and the way back",
            "" if answer["kept"] and answer["undo"].startswith("/undo/") and answer["revision"] > 1 else said.text)
    undone = json.loads(first.device.post(answer["undo"], {}, {"Accept": "application/json"}).text)
    tap.say("and can take it", "" if undone["kept"] and 'value="shelf 9"' in first.page().text else undone)


def check_book(tap, device):
    for path in ("/book", "/book/customer", "/book/deck", "/book/arm", "/book/cartridge", "/book/stylus", "/book/stock",
                 "/book/test_record", "/book/instrument", "/book/chain", "/book/bound", "/book/belts", "/book/due",
                 "/book/deck/1", "/book/stock/1", "/book/instrument/1"):
        answer = device.get(path)
        tap.say(f"{path} is there", "" if answer.status == 200 else answer.status)
    expect(tap, "no other shelf is", device.get("/book/setting"), 404)
    expect(tap, "nor is an entry of none", device.get("/book/deck/9999"), 404)
    device.get("/book/stock")
    made = device.post("/record/stock", {"number": "X-1", "name": HOSTILE, "kind": "belt", "inner_length_mm": "59.5 cm"})
    expect(tap, "an item is added with a unit of its own", made)
    tap.say("it stands in the book's unit", "" if 'value="595"' in device.get(where(made).split("?")[0]).text else "no")
    expect(tap, "the same number twice is refused", device.post("/record/stock", {"number": "X-1", "name": "b"}), 400)
    tap.say("a belt within 2 % is found", "" if "X-1" in device.get("/book/belts?inner_length_mm=600").text else "no")
    tap.say("one beyond is not", "" if "X-1" not in device.get("/book/belts?inner_length_mm=610").text else "it is")
    expect(tap, "a length that is none is refused", device.get("/book/belts?inner_length_mm=long"), 400)
    stock = re.search(r"/book/stock/(\d+)", where(made)).group(1)
    expect(tap, "stock comes in", device.post("/record/stock_move", {"stock_id": stock, "change": "2", "why": "bought"}))
    expect(tap, "more than there is does not go out",
           device.post("/record/stock_move", {"stock_id": stock, "change": "-3"}), 400, "on hand")
    expect(tap, "evidence is not added by hand", device.post("/record/measurement", {"job_id": "1"}), 400)
    expect(tap, "an unknown kind is none", device.post("/record/nothing", {}), 404)


def check_care(tap, device):
    made = device.post("/record/customer", {"name": "Zoë Leaves", "email": "zoe@leaves.example"})
    expect(tap, "another's note names the person", device.post("/record/customer", {"name": "Theo Stays", "note": "Lives with Zoë Leaves, zoe@leaves.example."}))
    row = re.search(r"/book/customer/(\d+)", where(made)).group(1)
    given = device.get(f"/customer/{row}/export")
    tap.say("a person gets their data", "" if "Zoë Leaves" in json.dumps(json.loads(given.text), ensure_ascii=False) else "no")
    table = device.get(f"/customer/{row}/export?kind=customer")
    tap.say("also as a table", "" if table.headers["Content-Type"].startswith("text/csv") and "Zoë" in table.text else "no")
    expect(tap, "a path is no kind", device.get(f"/customer/{row}/export?kind=..%2Fbook"), 404)
    expect(tap, "another name erases nobody", device.post(f"/customer/{row}/erase", {"name": "Zoe"}), 400)
    erased = device.post(f"/customer/{row}/erase", {"name": "Zoë Leaves"})
    expect(tap, "the person is erased", erased, 200)
    tap.say("and it is told where else the person stood", "" if "“Note” held the erased “Email”, which is erased there too." in erased.text
            and "“Note” still holds the erased “Name”." in erased.text else erased.text[-900:])
    tap.say("and is gone, from the journal too",
            "" if "Zoë" not in device.get(f"/book/customer/{row}").text + device.get(f"/journal/customer/{row}").text
            else "the name stands")


def check_find(tap, device):
    tap.say("a job is found by its deck's serial", "" if "S-99" in device.get("/find?words=S-99").text else "no")
    hostile = device.get("/find?words=" + urllib.parse.quote('"><script>' + HOSTILE))
    tap.say("whatever is looked for is words", "" if hostile.status == 200 and "<script>alert" not in hostile.text else "no")
    expect(tap, "nothing is found for nothing", device.get("/find?words="), 200, "Nothing found")


def check_visit(tap, device):
    page = device.get("/job/new?with=0001").text
    tap.say("another deck of a visit needs no owner", "" if "It came in together with job 0001" in page and 'name="phone"' not in page else page[-700:])
    made = device.post("/job/new", {"with": "0001", "make": "Second", "here": "yes"})
    number = re.search(r"/job/(\d+)", where(made)).group(1)
    page = device.get(f"/job/{number}").text
    tap.say("its page leads to the others", "" if "Came in together with it" in page and 'href="/job/0001"' in page else page[:1500])
    tap.say("and theirs to it", "" if f'href="/job/{number}"' in device.get("/job/0001?at=intake").text else "no")
    expect(tap, "an invoice is started", device.post("/job/0001/invoice", {"tier": ""}))
    page = device.get("/job/0001?at=papers").text
    tap.say("which offers to bill the visit", "" if "/job/0001/invoice-visit" in page else "it does not")
    row = re.search(r'/job/0001/invoice-visit".*?name="invoice" value="(\d+)"', page, re.S).group(1)
    expect(tap, "and does", device.post("/job/0001/invoice-visit", {"invoice": row}))


def check_left(tap, device):
    """A deck that nobody fetched: its notices, what is missing, and what became of it."""
    device.get("/shop/settings")
    for key, value in (("storage.notices", "1"), ("storage.wait_days", "0"), ("storage.terms", "After that it is sold.")):
        device.post(f"/shop/settings/{key}", {key: value, "value": value})
    owner = re.search(r"customer/(\d+)", where(device.post("/record/customer", {"name": "Nobody Comes"}))).group(1)
    number = re.search(r"/job/(\d+)", where(device.post("/record/job", {"customer_id": owner, "fault": "left"}))).group(1)
    base = f"/job/{number}"
    expect(tap, "it is taken in", device.post(base + "/take-in", {}))
    row = re.search(r'action="/record/intake/(\d+)"', device.get(base + "?at=intake").text).group(1)
    expect(tap, "with the owner's yes to the terms", device.post(f"/record/intake/{row}", {"terms_accepted": "yes"}))
    expect(tap, "and is ready", device.post(base + "/move", {"state": "ready", "sure": "yes"}))
    page = device.get("/left").text
    tap.say("the page names what is missing", "" if "Nobody Comes" in page and "notices: 0 of 1" in page else page[-900:])
    expect(tap, "too early nothing is written down", device.post(base + "/dispose", {"how": "sold"}), 400, "may not be disposed of yet")
    job_id = re.search(r'name="job_id" value="(\d+)"', page[page.index("Nobody Comes"):]).group(1)
    today = datetime.date.today().isoformat()
    expect(tap, "a last notice is noted there", device.post("/record/notice", {"job_id": job_id, "kind": "last notice", "sent_on": today, "back": "/left"}))
    like = {"job_id": job_id, "kind": "last notice", "sent_on": today, "words": "Said <twice>", "back": "/left"}
    asked = device.post("/record/notice", like)
    tap.say("a second of that day is asked about, with what was typed", "" if asked.status == 200 and "noted for that day already" in asked.text
            and 'value="Said &lt;twice&gt;"' in asked.text and device.get("/left").text.count("Said ") == 0 else asked.text[-900:])
    expect(tap, "whoever is sure adds it", device.post("/record/notice", {**like, "sure": "yes"}))
    page = device.get("/left").text
    tap.say("then it may be let go", "" if "may be disposed of since" in page[page.index("Nobody Comes"):] else page[-900:])
    expect(tap, "what became of it is to be said", device.post(base + "/dispose", {}), 400, "what became")
    expect(tap, "and is kept", device.post(base + "/dispose", {"how": "given away", "witness": "Ben"}))
    tap.say("it waits no longer", "Nobody Comes" in device.get("/left").text)


def check_twins(tap, device):
    one = where(device.post("/record/customer", {"name": "Twin Sample", "phone": "0777 123456"}))
    other = where(device.post("/record/customer", {"name": "T. Sample", "phone": "0777-123456", "note": "Has a dog."}))
    first, second = (re.search(r"customer/(\d+)", place).group(1) for place in (one, other))
    page = Page(device.get(f"/book/customer/{second}").text)
    form = next((fields for path, fields in page.forms() if path == f"/record/customer/{second}/merge"), "")
    tap.say("the other person of that telephone is named", "" if "Twin Sample" in page.text and f'value="{first}"' in form else "not named")
    asked = device.post(f"/record/customer/{second}/merge", {"into": first})
    tap.say("it is asked first, and said what would be joined", "" if asked.status == 200 and "The one that goes" in asked.text
            and device.get(f"/book/customer/{second}").status == 200 else asked.text[-800:])
    merged = device.post(f"/record/customer/{second}/merge", {"into": first, "sure": "yes"})
    expect(tap, "they are made one", merged)
    text = device.get(f"/book/customer/{first}").text
    tap.say("with what only the other said", "" if "Has a dog." in text and "Make them one" not in text else "it is lost")
    undo = re.search(r"/undo/(\d+)/(\d+)", device.get(where(merged)).text)
    tap.say("the page offers to take them apart", "" if undo and "Take them apart again" in device.get(where(merged)).text else where(merged))
    line = re.search(r'name="note">([^<]*)', text)
    written = (line.group(1).strip() if line else "") + "\nRings in the morning."
    expect(tap, "the note is written on meanwhile", device.post(f"/record/customer/{first}", {"note": written}))
    parted = device.post(undo.group(0), {"back": f"/book/customer/{first}"})
    expect(tap, "which is done", parted)
    told = device.get(where(parted)).text
    tap.say("and told what stays with whom", "" if f"Number {first} keeps what was added or changed since: Note." in told else told[:1500])
    apart = device.get(f"/book/customer/{second}").text, device.get(f"/book/customer/{first}").text
    tap.say("both stand there as before", "" if "Has a dog." in apart[0] and "Has a dog." not in apart[1] and "Rings in the morning." in apart[1] else apart[1][-800:])
    journal = device.get(f"/journal/customer/{second}").text
    tap.say("and the journal says so", "" if "put back" in journal and "merged into id" in journal else journal[-800:])
    expect(tap, "nothing is merged with what is not there", device.post(f"/record/customer/{first}/merge", {"into": "99999"}), 404)


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        device = Device(bench)
        job = begin(tap, device)
        check_empty(tap, device)
        check_escaping(tap, job)
        check_intake(tap, job)
        check_safety(tap, job)
        finding = check_bench(tap, job)
        check_money(tap, job)
        check_work(tap, job)
        check_undo(tap, job, finding)
        check_two_devices(tap, bench, job)
        check_papers(tap, job)
        check_find(tap, device)
        check_book(tap, device)
        check_twins(tap, device)
        check_left(tap, device)
        check_visit(tap, device)
        check_care(tap, device)
        status, errors = bench.end()
        tap.say("nothing was complained of", "" if status == 0 and not errors else errors)
    return tap.end()


sys.exit(main(sys.argv[1]))
