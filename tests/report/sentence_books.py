# SPDX-License-Identifier: MIT
"""For every sentence of the papers the smallest books that answer its question with yes, with no, and not at all.

A recipe is called with a book (a customer, a deck, a booked job) and the answer, and brings the book there. It
returns what else the paper is called with, or None. IMPOSSIBLE names the answers that no book can give, and why."""
import base64
import datetime
import json
import zlib

from small_book import alter_sheet

TODAY = datetime.date.today()
OLD = TODAY - datetime.timedelta(days=200)
IMPOSSIBLE = {}  # (recipe's name, answer): reason


class Recipe:
    def __init__(self, name, make, paper=None, cannot=()):
        self.name, self.make, self.paper = name, make, paper
        for answer, reason in dict(cannot).items():
            IMPOSSIBLE[name, answer] = reason


def add(book, kind, *fields):
    book.ok("job", "add", "1", kind, *fields)


def intake(book, *fields):
    add(book, "intake", "words=hums", *fields)


def note(book, key, value, phase="left", instrument="Gauge"):
    book.ok("job", "note", "1", key, value, f"as={phase}", "label=Thing", *([f"instrument={instrument}"] if instrument else []))


def bound(book, key, source="our sheet"):
    """Good to 5, allowed to 10."""
    book.ok("register", "add", "bound", "make=Hollin", "model=B2", f"key={key}", "low=0", "high=10", "good_low=0",
            "good_high=5", f"source={source}")


def verdict(book, item, aspect, grade):
    add(book, "verdict", f"item={item}", f"aspect={aspect}", f"grade={grade}", "phase=as-left")


def picture(book, name, phase):
    """A picture of one dot, each NAME another."""
    def chunk(kind, data):
        return len(data).to_bytes(4, "big") + kind + data + zlib.crc32(kind + data).to_bytes(4, "big")
    path = f"{book.folder}/{name}.png"
    with open(path, "wb") as file:
        file.write(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", b"\0\0\0\1\0\0\0\1\x08\0\0\0\0") +
                   chunk(b"IDAT", zlib.compress(b"\0" + name[:1].encode())) + chunk(b"IEND", b""))
    book.ok("job", "attach", "1", path, f"phase={phase}", f"caption={name}")


def arrived(book, answer):
    if answer != "no":
        book.ok("job", "move", "1", "received" if answer == "yes" else "declined", "--sure")


def unsafe(book, answer):
    if answer != "unknown":
        verdict(book, "cord", "use", "unsafe" if answer == "yes" else "good")


def told(book, answer):
    if answer != "unknown":
        verdict(book, "cord", "use", "unsafe")
    if answer == "yes":
        book.ok("job", "acknowledge", "1", "Edda", "told")


def warranty(book, answer):
    if answer == "no":
        add(book, "operation", "name=cleaned", "actual_minutes=5")
    if answer == "yes":
        invoice(book, "issued")


def hazard(word):
    def make(book, answer):
        if answer == "unknown":
            book.ok("job", "open", "customer_id=1")  # a job of no deck, of which nothing is written
            book.job = "2"
        else:
            book.ok("job", "show", "1", "fault=" + (word if answer == "yes" else "hums"))
    return make


def altered(book, answer):
    if answer != "unknown":
        intake(book, "modified_mains=" + answer)


def always(group):
    def make(book, answer):
        if group == "receipt":
            intake(book)
    return make


def risk(field):
    def make(book, answer):
        if answer != "unknown":
            intake(book, f"{field}={answer}")
    return make


def accessories(book, answer):
    intake(book, *(["none_other_received=yes"] if answer == "no" else []))
    if answer == "yes":
        book.ok("register", "add", "accessory", "intake_id=1", "name=Cover", "received=yes")


def marks(book, answer):
    intake(book, *(["list_correct=yes"] if answer == "no" else []))
    if answer == "yes":
        book.ok("register", "add", "mark", "intake_id=1", "zone=plinth-top", "kind=scratch", "note=here")


