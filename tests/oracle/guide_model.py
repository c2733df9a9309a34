# SPDX-License-Identifier: MIT
"""Common faults as a workshop meets them: what an owner says, and what each test then shows.

Source (trade): common practice, set down without the chances of data/guide, of which only the names are used. Each line gives chances in
tenths; what is not listed is not so, but for what many decks show anyway (ANYWAY). As asked for, some answers are wrong and some unknown.
"""
import dataclasses
import math
import random

TWO, UNKNOWN_DRIVE = 0.25, 0.1
DRIVES = {"belt": 50, "idler": 15, "direct": 35}
ANYWAY = {"same_anywhere": 8, "record_dusty": 2, "oil_stiff": 1, "off_grid": 1, "groove_grey": 1, "tip_dirt": 1, "hinge_loose": 1,
          "level_off": 1, "mounts_hard": 1, "moved": 1, "shelf_heard": 1, "pulley_ring": 1, "lift_fast": 1, "screws_loose": 1}
ELSEWHERE = ("feedback", "floor", "hum_field", "radio", "mains_dirt")     # with these it is not the same anywhere
# What an owner says when he does not say what is so.
MISTAKEN = {"wow": "gargle", "gargle": "wow", "hum": "rumble", "rumble": "hum", "harsh_inner": "harsh_all", "harsh_all": "dull",
            "harsh_right": "harsh_all", "skips": "slides_in", "skips_warp": "skips", "channel_dead": "comes_and_goes", "slow": "drifts_warm",
            "comes_and_goes": "channel_weak", "channel_weak": "channel_dead", "squeak": "rumble", "drifts_warm": "slow", "jumps": "hunts",
            "hollow": "thin_loud", "cue_drop": "cue_drift", "buzz_deck": "hum", "slow_start": "slow", "strobe_moves": "jumps",
            "crackle_grows": "crackle_dry", "no_return": "cycle_stalls", "cycle_stalls": "no_return", "booms": "rumble",
            "slides_in": "skips", "slides_out": "skips", "hum_one": "hum", "thump_fast": "thump_turn", "set_down_wrong": "returns_early"}
# What is truly complained of is measured too, nine times in ten.
MEASURED = {"is_slow": "slow", "is_fast": "fast", "off_by_sixth": "fifth_off", "ratio_wrong": "one_speed", "slows_stylus": "slow_loud",
            "wanders_warm": "drifts_warm", "right_when_warm": "slow_cold", "worse_cold": "slow_cold", "line_slow": "hunts",
            "band_dead": "channel_dead", "band_unequal": "channel_weak", "band_swapped": "swapped", "band_reversed": "hollow",
            "treble_off": "dull", "right_first": "harsh_right", "worse_inside": "harsh_inner", "hum_hand": "hum_touch",
            "switch_clicks": "click_off", "trips_not": "no_return", "hesitates": "cycle_stalls", "lands_off": "set_down_wrong",
            "lift_fast": "cue_drop", "howls": "booms", "side_pull": "sticks_place", "gone_other_record": "one_record"}

