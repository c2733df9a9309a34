// The live page: waits for each frame of the bench and shows it.
//
// One or two inputs, each by itself in a place of its own. Calm before quick: numbers change every 400 ms, a change of state at once. Only
// the marks on the rules and the meters follow each frame, without easing; who
// asks for less motion gets them with the numbers.
"use strict";

const words = JSON.parse(document.getElementById("live-words").dataset.words);
const part = (root, name) => root.querySelector(`[data-part="${name}"]`);
const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
const dark = window.matchMedia("(prefers-color-scheme: dark)");
const fill = (text, ...values) => values.reduce((sofar, value) => sofar.replace("%s", value), text);
const put = (node, text) => { if (node && node.textContent !== text) node.textContent = text; };
const SETTLED_MS = 400, SPOKEN_MS = 5000, AWAY_MS = 3000, FRAME_MS = 50, DEVICE_MS = 10;

const number = (value, digits, signed = false) => {
  if (value === null || value === undefined) return "–";
  const text = Math.abs(value).toFixed(digits);
  const sign = Number(text) === 0 ? "" : value < 0 ? "−" : signed ? "+" : "";
  return sign + text.replace(".", words.point);
};

const pictures = livePictures(words, number, fill, put);

// One input of the page. The ids of the second one end in "-2".
const openPlace = (root) => ({
  root,
  number: root.dataset.place,
  at(id) { return document.getElementById(this.number === "1" ? id : `${id}-${this.number}`); },
  last: null,         // the newest state
  frozen: null,       // the state that is shown, while it is frozen
  inRpm: false,
  putAt: 0,           // when the numbers changed last
  spokenAt: 0,
  spoken: "",
  turns: new Map(),   // of the raster
  latency: [],
  history: new Map(), // speed by second
  slow: null,         // what changes once a second
  beep: pictures.openBeep(),
});
const places = [...document.querySelectorAll("[data-place]")].map(openPlace);

// --- rules and meters ------------------------------------------------------------

const stretch = (node, low, high) => {
  node.hidden = !(high > low - 1e-9) || Number.isNaN(low + high);
  node.style.left = `${low}%`;
  node.style.width = `${Math.max(0, high - low)}%`;
};

// Puts the parts of RULE for FIGURE on an axis from LOW to HIGH.
const rule = (root, figure, low, high, now) => {
  const share = (value) => Math.min(100, Math.max(0, (100 * (value - low)) / (high - low)));
  const limit = figure.limit;
  root.classList.toggle("unmarked", figure.value === null);
  const band = (name, from, to) => {
    const node = root.querySelector(`.${name}`);
    node.hidden = !limit;
    if (limit) stretch(node, share(from ?? low), share(to ?? high));
  };
  band("allowed", limit?.low, limit?.high);
  band("good", limit?.good_low ?? limit?.low, limit?.good_high ?? limit?.high);
  if (figure.value === null) return;
  const off = figure.uncertainty ?? 0;
  stretch(root.querySelector(".whisker"), share(figure.value - off), share(figure.value + off));
  const at = root.querySelector(".at");
  at.style.left = `${share(figure.value)}%`;
  at.classList.toggle("beyond", figure.value < low || figure.value > high);
  const was = root.querySelector(".was"), before = root.parentElement.querySelector("[data-part=before]");
  was.hidden = !before;
  if (before) was.style.left = `${share(Number(before.dataset.value))}%`;
  const second = root.querySelector(".now");
  if (!second) return;
  second.hidden = now === null;
  if (now !== null) second.style.left = `${share(now)}%`;
};

// An axis with room about the limit; from 0 for what cannot be negative.
const axis = (figure) => {
  const { low, high } = figure.limit ?? {};
  if (low != null && high != null && low < 0) return [2 * low, 2 * high];
  if (high != null) return [0, 2 * high];
  if (low != null) return [0, 2 * low];
  return null;
};