def marks_placed(book, answer):
    intake(book)
    place = ["across=0.5", "along=0.5"] if answer == "yes" else []
    if answer != "unknown":
        book.ok("register", "add", "mark", "intake_id=1", "zone=plinth-top", "kind=scratch", *place)


def photos(yes):
    def make(book, answer):
        intake(book)
        for i in range({"yes": yes, "no": 3 - yes, "unknown": 0}[answer]):
            picture(book, "ab"[i], "as-received")
    return make


def said(*call):
    """CALL makes the book say it."""
    def make(book, answer):
        intake(book)
        if answer == "yes":
            book.ok(*call)
    return make


def estimate(book, state, *fields, lines=True):
    book.ok("estimate", "draft", "1", *fields)
    if lines:
        book.ok("estimate", "line", "1", "name=Belt", "kind=part", "price=100", "tier=minimum")
    if state != "draft":
        book.ok("estimate", "issue", "1")
    if state in ("accepted", "declined"):
        add(book, "consent", "estimate_id=1", "tier=minimum", "answer=" + {"accepted": "agreed", "declined": "refused"}[state],
            "person=Edda")


def estimate_is(state):
    def make(book, answer):
        if answer != "unknown":
            estimate(book, state if answer == "yes" else "draft" if state == "issued" else "issued")
    return make


def options(book, answer):
    if answer != "unknown":
        estimate(book, "draft", lines=answer == "yes")


def dear(book, answer):
    estimate(book, "draft", *({"yes": ["replacement_value=10"], "no": ["replacement_value=9000"]}.get(answer, [])))


def ceiling(book, answer):
    estimate(book, "draft", *({"yes": ["ceiling=120"], "no": ["ceiling=0"]}.get(answer, [])))


def charge(book, answer):
    book.ok("book", "settings", "money.estimate_charge=25")
    estimate(book, "draft")
    if answer != "unknown":
        intake(book, f"estimate_charge_told={answer}")


def invoice(book, state, paid=False):
    book.ok("invoice", "draft", "1")
    if state != "draft":
        book.ok("invoice", "line", "1", "name=Look", "amount=10")
        book.ok("invoice", "issue", "1")
    if paid:
        book.ok("invoice", "pay", "1")


def draft(book, answer):
    if answer != "unknown":
        invoice(book, "draft" if answer == "yes" else "issued")


def taxed(book, answer):
    book.ok("book", "settings", f"money.tax_rate={20 if answer == 'yes' else 0}")
    book.ok("invoice", "draft", "1")
    if answer != "unknown":
        book.ok("invoice", "line", "1", "name=Look", "amount=10")


def billed(state):
    def make(book, answer):
        if answer != "unknown":
            add(book, "part", "name=Knob", *(["price=3"] if answer == "yes" else []))
        invoice(book, state)
    return make


def drive(word, other):
    def make(book, answer):
        book.ok("deck", "show", "1", "drive=" + {"yes": word, "no": other, "unknown": "unknown"}[answer])
    return make


def connect(book, answer):
    unsafe(book, {"yes": "no", "no": "yes", "unknown": "unknown"}[answer])


def letter(kind, daily="2.00"):
    """A deck that was ready long ago and is charged for; the letter KIND about it."""
    def make(book, answer):
        book.ok("book", "settings", f"storage.daily_charge={daily}")
        state = "declined" if (kind == "declined") == (answer == "yes") else "ready"
        if answer == "unknown":
            return []
        book.ok("job", "move", "1", state if kind in ("ready", "declined") else "ready", "--sure")
        if kind in ("ready", "declined"):
            return ["kind=ready"]
        add(book, "notice", "kind=ready", f"sent_on={OLD}")
        return ["kind=" + (kind if answer == "yes" else "ready")]
    return make


