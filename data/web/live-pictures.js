// What the live page draws beside its numbers: the drifting marks that a trimmer is turned by, the last ten
// minutes and the flutter by frequency; the beep; one figure on the whole screen. live.js calls all of it.
"use strict";

const livePictures = (words, number, fill, put) => {
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

  // A canvas of as many pixels as the screen has under it, cleared, in CSS pixels.
  const begin = (canvas) => {
    const { clientWidth: width, clientHeight: height } = canvas, scale = window.devicePixelRatio || 1;
    if (canvas.width !== Math.round(width * scale) || canvas.height !== Math.round(height * scale)) {
      canvas.width = Math.round(width * scale);
      canvas.height = Math.round(height * scale);
    }
    const context = canvas.getContext("2d");
    context.setTransform(scale, 0, 0, scale, 0, 0);
    context.clearRect(0, 0, width, height);
    context.font = `${Math.max(14, Math.min(28, height / 12))}px system-ui, sans-serif`;
    return { context, width, height };
  };

  // --- the marks that drift ----------------------------------------------------------

  // As the bars of a strobe disc under the lamp that suits it: one passes in a second at 1 %. Beyond 2.5 a
  // second they would flicker: they go no faster, and the words say the rest.
  const BARS_PER_PERCENT = 1, BARS_MOST = 2.5, STILL_PERCENT = 0.01;

  const drawNeedle = (canvas, place, fresh) => {
    const { context, width, height } = begin(canvas);
    const gap = Math.max(28, height * 0.6), middle = width / 2;
    context.fillStyle = colour(fresh ? "ink" : "line");
    for (let x = middle + ((place % 1) - Math.ceil(middle / gap) - 1) * gap; x < width + gap; x += gap)
      context.fillRect(x - gap / 5, height * 0.25, gap * 0.4, height * 0.75);
    context.fillStyle = colour("accent");
    context.beginPath(); // where they are watched against
    context.moveTo(middle - 10, 0);
    context.lineTo(middle + 10, 0);
    context.lineTo(middle, height * 0.22);
    context.fill();
  };

  const openNeedle = (root) => {
    const canvas = root.querySelector("canvas"), said = root.querySelector("[data-part=drift]");
    const needle = { error: null, place: 0, at: 0 };
    const turn = (moment) => {
      const passed = Math.min(0.1, (moment - needle.at) / 1000);
      needle.at = moment;
      const fresh = needle.error !== null;
      if (fresh && !calm.matches) needle.place += passed * Math.max(-BARS_MOST, Math.min(BARS_MOST, BARS_PER_PERCENT * needle.error));
      root.dataset.place = needle.place.toFixed(3);
      if (canvas.offsetParent && canvas.clientWidth) drawNeedle(canvas, needle.place, fresh);
      requestAnimationFrame(turn);
    };
    requestAnimationFrame(turn);
    // ERROR is in per cent, null when there is none of now.
    return (error) => {
      needle.error = error;
      const near = error !== null && Math.abs(error) < STILL_PERCENT;
      put(said, error === null ? words.noDrift : near ? words.still : error > 0 ? words.fast : words.slow);
    };
  };

  // --- the last ten minutes ------------------------------------------------------------

  const STEPS = [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10];
  const SECONDS = 600;

  const drawCourse = (root, history, limit) => {
    const canvas = root.querySelector("canvas"), { context, width, height } = begin(canvas);
    const values = [...history.values()].filter((value) => value !== null).sort((a, b) => a - b);
    const edge = Math.floor(values.length / 100);
    const most = values.length ? Math.max(-values[edge], values.at(-1 - edge), (limit?.high ?? 0) * 1.2) : 1;
    const scale = STEPS.find((step) => step >= most) ?? STEPS.at(-1), newest = Math.max(...history.keys(), 0);
    const x = (second) => width - ((newest - second) / SECONDS) * width;
    const y = (value) => height / 2 - (Math.max(-1, Math.min(1, value / scale)) * (height - 8)) / 2;
    if (limit) {
      context.fillStyle = colour("line");
      context.fillRect(0, y(limit.high ?? scale), width, y(limit.low ?? -scale) - y(limit.high ?? scale));
    }
    context.fillStyle = colour("quiet");
    context.fillRect(0, y(0), width, 1);
    context.fillText(`${number(scale, 2, true)} %`, 4, 18);
    context.fillText(`${number(-scale, 2, true)} %`, 4, height - 6);
    context.strokeStyle = colour("ink");
    context.lineWidth = 2;
    context.beginPath();
    let drawn = false;
    for (let second = newest - SECONDS; second <= newest; second++) {
      const value = history.get(second) ?? null; // nothing is drawn that was not measured
      if (value === null) { drawn = false; continue; }
      context[drawn ? "lineTo" : "moveTo"](x(second), y(value));
      if (!drawn) context.lineTo(x(second) + 1, y(value));
      drawn = true;
    }
    context.stroke();
    const minutes = Math.max(1, Math.round(values.length / 60));
    const text = values.length ? fill(words.course, minutes, number(values[0], 2, true), number(values.at(-1), 2, true)) : words.noCourse;
    canvas.setAttribute("aria-label", text);
    put(root.querySelector("[data-part=said]"), text);
  };

  // --- the flutter by frequency ----------------------------------------------------------

  const partWord = (part) => part.split(" or ").map((one) => one.split(": ").map((word) => words[`part ${word}`] ?? word).join(": "))
    .reduce((sofar, next) => fill(words.or, sofar, next));
  const lineWords = (line) => {
    if (line.part) return partWord(line.part);
    return Math.abs(line.order - 1) < 0.02 ? words.onceTurn : Math.abs(line.order - 2) < 0.02 ? words.twiceTurn : "";
  };
  const LOW_PERCENT = 0.001, HIGH_PERCENT = 3;

  const drawSpectrum = (root, spectrum) => {
    const canvas = root.querySelector("canvas"), { context, width, height } = begin(canvas);
    const top = height * 0.24, foot = Math.max(24, height / 12 + 6); // marks above, frequencies below
    const x = (hz) => (width * Math.log(hz / spectrum.low_hz)) / Math.log(spectrum.high_hz / spectrum.low_hz);
    const y = (percent) => height - foot - (height - foot - top)
      * Math.max(0, Math.min(1, Math.log(percent / LOW_PERCENT) / Math.log(HIGH_PERCENT / LOW_PERCENT)));
    context.fillStyle = context.strokeStyle = colour("quiet");
    for (const percent of [0.01, 0.1, 1]) {
      context.fillRect(0, y(percent), width, 1);
      context.fillText(`${number(percent, percent < 0.1 ? 2 : percent < 1 ? 1 : 0)} %`, 4, y(percent) - 4);
    }
    for (const hz of [0.5, 1, 2, 5, 10, 20, 50, 100]) {
      context.fillRect(x(hz), height - foot, 1, 5);
      const text = number(hz, hz < 1 ? 1 : 0);
      context.fillText(text, x(hz) - context.measureText(text).width / 2, height - 4);
    }
    const curve = (percents, dash) => {
      context.setLineDash(dash);
      context.beginPath();
      let begun = false;
      percents.forEach((percent, bin) => {
        if (percent === null) return;
        const hz = spectrum.low_hz * (spectrum.high_hz / spectrum.low_hz) ** ((bin + 0.5) / percents.length);
        context[begun ? "lineTo" : "moveTo"](x(hz), y(percent));
        begun = true;
      });
      context.stroke();
      context.setLineDash([]);
    };
    context.lineWidth = 2;
    const { before } = canvas.dataset;
    if (before) curve(before.split(" ").map((word) => (word === "-" ? null : Number(word) * 1e-5)), [6, 5]);
    context.strokeStyle = colour("ink");
    if (spectrum.percent.length) curve(spectrum.percent, []);
    context.fillStyle = colour("ink");
    for (const line of spectrum.lines) context.fillRect(x(line.hz) - 2, y(line.percent), 4, height - foot - y(line.percent));
    // Named where there is room; two rows.
    const ends = [-1e9, -1e9];
    context.fillStyle = colour("accent");
    for (const mark of [...spectrum.marks].sort((a, b) => a.hz - b.hz)) {
      context.fillRect(x(mark.hz) - 1, top - 6, 2, height - foot - top + 6);
      const text = partWord(mark.part), wide = context.measureText(text).width;
      const left = Math.max(0, Math.min(width - wide, x(mark.hz) - wide / 2)), row = ends.findIndex((end) => left > end + 8);
      if (row < 0) continue;
      ends[row] = left + wide;
      context.fillText(text, left, top - 12 - row * (top / 2.6));
    }
  };

  const showSpectrum = (root, spectrum) => {
    drawSpectrum(root, spectrum);
    const list = root.querySelector("[data-part=lines]");
    const texts = spectrum.lines.map((line) => {
      const word = lineWords(line);
      return `${number(line.hz, line.hz < 10 ? 2 : 1)} Hz · ${number(line.percent, 3)} %${word ? ` · ${word}` : ""}`;
    });
    while (list.children.length > texts.length) list.lastChild.remove();
    texts.forEach((text, at) => {
      if (!list.children[at]) list.append(document.createElement("li"));
      put(list.children[at], text);
    });
    const first = spectrum.lines[0], name = first && lineWords(first);
    root.querySelector("canvas").setAttribute("aria-label", first
      ? fill(words.spectrum, number(first.hz, 2), number(first.percent, 3), name ? `, ${name}` : "") : words.noSpectrum);
  };

  // --- the beep ---------------------------------------------------------------------------

  // Two rising tones when the figure comes within, one each two seconds while it stays, a low one when it leaves.
  const openBeep = () => {
    const beep = { audio: null, within: null, at: 0, count: 0 };
    const tone = (hz, after = 0) => {
      const from = beep.audio.currentTime + after, voice = beep.audio.createOscillator(), level = beep.audio.createGain();
      voice.frequency.value = hz;
      level.gain.setValueAtTime(0, from);
      level.gain.linearRampToValueAtTime(0.15, from + 0.01);
      level.gain.linearRampToValueAtTime(0, from + 0.12);
      voice.connect(level).connect(beep.audio.destination);
      voice.start(from);
      voice.stop(from + 0.13);
      beep.count += 1;
    };
    return {
      get isOn() { return beep.audio !== null; },
      get count() { return beep.count; },
      toggle() {
        if (beep.audio) { beep.audio.close(); beep.audio = null; } else { beep.audio = new AudioContext(); beep.within = null; }
        return beep.audio !== null;
      },
      // WITHIN is null while nothing of now tells.
      hear(within) {
        if (!beep.audio) return;
        const moment = performance.now(), changed = within !== beep.within;
        if (within && changed) { tone(660); tone(880, 0.16); beep.at = moment; }
        else if (within && moment - beep.at > 2000) { tone(880); beep.at = moment; }
        else if (beep.within && within === false) tone(330);
        beep.within = within;
      },
    };
  };

  // --- one figure on the whole screen ---------------------------------------------------------

  // All beside ROOT and what it stands in rests meanwhile.
  const beside = (root) => {
    const found = [];
    for (let node = root; node.parentElement && node !== document.body; node = node.parentElement)
      found.push(...[...node.parentElement.children].filter((one) => one !== node && !one.inert && !["SCRIPT", "STYLE"].includes(one.tagName)));
    return found;
  };
  let large = null; // { root, button, resting }

  const leaveLarge = () => {
    if (!large) return;
    const { root, button, resting } = large;
    large = null;
    for (const node of resting) node.inert = false;
    root.classList.remove("large-one");
    document.documentElement.classList.remove("one-large");
    put(button, words.large);
    if (document.fullscreenElement) document.exitFullscreen().catch(() => {});
    button.focus();
    window.dispatchEvent(new Event("resize"));
  };
  const enterLarge = (root, button) => {
    large = { root, button, resting: beside(root) };
    for (const node of large.resting) node.inert = true;
    root.classList.add("large-one");
    document.documentElement.classList.add("one-large");
    put(button, words.small);
    // Without the browser's leave it fills the window.
    root.requestFullscreen?.().catch(() => {});
    window.dispatchEvent(new Event("resize"));
  };
  for (const button of document.querySelectorAll(".enlarge")) {
    const root = button.closest(".gauge, .speed, .picture");
    button.addEventListener("click", () => (large ? leaveLarge() : enterLarge(root, button)));
  }
  document.addEventListener("keydown", (event) => { if (event.key === "Escape") leaveLarge(); });
  document.addEventListener("fullscreenchange", () => { if (!document.fullscreenElement) leaveLarge(); });

  return { openNeedle, drawCourse, showSpectrum, openBeep, largeOne: () => large?.root ?? null };
};