const showRules = (place, state) => {
  const turn = state.figures["speed.turn"], now = state.figures["speed.now"];
  const [low, high] = axis(turn) ?? [-2, 2];
  rule(place.at("bar"), { ...speedShown(place, state).figure, limit: turn.limit }, low, high, now.stale ? null : now.value);
  put(place.at("bar-low"), `${number(low, 1, true)} %`);
  put(place.at("bar-high"), `${number(high, 1, true)} %`);
  for (const gauge of place.root.querySelectorAll("[data-figure]")) {
    const figure = state.figures[gauge.dataset.figure], ends = axis(figure);
    const line = part(gauge, "range");
    line.hidden = !ends;
    if (ends) rule(line, figure, ...ends);
  }
  const share = (db) => Math.min(100, Math.max(0, (100 * ((db ?? -60) + 60)) / 60));
  for (const level of place.root.querySelectorAll("[data-channel]")) {
    const channel = state.levels[level.dataset.channel];
    if (!channel) continue;
    level.querySelector(".rms").style.width = `${share(channel.rms_db)}%`;
    level.querySelector(".peak").style.left = `${share(channel.held_peak_db)}%`;
  }
};

// --- numbers ---------------------------------------------------------------------

const speedShown = (place, state) => {
  const turn = state.figures["speed.turn"], now = state.figures["speed.now"];
  const isTurn = turn.value !== null && (!turn.stale || now.stale);
  const figure = isTurn ? turn : now;
  const rpm = figure.value === null ? null : state.nominal_rpm * (1 + figure.value / 100);
  return {
    figure,
    text: place.inRpm ? number(rpm, 3) : number(figure.value, 2, true),
    unit: place.inRpm ? "rpm" : "%",
    over: words[(isTurn ? "turn" : "now") + (place.inRpm ? "Rpm" : "")],
  };
};

const showSpeed = (place, state) => {
  const { figure, text, unit, over } = speedShown(place, state);
  const stale = figure.stale || figure.value === null;
  place.at("speed").classList.toggle("stale", stale);
  put(part(place.at("figure"), "value"), text);
  put(part(place.at("figure"), "unit"), unit);
  const doubt = figure.uncertainty ? ` ± ${number(figure.uncertainty * (place.inRpm ? state.nominal_rpm / 100 : 1), 3)} ${unit}` : "";
  put(place.at("figure-over"), stale ? (figure.value === null ? "" : age(figure)) + figure.why : over + doubt);
};

const age = (figure) => (figure.age_s === null ? "" : fill(words.ago, number(figure.age_s, figure.age_s < 10 ? 1 : 0)));

const showGauge = (gauge, state) => {
  const figure = state.figures[gauge.dataset.figure];
  const digits = Number(gauge.dataset.digits), value = figure.value;
  gauge.classList.toggle("stale", figure.stale || value === null);
  // What holds for all stands at the head.
  const why = figure.why === state.why ? "" : figure.why;
  put(part(gauge, "why"), (figure.stale && value !== null ? age(figure) : "") + why);
  let text = number(value, digits, gauge.dataset.figure === "channels.balance");
  if (gauge.dataset.figure === "channels.polarity") text = value === null ? "–" : value > 0 ? words.inPhase : words.opposed;
  if (gauge.dataset.figure === "azimuth.rotation") {
    text = value === null ? "–" : number(Math.abs(value), digits);
    const upright = Math.abs(value) <= (figure.uncertainty ?? 0);
    put(part(gauge, "said"), value === null ? "" : upright ? words.upright : value > 0 ? words.clockwise : words.anticlockwise);
  }
  if (gauge.dataset.figure === "hum.under_tone") {
    text = number(value, digits, true);
    const line = state.hum.filter((one) => !one.noisy).sort((a, b) => b.level_db - a.level_db)[0];
    put(part(gauge, "said"), value === null ? "" : line ? fill(words.strongest, line.hz.toFixed(0)) : words.noLine);
  }
  put(part(gauge, "value"), text);
};

