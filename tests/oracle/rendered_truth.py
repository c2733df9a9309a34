#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What the trials of tones, music, film and photographs take for true, measured on what they render: by scipy on the sound, by OpenCV on the pictures."""
import numpy as np
from scipy import ndimage, signal

import music
import music_deck
import program
import tone_model

RATE = music.RATE


def warped_tone():
    """A tone played by a drawn deck has the deck's own speed at each moment."""
    deck = music_deck.Deck(error=0.7, drift=0.05, lines=[(1, 0.1, 40), (2, 0.05, 10), (7.3, 0.03, 100)], wander=0.01, seed=3)
    place = deck.groove(0.5, 14.0)
    tone = music_deck.warp(0.5 * np.sin(2 * np.pi * 5000 * np.arange(15 * RATE) / RATE), place)
    hertz = np.gradient(np.unwrap(np.angle(signal.hilbert(tone)))) * RATE / (2 * np.pi)
    ratio = ndimage.uniform_filter1d(hertz, 441) / ndimage.uniform_filter1d(5000 * deck.speed(place), 441)
    off = 1e6 * np.max(np.abs(ratio[RATE:-RATE] - 1))
    return f"off by {off:.2f} ppm" if off > 0.5 else ""


def lines_of_a_tone():
    """A line of a steady tone's deck is played as strong as it is drawn, up to 100 Hz."""
    lines = [tone_model.Line(0.1, hz=hz, phase=40 * hz) for hz in (0.9, 20.0, 60.0, 100.0)]
    sound, _ = tone_model.render(tone_model.Deck(lines=lines), tone_model.Record(), tone_model.Take(seconds=12, rate=RATE, channels=1, snr=None))
    hertz = np.gradient(np.unwrap(np.angle(signal.hilbert(sound[0])))) * RATE / (2 * np.pi)
    inside, time = slice(RATE, -RATE), np.arange(len(hertz)) / RATE
    turns = [turn(2 * np.pi * line.hz * time[inside]) for line in lines for turn in (np.cos, np.sin)]
    found = np.linalg.lstsq(np.stack([*turns, np.ones(len(turns[0]))], 1), hertz[inside] / 3150 - 1, rcond=None)[0]
    off = [100 * (100 * np.hypot(*found[2 * k:2 * k + 2]) / line.percent - 1) for k, line in enumerate(lines)]
    return f"off by {off} %" if max(map(abs, off)) > 0.01 else ""


def mean_speed():
    """Over whole turns the mean is the groove passed by the time that it took."""
    deck = music_deck.Deck(rpm=45, error=-0.4, lines=[(1, 0.4, 70), (3, 0.1, 20)])
    u, passed = deck.times(0.0, 12 * deck.turn)
    plain = 100 * (np.interp(12 * deck.turn, u, u) / np.interp(12 * deck.turn, u, passed) - 1)
    off = deck.mean(np.arange(0, 12 * deck.turn, 0.001)) - plain
    return f"off by {1e4 * off:.2f} ppm" if abs(off) > 1e-4 else ""


def drift():
    """A straight line of speed is told as it was drawn."""
    trend = music_deck.Deck(error=2.0, drift=0.06, lines=[(1, 0.2, 0)]).trend(np.arange(0, 60, 0.01))
    return "" if abs(trend - 0.06 / (1 + 0.0003)) < 1e-5 else f"{trend:.5f} % a minute"


def skipped_groove():
    """The stylus jumps one turn ahead: the tone under it is that of the groove there."""
    deck = music_deck.Deck(skip=(3.0, 1))
    place = deck.groove(1.0, 5.0)
    jumps = np.diff(place)
    return "" if abs(jumps.max() - deck.turn) < 1e-3 and np.sum(jumps > 1) == 1 and jumps.min() > 0 else f"{jumps.max():.4f} s"


def held_notes():
    """One organ note of five seconds beside a singer's: five seconds are held."""
    piece = music.Piece(np.random.default_rng(1), "applause", 9.0)
    piece.clapping = False
    piece.notes = [music.Note(1.0, 5.0, 220.0, "organ", 1.0, 0.5, 1), music.Note(2.0, 6.0, 330.0, "singer", 0.5, 0.5, 2)]
    piece.render()
    held = piece.held_between(0, 9)
    return "" if abs(held - 5) < 0.01 else f"{held:.2f} s"