def receipt(book, answer):
    if answer == "yes":
        intake(book)
    if answer != "no":
        book.ok("job", "move", "1", "ready", "--sure")
    add(book, "notice", "kind=ready", f"sent_on={TODAY}", "--sure")


def storage_told(book, answer):
    risk("storage_charge_told")(book, answer)
    return storage(book, "yes")


def storage(book, answer):
    book.ok("book", "settings", "storage.daily_charge=" + ("0" if answer == "unknown" else "2.00"))
    book.ok("job", "move", "1", "ready", "--sure")
    add(book, "notice", "kind=ready", f"sent_on={TODAY if answer == 'no' else OLD}")
    return ["kind=last-notice"]


def free(book, answer):
    storage(book, {"yes": "no", "no": "yes", "unknown": "unknown"}[answer])
    return ["kind=reminder"]


def paid(book, answer):
    if answer != "unknown":
        invoice(book, "issued", paid=answer == "yes")
    book.ok("job", "move", "1", "ready", "--sure")


def shown_before(book, answer):
    if answer != "unknown":
        note(book, "force.tracking_g", "1.8 g")
    if answer == "yes":
        note(book, "force.tracking_g", "2.4 g", "received")


def shown_limit(book, answer):
    if answer == "yes":
        bound(book, "force.tracking_g")
    if answer != "unknown":
        note(book, "force.tracking_g", "1.8 g")


def operations(book, answer):
    if answer != "unknown":
        add(book, "operation", "name=cleaned", *(["actual_minutes=5"] if answer == "yes" else ["quoted_minutes=5"]))


def visit(state):
    """Whether another deck that came in together with job 1 is taken in, ready, or here and not ready."""
    def make(book, answer):
        number = str(json.loads(book.ok("job", "open", "customer_id=1", "--json"))["number"])
        book.ok("job", "visit", number, "1")
        add(book, "intake", "words=hums")
        if answer == "yes" or state:
            book.ok("job", "add", number, "intake", "words=hums")
        if state:
            book.ok("job", "move", number, "ready" if (state == "ready") == (answer == "yes") else "verifying", "--sure")
            book.ok("job", "move", "1", "ready", "--sure")
            return ["kind=ready"]
        return None
    return make


def bills_others(book, answer):
    number = str(json.loads(book.ok("job", "open", "customer_id=1", "--json"))["number"])
    book.ok("job", "visit", number, "1")
    book.ok("job", "add", number, "part", "name=Mat", "quantity=1", "price=5")
    draft = str(json.loads(book.ok("invoice", "draft", "1", "--json"))["id"])
    if answer == "yes":
        book.ok("invoice", "visit", draft)


def work_open(book, answer):
    if answer == "unknown":
        return
    draft = str(json.loads(book.ok("estimate", "draft", "1", "--json"))["id"])
    book.ok("estimate", "line", draft, "tier=minimum", "name=cleaned", "kind=labour", "minutes=20", "price=60")
    book.ok("estimate", "issue", draft)
    book.ok("job", "add", "1", "consent", "answer=agreed", f"estimate_id={draft}", "tier=minimum", "person=Edda")
    book.ok("job", "plan", "1")
    if answer == "no":
        book.ok("job", "tick", "1", "1")


def of_work(kind, *fields):
    def make(book, answer):
        if answer == "yes":
            add(book, kind, *fields)
        if answer == "no":
            operations(book, "yes")
    return make


def was_set(book, answer):
    for phase, value in {"yes": (("received", 14), ("left", 17)), "no": (("received", 14), ("left", 14)),
                         "unknown": (("left", 14),)}[answer]:
        add(book, "set_up", f"phase=as-{phase}", "key=arm.overhang", f"value={value}", "unit=mm")


def worked(book, answer):
    if answer == "yes":
        operations(book, answer)
    if answer == "no":
        book.ok("job", "move", "1", "declined", "--sure")