const showLevel = (level, channel, alone, stale) => {
  level.hidden = !channel;
  if (!channel) return;
  const heard = channel.held_peak_db !== null;
  level.classList.toggle("stale", stale || !heard);
  if (level.dataset.channel === "0") put(part(level, "name"), alone ? words.mono : words.left);
  put(part(level, "value"), number(channel.held_peak_db, 1));
  put(part(level, "clipped"), channel.clipped ? fill(words.clipped, channel.clipped) : heard ? words.notClipped : words.nothing);
  part(level, "mark").className = `mark ${channel.clipped ? "attention" : heard ? "good" : "untested"}`;
};

const showNumbers = (place, state) => {
  showSpeed(place, state);
  for (const gauge of place.root.querySelectorAll("[data-figure]")) showGauge(gauge, state);
  if (state.levels.length)
    for (const level of place.root.querySelectorAll("[data-channel]"))
      showLevel(level, state.levels[level.dataset.channel], state.levels.length === 1,
        state.state !== "running" || state.trouble === "waiting");
  showStretches(place, state.take.stretches);
  showHeld(place, state.take);
  const clock = state.clock;
  const off = clock.error_ppm === null ? "" : fill(words.clock, number(clock.error_ppm, 1, true), number(clock.uncertainty_ppm, 1));
  put(place.at("clock"), off + clock.why);
  if (place.at("clock-keep")) place.at("clock-keep").hidden = !clock.sure;
};

// What was taken before the device went away can be kept as long as it is held.
const showStretches = (place, stretches) => {
  const list = place.root.querySelector("select[name=last]");
  const wanted = new Map(stretches.map((one) => [`before:${one.until}`, fill(words.before, number(one.held_s, 0))]));
  for (const option of [...list.options])
    if (option.value.startsWith("before:") && !wanted.delete(option.value)) option.remove();
  for (const [value, text] of wanted) list.add(new Option(text, value));
};

const stateWords = (state) =>
  [state.why || fill(words.running, state.input), state.remark].filter(Boolean).join(" ");

// Frozen figures are those of that moment, whatever has become of the input.
const showState = (place, state) => {
  place.root.classList.toggle("not-running", state.state !== "running" && state.state !== "away"); // away, it can be stopped
  place.root.classList.toggle("fresh", !state.input);
  place.root.classList.toggle("no-turns", ![...place.turns.values()].some((values) => values.length));
  place.root.classList.toggle("quiet-now", state.stale);
  put(place.at("state"), place.frozen ? fill(words.frozen, place.frozen.at) : stateWords(state));
};

// Whether FIGURE is within what is good, or else allowed; null while that cannot be told.
const isWithin = (figure, limit) => {
  if (!limit || figure.stale || figure.value === null) return null;
  const low = limit.good_low ?? limit.low ?? -Infinity, high = limit.good_high ?? limit.high ?? Infinity;
  return figure.value >= low && figure.value <= high;
};

// The beep is of the figure that fills the screen, else of the speed.
const hearBeep = (place, state) => {
  const key = pictures.largeOne()?.dataset.figure, turn = state.figures["speed.turn"];
  place.beep.hear(key ? isWithin(state.figures[key], state.figures[key].limit) : isWithin(speedShown(place, state).figure, turn.limit));
};

const turnNeedle = (place, state) => {
  const { figure } = speedShown(place, state);
  place.needle(figure.stale || figure.value === null ? null : figure.value);
};

// What was heard and stopped is held until it is dropped.
const showHeld = (place, { held_s: seconds }) => {
  place.at("held").hidden = !(seconds > 0);
  put(place.at("held-words"), fill(words.held, number(seconds, 0)));
};

// --- the raster ------------------------------------------------------------------

const steps = [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10];

const colours = (place) => place.at("raster").dataset[dark.matches ? "dark" : "light"].split(" ")
  .map((text) => [0, 2, 4].map((at) => parseInt(text.slice(at, at + 2), 16)));

