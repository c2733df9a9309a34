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
  // ACTS ({words, act}) are ways out of the trouble.
  say(words, wrong = false, { undo = null, about = "page", acts = [] } = {}) {
    if (!bench.word) return;
    if (wrong) bench.wrongs.set(about, { words, acts });
    else if (about !== "page") bench.wrongs.delete(about);
    bench.still(() => (wrong ? bench.showWrongs() : bench.showTold(words, undo)));
  },

  showWrongs() {
    const place = bench.word.querySelector(".wrong");
    place.replaceChildren();
    if (!bench.wrongs.size) return;
    const said = new Map([...bench.wrongs.values()].map((wrong) => [wrong.words, wrong])); // the same trouble is said once
    for (const { words, acts } of said.values()) {
      place.append(Object.assign(document.createElement("span"), { textContent: words }));
      for (const { words: name, act } of acts) place.append(bench.button(name, act));
    }
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
  // OUT finds the ways out of a trouble, by the answer.
  async post(path, body, about = path, out = () => []) {
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
      let answer = await ask(small).catch((error) => (small ? ask(false) : Promise.reject(error)));
      // The bench was started anew meanwhile: the page is sealed again, and sent once more.
      if (answer.status === 403 && (await bench.seal())) {
        if (body.has("form_token")) body.set("form_token", bench.formToken);
        answer = await ask(false);
      }
      said = bench.heard(answer.status, await answer.text());
      said.theirs = answer.headers.get("Deckwright-Revision");
    } catch {
      said = { kept: false, unheard: true, words: bench.words.offline };
    }
    if (said.kept) {
      drafts.done(body.get("once"));
      sessionStorage.setItem("kept-at", String(Date.now())); // a page that was asked for before may not show it yet
    }
    bench.say(said.words, !said.kept, { about, undo: said.undo ? { path: said.undo, words: said.act } : null, acts: out(said) });
    return said;
  },

  sealed: performance.now(),

  // Asks the bench for the seal of this page's forms, which is another one after it was started anew.
  // Whether it was.
  async seal() {
    bench.sealed = performance.now();
    try {
      const page = new DOMParser().parseFromString(await (await fetch(location.href, { credentials: "same-origin" })).text(), "text/html");
      const token = page.querySelector("meta[name=form-token]")?.content;
      if (!token || token === bench.formToken) return false;
      bench.formToken = token;
      for (const field of document.querySelectorAll("input[name=form_token]")) field.value = token;
      return true;
    } catch {
      return false;
    }
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

// By attribute: a field that is called "action" or "method" stands before the form's own.
function actionOf(form) {
  return form.getAttribute("action");
}
function isPosted(form) {
  return form.getAttribute("method") === "post";
}

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

// Half a date, or one whose year is not typed to its end ("0002"), says nothing yet.
const isHalf = (field) => Boolean(field?.validity?.badInput) || (Boolean(field?.matches?.(dates)) && /^0\d{3}-/.test(field.value));

const isUnkept = (form) => kept.has(form) && typed(form) !== kept.get(form) && typed(form) !== sending.get(form);

// Whether FIELD says something else than it came with.
function isTouched(field) {
  if (field.matches("input[type=checkbox], input[type=radio]")) return field.checked !== field.defaultChecked;
  if (field.matches("select")) return field.selectedIndex !== Math.max(0, [...field.options].findIndex((option) => option.defaultSelected));
  return field.matches("input:not([type=hidden]), textarea") && field.value !== field.defaultValue;
}

// Whether anything stands on the page that loading it anew would lose.
function hasUnkept() {
  return [...document.forms].some((form) => (kept.has(form) ? typed(form) !== kept.get(form)
    : isPosted(form) && [...form.elements].some(isTouched)));
}

// What was kept is a newer revision of its record: each form of it on the page says so from now on.
function renew(form, revision) {
  for (const other of document.forms)
    if (actionOf(other) === actionOf(form) && other.elements.revision) other.elements.revision.value = revision;
}

// What of FORM was changed, beside what stood there: another device's change of another field then stands too.
function changes(form) {
  const body = new URLSearchParams(new FormData(form)), before = new URLSearchParams(kept.get(form));
  for (const name of new Set([...form.elements].filter((field) => field.name && field.type !== "hidden").map((field) => field.name))) {
    const was = before.getAll(name).at(-1) ?? "", is = body.getAll(name).at(-1) ?? "";
    if (was === is) body.delete(name);
    else body.set(`was.${name}`, was);
  }
  return body;
}

// Two wrote the same field: one of the two is chosen.
function ways(form, field, said) {
  if (!said.theirs) return [];
  const mine = () => {
    renew(form, said.theirs);
    keep(form, field);
  };
  const theirs = () => {
    kept.set(form, typed(form)); // what stands here is given up
    drafts.note(form);
    location.reload();
  };
  return [{ words: bench.words.mine, act: mine }, { words: bench.words.theirs, act: theirs }];
}

// Sends FORM as it stands, if that is not what the bench has; FIELD was changed last.
async function send(form, field) {
  if (!isUnkept(form)) return;
  const body = changes(form), now = typed(form), once = bench.draw();
  body.set("once", once);
  drafts.note(form, once);
  sending.set(form, now);
  tried.set(form, now);
  const said = await bench.post(actionOf(form), body, form, (said) => ways(form, field, said));
  sending.delete(form);
  if (said.kept) kept.set(form, now);
  if (said.revision) renew(form, said.revision);
  drafts.note(form, said.unheard ? once : ""); // it may have come all the same: a page that is left hears no answer
  for (const other of said.kept ? form.querySelectorAll("[aria-invalid]") : [field])
    other?.setAttribute("aria-invalid", String(!said.kept));
}

// One after another: each sends the revision that the one before made.
let keeping = Promise.resolve();

function keep(form, field) {
  if (isHalf(field)) {
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
    if (isUnkept(form) && typed(form) !== tried.get(form) && ![...form.elements].some(isHalf)) send(form, null);
});

// Shown again as it was left, a page's forms are new acts.
window.addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const field of document.querySelectorAll("input[name=once]")) field.value = bench.draw();
  askAgain();
});

