#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Does what is advised lessen the error? Drives, strobes, resonance, loading, speed, starts, run-downs and reseating.

Pulleys are turned in a rolling belt, bars are flashed at, a mass hangs on a spring, a coil feeds a network: each is made by what it
is told, and has to come nearer to what was wanted.
"""
import math
import re

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

import program
import waves

RATE = 12000


def belt_speed(motor_rpm, pulley, rim, thickness):
    """The belt's middle runs on both without slip: its speed is that of a circle half a thickness outside each."""
    middle = motor_rpm * math.pi * (pulley + thickness)
    return middle / (math.pi * (rim + thickness))


def open_belt_path(pulley, rim, centre, thickness, corners=20000):
    """Length of the belt's middle round both circles: the hull of many points, so no formula of wraps is needed."""
    from scipy.spatial import ConvexHull
    angle = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    ring = np.column_stack([np.cos(angle), np.sin(angle)])
    points = np.vstack([ring * (pulley + thickness) / 2, ring * (rim + thickness) / 2 + [centre, 0]])
    return ConvexHull(points).area      # of a plane hull the "area" is its perimeter


def drive_pulley(prog, draw):
    """The pulley wanted, larger or smaller, turned in the same drive: the platter turns right, here and on the other mains."""
    poles, mains, nominal = draw.choice([16, 24]), draw.choice([50, 60]), draw.choice([100 / 3, 45.0])
    rim, thickness, pulley = draw.uniform(140, 300), draw.uniform(0.4, 1.2), draw.uniform(12, 60)
    motor = 120 * mains / poles
    right = nominal / motor * (rim + thickness) - thickness
    pulley = right * draw.choice([0.97, 0.985, 1.02, 1.03])
    kind = draw.choice(["belt", "idler"])
    t = thickness if kind == "belt" else 0.0
    belt = {"drive__belt_thickness": f"{thickness:.3f}mm"} if kind == "belt" else {}
    sheet = prog.sheet("drive", deck__speed=f"{nominal:.7f}rpm", deck__mains=f"{mains}Hz", drive__kind=kind, drive__motor_kind="synchronous",
                       drive__motor_poles=poles,
                       drive__pulley_diameter=f"{pulley:.4f}mm", drive__rim_diameter=f"{rim:.3f}mm", **belt)
    was = belt_speed(motor, pulley, rim, t)
    wrong = []
    if (sheet.value("drive.error") > 0) != (was > nominal):
        wrong.append(f"it turns at {was:.3f}, told {sheet.value('drive.error'):+.2f} %")
    for line in sheet.said("by its dimensions"):
        if ("fast" in line) != (was > nominal):
            wrong.append(f"it turns at {was:.3f}, told: {line}")
    for key, motor_rpm in (("drive.pulley_wanted", motor), ("drive.pulley_wanted_other", motor * (110 - mains) / mains)):
        now = belt_speed(motor_rpm, sheet.value(key), rim, t)
        if abs(now / nominal - 1) > 1e-4:
            wrong.append(f"{key} {sheet.value(key):.3f} mm turns the platter at {now:.4f}, wanted {nominal:.4f}")
    return "\n".join([sheet.call] + wrong) if wrong else ""