const takeTurns = ({ turns }, raster) => {
  for (const turn of turns.keys()) if (turn < raster.first || turn >= raster.begun) turns.delete(turn);
  for (const row of raster.rows) turns.set(row.turn, row.values);
};

// All that was heard, in order of size.
const heard = ({ turns }) => [...turns.values()].flat().filter((value) => value !== null).sort((a, b) => a - b);

const drawRaster = (place, state) => {
  const canvas = place.at("raster"), context = canvas.getContext("2d");
  // One cell in a hundred may go over either end: a run-up must not make the rest pale.
  const values = heard(place), edge = Math.floor(values.length / 100);
  const most = values.length ? Math.max(-values[edge], values.at(-1 - edge)) : 0;
  const scale = steps.find((step) => step >= most) ?? steps.at(-1);
  const palette = colours(place), image = context.createImageData(canvas.width, canvas.height);
  for (const [turn, values] of place.turns)
    values.forEach((value, cell) => {
      if (value === null) return;
      const share = Math.min(1, Math.max(-1, value / scale));
      const colour = palette[Math.round(((share + 1) / 2) * (palette.length - 1))];
      image.data.set([...colour, 255], 4 * ((turn - state.raster.first) * canvas.width + cell));
    });
  context.putImageData(image, 0, 0);
  const legend = place.at("scale").getContext("2d"), strip = legend.createImageData(palette.length, 1);
  palette.forEach((colour, at) => strip.data.set([...colour, 255], 4 * at));
  legend.putImageData(strip, 0, 0);
  put(place.at("scale-low"), `${number(-scale, 2, true)} %`);
  put(place.at("scale-high"), `${number(scale, 2, true)} %`);
};

const rasterWords = (place) => {
  const values = heard(place);
  return values.length ? fill(words.raster, place.turns.size, number(values[0], 2, true), number(values.at(-1), 2, true)) : words.noTurn;
};

// --- what a screen reader hears: changes of state at once, figures every 5 s --------

const speak = (place, state, moment) => {
  // Not the reason itself: one that counts seconds would speak at each of them.
  const kind = `${state.state} ${state.trouble} ${Boolean(place.frozen)}`;
  if (kind === place.spoken && moment - place.spokenAt < SPOKEN_MS) return;
  place.spokenAt = moment;
  place.spoken = kind;
  const turn = state.figures["speed.turn"], flutter = state.figures["flutter.weighted.two_sigma"];
  put(place.at("spoken"), place.frozen || state.stale || turn.stale ? place.at("state").textContent
    : fill(words.speech, number(turn.value, 2, true), flutter.stale ? "–" : number(flutter.value, 3)));
  place.at("raster").setAttribute("aria-label", rasterWords(place));
};

// --- showing a state -------------------------------------------------------------

const show = (place, state, force = false) => {
  const moment = performance.now(), due = force || moment - place.putAt >= SETTLED_MS;
  showState(place, state);
  const shown = place.frozen ? place.frozen.state : state;
  if (!calm.matches || due) showRules(place, shown);
  turnNeedle(place, shown);
  hearBeep(place, state);
  if (!due) return;
  place.putAt = moment;
  showNumbers(place, shown);
  if (!place.frozen) drawRaster(place, state);
  speak(place, state, moment);
};

// Nothing came from the bench: whatever stands here is not of now.
const showAway = (place) => {
  place.root.classList.add("quiet-now");
  put(place.at("state"), words.away);
  for (const node of place.root.querySelectorAll(".speed, .gauge")) node.classList.add("stale");
  place.needle(null);
  place.beep.hear(null);
};

// --- listening ---------------------------------------------------------------------

// Of the sound that is on the screen now, how old the oldest is at most: its frame
// and the device's block, its age when the bench answered, the way here (what the
// bench did not hold back of it), and until the browser painted.
const noteLatency = ({ latency }, answer, sent, received) => {
  const since = Number(answer.headers.get("Deckwright-Since")), held = Number(answer.headers.get("Deckwright-Held"));
  requestAnimationFrame(() => {
    const painted = performance.now() - received;
    const total = FRAME_MS + DEVICE_MS + since + Math.max(0, received - sent - held) + painted;
    latency.push(total);
    if (latency.length > 40) latency.shift();
  });
};