// A page that the browser shows again as it was may be none of those that this screen still shows: handed to a customer, or
// no longer known to the shop. Nothing of it is seen until the bench has said so.
async function askAgain() {
  document.body.hidden = true;
  const word = Object.assign(document.createElement("p"), { className: "lead", textContent: bench.words.away });
  for (;;) {
    try {
      const answer = await fetch(location.href, { method: "HEAD", redirect: "manual", cache: "no-store" });
      if (answer.type === "opaqueredirect") location.reload();
      else document.body.hidden = false;
      break;
    } catch {
      document.documentElement.append(word);
      await new Promise((go) => setTimeout(go, 2000));
    }
  }
  word.remove();
}

// A screen that is handed to a customer shows one page in this window; those that the browser's other windows still show
// are asked for anew, which leads to it.
const handed = window.BroadcastChannel ? new BroadcastChannel("deckwright-handed") : null;
if (document.documentElement.classList.contains("locked")) handed?.postMessage(location.pathname);
else
  handed?.addEventListener("message", () => {
    document.body.hidden = true;
    location.reload();
  });

// After the bench was started anew a form is sealed again before it is sent: when it is touched.
document.addEventListener("focusin", (event) => {
  if (event.target.form && isPosted(event.target.form) && performance.now() - bench.sealed > 15000) bench.seal();
});

// Some browsers show today in an empty date.
function markEmpty() {
  for (const field of document.querySelectorAll(dates)) field.classList.toggle("empty", !field.value);
}
markEmpty();
document.addEventListener("change", markEmpty);

// --- a telephone, a tablet -----------------------------------------------------------

// What is not the point of a page is one line there until it is touched: what follows a heading with data-fold, and of a
// list with data-more (the words of that line) all but as many letters as stand on half a screen.
const SAID_FIRST = matchMedia("(max-width: 640px)").matches ? 300 : 900;
function fold(place, summary, bodies) {
  const part = Object.assign(document.createElement("details"), { className: "part" });
  const line = document.createElement("summary");
  place.replaceWith(part);
  line.append(summary);
  part.append(line, ...bodies);
}
function foldParts() {
  if (!matchMedia("(max-width: 1099px)").matches) return;
  for (const head of document.querySelectorAll("h2[data-fold]")) {
    const body = head.nextElementSibling;
    fold(head, head, [body]);
  }
  for (const list of document.querySelectorAll("[data-more]")) {
    let said = 0;
    const rest = [...list.children].filter((one, at) => (said += one.textContent.length) > SAID_FIRST && at > 0);
    if (rest.length > 1) fold(list.appendChild(document.createElement("p")), list.dataset.more, rest);
  }
}
foldParts();

// --- what was said before this page --------------------------------------------------

(() => {
  const words = sessionStorage.getItem("said"), last = Number(sessionStorage.getItem("kept-at"));
  const asked = performance.timeOrigin + (performance.getEntriesByType("navigation")[0]?.requestStart ?? 0);
  sessionStorage.removeItem("kept-at");
  if (last > asked && !hasUnkept()) { // kept while this page was on its way
    location.reload();
    return;
  }
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
    bench.undo(actionOf(form));
  });
  if (!words && bench.word) bench.told();
  for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, () => bench.word && bench.still(bench.fade), { passive: true });
})();

// Where the browser allows it (TLS, or this computer) a page of the app's own says that the bench is not reached.
// The word behind the address changes with the file.
if (bench.words.worker) navigator.serviceWorker?.register(`/worker.js?${bench.words.worker.split("?")[1]}`).catch(() => {});
