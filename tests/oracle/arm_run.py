# SPDX-License-Identifier: MIT
"""The technician of arm_model.py works with `align` until it is right; rake and tracking force are set the same way.

Each case gives plain values: what is wrong, readings beside their truth, and where it ended.
"""
import random
import re

import arm_model
import bodies
import program

GOOD_MM, GOOD_DEG, ROUNDS = 0.25, 0.5, 2
TRUTHS = {"found.overhang": lambda setup: setup.overhang, "found.offset": lambda setup: setup.offset,
          "found.distortion_max": lambda setup: setup.distortion()[0], "found.distortion_rms": lambda setup: setup.distortion()[1]}
AFTER = {"move.overhang": lambda setup: setup.overhang, "move.offset": lambda setup: setup.offset,
         "move.distortion_max": lambda setup: setup.distortion()[0], "move.distortion_rms": lambda setup: setup.distortion()[1]}


def operands(angles, overhang):
    return [f"found.error_at={radius}mm:{angle:.2f}deg" for radius, angle in angles.items()] + [f"found.overhang={overhang:.2f}mm"]


def doubted(sheet):
    """Readings named to be taken again: radii, 'overhang', 'all'; empty where none is doubted."""
    lines = [line for line in sheet.remarks if "belong to no one arm" in line or re.search(r"\bagain: ", line) and "angle at" in line]
    named = []
    for line in lines:
        asked = line.partition("Take ")[2].partition("Move nothing")[0]
        named += [float(radius) for radius in re.findall(r"angle at ([\d.]+) mm", asked)]
        named += ["overhang"] * ("overhang" in asked) + ["all"] * ("take all" in asked)
    # The pivot's distance is one of many things that a sheet speaks of: only where it is asked for again it is doubted.
    named += ["pivot"] * any(re.search(r"pivot.*(again|misread|check)|(again|misread|check).*pivot", line, re.IGNORECASE) for line in sheet.remarks
                             if "misread" in line or "again" in line and "arc again" not in line)
    return named


