// The live page: waits for each frame of the bench and shows it.
//
// Calm before quick: numbers change every 400 ms, a change of state at once. Only
// the marks on the rules and the meters follow each frame, without easing; who
// asks for less motion gets them with the numbers.
"use strict";

const page = document.getElementById("live");
const words = JSON.parse(document.getElementById("live-words").dataset.words);
const part = (root, name) => root.querySelector(`[data-part="${name}"]`);
const byId = (id) => document.getElementById(id);
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

let last = null;          // the newest state
let frozen = null;        // the state that is shown, while it is frozen
let inRpm = false;
let putAt = 0;            // when the numbers changed last
let spokenAt = 0, spoken = "";
const turns = new Map();  // of the raster

// --- rules and meters ------------------------------------------------------------

const place = (node, low, high) => {
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
    if (limit) place(node, share(from ?? low), share(to ?? high));
  };
  band("allowed", limit?.low, limit?.high);
  band("good", limit?.good_low ?? limit?.low, limit?.good_high ?? limit?.high);
  if (figure.value === null) return;
  const off = figure.uncertainty ?? 0;
  place(root.querySelector(".whisker"), share(figure.value - off), share(figure.value + off));
  const at = root.querySelector(".at");
  at.style.left = `${share(figure.value)}%`;
  at.classList.toggle("beyond", figure.value < low || figure.value > high);
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

const showRules = (state) => {
  const turn = state.figures["speed.turn"], now = state.figures["speed.now"];
  const [low, high] = axis(turn) ?? [-2, 2];
  rule(byId("bar"), { ...speedShown(state).figure, limit: turn.limit }, low, high, now.stale ? null : now.value);
  put(byId("bar-low"), `${number(low, 1, true)} %`);
  put(byId("bar-high"), `${number(high, 1, true)} %`);
  for (const gauge of page.querySelectorAll("[data-figure]")) {
    const figure = state.figures[gauge.dataset.figure], ends = axis(figure);
    const line = part(gauge, "range");
    line.hidden = !ends;
    if (ends) rule(line, figure, ...ends);
  }
  const share = (db) => Math.min(100, Math.max(0, (100 * ((db ?? -60) + 60)) / 60));
  for (const level of page.querySelectorAll("[data-channel]")) {
    const channel = state.levels[level.dataset.channel];
    if (!channel) continue;
    level.querySelector(".rms").style.width = `${share(channel.rms_db)}%`;
    level.querySelector(".peak").style.left = `${share(channel.held_peak_db)}%`;
  }
};

// --- numbers ---------------------------------------------------------------------

const speedShown = (state) => {
  const turn = state.figures["speed.turn"], now = state.figures["speed.now"];
  const isTurn = turn.value !== null && (!turn.stale || now.stale);
  const figure = isTurn ? turn : now;
  const rpm = figure.value === null ? null : state.nominal_rpm * (1 + figure.value / 100);
  return {
    figure,
    text: inRpm ? number(rpm, 3) : number(figure.value, 2, true),
    unit: inRpm ? "rpm" : "%",
    over: words[(isTurn ? "turn" : "now") + (inRpm ? "Rpm" : "")],
  };
};

