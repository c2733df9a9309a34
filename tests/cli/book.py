#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The job book from the command line: calls with their exact output, complaint and exit status."""
import os
import subprocess
import sys
import tempfile

MAINS = ("deckwright: Job 0001 is unsafe (mains cord). Make it safe and give the item another verdict, or write down who "
         "was told that it leaves unsafe.\n")
# Arguments, exit status, standard output (None: not looked at here), standard error. FOLDER stands for a new folder.
CALLS = [
    ("board", 2, "", "deckwright: There is no job book in FOLDER/shop. 'deckwright book new' starts one there.\n"),
    ("book new", 0, "The job book is in FOLDER/shop.\n", ""),
    ("board", 0, "No deck is in the shop.\n", ""),
    ("board --json", 2, "", "deckwright: board show writes no JSON.\n"),
    ("book sharpen", 2, "", "deckwright: book cannot 'sharpen'. 'deckwright book --help' lists what it can.\n"),
    ("book backup", 2, "", "deckwright: The call is: deckwright book backup FOLDER_WORD\n"),
    ("book check x=1", 2, "", "deckwright: book check takes no 'x=1'.\n"),
    ("customer add phone=1", 2, "", "deckwright: The customer has no Name (name). Give it and save again.\n"),
    ("customer add name=Ada phone=0123", 0, "customer, id 1\n  Name                       Ada\n"
     "  Telephone                  0123\n  Preferred contact          not said\n  Language                   as the shop\n", ""),
    ("customer add name=Ada name=Bob", 2, "", "deckwright: name is given twice: name=Ada and name=Bob. Keep one.\n"),
    ("customer list", 0, "id 1      Ada  0123\n", ""),
    ("customer list --book=FOLDER/shop --by=Kim", 0, "id 1      Ada  0123\n", ""),
    ("customer list --book=FOLDER/shop --book FOLDER", 2, "",
     "deckwright: --book is given twice: FOLDER/shop and FOLDER. Keep one.\n"),
    ("customer show 2", 2, "", "deckwright: There is no customer number 2 in the book.\n"),
    ("deck add make=Plain model=Two serial=S-1", 0, None, ""),
    ("deck give 1 1", 0, "Deck id 1 belongs to customer id 1 from today.\n", ""),
    ("deck note 1 deck.speed=45rpm", 0, "deck.speed = 45rpm\n", ""),
    ("job open customer_id=1 deck_id=1", 0, "Job 0001 is booked.\n", ""),
    ("job open customer_id=7", 2, "",
     "deckwright: It refers to something that is not in the book. Check the numbers given.\n"),
    ("job move 1 waiting-for-part waiting_for=belt", 2, "",
     "deckwright: The deck was not taken in yet. The job was not moved. With --sure it is moved all the same.\n"),
    ("job move 1 waiting-for-part waiting_for=belt --sure", 0, "Job 0001 is waiting for part: belt.\n", ""),
    ("job move 1 flying", 2, "", None),
    ("job move 1 ready why=x", 2, "", "deckwright: 'why' is not used here.\n"),
    ("board show", 0, "0001  waiting for part       0 d  Ada, Plain Two: belt  owner not told yet\n", ""),
    ("board", 0, "0001  waiting for part       0 d  Ada, Plain Two: belt  owner not told yet\n", ""),
    ("job add 1 verdict item=mains_cord aspect=use grade=unsafe phase=as-received", 0, None, ""),
    ("job move 1 ready", 2, "", MAINS.replace("mains cord", "mains_cord")),
    ("job acknowledge 1 Ada told", 0, "It is noted that Ada was told that the deck of job 0001 is unsafe.\n", ""),
    ("job move 1 ready", 2, "", "deckwright: No invoice was issued. The job was not moved. With --sure it is moved all the same.\n"),
    ("job move 1 ready --sure", 0, "Job 0001 is ready.\n", ""),
    ("job note 1 shop.lift 0.8s label=Lift as=received uncertainty=0.1 instrument=video", 0,
     "The reading shop.lift is kept on job 0001, measurement id 1.\n", ""),
    ("job note 1 shop.lift 3.0s label=Lift as=left uncertainty=0.1 instrument=video", 0,
     "The reading shop.lift is kept on job 0001, measurement id 2.\n", ""),
    ("job note 1 shop.lift 3.0s label=Lift", 2, "",
     "deckwright: Say when it was measured: received, during or left.\n"),
    ("job compare 1", 0, "Lift:  as received 0.8 s  as left 3.0 s  change +2.2 s\n", ""),
    ("stock add number=B1 name=Belt kind=belt inner_length_mm=23.25in", 0, None, ""),
    ("stock move B1 +2", 0, "B1: 2 on hand.\n", ""),
    ("stock move B1 -3", 2, "", "deckwright: B1: 2 on hand, not 3. Count the shelf and book what is there first.\n"),
    ("stock belts inner_length_mm=595", 0, "B1  Belt  on hand 2  length -0.75 %\n", ""),  # 590.55 of 595 mm
    ("stock belts inner_length_mm=700", 0, "No belt in the book is within 2 % of that length.\n", ""),
    ("estimate draft 1 tax_rate=20", 0, None, ""),
    ("estimate line 1 name=belt kind=part price=18.50", 0, None, ""),
    ("estimate issue 1", 0, "Estimate id 1 is given out.\n", ""),
    ("estimate line 1 name=more amount=1", 2, "",
     "deckwright: The estimate was given out and is not changed. Start another version.\n"),
    ("book search ada", 0, "customer   id 1      Ada, 0123\n", ""),
    # What is told of a kind of record needs no book; what hangs on a job is there in words; what was done is undone.
    ("job fields --book=FOLDER/none", 0, None, ""),
    ("register fields arm --book=FOLDER/none", 0, None, ""),
    ("book fields payment --book=FOLDER/none", 0, None, ""),
    ("book journal --book=FOLDER/none", 2, "",
     "deckwright: There is no job book in FOLDER/none. 'deckwright book new' starts one there.\n"),
    ("book list finding", 0, "The book has no finding.\n", ""),
    ("job add 1 finding symptom=hums cause=earth", 0, None, ""),
    ("book list finding", 0, "id 1     hums, job 0001, earth\n", ""),
    ("book change finding 1 cause=hum-loop", 0, None, ""),
    ("book change finding 1 cause=hum-loop", 0, "Nothing differs; the finding stays as it is.\n", ""),
    ("book journal finding 1", 0, None, ""),
    ("estimate show 1 --json", 0, None, ""),
    ("book change finding 1 job_id=1", 2, "", "deckwright: Job of a finding is not changed by typing.\n"),
    ("book change finding 1", 2, "",
     "deckwright: Give what is to be changed: key=value. 'deckwright book fields finding' lists the keys.\n"),
    ("book remove verdict 1", 2, "", "deckwright: A verdict stays in the book.\n"),
    ("book remove finding 1", 0, None, ""),
    ("book list finding", 0, "The book has no finding.\n", ""),
    ("book show nothing 1", 2, "", "deckwright: \"nothing\" is no kind of entry. 'deckwright book kinds' lists them.\n"),
    ("book undo 99999", 2, "", None),
    ("help job", 0, None, ""),
    ("help --help", 0, None, ""),
    ("book backup FOLDER/stick", 0, "The book is backed up in FOLDER/stick.\n", ""),
    ("book restore FOLDER/stick", 0, "The book in FOLDER/shop is the one of the backup.\n"
     "What was there before is in FOLDER/shop.before-restore-1.\n", ""),
    ("book check", 0, "0 attachments read. The book is sound.\n", ""),
    ("bearing --as left", 2, "", "deckwright: --as, --book and --by go with --job NUMBER.\n"),
    ("bearing --job 9 --as left", 2, "", "deckwright: There is no job 0009 in the book.\n"),
    ("bearing --job 1 --as sold", 2, "", "deckwright: Say when it was measured: received, during or left.\n"),
]


def main(program):
    print(f"1..{len(CALLS)}")
    failed = False
    with tempfile.TemporaryDirectory() as folder:
        environment = dict(os.environ, DECKWRIGHT_BOOK=folder + "/shop", USER="tester")
        for number, (words, status, output, complaint) in enumerate(CALLS, 1):
            call = [program] + [word.replace("FOLDER", folder) for word in words.split(" ")]
            done = subprocess.run(call, capture_output=True, text=True, env=environment, check=False)
            wrong = [] if done.returncode == status else [f"exit {done.returncode}: {done.stderr}"]
            for what, expected, found in (("output", output, done.stdout), ("complaint", complaint, done.stderr)):
                if expected is None:
                    continue
                expected = expected.replace("FOLDER_WORD", "\0").replace("FOLDER", folder).replace("\0", "FOLDER")
                if found != expected:
                    wrong.append(f"{what} {found!r}, not {expected!r}")
            failed = failed or bool(wrong)
            print(f"{'not ok' if wrong else 'ok'} {number} - {words} {'; '.join(wrong)}")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