class Work:
    """One case from intake to the end."""

    def __init__(self, path, seed, number):
        self.case = arm_model.Case(random.Random(f"arm {seed} {number}"), number)
        self.prog, self.wrong, self.readings, self.words = program.Program(path), [], [], []
        self.setup, self.stated = self.case.found, self.case.stated(self.case.spoil == "pivot")
        self.before = None

    def ask(self, angles, overhang):
        words = self.stated + operands(angles, overhang) + (self.before or [])
        self.words.append("deckwright align " + " ".join(words))
        return self.prog.sheet("align", *words)

    def trusted(self, first):
        """A sheet whose readings belong together: what it names is read again."""
        case = self.case
        angles, overhang = case.readings(self.setup, case.spoil if first else "")
        for attempt in range(4):
            sheet = self.ask(angles, overhang)
            if sheet.said("read the angles with the cantilever itself"):
                self.case.body, self.stated = False, self.case.by_cantilever(self.stated)
                angles, _ = case.readings(self.setup, case.spoil if first else "")
                sheet = self.ask(angles, overhang)
            named = doubted(sheet)
            if attempt == 0 and first:
                self.judge_naming(named, sheet)
            if not named:
                break
            again, again_overhang = case.readings(self.setup, "")
            for name in named:
                if name in angles:
                    angles[name] = again[name]
            if "all" in named:
                angles = again
            if "overhang" in named or "all" in named:
                overhang = again_overhang
            if "pivot" in named or "all" in named:
                self.stated = case.stated(False)
        return sheet

    def judge_naming(self, named, sheet):
        spoilt = self.case.spoilt
        said = next((line for line in sheet.remarks if "no one arm" in line or "The pivot stands" in line), "")
        if spoilt is not None and spoilt not in named:
            self.wrong.append((f"{self.case.spoil}: misread value not named", f"it is {spoilt}; told: {said}"))
        if spoilt is None and named and named != ["pivot"]:
            self.wrong.append(("right readings doubted", said))

    def note(self, sheet, first):
        """Readings beside their truth, where nothing is spoilt."""
        told = sheet.value("move.slide"), sheet.value("move.twist")
        after = self.setup.moved(*told)
        right = arm_model.Setup.right(self.setup.distance, self.setup.ahead, self.setup.skew)
        truths = {key: ask(self.setup) for key, ask in TRUTHS.items()} | {key: ask(after) for key, ask in AFTER.items()}
        if self.case.shell == "slots":
            truths["move.twist"] = right.shell + right.twist - self.setup.shell - self.setup.twist
            truths["move.slide"] = self.slide_needed(right)
        elif first and self.case.shell in ("slide", "plugin") and sheet.value("move.slide") != 0:    # later what is small is left, which picks the errors
            truths["move.slide"] = self.setup.best_slide().slide - self.setup.slide
        for key, true in truths.items():
            row = sheet.readings.get(key)
            if row is not None and row["value"] is not None:
                self.readings.append((key, row["value"], row["uncertainty"], true, bool(row["flags"])))
        if first and after.worst() > self.setup.worst() * 1.02 + 0.005:
            self.wrong.append((f"the move makes it worse: {self.case.shell}", f"{self.setup.worst():.3f} to {after.worst():.3f} deg/cm: {told}"))

    def slide_needed(self, right):
        """How far the stylus has to go along the shell."""
        return ((right.stylus() - self.setup.stylus()) / arm_model.inwards(self.setup.shell)).real

    def round(self, first):
        sheet = self.trusted(first)
        if not sheet.has("move.slide") or not sheet.has("move.twist"):
            self.wrong.append(("no move told", sheet.not_measured.get("move.slide", "")))
            return
        clean = self.case.spoilt is None or not first
        if clean:
            self.note(sheet, first)
        # What the sheet calls good enough, or says to leave, is left alone.
        if not sheet.said("good enough: within", "leave it as it is"):
            self.setup = self.case.eyes.do(self.setup, sheet.value("move.slide"), sheet.value("move.twist"), self.case.shell)
        self.before = [f"found.overhang_before={sheet.value('found.overhang'):.3f}mm",
                       f"found.offset_before={sheet.value('found.offset'):.3f}deg"]
        # What the sheet asks to be given next time, where the move was done as told.
        self.before += [word for line in sheet.remarks for word in re.findall(r"found\.overhang_expected=[\d.:m-]+", line)]

    def judge_end(self):
        length, offset = arm_model.wanted(self.setup.distance)
        over, turned = self.setup.overhang - (length - self.setup.distance), self.setup.offset - offset
        if self.case.shell == "slots":
            if abs(over) > GOOD_MM or abs(turned) > GOOD_DEG:
                self.wrong.append(("not there in two rounds", f"{over:+.2f} mm, {turned:+.2f} deg"))
        elif self.case.shell in ("slide", "plugin"):
            best = self.setup.best_slide()
            allowed = max(best.changed(side * GOOD_MM * 1.2, 0).worst() for side in (-1, 1))
            if self.setup.worst() > allowed:
                self.wrong.append((f"not there in two rounds: {self.case.shell}", f"{self.setup.worst():.3f} deg/cm, best {best.worst():.3f}"))
        return over, turned


def try_align(path, seed, number, keep=None):
    work = Work(path, seed, number)
    case = work.case
    done = {"number": number, "case": case.shell + ", by body" * case.body, "spoil": case.spoil if case.spoil else "", "readings": [], "said": ""}
    try:
        for place in range(ROUNDS):
            work.round(place == 0)
        done["end"] = work.judge_end()
    except program.Refused as trouble:
        work.wrong.append(("refused", str(trouble)))
    done.update(wrong=work.wrong, readings=work.readings, words="\n".join(work.words), spoilt=case.spoilt is not None,
                truth={"distance": case.distance, "overhang": case.found.overhang, "offset": case.found.offset, "skew": case.skew})
    return done


# Rake: a photograph that is off by the camera's error, the base or a wedge moved as told