def only_found(book, answer):
    if answer == "yes":
        add(book, "finding", "symptom=Hum", "action=Wire soldered anew")
    if answer == "no":
        add(book, "finding", "symptom=Hum", "action=Wire soldered anew")
        operations(book, "yes")


def work_noted(book, answer):
    """Free words of a finding are not contradicted, also on a job that was declined."""
    if answer == "yes":
        add(book, "finding", "symptom=Hum", "action=Wire soldered anew")
    if answer != "unknown":
        book.ok("job", "move", "1", "declined", "--sure")


def tested(book, answer):
    aspects = {"yes": ("use", "records", "performance"), "no": ("use",), "unknown": ()}[answer]
    for aspect in aspects:
        verdict(book, f"item {aspect}", aspect, "good")


def looked_over(book, answer):
    if answer == "yes":
        verdict(book, "cord", "use", "good")
    if answer == "no":
        note(book, "shop.thing", "1 mm")


def beyond(book, answer):
    """A thing that is beyond its limit as left; one that was, and was put right; one without a limit."""
    if answer != "unknown":
        bound(book, "shop.thing")
    note(book, "shop.thing", "12 mm", "received" if answer == "no" else "left")
    if answer == "no":
        note(book, "shop.thing", "3 mm")


# What each answer of page one rests on: for all three questions, or the readings that count for how it performs.
ANSWERED = {
    "good": ["good"], "serviceable": ["good", "serviceable"], "soon": ["serviceable", "attention-soon"],
    "replace": ["attention-soon", "replace"], "unsafe": ["good", "unsafe"], "near": ["good", "cannot-tell"],
    "partly": ["good", "not-tested"], "untested": ["not-tested"], "unknown": [],
}


def answered(kind):
    def make(book, answer):
        if kind == "measured" or kind == "reading":
            bound(book, "shop.thing")
            note(book, "shop.thing", "12 mm" if (kind == "reading") == (answer == "yes") else "3 mm")
        if kind == "measured":
            return
        grades = ["good"] if kind == "reading" else ANSWERED[kind] if answer == "yes" else ANSWERED["unsafe" if kind == "good" else "good"]
        for aspect in ("use", "records", "performance"):
            for grade in grades:
                verdict(book, f"{grade} of {aspect}", aspect, grade)
    return make


def proof(book, answer):
    if answer == "yes":
        verdict(book, "cord", "use", "good")
    if answer == "no":
        operations(book, "no")


def path(book, answer):
    """The guide's questions led to a cause, or did not."""
    if answer != "unknown":
        seen = ["finding.belt_long=yes", "finding.belt_greasy=no"] if answer == "yes" else []
        book.ok("guide", "--job", "1", "symptom.wow=yes" if answer == "yes" else "symptom.hum_one=yes", *seen)


def long_words(book, answer):
    """More than two pages hold."""
    if answer != "unknown":
        add(book, "intake", "words=it hums" + ", it hums" * (1000 if answer == "yes" else 1))


def todo(book, answer):
    tested(book, {"no": "yes"}.get(answer, "unknown"))
    if answer == "yes":
        add(book, "verdict", "item=Stylus", "aspect=records", "grade=attention-soon", "phase=as-left", "action=Replace it")


def agreed(book, answer):
    if answer != "unknown":
        estimate(book, "accepted")
    if answer == "no":
        invoice(book, "issued")


def measured(book, answer):
    if answer == "yes":
        note(book, "shop.thing", "1 mm")
    if answer == "no":
        verdict(book, "cord", "use", "good")


def phase(own, other):
    def make(book, answer):
        note(book, "shop.thing", "1 mm", own if answer == "yes" else other)
    return make


def sheet(book, as_phase="left"):
    """A sheet of sums that draws a curve."""
    book.ok("resonance", "arm.effective_mass=11g", "cartridge.mass=6g", "cartridge.compliance=14um/mN",
            "cartridge.compliance_frequency=10Hz", "--job", "1", "--as", as_phase)