def drive_belt(prog, draw):
    """Slack or tight, and a belt of the length wanted is stretched by what is said."""
    rim, pulley, centre, thickness = draw.uniform(140, 300), draw.uniform(10, 30), draw.uniform(165, 230), draw.uniform(0.5, 1.0)
    path = open_belt_path(pulley, rim, centre, 0.0)    # along the belt's inside, as its free length is measured
    stretch = draw.choice([0.005, 0.035, 0.09])
    free = path / (1 + stretch)
    sheet = prog.sheet("drive", drive__kind="belt", drive__motor_kind="synchronous", drive__motor_poles=24, drive__pulley_diameter=f"{pulley:.3f}mm",
                       drive__rim_diameter=f"{rim:.3f}mm",
                       drive__centre_distance=f"{centre:.3f}mm", drive__belt_thickness=f"{thickness:.3f}mm",
                       drive__belt_length=f"{free:.3f}mm")
    wrong = []
    if abs(sheet.value("drive.belt_path") - path) > 0.05:
        wrong.append(f"path {path:.3f} mm, told {sheet.value('drive.belt_path'):.3f}")
    if abs(sheet.value("drive.belt_stretch") - 100 * stretch) > 0.01:
        wrong.append(f"stretched by {100 * stretch:.2f} %, told {sheet.value('drive.belt_stretch'):.2f}")
    slack, tight = bool(sheet.said("slack")), bool(sheet.said("tighter", "too tight"))
    if slack != (stretch < 0.02) or tight != (stretch > 0.05):
        wrong.append(f"stretched by {100 * stretch:.1f} %: slack {slack}, tight {tight}")
    if not sheet.value("drive.belt_shortest") < sheet.value("drive.belt_wanted") < sheet.value("drive.belt_longest"):
        wrong.append("shortest, wanted and longest are out of order")
    wanted = path / sheet.value("drive.belt_wanted") - 1
    if not 0.02 <= wanted <= 0.05:
        wrong.append(f"the belt wanted would be stretched by {100 * wanted:.2f} %")
    return "\n".join([sheet.call] + wrong) if wrong else ""


def ratio_mains(prog, draw):
    """Two steps of one pulley, one cut for the other mains: a fifth too much or a sixth too little is told, fast as fast."""
    motor, rim, t = 250.0, draw.uniform(140, 200), draw.uniform(0.5, 1.0)
    steps = {rpm: rpm / motor * (rim + t) - t for rpm in (100 / 3, 45.0)}
    case = draw.choice(["right", "second too large", "second too small"])
    factor = {"right": 1.0, "second too large": 1.2, "second too small": 1 / 1.2}[case]
    first = belt_speed(motor, steps[100 / 3], rim, t)
    second = belt_speed(motor, (steps[45.0] + t) * factor - t, rim, t)
    sheet = prog.sheet("ratio", ratio__first=f"{first:.4f}rpm", ratio__second=f"{second:.4f}rpm")
    words = sheet.value("ratio.meaning") + " " + " ".join(sheet.remarks)
    much, little = "fifth too much" in words, "sixth too little" in words
    if much != (factor > 1) or little != (factor < 1):
        return f"{sheet.call}: {case}; told: {words}"
    return ""


def ratio_whole_deck(prog, draw):
    """The same step on the two mains: from 50 to 60 Hz everything is a fifth too fast, back a sixth too slow."""
    poles, to_60 = draw.choice([16, 24]), draw.random() < 0.5
    speeds = [belt_speed(120 * mains / poles, 20, 150 * 24 / poles, 0.5) for mains in ((50, 60) if to_60 else (60, 50))]
    sheet = prog.sheet("ratio", ratio__first=f"{speeds[0]:.4f}rpm", ratio__second=f"{speeds[1]:.4f}rpm")
    words = " ".join(sheet.remarks)
    if ("too fast" in words) != to_60 or ("too slow" in words) == to_60:
        return f"{sheet.call}: {'50 to 60' if to_60 else '60 to 50'} Hz; told: {words}"
    return ""


def ratio_off(prog, draw):
    off = draw.choice([-1, 1]) * draw.uniform(0.3, 2.0)
    hz = 1000 * draw.uniform(0.98, 1.02)
    sheet = prog.sheet("ratio", ratio__first_tone=f"{hz:.4f}Hz", ratio__second_tone=f"{hz * 1.35 * (1 + off / 100):.4f}Hz")
    told = sheet.value("ratio.off")
    return "" if abs(told - off) < 0.01 else f"{sheet.call}: the faster speed is {off:+.3f} % off, told {told:+.3f}"


def drift_of_bars(rpm, bars, flashes):
    """Bars a minute that seem to pass: at each flash the eye takes the nearest bar; positive with the platter."""
    between = bars * rpm / 60 / flashes
    return (between - round(between)) * flashes * 60