const showLatency = (place) => {
  const { latency } = place;
  if (latency.length < 10) return;
  const median = [...latency].sort((a, b) => a - b)[latency.length >> 1];
  place.at("latency").dataset.ms = median.toFixed(0);
  put(place.at("latency"), fill(words.latency, (Math.round(median / 10) * 10).toString()));
};

const nextRow = ({ last }) => {
  let row = last?.raster.begun ?? 0;
  if (row > 0) row -= 1; // the newest one still grows
  return row;
};

const ask = async (place) => {
  const sent = performance.now();
  const answer = await fetch(`/live/state?place=${place.number}&after=${place.last?.seq ?? 0}&row=${nextRow(place)}`, {
    credentials: "same-origin", headers: { Accept: "application/json" }, signal: AbortSignal.timeout(AWAY_MS),
  });
  const state = await answer.json();
  const received = performance.now();
  if (!state.deckwright_live) throw new Error(state.words);
  const restarted = place.last && state.raster.begun < place.last.raster.begun;
  if (restarted) place.turns.clear();
  const isNew = !place.last || state.seq !== place.last.seq;
  const changed = !place.last || state.state !== place.last.state || state.trouble !== place.last.trouble;
  place.last = state;
  if (!place.frozen) takeTurns(place, state.raster);
  show(place, state, changed);
  if (isNew && state.state === "running") noteLatency(place, answer, sent, received);
  else place.latency.length = 0;
};

const pause = (milliseconds) => new Promise((resolve) => setTimeout(resolve, milliseconds));

const listen = async (place) => {
  for (;;) {
    try {
      // A page that nobody sees asks for nothing.
      if (document.hidden) await new Promise((resolve) => document.addEventListener("visibilitychange", resolve, { once: true }));
      await ask(place);
      if (place.last.state !== "running") await pause(200);
    } catch {
      showAway(place);
      place.last = null;
      await pause(1000);
    }
  }
};

// --- what changes once a second --------------------------------------------------------

const showSlow = (place) => {
  if (!place.slow || place.frozen) return;
  pictures.drawCourse(place.at("course"), place.history, place.last?.figures["speed.turn"].limit);
  pictures.showSpectrum(place.at("spectrum"), place.slow.spectrum);
};

const askSlow = async (place) => {
  const from = place.slow?.history.ended ?? 0;
  const answer = await fetch(`/live/slow?place=${place.number}&from=${from}`, {
    credentials: "same-origin", headers: { Accept: "application/json" }, signal: AbortSignal.timeout(AWAY_MS) });
  const slow = await answer.json();
  if (slow.history.ended < from) place.history.clear(); // another start
  for (const second of place.history.keys()) if (second < slow.history.first) place.history.delete(second);
  slow.history.values.forEach((value, at) => place.history.set(slow.history.from + at, value));
  place.slow = slow;
  showSlow(place);
};

const watchSlow = async (place) => {
  for (;;) {
    try {
      if (!document.hidden && (place.last?.state === "running" || !place.slow)) await askSlow(place);
    } catch { /* the state says that the bench cannot be reached */ }
    await pause(1000);
  }
};

// --- what is touched ---------------------------------------------------------------

const addUnitButton = (place) => {
  const change = document.createElement("button");
  change.type = "button";
  change.id = place.number === "1" ? "change-unit" : `change-unit-${place.number}`;
  change.className = "second";
  change.textContent = words.toRpm;
  place.at("speed-acts").append(change);
  const changeUnit = () => {
    place.inRpm = !place.inRpm;
    change.textContent = place.inRpm ? words.toPercent : words.toRpm;
    if (place.last) showSpeed(place, place.frozen ? place.frozen.state : place.last);
  };
  change.addEventListener("click", changeUnit);
  place.at("figure").addEventListener("click", changeUnit); // the button says the same to who does not point
};