def align(book, answer):
    if answer == "yes":
        book.ok("align", "arm.pivot_to_spindle=214mm", "arm.effective_length=230mm", "arm.offset=23.6deg", "--job", "1",
                "--as", "left")
    else:
        note(book, "shop.thing", "1 mm")


def named_arm(book, answer):
    align(book, "yes")
    if answer == "yes":
        book.ok("align", "arm.name=rear", "arm.pivot_to_spindle=295mm", "--job", "1", "--as", "left")


def recorded(book, answer):
    """A reading from a recording, of a record and through a chain that are named."""
    if answer != "yes":
        note(book, "shop.thing", "1 mm")
        return
    path = book.folder + "/take.wav"
    book.play(path, "synth.length=12s")
    book.ok("speed", path, "record.name=Disc", "chain.name=Bench", "--job", "1", "--as", "left")


def instrument(book, answer):
    note(book, "shop.thing", "1 mm", instrument="Gauge" if answer == "yes" else None)


def sums(book, answer):
    if answer == "yes":
        sheet(book)
    if answer == "no":
        note(book, "shop.thing", "1 mm")


def unsaid(book, answer):
    if answer != "unknown":
        note(book, "shop.thing", "1 mm", instrument=None if answer == "yes" else "Gauge")


def checked(state):
    def make(book, answer):
        note(book, "shop.thing", "1 mm")
        wanted = state if answer == "yes" else "never" if state != "never" else "valid"
        if answer == "unknown":
            return
        book.ok("register", "add", "instrument", "name=Gauge", "kind=rule", "check_days=300")
        if wanted != "never":
            book.ok("register", "add", "instrument_check", "instrument_id=1", "reference=block", "expected=1",
                    "found=" + ("2" if wanted == "failed" else "1"), "tolerance=0.1", "unit=mm",
                    f"checked_on={datetime.date(2020, 1, 1) if wanted == 'overdue' else TODAY}")
    return make


def sources(book, answer):
    if answer == "yes":
        bound(book, "shop.thing")
    note(book, "shop.thing", "1 mm")


def doubtful(book, answer):
    if answer != "unknown":
        note(book, "shop.thing", "1 mm")
    if answer == "yes":
        alter_sheet(book, lambda kept: kept["readings"][0].update(flags=["short"]))


def compared(book, answer):
    note(book, "shop.thing", "1 mm")
    if answer != "unknown":
        note(book, "shop.thing", "2 mm", "received", "Gauge" if answer == "yes" else "Rule")


def settings(book, answer):
    if answer != "unknown":
        add(book, "set_up", "phase=as-" + ("left" if answer == "yes" else "received"), "key=arm.overhang", "value=14", "unit=mm")


def lines_drawn(book, answer):
    if answer != "unknown":
        sheet(book)
    if answer == "yes":
        sheet(book, "received")


def reading(word):
    """WORD as the table writes it: KEY=verdict, KEY!verdict for any other, KEY~verdict for any other or none."""
    for sign in "=!~":
        if sign in word:
            key, _, verdicts = word.partition(sign)
            break
    values = {"good": "3", "serviceable": "8", "attention soon": "12"}
    own = verdicts.split("|")
    others = [verdict for verdict in values if verdict not in own]
    key = key or "shop.thing"

    def make(book, answer):
        bounded = not (answer == "unknown" and sign == "!")
        if bounded:
            bound(book, key)
        wanted = (own if (answer == "yes") == (sign == "=") else others)[0]
        if answer != "unknown" or not bounded:
            unit = {"rake.angle": " deg", "speed.error": " %", "force.tracking_g": " g"}.get(key, " Hz")
            note(book, key, values[wanted] + unit)
    return make