def strobe_drift(prog, draw):
    """The platter turns a little fast or slow under flashes; from the drift of its bars the sheet tells which."""
    mains, nominal = draw.choice([50, 60]), draw.choice([100 / 3, 45.0, 78.0])
    flashes = draw.choice([2 * mains, 2 * mains, 150])
    bars = round(flashes * 60 / nominal) + draw.choice([-1, 0, 0, 1])
    rpm = nominal * (1 + draw.uniform(-0.4, 0.4) / 100)
    drift = drift_of_bars(rpm, bars, flashes)
    lamp = {} if flashes == 2 * mains else {"strobe__flash": f"{flashes}Hz"}
    sheet = prog.sheet("strobe", deck__speed=f"{nominal:.7f}rpm", deck__mains=f"{mains}Hz", strobe__ring=bars,
                       strobe__drift=f"{drift:.4f}", **lamp)
    wrong = []
    if abs(sheet.value("strobe.speed") / rpm - 1) > 2e-6:
        wrong.append(f"the platter turns at {rpm:.4f}, told {sheet.value('strobe.speed'):.4f}")
    if abs(sheet.value("strobe.error") - 100 * (rpm / nominal - 1)) > 1e-3:
        wrong.append(f"{100 * (rpm / nominal - 1):+.3f} %, told {sheet.value('strobe.error'):+.3f}")
    right = drift_of_bars(nominal, bars, flashes)
    for line in sheet.said("on a deck that is right"):
        told = re.search(r"drift (backwards?|forwards?) at ([\d.]+) bars", line)
        if not told or told[1].startswith("forward") != (right > 0) or abs(float(told[2]) - abs(right)) > 0.06:
            wrong.append(f"on a right deck the bars drift by {right:+.2f} a minute with the platter; told: {line}")
    for line in sheet.said("stand still at"):
        standing = flashes * 60 / bars
        told = re.search(r"% (fast|slow)", line)
        if told and (told[1] == "fast") != (standing > nominal):
            wrong.append(f"they stand at {standing:.3f}; told: {line}")
    return "\n".join([sheet.call] + wrong) if wrong else ""


def swings_per_second(mass_g, compliance):
    """A mass on a spring let go, its period read from the motion (no formula of a resonance)."""
    mass, spring = mass_g * 1e-3, 1e3 / compliance         # kg, N/m: 1 um/mN is 1 mm/N
    crossing = lambda t, y: y[1]
    crossing.direction = 1
    end = 20 * math.sqrt(mass / spring) + 0.05
    done = solve_ivp(lambda t, y: [y[1], -spring / mass * y[0]], (0, end), [1e-4, 0.0], events=crossing, rtol=1e-10,
                     atol=1e-14, max_step=end / 200)
    times = done.t_events[0][done.t_events[0] > 1e-6]
    return 1 / (times[1] - times[0])


def resonance_mass(prog, draw):
    """More or less mass as told, and the swing is the wanted one."""
    arm, cartridge, screws, compliance = draw.uniform(5, 25), draw.uniform(4, 10), draw.uniform(0.5, 2), draw.uniform(6, 30)
    wanted = draw.choice([9.0, 10.0, 11.0])
    sheet = prog.sheet("resonance", arm__effective_mass=f"{arm:.3f}g", cartridge__mass=f"{cartridge:.3f}g",
                       cartridge__hardware_mass=f"{screws:.3f}g",
                       cartridge__compliance=f"{compliance:.3f}um/mN", cartridge__compliance_frequency="10Hz",
                       resonance__target=f"{wanted}Hz")
    was = swings_per_second(arm + cartridge + screws, compliance)
    wrong = []
    if abs(sheet.value("resonance.vertical") - was) > 0.002 * was:
        wrong.append(f"it swings at {was:.3f} Hz, told {sheet.value('resonance.vertical'):.3f}")
    total = arm + cartridge + screws + sheet.value("resonance.added")
    now = swings_per_second(total, compliance)
    if abs(now - wanted) > 0.02:
        wrong.append(f"{sheet.value('resonance.added'):+.2f} g take it from {was:.2f} to {now:.2f}, wanted {wanted}")
    for line in sheet.said("less moving mass"):
        if was > wanted:
            wrong.append(f"at {was:.2f} Hz it wants more mass; told: {line}")
    for line in sheet.said("more at the headshell"):
        if was < wanted:
            wrong.append(f"at {was:.2f} Hz it wants less mass; told: {line}")
    return "\n".join([sheet.call] + wrong) if wrong else ""