def lost_treble():
    """Three decibels above 8 kHz of the right channel, nothing of the left one, nothing below."""
    noise = np.random.default_rng(1).standard_normal((2, 8 * RATE)) * 0.1
    out = music_deck.Chain(loss=3.0, noise=-200).pass_on(noise.copy(), np.random.default_rng(2))
    for side, wanted in ((0, 0.0), (1, -3.0)):
        hz, power = signal.welch(out[side], RATE, nperseg=4096)
        gain = 10 * np.log10(power / signal.welch(noise[side], RATE, nperseg=4096)[1])
        high, low = np.median(gain[(hz > 8500) & (hz < 20000)]), np.median(gain[(hz > 200) & (hz < 6000)])
        if abs(high - wanted) > 0.1 or abs(low) > 0.1:
            return f"channel {side}: {low:.2f} and {high:.2f} dB"
    return ""


def stand_in(cv2, camera_model, disc):
    """A page with marks, drawn by OpenCV: twelve on a ring, or eight about a rectangle."""
    words = cv2.aruco.Dictionary_get(cv2.aruco.DICT_APRILTAG_36h11)
    page, edge = np.ones((7016, 4961), np.float32), 560
    places = [(105 + 74 * np.cos(a), 105 + 74 * np.sin(a)) for a in np.arange(12) * np.pi / 6]
    if not disc:
        places = [(x, y) for x in (25, 105, 185) for y in (20, 125, 230) if (x, y) != (105, 125)]
    for number, (x, y) in enumerate(places):
        left, top = (int(each / camera_model.TEXEL) - edge // 2 for each in (x, y))
        page[top:top + edge, left:left + edge] = cv2.aruco.drawMarker(words, number, edge) / 255.0
    return camera_model.Paper(page)


def marks_in(cv2, picture):
    """What OpenCV finds: number, four corners in pixels counted from the first one's middle."""
    options = cv2.aruco.DetectorParameters_create()
    options.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_APRILTAG
    corners, numbers, _ = cv2.aruco.detectMarkers(picture, cv2.aruco.Dictionary_get(cv2.aruco.DICT_APRILTAG_36h11), parameters=options)
    return [(int(number), one[0].astype(float) - 0.5) for one, number in zip(corners, numbers.ravel())] if numbers is not None else []


def filmed_angle(cv2, camera_model, film):
    """The disc's angle by its marks, each at its own row's time, is the platter's."""
    case = film.Film(1, 0, stand_in(cv2, camera_model, True), "turning", 1.0, 1280)
    case.readout, case.exposure, case.noise = 0.016, 0.002, 1.0
    worst, camera = 0.0, case.cameras[0]
    for frame, (_, picture) in zip(range(6), case.frames()):
        gaps = []
        for number, corners in marks_in(cv2, picture):
            seen, page = camera.on_paper(corners), (case.paper.marks[number] - case.paper.middle) * [1, case.stretch] + case.off
            when = case.times[frame] + corners[:, 1] / case.height * case.readout + case.exposure / 2
            gaps += list(np.arctan2(seen[:, 1], seen[:, 0]) - np.arctan2(page[:, 1], page[:, 0]) - case.angle(when))
        if len(gaps) < 40:
            return f"{len(gaps) // 4} marks seen"
        worst = max(worst, abs(np.degrees(np.mean((np.array(gaps) + np.pi) % (2 * np.pi) - np.pi))))
    return "" if worst < 0.02 else f"off by {worst:.4f}°"


def drawn_fast(cv2, camera_model, film):
    """A film's frames are those that eight times eight places and moments give: to a few grey levels, edges to a hundredth of a pixel."""
    said = ""
    for number, exposure, blink in ((1, 0.004, 0.0), (4, 0.001, 0.13)):
        case = film.Film(1, number, stand_in(cv2, camera_model, True), "turning", 5.0, 1280)
        case.exposure, case.blink = exposure, blink
        camera, eighths = case.cameras[0], (np.arange(8) + 0.5) / 8
        part = case.part(camera)
        grid = [(x - 0.5, y - 0.5, eighths[(5 * i + 3 * k) % 8]) for i, x in enumerate(eighths) for k, y in enumerate(eighths)]
        exact = case.exact_light(case.times[2], camera, part, np.array(grid)[:, :2], np.array(grid)[:, 2])
        fast = case.light(case.times[2], case.view(case.unrolled(), camera, part), part)
        exact, fast = (camera_model.tone(cv2.GaussianBlur(one, (0, 0), 0.6)) for one in (exact, fast))
        off, (down, right) = fast - exact, np.gradient(exact)
        y, x = np.mgrid[part]
        middle = camera.project([[0, 0, 0]])[0]
        round_about = (x - middle[0]) * down - (y - middle[1]) * right
        shifts = [abs(np.sum(off * slope) / np.sum(slope * slope)) for slope in (right, down)]
        turn = abs(np.degrees(np.sum(off * round_about) / np.sum(round_about ** 2)))
        if max(shifts) > 0.01 or turn > 0.001 or np.std(off) > 2 or np.quantile(np.abs(off), 0.99) > 6:
            said += f"{number}: shifted {shifts} pixels, turned {turn:.5f}°, grey {np.std(off):.2f} rms, {np.quantile(np.abs(off), 0.99):.1f}; "
    return said


def photographed(cv2, camera_model, folder):
    """Marks stand where the camera's formula has them; the belt's inner edge has its length; two pictures meet at the tip."""
    import belt_photo
    import pose
    paper = stand_in(cv2, camera_model, False)
    belt = belt_photo.Belt(1, 3, paper, (2400, 1800))
    picture = cv2.imread(str(belt.write(folder / "belt.png")), cv2.IMREAD_GRAYSCALE)
    gaps = [corners - belt.camera.project(np.column_stack([paper.marks[number], np.zeros(4)])) for number, corners in marks_in(cv2, picture)]
    yield "marks", "" if len(gaps) >= 6 and np.max(np.abs(np.mean(gaps, axis=(0, 1)))) < 0.2 else f"{len(gaps)} marks, {np.mean(gaps, axis=(0, 1))}"
    length = inner_length(cv2, belt, picture)
    yield "belt", "" if abs(length / belt.length - 1) < 0.004 else f"{length:.2f} for {belt.length:.2f} mm"
    case = pose.Pose(1, 3, paper, size=(1600, 1200))
    yield "solids", painted(case, pose)
    rays = [(camera.place, camera.rays(np.array(case.exact(camera)["tip"]))) for camera in case.cameras]
    across = [np.eye(3) - np.outer(way, way) / (way @ way) for _, way in rays]
    met = np.linalg.solve(sum(across), sum(flat @ place for flat, (place, _) in zip(across, rays)))
    yield "tip", "" if np.linalg.norm(met * [1, 1, -1] - case.truth()["tip"]) < 1e-3 else f"{met} for {case.truth()['tip']}"


def painted(case, pose):
    """What is painted neither grows nor shrinks, and lets nothing through where its faces meet."""
    camera, said = case.cameras[0], ""
    for faces in case.setup.polygons(camera):
        light = np.zeros((camera.height, camera.width), np.float32)
        pose.paint(light, camera, [[(ring, 1.0) for ring, _ in faces]])
        rings = [pose.edged(camera, ring) for ring, _ in faces]
        if any(np.any((ring < 2) | (ring > np.array([camera.width, camera.height]) - 3)) for ring in rings):
            continue
        areas = [abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2 for x, y in (ring.T for ring in rings)]
        around = sum(np.sum(np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1)) for ring in rings)
        wider = (float(light.sum(dtype=float)) - sum(areas)) / around
        said += "" if abs(wider) < 0.06 else f"{len(faces)} faces, drawn {wider:.3f} pixels wider; "
    return said