def of_verdict(grade):
    """A verdict that no limit gives: a sheet says it of itself."""
    def make(book, answer):
        if answer == "unknown":
            return
        bound(book, "shop.thing")
        note(book, "shop.thing", "3 mm")
        if answer == "yes":
            alter_sheet(book, lambda kept: kept["readings"][0].update(verdict=grade))
    return make


def without_limit(book, answer):
    if answer == "no":
        bound(book, "force.tracking_g")
    if answer != "unknown":
        note(book, "force.tracking_g", "1.8 g")


def makers_range(value):
    def make(book, answer):
        bound(book, "force.tracking_g")
        note(book, "force.tracking_g", f"{value} g")
        if answer != "unknown":
            low, high = (value - 0.2, value + 0.2) if answer == "yes" else (value + 1, value + 2)
            book.ok("register", "add", "cartridge", "deck_id=1", "make=Teasel", "model=M3", f"force_low_mn={low * 9.80665}",
                    f"force_high_mn={high * 9.80665}")
    return make


def by_class(verdict_word):
    value = {"good": "3", "serviceable": "8", "attention soon": "12"}[verdict_word]

    def make(book, answer):
        bound(book, "shop.thing")
        note(book, "shop.thing", value + " mm")
        if answer == "no":
            alter_sheet(book, lambda kept: kept["inputs"].update(
                {"deck.class": {"label": "Class", "text": "vintage", "value": None, "unit": "", "given": True}}))
        if answer == "unknown":
            book.ok("deck", "show", "1", "class=")
    return make