def resonance_two_sweeps(prog, draw):
    """Two resonances and a known mass: the moving mass and the compliance that give both."""
    mass, compliance, added = draw.uniform(12, 30), draw.uniform(8, 25), draw.uniform(2, 6)
    one, two = swings_per_second(mass, compliance), swings_per_second(mass + added, compliance)
    sheet = prog.sheet("resonance", arm__effective_mass="10g", cartridge__mass="6g", cartridge__compliance="15um/mN",
                       cartridge__compliance_frequency="10Hz",
                       resonance__found=f"{one:.5f}Hz", resonance__found_loaded=f"{two:.5f}Hz",
                       resonance__added_mass=f"{added:.3f}g")
    got = sheet.value("resonance.mass"), sheet.value("resonance.compliance")
    if abs(got[0] / mass - 1) > 0.01 or abs(got[1] / compliance - 1) > 0.01:
        return f"{sheet.call}: {mass:.2f} g on {compliance:.2f} um/mN, told {got[0]:.2f} g on {got[1]:.2f}"
    return ""


def network(hz, coil_h, coil_ohm, load_ohm, farad):
    """Voltage at the input over the coil's, by the nodes' admittances."""
    s = 2j * np.pi * np.asarray(hz, float)
    source = 1 / (coil_ohm + s * coil_h)
    return np.abs(source / (source + 1 / load_ohm + s * farad))


def peak_over_bass(coil, ohm, load, farad):
    found = minimize_scalar(lambda log_hz: -network(10 ** log_hz, coil, ohm, load, farad), bounds=(2.5, 5.3), method="bounded",
                            options={"xatol": 1e-8})
    return 20 * math.log10(-found.fun / float(network(1e-3, coil, ohm, load, farad)))


def load_room(prog, draw):
    """More or less capacitance as told brings the response to the edge of a peak; so does the resistor said to."""
    coil, ohm, lead = draw.uniform(0.25, 0.75), draw.uniform(400, 1500), draw.uniform(40, 320)
    arm, entry, load = draw.uniform(15, 40), draw.uniform(30, 150), draw.choice([47e3, 47e3, 68e3])
    sheet = prog.sheet("load", cartridge__inductance=f"{coil * 1e3:.3f}mH", cartridge__resistance=f"{ohm:.2f}ohm",
                       cable__capacitance=f"{lead:.2f}pF",
                       arm__wire_capacitance=f"{arm:.2f}pF", preamp__capacitance=f"{entry:.2f}pF",
                       preamp__resistance=f"{load / 1e3}kohm")
    total = arm + lead + entry
    wrong = []
    after = total + sheet.value("load.room")
    if peak_over_bass(coil, ohm, load, after * 1e-12) > 1e-3 or peak_over_bass(coil, ohm, load, after * 1.25e-12) < 1e-3:
        wrong.append(f"with {sheet.value('load.room'):+.1f} pF of lead it is not at the edge of a peak")
    for line in sheet.said("too much"):
        if sheet.value("load.room") > 0:
            wrong.append(f"there is room, and: {line}")
    for line in sheet.said("another metre of lead"):
        told = re.search(r"from ([\d.]+) to ([\d.]+) kHz and 15 kHz by ([+\-−][\d.]+) dB", line)
        before, longer = (network(15e3, coil, ohm, load, pf * 1e-12) for pf in (total, total + 100))
        change = 20 * math.log10(longer / before)
        if not told or float(told[2]) >= float(told[1]) or abs(float(told[3].replace("−", "-")) - change) > 0.06:
            wrong.append(f"100 pF more change 15 kHz by {change:+.2f} dB; told: {line}")
    for line in sheet.said("across the input makes the load"):
        told = re.search(r"A resistor of ([\d.]+) kΩ across the input makes the load ([\d.]+) kΩ", line)
        made = 1 / (1e3 / load + 1 / float(told[1]))
        if abs(made / float(told[2]) - 1) > 0.03 or abs(peak_over_bass(coil, ohm, float(told[2]) * 1e3, total * 1e-12)) > 0.02:
            wrong.append(f"they make {made:.1f} kΩ, and it still peaks or falls early; told: {line}")
    return "\n".join([sheet.call] + wrong) if wrong else ""