# name | how common, 1 to 5 | drives | deck | says | shows
LINES = """
belt_stretched | 5 | belt | | slow 7, slow_loud 5, wow 4, slow_start 6, motor_no_platter 1 | is_slow 7, slows_stylus 7, belt_long 9, slip_counted 8, cured_new_belt 9, line_slow 2
belt_slips | 2 | belt | | slow 6, slow_loud 7, slow_start 5, wow 3 | is_slow 6, slows_stylus 8, belt_greasy 9, slip_counted 9, cured_new_belt 5, pulley_ring 4
belt_hump | 2 | belt | | wow 9, slow_cold 2 | belt_humped 8, line_belt 9, cured_new_belt 9
pulley_dirty | 3 | belt idler | | gargle 6, wow 2, fast 3, tick 3 | pulley_ring 9, line_motor 8, is_fast 3
pulley_mains | 2 | belt idler | | fifth_off 9, fast 3, slow 2 | off_by_sixth 9.5, pulley_other_mains 9, is_fast 6, is_slow 3, off_all_alike 9
idler_hard | 3 | idler | | slow 7, slow_loud 6, slow_start 6, rumble 3 | is_slow 7, slows_stylus 8, idler_nail 9, slip_counted 8
idler_flat | 3 | idler | | thump_fast 8, rumble 4, wow 3 | idler_dimple 9, line_idler 9
motor_dry | 3 | belt idler | | slow 4, slow_start 6, squeak 6, slow_cold 6, gargle 3, rumble 2, hums_no_start 2 | motor_rough 7, motor_weak 7, shaft_stiff 8, better_motor_oil 9, gone_coasting 7, is_slow 4, right_when_warm 5, worse_cold 7, line_motor 3, still_noise 3
motor_mounts | 2 | belt idler | | rumble 8, buzz_deck 4, gargle 2 | mounts_hard 9, motor_shakes 5, gone_coasting 9, line_mains 4, line_motor 4, still_noise 8, quieter_motor_plate 6
motor_capacitor | 2 | belt idler | | hums_no_start 7, slow_start 5, gargle 4, buzz_deck 3 | capacitor_low 9, motor_weak 8, line_mains 6, gone_coasting 6, motor_buzzes 5
bearing_dry | 3 | belt idler direct | | rumble 8, squeak 4, slow 3, wow 2 | coast_short 8, bearing_heard 8, oil_gone 9, better_bearing_oil 8, stays_coasting 8, slows_stylus 2, is_slow 2
servo_capacitors | 3 | direct | | drifts_warm 6, slow_cold 4, hunts 5, strobe_moves 5, jumps 1 | rail_ripple 9, wanders_warm 6, right_when_warm 3, line_slow 5, worse_cold 3, worse_hot 3, cured_supply 4
servo_joints | 2 | direct | | strobe_moves 6, jumps 7, drifts_warm 3, dead 2 | joints_sensitive 9, wanders_warm 5, worse_hot 4, feedback_lost 2
servo_ic | 2 | direct | | dead 5, strobe_moves 6, runs_away 4 | drive_dead 9, rotor_gap 2
speed_contact | 4 | direct | | jumps 8, one_speed 5, strobe_moves 4 | controls_jump 9, control_rough 7, ratio_wrong 4
speed_trim | 2 | belt direct | | one_speed 6, slow 4, fast 5 | ratio_wrong 6, trim_disturbed 8, off_all_alike 8, is_slow 4, is_fast 5
stylus_worn | 5 | belt idler direct | | harsh_all 8, harsh_inner 6, dull 5, skips 2 | tip_flats 9, both_break 7, treble_off 5, gone_other_cartridge 9, worse_inside 5, harsh_everywhere 4
stylus_dirty | 4 | belt idler direct | | dull 5, crackle_grows 8, harsh_all 5, skips 2, slides_in 2 | tip_dirt 9, better_cleaned 9, gone_other_cartridge 9, both_break 4, treble_off 3, record_dusty 5
alignment | 4 | belt idler direct | | harsh_inner 9, new_stylus 5, moved 2 | off_grid 9.5, worse_inside 8, clean_at_points 5, both_break 2, cured_reseat 1
force_low | 4 | belt idler direct | | skips 8, harsh_all 6, slides_in 3, new_stylus 3, skips_warp 3, footfall 2 | force_under 9.5, both_break 8, better_more_force 9, harsh_everywhere 6
antiskate_low | 3 | belt idler direct | | harsh_right 8, slides_in 5, skips 2, harsh_inner 3 | right_first 8, skate_dead 4, better_more_skate 9, worse_inside 3
arm_friction | 2 | belt idler direct | | sticks_place 5, slides_out 5, skips 6, skips_same 1 | arm_sticks 9, swings_few 9, side_pull 6, lever_touches 1
arm_play | 2 | belt idler direct | | harsh_all 5, skips 3, separation 4, harsh_inner 3 | arm_loose 9, rocks_crosswise 9, both_break 4, harsh_everywhere 4
lead_broken | 4 | belt idler direct | | channel_dead 7, comes_and_goes 6, hum_one 3 | lead_open 9, drops_at_plug 7, moves_with_plugs 9, band_dead 7, cured_other_lead 9, band_unequal 3
clip_off | 3 | belt idler direct | | channel_dead 9, new_stylus 5, comes_and_goes 3, hum_one 4, moved 2 | clip_loose 9, band_dead 9, moves_with_plugs 9, cured_by_clips 7, drops_at_shell 4, band_unequal 2
channels_crossed | 1 | belt idler direct | | swapped 9.5, new_stylus 5, moved 2 | band_swapped 9.5, clip_sides 8
polarity | 1 | belt idler direct | | hollow 9, separation 5, new_stylus 5 | band_reversed 9.5, clip_order 9
headshell_contact | 4 | belt idler direct | | comes_and_goes 8, channel_dead 4, channel_weak 3 | drops_at_shell 9, cured_reseat 9, band_unequal 3, moves_with_plugs 7, gone_other_cartridge 4, band_dead 3
earth_missing | 4 | belt idler direct | | hum 9, hum_touch 6, moved 4 | hum_hand 7, cured_earth_wire 9, tube_open 3, hum_earth_same 4, hum_less_on 6
tube_unearthed | 1 | belt idler direct | | hum_touch 9, hum 6 | tube_open 9.5, hum_hand 9.5, cured_earth_wire 9, hum_earth_same 6
ground_open | 2 | belt idler direct | | hum_one 9, channel_weak 4, hum 2 | return_open 9, moves_with_plugs 9, cured_other_lead 4, band_unequal 4
muting | 3 | belt idler direct | automatic | channel_dead 6, channel_weak 4, comes_and_goes 5, both_weak 2 | muted 8, drops_at_switch 9, band_dead 5, moves_with_plugs 9, band_unequal 4
suppressor | 2 | belt idler direct | | click_off 7, smell 4, keeps_running 2, fuse_blows 2 | suppressor_bad 9, switch_clicks 8
auto_grease | 4 | belt idler direct | automatic | no_return 7, cycle_stalls 8, set_down_wrong 2, keeps_running 3 | levers_stiff 9, hesitates 8, arm_not_lifted 3, clutch_slow 3
trip_clutch | 3 | belt idler direct | automatic | no_return 9, keeps_running 3, returns_early 2 | clutch_slow 9, trips_not 8
cam_cap | 2 | belt idler direct | automatic | no_return 6, set_down_wrong 6, cycle_stalls 2 | cap_missing 9, arm_not_lifted 8, lands_off 5
lid_loose | 2 | belt idler direct | | lid_noise 9, booms 2 | hinge_loose 8, cured_lid 9, lid_quiet 9
feedback | 3 | belt idler direct | | booms 9.5, rumble 3 | howls 9.5, shelf_heard 7, cured_footing 7, cured_cloth 6, cured_room 2
floor | 2 | belt idler direct | | footfall 9.5, booms 2 | shelf_heard 9, cured_footing 8, cured_cloth 3
record_warped | 3 | belt idler direct | | skips_warp 6, wow 5, one_record 7, thump_turn 5 | record_bent 9.5, gone_other_record 9, turns_with_record 9, line_turn 6, wallows 4
record_eccentric | 3 | belt idler direct | | wow 9, one_record 8 | hole_off 9, gone_other_record 9, turns_with_record 9, line_turn 9
record_dirty | 4 | belt idler direct | | crackle_grows 6, one_record 5, crackle_dry 3, skips_same 4 | record_dusty 9, better_washed 9, gone_other_record 7, better_cleaned 3, tip_dirt 5
lift_fluid | 3 | belt idler direct | | cue_drop 9.5 | lift_fast 9.5, fluid_gone 9
"""