NEVER_VISIT = "the book knows which jobs came in together"
NEVER_NO = "what is not written is not known"
RECIPES = {
    "paper.received": Recipe("arrived", arrived, "service"), "paper.booked": Recipe("arrived", arrived, "service"),
    "paper.unsafe.text": Recipe("unsafe", unsafe, "service"), "label.unsafe": Recipe("unsafe", unsafe),
    "paper.unsafe.told": Recipe("told", told, "service"), "paper.unsafe.not_told": Recipe("told", told, "service"),
    "paper.warranty.runs": Recipe("warranty", warranty, "service"),
    "paper.warranty.to_come": Recipe("warranty", warranty, "service"),
    "cautions.altered": Recipe("altered", altered, "service"), "label.altered": Recipe("altered", altered),
    "label.glass": Recipe("hazard glass", hazard("glass")),
    "receipt.accessories.nothing": Recipe("accessories", accessories),
    "receipt.condition.none": Recipe("marks", marks), "receipt.condition.unknown": Recipe("marks", marks),
    "receipt.condition.plan": Recipe("marks placed", marks_placed),
    "receipt.photo": Recipe("photo", photos(1)), "receipt.photos": Recipe("photos", photos(2)),
    "receipt.declaration.estimate": Recipe("charge set", said("book", "settings", "money.estimate_charge=25"),
                                           cannot={"no": NEVER_NO}),
    "receipt.declaration.storage": Recipe("storage set", said("book", "settings", "storage.daily_charge=2"),
                                          cannot={"no": NEVER_NO}),
    "receipt.collect": Recipe("collect", said("customer", "show", "1", "may_collect=Jan"), cannot={"no": NEVER_NO}),
    "estimate.options.text": Recipe("options", options), "estimate.ceiling": Recipe("ceiling", ceiling),
    "invoice.draft.text": Recipe("draft", draft), "invoice.unbilled.draft": Recipe("billed draft", billed("draft")),
    "invoice.rounding": Recipe("taxed", taxed),
    "invoice.unbilled.issued": Recipe("billed issued", billed("issued")),
    "label.line": Recipe("arrived", arrived), "label.line.booked": Recipe("arrived", arrived),
    "label.line.screws": Recipe("screws", said("job", "show", "1", "screws_place=tray"), cannot={"no": NEVER_NO}),
    "transport.lock.platter": Recipe("drive belt or direct", drive("belt", "direct")),
    "transport.lock.platter.unknown": Recipe("drive belt or direct", drive("belt", "direct")),
    "notice.ready.text": Recipe("ready", letter("ready")), "notice.ready.ask": Recipe("ready", letter("ready")),
    "notice.declined.text": Recipe("declined", letter("declined")),
    "notice.ready.bring": Recipe("receipt", receipt), "notice.reminder.text": Recipe("reminder", letter("reminder")),
    "notice.reminder.ask": Recipe("reminder", letter("reminder")),
    "notice.storage.text": Recipe("storage charge", letter("storage-charge")),
    "notice.storage.told": Recipe("storage told", storage_told),
    "notice.last.text": Recipe("last notice", letter("last-notice")), "notice.last.storage": Recipe("storage", storage),
    "notice.free": Recipe("free", free), "notice.free.over": Recipe("free", free), "notice.to_pay": Recipe("paid", paid),
    "service.numbers.key": Recipe("shown before", shown_before), "service.numbers.range": Recipe("shown limit", shown_limit),
    "service.done.work": Recipe("operations", operations), "service.done.parts": Recipe("parts", of_work("part", "name=Knob")),
    "receipt.visit": Recipe("visit", visit(""), cannot={"unknown": NEVER_VISIT}),
    "notice.visit.ready": Recipe("visit ready", visit("ready"), cannot={"unknown": NEVER_VISIT}),
    "notice.visit.open": Recipe("visit open", visit("open"), cannot={"unknown": NEVER_VISIT}),
    "invoice.visit": Recipe("bills others", bills_others, cannot={"unknown": "the lines of an invoice say it"}),
    "service.done.left": Recipe("work open", work_open),
    "service.done.oiled": Recipe("oiled", of_work("lubrication", "point=bearing", "lubricant=oil")),
    "service.done.set": Recipe("set", was_set), "service.proof.text": Recipe("proof", proof),
    "service.measurements.text": Recipe("measured", measured), "service.limits.text": Recipe("measured", measured),
    "service.taken.before": Recipe("as received", phase("received", "left"), cannot={"no": NEVER_NO}),
    "service.taken.after": Recipe("as left", phase("left", "received"), cannot={"no": NEVER_NO}),
    "service.taken.speed": Recipe("speed", align, cannot={"no": NEVER_NO}),
    "service.taken.arm": Recipe("arm", named_arm, cannot={"no": NEVER_NO}),
    "service.taken.record": Recipe("recorded", recorded, cannot={"no": NEVER_NO}),
    "service.taken.chain": Recipe("recorded", recorded, cannot={"no": NEVER_NO}),
    "service.taken.instrument": Recipe("instrument", instrument, cannot={"no": NEVER_NO}),
    "service.taken.sums": Recipe("sums", sums), "service.taken.unsaid": Recipe("unsaid", unsaid),
    "service.taken.aim": Recipe("aim", align, cannot={"unknown": "a reading was taken somehow"}), "service.taken.by": Recipe("by", measured, cannot={"no": NEVER_NO}), "service.sources": Recipe(
        "sources", sources, cannot={"no": NEVER_NO}),
    "service.doubtful": Recipe("doubtful", doubtful), "service.not_comparable": Recipe("compared", compared),
    "service.setup.text": Recipe("settings", settings), "service.charts.text": Recipe("lines drawn", lines_drawn),
    "service.todo.nothing": Recipe("todo", todo), "service.todo.beyond": Recipe("beyond", beyond), "service.cost.agreed": Recipe("agreed", agreed),
    "service.cost.paid": Recipe("paid", paid, "service"), "service.cost.due": Recipe("paid", paid, "service"),
    "service.wrong.elsewhere": Recipe("long words", long_words),
    "service.path.leads": Recipe("path", path, "service"), "service.path.open": Recipe("path", path, "service"),
    "service.path.ended": Recipe("path kept", path, cannot={"no": NEVER_NO}),
    "service.proof.there": Recipe("proof", proof, "service"),
    "service.next_due": Recipe("next due", said("job", "show", "1", "next_due_on=2040-01-01"), cannot={"no": NEVER_NO}),
    "readings.none": Recipe("without limit", without_limit), "readings.replace": Recipe("replace", of_verdict("replace")),
    "readings.cannot tell": Recipe("cannot tell", of_verdict("cannot tell")),
    "readings.unsafe": Recipe("unsafe reading", of_verdict("unsafe")),
    "readings.force.tracking_g.good": Recipe("maker 3", makers_range(3)),
    "readings.force.tracking_g.serviceable": Recipe("maker 8", makers_range(8)),
    "readings.force.tracking_g": Recipe("maker 3", makers_range(3)),
}
for state in ("draft", "issued", "accepted", "declined"):
    RECIPES["estimate.state." + state] = Recipe("estimate " + state, estimate_is(state))