def load_maker(prog, draw):
    """A maker's range: what is told takes the load into it."""
    low = draw.uniform(150, 250)
    high = low + draw.uniform(50, 150)
    lead = draw.choice([draw.uniform(10, 60), draw.uniform(300, 500)])
    sheet = prog.sheet("load", cartridge__inductance="500mH", cartridge__resistance="800ohm",
                       cable__capacitance=f"{lead:.2f}pF", arm__wire_capacitance="20pF",
                       preamp__capacitance="50pF", cartridge__load_low=f"{low:.2f}pF", cartridge__load_high=f"{high:.2f}pF")
    total = lead + 70
    most = total + sheet.value("load.room")
    if abs(most - high) > 0.1:
        return f"{sheet.call}: {sheet.value('load.room'):+.1f} pF take {total:.0f} to {most:.1f}, the maker's most is {high:.1f}"
    if (sheet.readings["load.capacitance"]["verdict"] == "good") != (low <= total <= high):
        return f"{sheet.call}: {total:.0f} pF of {low:.0f} to {high:.0f} is called {sheet.readings['load.capacitance']['verdict']}"
    return ""


def speed_words(prog, draw):
    """A deck that turns fast: the tone is sharp and the side ends early; slow: flat and late."""
    error = draw.choice([-1, 1]) * draw.uniform(0.4, 2.5)
    tone = draw.choice([3150, 3000, 1000])
    seconds = 10
    sound = waves.speed_tone(tone, 1.0, seconds, RATE, lambda t: np.full_like(t, 1 + error / 100))
    path = waves.write(prog.recording("speed.wav"), sound, sound, rate=RATE)
    sheet = prog.sheet("speed", path, record__tone=f"{tone}Hz")
    words = " ".join(sheet.said("20-minute side"))
    early = 1200 - 1200 / (1 + error / 100)
    cents = 1200 * math.log2(1 + error / 100)
    told = re.search(r"([\d.]+) % (fast|slow): a 20-minute side ends ([\d.]+) s (early|late), ([\d.]+) cents (sharp|flat)",
                     words)
    if not told:
        return f"{sheet.call}: no words on the speed: {sheet.remarks}"
    sides = (told[2] == "fast", told[4] == "early", told[6] == "sharp")
    sizes = all(abs(float(told[at]) - abs(truth)) < room for at, truth, room in ((1, error, 0.006), (3, early, 0.06), (5, cents, 0.6)))
    if sides != (error > 0,) * 3 or not sizes:
        return f"{sheet.call}: {error:+.3f} %, {early:+.2f} s, {cents:+.1f} cents; told: {words}"
    return ""


