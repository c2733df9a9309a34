// What every page does in the browser: it keeps a field as soon as it was changed,
// and says in one place what was kept, what was refused and what never arrived.
"use strict";

const bench = {
  formToken: document.querySelector("meta[name=form-token]")?.content ?? "",
  word: document.getElementById("word"),
  words: document.getElementById("word")?.dataset ?? {},
  wrongs: new Map(), // what is still wrong, by what it is about
  fades: Infinity,   // when the news may go
  pressed: null,     // while a finger or a button is down: a promise of its release

  // Does ACT, but not under a press: what moves the button there has the release miss it.
  still(act) {
    if (bench.pressed) bench.pressed.then(act);
    else act();
  },

  // A word that makes an act one, however often it arrives.
  draw: () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join(""),

  // Says WORDS in the page's one place; WRONG when something was not done. The newest
  // news wins; trouble stays beside it until what it is ABOUT was kept, or it was seen.
  // UNDO ({path, words}) takes the act back.
  say(words, wrong = false, { undo = null, about = "page" } = {}) {
    if (!bench.word) return;
    if (wrong) bench.wrongs.set(about, words);
    else if (about !== "page") bench.wrongs.delete(about);
    bench.still(() => (wrong ? bench.showWrongs() : bench.showTold(words, undo)));
  },

  showWrongs() {
    const place = bench.word.querySelector(".wrong");
    place.replaceChildren();
    if (!bench.wrongs.size) return;
    for (const words of new Set(bench.wrongs.values())) place.append(Object.assign(document.createElement("span"), { textContent: words }));
    place.append(bench.button(bench.words.seen, () => { bench.wrongs.clear(); bench.showWrongs(); }));
  },

  showTold(words, undo) {
    const place = bench.word.querySelector(".told");
    bench.showWrongs();
    place.replaceChildren(Object.assign(document.createElement("span"), { textContent: words }));
    if (undo) place.append(bench.button(undo.words, () => bench.undo(undo.path)));
    bench.told();
  },

  // News without a way back goes with the next touch or key that comes some seconds later,
  // other news when it was seen.
  told() {
    const place = bench.word.querySelector(".told");
    bench.fades = place.querySelector("button") ? Infinity : performance.now() + 4000;
    if (bench.fades === Infinity) place.append(bench.button(bench.words.seen, () => place.replaceChildren()));
  },

  fade() {
    if (performance.now() > bench.fades) bench.word.querySelector(".told").replaceChildren();
  },

  button(words, act) {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: words });
    button.addEventListener("click", act);
    return button;
  },

  // The page is shown anew after it, unless something on it would be lost.
  async undo(path) {
    const said = await bench.post(path, new URLSearchParams(), path);
    if (!said.kept) return;
    if (hasUnkept()) {
      bench.say(`${said.words} ${bench.words.later}`);
      return;
    }
    sessionStorage.setItem("said", said.words);
    location.reload();
  },

  // What the bench said in an answer of STATUS with TEXT: {kept, words, …}. Where no words of
  // ours came (a page, another server between) nothing was kept as far as anybody knows.
  heard(status, text) {
    try {
      const said = JSON.parse(text);
      if (typeof said.kept === "boolean") return said;
    } catch { /* no words of ours */ }
    const plain = text && text.length < 300 && !text.includes("<") ? text.trim() : bench.words.refused;
    return { kept: false, words: `${plain} (${status})` };
  },

  // Posts BODY (FormData or URLSearchParams) to PATH. Returns what the bench said. What it is
  // ABOUT tells one trouble from another.
  async post(path, body, about = path) {
    if (!body.has("once")) body.set("once", bench.draw());
    const ask = (keepalive) => fetch(path, {
      method: "POST", body, credentials: "same-origin", keepalive,
      headers: { "Accept": "application/json", "Deckwright-Form-Token": bench.formToken },
    });
    let said;
    try {
      // A small body is sent to its end even if the page is left. All such bodies together may
      // be 64 KiB at most (Fetch Standard, 4.6 HTTP-network-or-cache fetch): if there was no room, once
      // more without; the bench acts once.
      const small = isSmall(body);
      const answer = await ask(small).catch((error) => (small ? ask(false) : Promise.reject(error)));
      said = bench.heard(answer.status, await answer.text());
    } catch {
      said = { kept: false, words: bench.words.offline };
    }
    bench.say(said.words, !said.kept, { about, undo: said.undo ? { path: said.undo, words: said.act } : null });
    return said;
  },
};

function isSmall(body) {
  let bytes = 0;
  for (const [name, value] of body) bytes += 200 + 9 * name.length + (typeof value === "string" ? 9 * value.length : value.size);
  return bytes < 32768;
}

document.documentElement.classList.add("scripted");

addEventListener("pointerdown", () => {
  bench.pressed = new Promise((go) => {
    const release = () => setTimeout(() => { bench.pressed = null; go(); }, 0); // behind the click
    for (const name of ["pointerup", "pointercancel"]) addEventListener(name, release, { once: true, capture: true });
  });
}, true);

