#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The guide's page on a job and on the telephone: answers, second looks, taking back, what is kept, the way into the
estimate, a deck that stays unplugged, and addresses that nobody's page made."""
import html
import json
import re
import sys
import tempfile
import threading
import urllib.parse

from bench import Bench, Device, Tap


def buttons(page):
    """Each answer that can be given: words, and the fields it sends."""
    for inside in re.findall(r"<form [^>]*>(.*?)</form>", page.text, re.S):
        words = re.search(r'<button [^>]*class="answer"[^>]*>([^<]*)</button>', inside)
        fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', inside))
        if words:
            yield html.unescape(words.group(1)), {name: html.unescape(value) for name, value in fields.items() if name != "form_token"}


def asked(page):
    found = re.search(r'<h2 class="ask">([^<]*)</h2>', page.text)
    return html.unescape(found.group(1)) if found else ""


def odds(page):
    inside = re.search(r'<ol class="odds">(.*?)</ol>', page.text, re.S)
    return re.findall(r'class="figure">(\d+)<.*?class="name">([^<]*)<', inside.group(1), re.S) if inside else []


def looks(page, question):
    """How often QUESTION was looked at: what a first look showed stands when the second is taken back."""
    answered = re.search(r'class="answered">(.*?)</dl>', page.text, re.S).group(1)
    found = re.search(re.escape(question) + r"</dt>\s*<dd[^>]*>([^<]*)", html.unescape(answered))
    return 1 + len(re.findall(r", (?:and again|then) ", found.group(1))) if found else 0


def check(tap, good, name, said=""):
    tap.say(name, "" if good else str(said) or "it is not so")


def check_not_understood(tap, page, go_on):
    """What meant nothing is named after the answer is kept, and still after the next question."""
    for when in ("first", "then"):
        check(tap, "Not understood: “my uncle built the rack”." in page.text, f"{when}: what was not understood is said", page.text[:600])
        answers = dict(buttons(page))
        page = go_on(answers["Cannot tell"])


def check_telephone(tap, device):
    start = device.get("/guide")
    check(tap, "owner" in start.text and len(list(buttons(start))) >= 60, "every complaint can be chosen", len(list(buttons(start))))
    page = device.get("/guide?words=" + urllib.parse.quote("it sounds slow"))
    heard = device.get("/guide?words=" + urllib.parse.quote("it sounds slow, my uncle built the rack"))
    check_not_understood(tap, heard, lambda fields: device.get("/guide?" + urllib.parse.urlencode(fields)))
    check(tap, "Question 2 of 5" in device.get("/guide?" + urllib.parse.urlencode(dict(buttons(heard))["Cannot tell"])).text,
          "and counts as no question")
    count, first = 0, odds(page)
    while asked(page) and count < 10:
        count += 1
        check(tap, f"Question {count} of 5" in page.text, f"question {count} is counted")
        answers = dict(buttons(page))
        check(tap, len(answers) in (3, 4) and "Cannot tell" in answers, "and has its answers", answers)
        fields = answers.get("By a belt") or answers["Yes" if count == 3 else "No"]
        page = device.get("/guide?" + urllib.parse.urlencode(fields))
    check(tap, count == 5 and not asked(page), "after five questions there is none", count)
    check(tap, odds(page) and odds(page) != first, "the odds have moved", odds(page))
    said = re.search(r"What to say on the telephone(.*?)</section>", page.text, re.S)
    check(tap, said and "If it is this" in said.group(1) and "minutes" in said.group(1), "and it says what to say", page.text[-800:])
    refused = device.get("/guide?words=it+is+purple")
    check(tap, refused.status == 400 and '<a href="/guide" class="button">Try again' in refused.text, "words that say nothing are refused, with a way back", refused.text[-500:])
    letter = "it is slow, " + "\u03c4\u03bf \u03c0\u03bb\u03b1\u03c4\u03cc \u03c3\u03ad\u03c1\u03bd\u03b5\u03b9 " * 10
    heard = device.get("/guide?words=" + urllib.parse.quote(letter))
    then = device.get("/guide?" + urllib.parse.urlencode(dict(buttons(heard))["Cannot tell"]))
    check(tap, heard.status == then.status == 200 and " …”. Say it" in then.text, "a long letter is named by its beginning and goes on to the next question",
          f"{heard.status} {then.status}")
    check(tap, device.get("/guide?said=symptom.slwo%3Dyes").status == 400, "an answer to nothing is refused")
    check(tap, device.get("/guide?said=" + "symptom.slow%3Dyes;" * 400).status in (400, 414), "more answers than there are questions are refused")
    odd = device.get("/guide?said=" + urllib.parse.quote("symptom.slow=yes;\"><script>alert(1)</script>=yes"))
    check(tap, odd.status == 400 and "<script>alert" not in odd.text, "markup is no answer")