def startup_servo(prog, draw):
    """A second-order start: how long to 1 %, how far over."""
    rate, damping = draw.uniform(1.2, 2.5), draw.choice([0.5, 0.6, 0.95])
    time = np.arange(int(16 * RATE) + 1) / RATE - 1.0
    def speed(t):
        shown = np.clip(t - 1.0, 0, None)
        damped = rate * math.sqrt(1 - damping ** 2)
        return 1 - np.exp(-damping * rate * shown) * (np.cos(damped * shown) + damping * rate / damped * np.sin(damped * shown))
    sound = waves.speed_tone(3150, 1.0, 16, RATE, speed)
    path = waves.write(prog.recording("start.wav"), sound + waves.noise(sound.size, 1e-4, 2),
                       sound + waves.noise(sound.size, 1e-4, 3), rate=RATE)
    sheet = prog.sheet("startup", path, record__tone="3150Hz")
    course = speed(time + 1.0)
    over = 100 * (course.max() - 1)
    outside = np.abs(course - 1) > 0.01
    first = time[np.argmax(~outside & (time > 0))]
    settled = time[np.nonzero(outside)[0][-1]]
    wrong = []
    if abs(sheet.value("startup.overshoot") - over) > 0.03 * over + 0.05:
        wrong.append(f"overshoot {over:.2f} %, told {sheet.value('startup.overshoot'):.2f}")
    for key, truth in (("startup.time", first), ("startup.settle", settled)):
        if abs(sheet.value(key) - truth) > 0.15:
            wrong.append(f"{key} {truth:.2f} s, told {sheet.value(key):.2f}")
    return "\n".join([f"{sheet.call} (rate {rate:.2f}, damping {damping})"] + wrong) if wrong else ""


def bearing_change(prog, draw):
    """Run-downs before and after the work: which drag went up or down."""
    inertia = 1.5 * 0.15 ** 2 / 2
    def run(viscous, dry):
        times = np.arange(0, 70, 8.0)
        done = solve_ivp(lambda t, w: -(viscous * w + dry) / inertia, (0, 70), [33.3 * math.pi / 30], t_eval=times, rtol=1e-10,
                         atol=1e-12)
        return [f"{t:.0f}:{w * 30 / math.pi:.4f}" for t, w in zip(done.t, done.y[0])]
    was, now = (draw.uniform(5e-5, 1.5e-4), draw.uniform(1e-4, 3e-4)), (draw.uniform(5e-5, 1.5e-4), draw.uniform(1e-4, 3e-4))
    sheet = prog.sheet("bearing", platter__mass="1500g", platter__diameter="300mm", bearing__air="no", bearing__at=run(*now),
                       bearing__before=run(*was))
    wrong = []
    for key, truth in (("bearing.viscous", now[0]), ("bearing.coulomb", now[1]), ("bearing.before_viscous", was[0]),
                       ("bearing.before_coulomb", was[1])):
        if abs(sheet.value(key) * 1e-3 / truth - 1) > 0.02:
            wrong.append(f"{key} {truth * 1e3:.4f}, told {sheet.value(key):.4f}")
    for number, name in enumerate(("viscous", "coulomb")):
        for line in sheet.said(f"{name} drag went"):
            if ("went down" in line) != (now[number] < was[number]):
                wrong.append(f"{name}: {was[number]:.6f} to {now[number]:.6f}; told: {line}")
    return "\n".join([sheet.call] + wrong) if wrong else ""


def reseat_shares(prog, draw):
    """The record's off-centre share turns with it, the platter's stays; the mark passes at a known time."""
    deck, record = draw.uniform(0.04, 0.25), draw.uniform(0.04, 0.25)
    phases = draw.uniform(0, 2 * math.pi), draw.uniform(0, 2 * math.pi)
    angles, radius = [0, draw.choice([60, 90, 120])], draw.uniform(70, 140)
    speed = 1 + draw.uniform(-0.5, 0.5) / 100
    turns = speed * (100 / 3) / 60
    paths, marks = [], []
    for number, angle in enumerate(angles):
        mark = draw.uniform(0.2, 1.6)
        marks.append(f"{mark:.4f}s")
        def course(t, mark=mark, angle=angle):
            place = 2 * np.pi * turns * (t - mark)                 # how far the platter has turned, clockwise
            on_record = place + math.radians(angle)                # laid on further round: it meets the stylus earlier
            return speed * (1 + deck / 100 * np.cos(place + phases[0]) + record / 100 * np.cos(on_record + phases[1]))
        sound = waves.speed_tone(3150, 1.0, 22, RATE, course)
        paths.append(waves.write(prog.recording(f"seat{number}.wav"), sound, sound, rate=RATE))
    sheet = prog.sheet("reseat", *paths, record__tone="3150Hz", reseat__angle=[f"{angle}deg" for angle in angles],
                       reseat__reference="mark",
                       reseat__mark=marks, record__radius=f"{radius:.2f}mm")
    wrong = []
    for key, truth in (("reseat.deck", deck), ("reseat.record", record), ("reseat.eccentricity", record / 100 * radius)):
        if abs(sheet.value(key) / truth - 1) > 0.02:
            wrong.append(f"{key} {truth:.4f}, told {sheet.value(key):.4f}")
    for line in sheet.said("most of the once-per-revolution wow"):
        if (deck > record) != ("wow is the deck's" in line):
            wrong.append(f"deck {deck:.3f}, record {record:.3f}; told: {line}")
    return "\n".join([sheet.call] + wrong) if wrong else ""