RECIPES["estimate.choice.none"] = RECIPES["estimate.state.issued"]
for tier in ("minimum", "recommended", "full"):
    RECIPES[f"estimate.{tier}.dear"] = Recipe("dear", dear)
for key in ("charge", "charge.not_told", "charge.usual"):
    RECIPES["estimate." + key] = Recipe("charge", charge)
for key in ("lock", "undo"):
    for word, other in (("belt", "idler"), ("idler", "belt"), ("direct", "belt")):
        RECIPES[f"transport.{key}.{word}"] = Recipe("drive " + word, drive(word, other))
    for answer in ("other", "unknown"):
        RECIPES[f"transport.{key}.{answer}"] = Recipe("drive known", drive("belt", "other"))
for key in ("level", "level.unsafe", "level.unknown"):
    RECIPES["transport.undo." + key] = Recipe("connect", connect)
RECIPES["service.done.nothing"] = Recipe("work noted", work_noted)
RECIPES["service.done.unknown"] = Recipe("worked", worked)
RECIPES["service.done.found"] = Recipe("only found", only_found)
for key in ("none", "unknown"):
    RECIPES["service.proof." + key] = Recipe("proof", proof)
for key in ("items", "none"):
    RECIPES["service.untested." + key] = Recipe("tested", tested)
for key in ("measured", "nothing"):
    RECIPES["service.untested." + key] = Recipe("looked over", looked_over)
for key in (*ANSWERED, "measured", "reading"):
    RECIPES["service.answer." + key] = Recipe("answered " + key, answered(key),
                                              cannot={"unknown": "each question of page one has an answer"})
for state in ("valid", "never", "overdue", "failed"):
    RECIPES["service.check." + state] = Recipe("check " + state, checked(state))
for grade in ("good", "serviceable", "attention soon"):
    for key in ("", ".other", ".any"):
        RECIPES[f"readings.{grade}{key}"] = Recipe("class " + grade, by_class(grade))
for key, word in (("tests", "earth"), ("capacitors", "capacitor"), ("heat", "boiled"), ("solvent", "isopropyl"),
                  ("strobe", "strobe"), ("glass", "glass")):
    RECIPES["cautions." + key] = Recipe("hazard " + word, hazard(word), "service")


def recipe_for(name, question):
    """The recipe of the sentence NAME; those of readings and of ticks come from the table's own words."""
    if name in RECIPES:
        return RECIPES[name]
    group = name.split(".")[0]
    if question == "it stands always":
        return Recipe("always " + group, always(group), {"cautions": "service"}.get(group),
                      cannot={answer: "it holds for every deck" for answer in ("no", "unknown")})
    if question.startswith("was it ticked at the intake: "):
        field = question.split(": ")[1].rstrip("?")
        return Recipe("ticked " + field, risk(field))
    if question.startswith("is the reading one of "):
        word = question.removeprefix("is the reading one of ").rstrip("?")
        return Recipe("reading " + word, reading(word))
    return None