@dataclasses.dataclass
class Fault:
    name: str
    weight: float
    drives: list
    automatic: bool
    says: dict
    shows: dict


def chances(text):
    pairs = (part.split() for part in text.split(",") if part.strip())
    return {name: float(tenths) / 10 for name, tenths in pairs}


def faults():
    found = []
    for line in LINES.strip().splitlines():
        name, weight, drives, deck, says, shows = (part.strip() for part in line.split("|"))
        found.append(Fault(name, float(weight), drives.split(), deck == "automatic", chances(says), chances(shows)))
    return found


FAULTS = faults()


def chance_of(key, present, said):
    """How likely it is so with these faults; `said`: how surely the complaint is true that it measures."""
    kind, name = key.split(".", 1)
    elsewhere = name == "same_anywhere" and any(fault.name in ELSEWHERE for fault in present)
    chances_not = [1 - (fault.says if kind == "symptom" else fault.shows).get(name, 0) for fault in present]
    return 1 - math.prod(chances_not) * (1 - (0 if elsewhere else ANYWAY.get(name, 0) / 10)) * (1 - 0.9 * said)


class Deck:
    """A deck on the bench with one fault or two: what is so stays so, how it is answered is drawn once a question."""

    def __init__(self, seed, number, wrong, unknown):
        self.seed, self.number, self.wrong, self.unknown = seed, number, wrong, unknown
        self.draw = random.Random(f"guide {seed} {number}")
        self.faults = [self.pick(lambda fault: True)]
        first = self.faults[0]
        self.drive = self.draw.choices(first.drives, [DRIVES[drive] for drive in first.drives])[0]
        if self.draw.random() < TWO:
            self.faults.append(self.pick(lambda fault: self.drive in fault.drives and fault is not first))
        self.automatic = any(fault.automatic for fault in self.faults) or self.draw.random() < 0.3
        self.suspended = self.drive == "belt" and self.draw.random() < 0.4
        self.drive_told = self.draw.random() >= UNKNOWN_DRIVE
        self.mistaken, self.told = False, set()
        self.so = {}
        self.answers = {}

    def pick(self, fits):
        able = [fault for fault in FAULTS if fits(fault)]
        return self.draw.choices(able, [fault.weight for fault in able])[0]

    def is_so(self, key):
        """Drawn by the key alone, so that it is the same in whatever order things are asked."""
        if key not in self.so:
            self.so[key] = self.drawn("so", key) < chance_of(key, self.faults, self.so_said(key))
        return self.so[key]

    def so_said(self, key):
        name = MEASURED.get(key.removeprefix("finding.")) if key.startswith("finding.") else None
        return float(self.is_so("symptom." + name)) if name else 0.0

    def drawn(self, what, key):
        return random.Random(f"guide {self.seed} {self.number} {what} {key}").random()

    def complaints(self):
        """What it is brought in for: one or two things of the first fault, and one of the second."""
        said = []
        for fault in self.faults:
            heard = [name for name, chance in fault.says.items() if self.draw.random() < chance]
            heard = heard or [max(fault.says, key=fault.says.get)]
            heard = [name for name in sorted(heard, key=lambda name: -fault.says[name]) if "symptom." + name not in said]
            said += ["symptom." + name for name in heard[:2 if len(self.faults) == 1 and self.draw.random() < 0.5 else 1]]
        self.so.update((key, True) for key in said)
        told = [self.as_told(key) for key in said]
        self.mistaken, self.told = told != said, set(told)
        self.answers.update((key, "yes") for key in told)
        return told

    def as_told(self, key):
        """The complaint in the owner's words, which now and then are the wrong ones."""
        name = key.removeprefix("symptom.")
        wrong = self.draw.random() < self.wrong and name in MISTAKEN
        return "symptom." + (MISTAKEN[name] if wrong else name)

    def answer(self, key, again=False):
        """What is answered; at a second look whoever was wrong errs again one time in three. The drive is plain to see."""
        if key == "drive.kind":
            self.drive_told = True
            return self.drive
        so = self.is_so(key)
        if again:
            wrong_before = self.answers[key] != ("yes" if so else "no")
            wrong = max(self.wrong, 1 / 3) if wrong_before else self.wrong
            look = self.drawn_answer(so, wrong, self.drawn("second look", key))
            self.answers[key] += "," + look
            return look
        if key not in self.answers:
            self.answers[key] = self.drawn_answer(so, self.wrong, self.drawn("answer", key))
        return self.answers[key]

    def drawn_answer(self, so, wrong, chance):
        if chance < self.unknown:
            return "unknown"
        return "yes" if so != (chance < self.unknown + wrong) else "no"

    def operands(self):
        asked = {key for key in self.answers if key.startswith("symptom.") and key not in self.told}
        told = [f"{key}={'asked' if key in asked and answer == 'yes' else answer}" for key, answer in self.answers.items()]
        told += [f"drive.kind={self.drive}"] if self.drive_told else []
        return told + [
                       f"deck.automatic={'yes' if self.automatic else 'no'}",
                       f"deck.suspended={'yes' if self.suspended else 'no'}"]

    def may_have(self, fault):
        return self.drive in fault.drives and (self.automatic or not fault.automatic)

    def known(self, *present):
        """How likely what was answered is with these faults, to one who knows this model."""
        likely = math.prod(fault.weight if self.may_have(fault) else 0 for fault in present)
        for key, answer in self.answers.items() if likely else ():
            measured = MEASURED.get(key.removeprefix("finding.")) if key.startswith("finding.") else None
            heard = self.answers.get(f"symptom.{measured}")
            hardly = 1 - math.prod(1 - fault.says.get(measured, 0) for fault in present)
            said = (0.9 if heard == "yes" else hardly) if measured else 0
            so = chance_of(key, present, said)
            wrong = max(self.wrong, 0.01)
            yes = so * (1 - wrong) + (1 - so) * (0.01 if key in self.told else wrong)
            looks = [look for look in answer.split(",") if look != "unknown"]
            if len(set(looks)) == 1:        # two looks that contradict each other say nothing
                likely *= yes if looks[0] == "yes" else 1 - yes
        return likely

    def best_guess(self):
        return max(FAULTS, key=self.known).name

    def best_order(self):
        """The faults by how likely each is, alone or with one other, to one who knows this model."""
        able = [fault for fault in FAULTS if self.may_have(fault)]
        whole = sum(fault.weight for fault in able)
        chance = {fault.name: (1 - TWO) * self.known(fault) for fault in able}
        for a, first in enumerate(able):
            for second in able[a + 1:]:
                both = TWO * 2 * self.known(first, second) / whole
                chance[first.name] += both
                chance[second.name] += both
        return sorted(chance, key=chance.get, reverse=True)
