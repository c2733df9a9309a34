# SPDX-License-Identifier: MIT
"""Runs `film` on drawn films and judges what it says: shared by scripts/film-trial and by the suite."""
import camera_model
import film
import music_run
import program

SPEED_PPM, REVOLUTION, START_S = 30.0, 0.01, 0.1
READ = {"turning": ("speed.error", "speed.drift", "revolution.amplitude"), "start": ("startup.time", "startup.settle", "startup.overshoot")}
REASONS = {"moved": ("mov", "knock", "shift", "shook"), "flicker": ("flicker", "light", "dark", "lamp"), "restamped": ("drop", "missing", "frame", "lost"),
           "covered": ("mark", "cover")}


def judge(case, sheet, truth):
    told = {key: music_run.number_of(sheet, key) for keys in READ.values() for key in keys}
    if case.kind not in film.MEASURED:
        return judge_unfit(case, sheet, truth, told)
    wrong = []
    if case.kind == "start":
        time = told["startup.time"]
        if time is None or abs(time - truth["startup.time"]) > START_S:
            wrong.append(("start-up off" if time is not None else "no startup.time", f"{time} for {truth['startup.time']:.3f} s; {music_run.reasons(sheet)}"))
        return wrong
    speed, once = told["speed.error"], told["revolution.amplitude"]
    if speed is None or abs(speed - truth["by the clock"]) > SPEED_PPM / 1e4:
        wrong.append(("speed off" if speed is not None else "no speed.error", f"{speed} for {truth['by the clock']:.5f} %; {music_run.reasons(sheet)}"))
    if once is None and truth["revolution.amplitude"] > REVOLUTION or once is not None and abs(once - truth["revolution.amplitude"]) > REVOLUTION:
        wrong.append(("once a turn off" if once is not None else "no revolution.amplitude", f"{once} for {truth['revolution.amplitude']:.4f} %"))
    return wrong


def judge_unfit(case, sheet, truth, told):
    """Refused, or said and flagged: never a clean sheet that is wrong."""
    said = any(word in sheet.words().lower() for word in REASONS[case.kind])
    flagged = any(sheet.readings[key]["flags"] for key in READ["turning"] if key in sheet.readings)
    close = told["speed.error"] is not None and abs(told["speed.error"] - truth["by the clock"]) <= SPEED_PPM / 1e4
    if told["speed.error"] is None:
        return [] if said else [("refused without its reason", f"{case.kind}: {sheet.words()[:200]}")]
    if close or said and flagged:
        return []
    return [(f"measured, though {case.kind}", f"{told['speed.error']} for {truth['speed.error']:.5f} %")]


def readings(case, sheet, truth):
    rows = []
    for key in READ.get(case.kind, ()):
        value = music_run.number_of(sheet, key)
        if value is not None and key in truth:
            rows.append((key, value, sheet.readings[key].get("uncertainty"), truth[key], bool(sheet.readings[key]["flags"])))
    return rows


def try_film(path, seed, number, keep=None, kind=None, seconds=None, size=None, page=None):
    prog = program.Program(path)
    paper = camera_model.page_of(page) if page else camera_model.paper_of(prog.path, "disc")
    case = film.Film(seed, number, paper, kind, seconds, size)
    file = case.write(prog.recording(f"film-{seed}-{number}"))
    truth = case.truth()
    words = [file.name, *music_run.known(prog, "film", [f"deck.speed={case.rpm:.6f}rpm",
                                                        f"camera.shutter={'rolling' if case.readout else 'global'}"])]
    done = {"number": number, "case": case.kind, "words": " ".join(words), "truth": truth, "said": "", "wrong": [], "readings": []}
    try:
        sheet = prog.sheet("film", *words)
        done.update(wrong=judge(case, sheet, truth), readings=readings(case, sheet, truth), said=sheet.words())
    except program.Refused as trouble:
        done["said"] = str(trouble)
        said = case.kind in REASONS and any(word in str(trouble).lower() for word in REASONS[case.kind])
        done["wrong"] = [] if said else [("refused without its reason" if case.kind in REASONS else "refused", f"{case.kind}: {trouble}")]
    music_run.keep_case(file, truth, keep)
    return done