def inner_length(cv2, belt, picture):
    """The bright region within the belt: its outline brought back to the paper, smoothed over a few pixels."""
    middle = belt.camera.project(np.append(belt.inner.mean(axis=0), 0.0))[0].astype(int)
    grey = cv2.GaussianBlur(picture, (0, 0), 1.0)
    dark = (grey < (int(grey[middle[1], middle[0]]) + int(grey.min())) // 2).astype(np.uint8)
    _, regions = cv2.connectedComponents(1 - dark, connectivity=4)
    inside = (regions == regions[middle[1], middle[0]]).astype(np.uint8)
    outline = max(cv2.findContours(inside, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=len)[:, 0].astype(float)
    smooth = ndimage.gaussian_filter1d(outline, 8, axis=0, mode="wrap")
    # A pixel's middle lies half a pixel within the edge: pushed out by that, its length grows by 2 π times it.
    spots = belt.camera.on_paper(smooth)
    half = 0.5 * belt.camera.pixel_mm()
    return float(np.sum(np.linalg.norm(spots - np.roll(spots, 1, axis=0), axis=1))) + 2 * np.pi * half


def run(prog, checks, names):
    for one in (warped_tone, lines_of_a_tone, mean_speed, drift, skipped_groove, held_notes, lost_treble):
        checks.attempt(one.__doc__, one)
    try:
        import cv2
        import camera_model
        import film
    except ModuleNotFoundError as missing:
        checks.count += 1
        print(f"ok {checks.count} - pictures # SKIP {missing}", flush=True)
        return
    checks.attempt(filmed_angle.__doc__, filmed_angle, cv2, camera_model, film)
    checks.attempt(drawn_fast.__doc__, drawn_fast, cv2, camera_model, film)
    for name, wrong in photographed(cv2, camera_model, prog.recording(".")):
        checks.that(not wrong, f"photographs: {name}", wrong)


if __name__ == "__main__":
    program.main(run)