def answer(device, path, fields):
    place = device.post(path, fields).headers.get("Location", "")
    return device.get(place) if place else None


def opened(bench, drive, fault):
    """The number of a new job on a new deck."""
    deck = re.search(r"deck, id (\d+)", bench.call("deck", "add", "make=Invented", f"model={drive}", f"drive={drive}").stdout).group(1)
    said = bench.call("job", "open", "customer_id=1", f"deck_id={deck}", f"fault={fault}").stdout
    return re.search(r"Job (\d+)", said).group(1)


def check_job(tap, bench, device, job):
    path = f"/job/{job}/guide"
    check(tap, f'href="{path}"' in device.get(f"/job/{job}?at=findings").text, "the job leads to it")
    refused = device.post(path, {"words": "it is purple"})
    check(tap, refused.status == 400, "words that say nothing are refused", refused.status)
    page = answer(device, path, {"words": "it is slow"})
    check(tap, asked(page) and len(odds(page)) > 1, "it begins with the owner's words", page and page.text[:500])
    check(tap, "Not understood" not in page.text, "and all of them were understood")
    check_not_understood(tap, answer(device, path, {"words": "it is slow, my uncle built the rack"}), lambda fields: answer(device, path, fields))
    page = answer(device, path, {"words": "it is slow"})
    check(tap, "Not understood" not in page.text, "until it is said in other words")
    path_given = 0
    while asked(page) and path_given < 12 and int(odds(page)[0][0]) < 95:
        question, answers = asked(page), dict(buttons(page))
        unanswered = odds(page)
        true = re.search(r"stretch|slack|longer|slower with the stylus|measured slow|gone with|pitch mark|new belt|slip", question, re.I)
        page = answer(device, path, answers.get("By a belt") or answers["Yes" if true else "No"])
        path_given += 1
    check(tap, "Belt stretched" in odds(page)[0][1], "it comes to the belt", odds(page))
    check(tap, "Answers so far" in page.text and "Take back: " in page.text, "the path stands there, and its last answer can be taken back")
    last = html.unescape(re.search(r"Take back: ([^<]*)<", page.text).group(1))
    back = next(inside for inside in re.findall(r"<form [^>]*>(.*?)</form>", page.text, re.S) if "Take back: " in inside)
    fields = {name: value for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', back) if name != "form_token"}
    shown = answer(device, path, fields)
    check(tap, odds(shown) == unanswered and looks(shown, last) == looks(page, last) - 1, "taken back it weighs nothing", last)
    check(tap, odds(device.get(path)) == odds(shown), "what was answered is kept")
    said = bench.call("guide", "--job", job).stdout
    check(tap, "symptom.slow" in said, "and the command line goes on from it", said)


def take_back(page):
    """The fields of the form that takes back the last answer, and what it says."""
    inside = next(form for form in re.findall(r"<form [^>]*>(.*?)</form>", page.text, re.S) if "Take back: " in form)
    fields = {name: html.unescape(value) for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', inside) if name != "form_token"}
    return html.unescape(re.search(r"Take back: ([^<]*)<", inside).group(1)), fields


def check_drive(tap, device, job):
    """The drive is an answer like any other: it stands in the path, and is taken back."""
    path = f"/job/{job}/guide"
    before = answer(device, path, {"words": "it is slow"})
    page = answer(device, path, dict(buttons(before))["By a belt"])
    said, fields = take_back(page)
    check(tap, said == asked(before) == "What drives the platter?" and f"<dt>{said}</dt>" in page.text and odds(page) != odds(before), "the drive stands in the path", said)
    back = answer(device, path, fields)
    check(tap, asked(back) == said and odds(back) == odds(before), "and is asked again when it is taken back", asked(back))


def check_two_devices(tap, bench, device, job):
    """What two devices answer at the same time is kept of both."""
    path, other = f"/job/{job}/guide", Device(bench)
    other.get("/")
    keys = [line.split()[0] for line in bench.call("guide", "list", "findings").stdout.splitlines() if line.startswith("finding.")][:24]

    def give(one, mine):
        for key in mine:
            one.post(path, {"key": key, "answer": "no"})

    givers = [threading.Thread(target=give, args=(one, keys[i::2])) for i, one in enumerate((device, other))]
    for giver in givers:
        giver.start()
    for giver in givers:
        giver.join()
    tables = json.loads(bench.call("guide", "--job", job, "--json").stdout)["tables"]
    kept = {row[0] for table in tables if table["key"] == "guide.answers" for row in table["rows"]}
    check(tap, kept >= set(keys), "what two devices answer at the same time is kept of both", sorted(set(keys) - kept))


def check_estimate(tap, bench, device, job, other):
    page = device.get(f"/job/{job}/guide")
    check(tap, "Put these works into the estimate" in page.text, "a likely cause has its work", page.text[-600:])
    place = device.post(f"/job/{job}/guide/estimate", {}).headers.get("Location", "")
    check(tap, place.endswith(f"/job/{job}?at=estimate#estimate"), "it goes into the estimate", place)
    text = device.get(f"/job/{job}?at=estimate").text
    check(tap, "Fit a new belt, clean its path" in text and "belt by its listed inside length" in text, "labour and part stand in it")
    lines = text.count("Fit a new belt, clean its path")
    device.post(f"/job/{job}/guide/estimate", {})
    check(tap, device.get(f"/job/{job}?at=estimate").text.count("Fit a new belt, clean its path") == lines, "a second time adds nothing")
    refused = device.post(f"/job/{other}/guide/estimate", {})
    check(tap, refused.status == 400 and "likely enough" in refused.text, "without a cause there is no plan", refused.status)
    check(tap, "Nothing was added" in bench.call("guide", "estimate", "--job", job).stdout, "the command line says so too",
          bench.call("guide", "estimate", "--job", job))


def check_confirm(tap, bench, device, job):
    page = device.get(f"/job/{job}/guide")
    check(tap, "It was this: keep it as a finding" in page.text, "a likely cause can be confirmed")
    place = device.post(f"/job/{job}/guide/confirm", {"fault": "belt_stretched"}).headers.get("Location", "")
    check(tap, place.endswith(f"/job/{job}?at=findings#findings"), "it is a finding of the job", place)
    device.post(f"/job/{job}/guide/confirm", {"fault": "belt_stretched"})
    shown = device.get(f"/job/{job}?at=findings").text
    listed = re.search(r'<section id="findings".*?</section>', shown, re.S).group(0)
    check(tap, listed.count("Belt stretched or gone slack") == 1 and "confirmed" in listed, "kept once, as confirmed", listed[:600])
    refused = device.post(f"/job/{job}/guide/confirm", {"fault": "gremlins"})
    check(tap, refused.status == 400 and "gremlins" in refused.text, "a fault that the guide does not know is refused")


def check_danger(tap, device, job):
    page = answer(device, f"/job/{job}/guide", {"words": "I got a shock from it"})
    check(tap, "leave it unplugged" in page.text and "metal" in page.text.lower(), "a deck that tingles stays unplugged", page.text[:900])
    check(tap, "Try something else first" not in page.text, "and nothing else is offered before")
    gone = device.get("/job/0099/guide")
    check(tap, gone.status == 404, "a job that is not there has no guide")


def main(program):
    tap = Tap()
    with tempfile.TemporaryDirectory() as folder, Bench(program, folder + "/shop") as bench:
        slow, tingles = (opened(bench, drive, fault) for drive, fault in (("belt", "sounds slow"), ("direct", "tingles")))
        device = Device(bench)
        device.get("/")
        check_telephone(tap, device)
        check_job(tap, bench, device, slow)
        check_estimate(tap, bench, device, slow, tingles)
        check_confirm(tap, bench, device, slow)
        check_danger(tap, device, tingles)
        unknown = opened(bench, "unknown", "sounds slow")
        check_drive(tap, device, unknown)
        check_two_devices(tap, bench, device, unknown)
    sys.exit(tap.end())


main(sys.argv[1])