const addBeepButton = (place) => {
  const button = document.createElement("button"), note = document.createElement("small");
  button.type = "button";
  button.className = "second beep";
  button.textContent = words.beep;
  button.setAttribute("aria-pressed", "false");
  button.addEventListener("click", () => {
    const isOn = place.beep.toggle();
    button.setAttribute("aria-pressed", isOn);
    put(button, isOn ? words.beeps : words.beep);
    put(note, isOn && place.last && !place.last.figures["speed.turn"].limit ? words.noLimit : "");
  });
  place.at("speed-acts").append(button, note);
};

const putUntil = (place) => { place.at("until").value = place.frozen ? place.frozen.state.position : ""; };

const freeze = (place) => {
  if (!place.last) return;
  place.frozen = place.frozen ? null : { state: place.last, at: new Date().toLocaleTimeString(undefined, { hour12: false }) };
  place.root.classList.toggle("frozen", Boolean(place.frozen));
  putUntil(place);
  put(place.at("freeze-word"), place.frozen ? words.goOn : words.freeze);
  if (!place.frozen) place.last = null; // all rows are asked for again
  else show(place, place.last, true);
};

// The input that a key acts on: the one in which something is chosen, else the first.
const placeOfKeys = () => places.find((place) => place.root.contains(document.activeElement)) ?? places[0];

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.shiftKey || event.repeat) return;
  if (event.key === "F2") places.forEach(freeze); // both of the same moment
  else if (event.key === "F4") placeOfKeys().at("keep").click();
  else return;
  event.preventDefault();
});

// Back from the sheet, the form keeps up to now again unless it is still frozen.
window.addEventListener("pageshow", () => places.forEach(putUntil));
window.addEventListener("resize", () => places.forEach(showSlow));
dark.addEventListener("change", () => {
  places.forEach(showSlow);
  for (const place of places) if (place.last) drawRaster(place, place.frozen ? place.frozen.state : place.last);
});

// --- the inputs before the start -----------------------------------------------------

const showInput = (row, input) => {
  const level = part(row, "level");
  level.value = input?.level_db ?? -60;
  level.hidden = input?.level_db == null;
  row.classList.toggle("moved", Boolean(input?.moved));
  part(row, "moved").hidden = !input?.moved;
};

const showInputs = (inputs) => {
  const devices = new Map(inputs.filter((one) => one.device).map((one) => [one.name, one]));
  for (const list of document.querySelectorAll(".inputs")) {
    const rows = [...list.querySelectorAll("[data-name^='device:']")];
    for (const row of rows) showInput(row, devices.get(row.dataset.name));
    list.querySelector(".news").hidden = rows.length === devices.size && rows.every((row) => devices.has(row.dataset.name));
  }
};

// Levels are asked for only while a list to choose from is on the screen.
const LEVELS_MS = 250;
const watchInputs = async () => {
  for (;;) {
    const isShown = !document.hidden && [...document.querySelectorAll(".inputs")].some((list) => list.offsetParent);
    try {
      if (isShown) {
        const answer = await fetch("/live/inputs", {
          credentials: "same-origin", headers: { Accept: "application/json" }, signal: AbortSignal.timeout(4 * AWAY_MS) });
        showInputs((await answer.json()).inputs ?? []);
      }
    } catch { /* the state says that the bench cannot be reached */ }
    await pause(isShown ? LEVELS_MS : 1000);
  }
};

for (const place of places) {
  place.needle = pictures.openNeedle(place.at("needle"));
  addUnitButton(place);
  addBeepButton(place);
  place.at("freeze").addEventListener("click", () => freeze(place));
  place.at("keep").form.addEventListener("submit", () => bench.say(words.measuring));
  setInterval(() => showLatency(place), 2000);
  listen(place);
  watchSlow(place);
}
watchInputs();