def noise_pair(prog, draw):
    """Which of two silent grooves is the quieter, and what its cause is said to be."""
    rumble = draw.choice([(4e-3, 1e-3), (1e-3, 4e-3)])
    paths = []
    from scipy import signal
    low = signal.butter(2, 150, fs=RATE, output="sos")
    for number, level in enumerate(rumble):
        sides = [signal.sosfilt(low, waves.noise(14 * RATE, level, 50 + 2 * number + side)) for side in (0, 1)]
        paths.append(waves.write(prog.recording(f"quiet{number}.wav"), *sides, rate=RATE))
    tone = waves.sine(1000, 5, RATE, 0.2)
    paths.append(waves.write(prog.recording("reference.wav"), tone, tone, rate=RATE))
    sheet = prog.sheet("noise", *paths, noise__compare="motor", noise__reference_velocity="5cm/s")
    truth = 20 * math.log10(rumble[1] / rumble[0])
    rows = [row for row in sheet.table("noise.pair") if row["what"].startswith("rumble, unweighted")]
    wrong = []
    if abs(rows[0]["change"] - truth) > 1.0 or (rows[0]["verdict"] == "quieter") != (truth < 0):
        wrong.append(f"it changes by {truth:+.1f} dB, told {rows[0]}")
    for line in sheet.said("rumble rises", "rumble falls"):
        if ("falls" in line) != (truth < 0) or (truth < 0) != ("motor and what it drives" in line):
            wrong.append(f"it changes by {truth:+.1f} dB with the motor off; told: {line}")
    return "\n".join([sheet.call] + wrong) if wrong else ""


CHECKS = [
    ("drive: the pulley wanted, here and on the other mains", drive_pulley, 6),
    ("drive: slack or tight, the belt wanted", drive_belt, 6),
    ("ratio: one step for the other mains", ratio_mains, 6),
    ("ratio: the whole deck on the other mains", ratio_whole_deck, 4),
    ("ratio: one speed off against the other", ratio_off, 3),
    ("strobe: bars that drift with or against the platter", strobe_drift, 8),
    ("resonance: more or less mass", resonance_mass, 6),
    ("resonance: two sweeps and a known mass", resonance_two_sweeps, 3),
    ("load: more or less capacitance, or a resistor", load_room, 6),
    ("load: into the maker's range", load_maker, 4),
    ("speed: fast and early and sharp", speed_words, 4),
    ("startup: time and overshoot of a servo", startup_servo, 3),
    ("bearing: which drag went up or down", bearing_change, 4),
    ("reseat: what turns with the record", reseat_shares, 4),
    ("noise: which groove is the quieter", noise_pair, 2),
]


def run(prog, checks, names):
    for what, function, count in CHECKS:
        if not names or any(name in what for name in names):
            for number, draw in enumerate(program.draws(what, count)):
                checks.attempt(f"{what}, drawn case {number + 1}", function, prog, draw)


if __name__ == "__main__":
    program.main(run)