def try_rake(path, seed, number, keep=None):
    draw, prog = random.Random(f"rake {seed} {number}"), program.Program(path)
    length, offset, height = draw.uniform(200, 310), draw.uniform(0, 26), draw.uniform(8, 30)
    rake, bearing = 92 + draw.choice([-1, 1]) * draw.uniform(0.3, 4), draw.choice(["across_cartridge", "across_arm"])
    way, base = draw.choice(["base", "wedge"]), draw.uniform(12, 18)
    arm = bodies.Arm(length, offset, height, rake, bearing)
    read = rake + draw.gauss(0, 0.5)                    # 95 % within the camera's 1 degree
    words = [f"rake.measured={read:.2f}deg", f"arm.effective_length={length:.1f}mm", f"arm.offset={offset:.1f}deg",
             f"arm.bearing_axis={bearing}", f"arm.bearing_height={height:.1f}mm", f"rake.wedge_base={base:.1f}mm"]
    done = {"number": number, "case": way, "words": "deckwright rake " + " ".join(words), "wrong": [], "readings": [], "said": "",
            "truth": {"rake": rake}}
    try:
        sheet = prog.sheet("rake", *words)
    except program.Refused as trouble:
        done["wrong"] = [("refused", str(trouble))]
        return done
    if way == "base":
        arm.raise_base(sheet.value("rake.spacer"))
    else:
        label = sheet.label("rake.wedge")
        arm.wedge(abs(sheet.value("rake.wedge")) * 16 / base, "nose" if "nose" in label else "pivot")    # the body's top is 16 mm
    row = sheet.readings["rake.angle"]
    done["readings"] = [("rake.angle", row["value"], row["uncertainty"], rake, bool(row["flags"]))]
    needed = arm_needed(length, offset, height, rake, bearing)
    row = sheet.readings["rake.spacer"]
    done["readings"].append(("rake.spacer", row["value"], row["uncertainty"], needed, bool(row["flags"])))
    if abs(arm.rake() - 92) > abs(read - rake) + 0.1 + 0.08 * abs(read - 92):
        done["wrong"].append((f"rake not there: {way}", f"{rake:.2f} read {read:.2f} ended {arm.rake():.2f}: {sheet.label('rake.wedge')}"))
    return done


def arm_needed(length, offset, height, rake, bearing):
    """How far the base has to go up for 92 degrees, by trying."""
    low, high = -40.0, 40.0
    for _ in range(40):
        middle = (low + high) / 2
        arm = bodies.Arm(length, offset, height, rake, bearing)
        arm.raise_base(middle)
        low, high = (middle, high) if arm.rake() < 92 else (low, middle)
    return (low + high) / 2


# Force: a lever, a counterweight on a thread, a scale that is off and rounds

def try_force(path, seed, number, keep=None):
    draw, prog = random.Random(f"force {seed} {number}"), program.Program(path)
    length, weight, place, pitch = draw.uniform(200, 310), draw.uniform(70, 160), draw.uniform(20, 45), draw.choice([0.75, 1.0, 1.5])
    force, target = draw.uniform(1.0, 2.6), draw.choice([1.5, 1.75, 2.0])
    off = draw.gauss(0, 0.05 / 1.96)                   # the scale's accuracy, 0.05 g at 95 %
    def scale():
        return round(force + off + draw.gauss(0, 0.008), 2)
    count = draw.choice([1, 2, 3, 5])
    words = [f"force.reading={scale():.2f}g" for _ in range(count)]
    words += [f"force.target={target}g", f"force.low={target - 0.25:.2f}g", f"force.high={target + 0.25:.2f}g",
              f"arm.effective_length={length:.1f}mm", f"arm.counterweight_mass={weight:.1f}g",
              f"arm.counterweight_position={place:.1f}mm", f"arm.counterweight_pitch={pitch}mm"]
    done = {"number": number, "case": f"{count} readings", "words": "deckwright force " + " ".join(words), "wrong": [], "readings": [],
            "said": "", "truth": {"force": force}}
    try:
        sheet = prog.sheet("force", *words)
    except program.Refused as trouble:
        done["wrong"] = [("refused", str(trouble))]
        return done
    # The weight's lever: nearer to the pivot it lifts less, and the stylus bears more.
    label, shift = sheet.label("counterweight.shift"), sheet.value("counterweight.shift")
    towards = shift if "towards" in label else -shift
    after = force + weight * towards / length
    needed = (target - force) * length / weight
    for key, true in (("force.tracking_g", force), ("counterweight.shift", needed)):
        row = sheet.readings[key]
        done["readings"].append((key, row["value"], row["uncertainty"], true, bool(row["flags"])))
    if abs(after - target) > 0.15:
        done["wrong"].append(("force not there", f"{force:.2f} to {after:.2f} g, wanted {target}"))
    return done