const showSpeed = (state) => {
  const { figure, text, unit, over } = speedShown(state);
  const stale = figure.stale || figure.value === null;
  byId("speed").classList.toggle("stale", stale);
  put(part(byId("figure"), "value"), text);
  put(part(byId("figure"), "unit"), unit);
  const doubt = figure.uncertainty ? ` ± ${number(figure.uncertainty * (inRpm ? state.nominal_rpm / 100 : 1), 3)} ${unit}` : "";
  put(byId("figure-over"), stale ? (figure.value === null ? "" : age(figure)) + figure.why : over + doubt);
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

const showNumbers = (state) => {
  showSpeed(state);
  for (const gauge of page.querySelectorAll("[data-figure]")) showGauge(gauge, state);
  if (state.levels.length)
    for (const level of page.querySelectorAll("[data-channel]"))
      showLevel(level, state.levels[level.dataset.channel], state.levels.length === 1,
        state.state !== "running" || state.trouble === "waiting");
  const clock = state.clock;
  const off = clock.error_ppm === null ? "" : fill(words.clock, number(clock.error_ppm, 1, true), number(clock.uncertainty_ppm, 1));
  put(byId("clock"), off + clock.why);
  if (byId("clock-keep")) byId("clock-keep").hidden = !clock.sure;
};

const stateWords = (state) =>
  [state.why || fill(words.running, state.input), state.remark].filter(Boolean).join(" ");

// Frozen figures are those of that moment, whatever has become of the input.
const showState = (state) => {
  page.classList.toggle("not-running", state.state !== "running");
  page.classList.toggle("no-turns", (frozen ?? { state }).state.raster.begun === 0);
  page.classList.toggle("quiet-now", state.stale);
  put(byId("state"), frozen ? fill(words.frozen, frozen.at) : stateWords(state));
};

// --- the raster ------------------------------------------------------------------

const steps = [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10];

const colours = () => byId("raster").dataset[dark.matches ? "dark" : "light"].split(" ")
  .map((text) => [0, 2, 4].map((at) => parseInt(text.slice(at, at + 2), 16)));

const takeTurns = (raster) => {
  for (const turn of turns.keys()) if (turn < raster.first || turn >= raster.begun) turns.delete(turn);
  for (const row of raster.rows) turns.set(row.turn, row.values);
};

// All that was heard, in order of size.
const heard = () => [...turns.values()].flat().filter((value) => value !== null).sort((a, b) => a - b);

const drawRaster = (state) => {
  const canvas = byId("raster"), context = canvas.getContext("2d");
  // One cell in a hundred may go over either end: a run-up must not make the rest pale.
  const values = heard(), edge = Math.floor(values.length / 100);
  const most = values.length ? Math.max(-values[edge], values.at(-1 - edge)) : 0;
  const scale = steps.find((step) => step >= most) ?? steps.at(-1);
  const palette = colours(), image = context.createImageData(canvas.width, canvas.height);
  for (const [turn, values] of turns)
    values.forEach((value, cell) => {
      if (value === null) return;
      const share = Math.min(1, Math.max(-1, value / scale));
      const colour = palette[Math.round(((share + 1) / 2) * (palette.length - 1))];
      image.data.set([...colour, 255], 4 * ((turn - state.raster.first) * canvas.width + cell));
    });
  context.putImageData(image, 0, 0);
  const legend = byId("scale").getContext("2d"), strip = legend.createImageData(palette.length, 1);
  palette.forEach((colour, at) => strip.data.set([...colour, 255], 4 * at));
  legend.putImageData(strip, 0, 0);
  put(byId("scale-low"), `${number(-scale, 2, true)} %`);
  put(byId("scale-high"), `${number(scale, 2, true)} %`);
};

const rasterWords = () => {
  const values = heard();
  return values.length ? fill(words.raster, turns.size, number(values[0], 2, true), number(values.at(-1), 2, true)) : words.noTurn;
};

// --- what a screen reader hears: changes of state at once, figures every 5 s --------

const speak = (state, moment) => {
  // Not the reason itself: one that counts seconds would speak at each of them.
  const kind = `${state.state} ${state.trouble} ${Boolean(frozen)}`;
  if (kind === spoken && moment - spokenAt < SPOKEN_MS) return;
  spokenAt = moment;
  spoken = kind;
  const turn = state.figures["speed.turn"], flutter = state.figures["flutter.weighted.two_sigma"];
  put(byId("spoken"), frozen || state.stale || turn.stale ? byId("state").textContent
    : fill(words.speech, number(turn.value, 2, true), flutter.stale ? "–" : number(flutter.value, 3)));
  byId("raster").setAttribute("aria-label", rasterWords());
};

// --- showing a state -------------------------------------------------------------

const show = (state, force = false) => {
  const moment = performance.now(), due = force || moment - putAt >= SETTLED_MS;
  showState(state);
  const shown = frozen ? frozen.state : state;
  if (!calm.matches || due) showRules(shown);
  if (!due) return;
  putAt = moment;
  showNumbers(shown);
  if (!frozen) drawRaster(state);
  speak(state, moment);
};

// Nothing came from the bench: whatever stands here is not of now.
const showAway = () => {
  page.classList.add("quiet-now");
  put(byId("state"), words.away);
  for (const node of page.querySelectorAll(".speed, .gauge")) node.classList.add("stale");
};

// --- listening ---------------------------------------------------------------------

// Of the sound that is on the screen now, how old the oldest is at most: its frame
// and the device's block, its age when the bench answered, the way here (what the
// bench did not hold back of it), and until the browser painted.
const noteLatency = (answer, sent, received) => {
  const since = Number(answer.headers.get("Deckwright-Since")), held = Number(answer.headers.get("Deckwright-Held"));
  requestAnimationFrame(() => {
    const painted = performance.now() - received;
    const total = FRAME_MS + DEVICE_MS + since + Math.max(0, received - sent - held) + painted;
    latency.push(total);
    if (latency.length > 40) latency.shift();
  });
};
const latency = [];

const showLatency = () => {
  if (latency.length < 10) return;
  const median = [...latency].sort((a, b) => a - b)[latency.length >> 1];
  byId("latency").dataset.ms = median.toFixed(0);
  put(byId("latency"), fill(words.latency, (Math.round(median / 10) * 10).toString()));
};

const nextRow = () => {
  let row = last?.raster.begun ?? 0;
  if (row > 0) row -= 1; // the newest one still grows
  return row;
};

const ask = async () => {
  const sent = performance.now();
  const answer = await fetch(`/live/state?after=${last?.seq ?? 0}&row=${nextRow()}`, {
    credentials: "same-origin", headers: { Accept: "application/json" }, signal: AbortSignal.timeout(AWAY_MS),
  });
  const state = await answer.json();
  const received = performance.now();
  if (!state.deckwright_live) throw new Error(state.words);
  const restarted = last && state.raster.begun < last.raster.begun;
  if (restarted) turns.clear();
  const isNew = !last || state.seq !== last.seq;
  const changed = !last || state.state !== last.state || state.trouble !== last.trouble;
  last = state;
  if (!frozen) takeTurns(state.raster);
  show(state, changed);
  if (isNew && state.state === "running") noteLatency(answer, sent, received);
  else latency.length = 0;
};

const pause = (milliseconds) => new Promise((resolve) => setTimeout(resolve, milliseconds));

const listen = async () => {
  for (;;) {
    try {
      // A page that nobody sees asks for nothing.
      if (document.hidden) await new Promise((resolve) => document.addEventListener("visibilitychange", resolve, { once: true }));
      await ask();
      if (last.state !== "running") await pause(200);
    } catch {
      showAway();
      last = null;
      await pause(1000);
    }
  }
};

// --- what is touched ---------------------------------------------------------------

const figure = byId("figure"), change = document.createElement("button");
change.type = "button";
change.id = "change-unit";
change.className = "second";
change.textContent = words.toRpm;
byId("speed").append(change);
const changeUnit = () => {
  inRpm = !inRpm;
  change.textContent = inRpm ? words.toPercent : words.toRpm;
  if (last) showSpeed(frozen ? frozen.state : last);
};
change.addEventListener("click", changeUnit);
figure.addEventListener("click", changeUnit); // the button says the same to who does not point

const freeze = () => {
  if (!last) return;
  frozen = frozen ? null : { state: last, at: new Date().toLocaleTimeString(undefined, { hour12: false }) };
  page.classList.toggle("frozen", Boolean(frozen));
  byId("until").value = frozen ? frozen.state.position : "";
  put(byId("freeze-word"), frozen ? words.goOn : words.freeze);
  if (!frozen) last = null; // all rows are asked for again
  else show(last, true);
};
byId("freeze").addEventListener("click", freeze);

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.shiftKey || event.repeat) return;
  if (event.key === "F2") freeze();
  else if (event.key === "F4") byId("keep").click();
  else return;
  event.preventDefault();
});

byId("keep").form.addEventListener("submit", () => bench.say(words.measuring));

// Back from the sheet, the form keeps up to now again unless it is still frozen.
window.addEventListener("pageshow", () => { byId("until").value = frozen ? frozen.state.position : ""; });
dark.addEventListener("change", () => { if (last) drawRaster(frozen ? frozen.state : last); });
setInterval(showLatency, 2000);
listen();