// --- forms that are kept field by field ---------------------------------------------

// What FORM would send, without what is not typed.
function typed(form) {
  const sent = new URLSearchParams(new FormData(form));
  for (const name of ["form_token", "once", "revision"]) sent.delete(name);
  return sent.toString();
}

const keepers = [...document.forms].filter((form) => form.hasAttribute("data-keep"));
const kept = new Map(keepers.map((form) => [form, typed(form)])); // as the bench has it
const sending = new Map(); // as it is on its way
const tried = new Map(); // as it was sent last, kept or not

// A date that is being typed is a date at each key; it is kept when the field is left.
const dates = "input[type=date], input[type=datetime-local], input[type=month], input[type=time], input[type=week]";
const beingTyped = new Set();

const isUnkept = (form) => kept.has(form) && typed(form) !== kept.get(form) && typed(form) !== sending.get(form);

// Whether anything stands on the page that loading it anew would lose.
function hasUnkept() {
  const touched = (field) => (field.matches("input[type=checkbox], input[type=radio]") ? field.checked !== field.defaultChecked
    : field.matches("select") ? field.selectedIndex !== Math.max(0, [...field.options].findIndex((option) => option.defaultSelected))
      : field.matches("input:not([type=hidden]), textarea") && field.value !== field.defaultValue);
  return [...document.forms].some((form) => (kept.has(form) ? typed(form) !== kept.get(form)
    : form.method === "post" && [...form.elements].some(touched)));
}

// What was kept is a newer revision of its record: each form of it on the page says so from now on.
function renew(form, revision) {
  for (const other of document.forms)
    if (other.action === form.action && other.elements.revision) other.elements.revision.value = revision;
}

// Sends FORM as it stands, if that is not what the bench has; FIELD was changed last.
async function send(form, field) {
  if (!isUnkept(form)) return;
  const body = new URLSearchParams(new FormData(form)), now = typed(form);
  body.set("once", bench.draw());
  sending.set(form, now);
  tried.set(form, now);
  const said = await bench.post(form.action, body, form);
  sending.delete(form);
  if (said.kept) kept.set(form, now);
  if (said.revision) renew(form, said.revision);
  for (const other of said.kept ? form.querySelectorAll("[aria-invalid]") : [field])
    other?.setAttribute("aria-invalid", String(!said.kept));
}

// One after another: each sends the revision that the one before made.
let keeping = Promise.resolve();

function keep(form, field) {
  if (field?.validity?.badInput) {
    field.setAttribute("aria-invalid", "true");
    bench.say(bench.words.unfinished, true, { about: form });
    return;
  }
  keeping = keeping.then(() => send(form, field));
}

document.addEventListener("keydown", (event) => {
  if (event.target.matches?.(dates) && event.key !== "Enter") beingTyped.add(event.target);
});
document.addEventListener("pointerdown", (event) => beingTyped.delete(event.target));

document.addEventListener("change", (event) => {
  const form = event.target.form;
  if (form && kept.has(form) && !beingTyped.has(event.target)) keep(form, event.target);
});

document.addEventListener("focusout", (event) => {
  if (beingTyped.delete(event.target) && kept.has(event.target.form)) keep(event.target.form, event.target);
});

// Enter keeps, and stays. The browser takes the button that only shows without scripts for the one that was
// pressed; the change that comes before it is on its way already, and the same is not sent twice.
document.addEventListener("submit", (event) => {
  if (!kept.has(event.target) || event.submitter?.offsetParent) return;
  event.preventDefault();
  beingTyped.delete(document.activeElement);
  keep(event.target, document.activeElement);
});

// What was typed and not left yet is sent with the page's last breath.
window.addEventListener("pagehide", () => {
  for (const form of keepers)
    if (isUnkept(form) && typed(form) !== tried.get(form) && ![...form.elements].some((field) => field.validity?.badInput)) send(form, null);
});

// Shown again as it was left, a page's forms are new acts.
window.addEventListener("pageshow", (event) => {
  if (event.persisted) for (const field of document.querySelectorAll("input[name=once]")) field.value = bench.draw();
});

// --- what was said before this page --------------------------------------------------

(() => {
  const words = sessionStorage.getItem("said");
  sessionStorage.removeItem("said");
  const address = new URL(location.href);
  if (address.searchParams.has("kept")) { // said once, not each time the page is loaded
    address.searchParams.delete("kept");
    history.replaceState(history.state, "", address);
  }
  if (words) bench.say(words);
  const form = bench.word?.querySelector(".told form");
  form?.addEventListener("submit", (event) => {
    event.preventDefault();
    bench.undo(form.action);
  });
  if (!words && bench.word) bench.told();
  for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, () => bench.word && bench.still(bench.fade), { passive: true });
})();
