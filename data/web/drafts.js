// What was typed and is not kept yet. It stays in the browser's window until the bench has said that it took it: a page
// that is loaded anew loses no word, were the bench away meanwhile, and none stays for whoever opens the next window.
// Passwords and files are not noted.
"use strict";

const drafts = (() => {
  const forms = [...document.forms].filter((form) => isPosted(form) && !form.querySelector("[type=password]"));
  const fieldsOf = (form) => [...form.elements].filter((field) => field.name && field.matches("textarea, select, input:not([type=hidden], [type=file])"));
  const isBox = (field) => field.matches("[type=checkbox], [type=radio]");
  const valueOf = (field) => (isBox(field) ? field.checked : field.value);
  const alike = (form, name) => fieldsOf(form).filter((field) => field.name === name);
  // A form of a page is told from another by where it goes, by its first field and by the photographs it is about.
  const pictures = (form) => [...form.elements].filter((field) => field.type === "hidden" && /^kept\d+$/.test(field.name)).map((field) => field.value);
  const kindOf = (form) => [actionOf(form), fieldsOf(form)[0]?.name, ...pictures(form)].join(" ");
  const names = new Map(forms.map((form) => [form, `draft ${location.pathname} ${kindOf(form)} ${forms.filter((other) => kindOf(other) === kindOf(form)).indexOf(form)}`]));
  const nameOf = (form) => names.get(form);
  const underway = new Set(); // forms whose draft was sent as their page was left, and nobody knows yet whether it came
  // The last of a name is what counts: a box sends "no", and when it is ticked "yes" after it.
  const last = (pairs, name) => new URLSearchParams(pairs).getAll(name).at(-1) ?? "";

  // Whether FIELD of FORM says something else than the bench has.
  function isChanged(form, field) {
    if (isHalf(field)) return false;
    return kept.has(form) ? last(kept.get(form), field.name) !== last(typed(form), field.name) : isTouched(field);
  }

  const read = (form) => JSON.parse(sessionStorage.getItem(nameOf(form)) ?? "null");
  const isNoted = (draft, name, at) => Boolean(draft?.fields.some((one) => one.name === name && one.at === at));

  // Notes what stands in FORM and is not kept, what was emptied again as well; SENT is the word with which it is on its way.
  function note(form, sent = "") {
    if (!forms.includes(form)) return;
    const before = kept.has(form) ? null : read(form);
    const fields = fieldsOf(form)
      .map((field) => ({ field, name: field.name, at: alike(form, field.name).indexOf(field) }))
      .filter(({ field, name, at }) => isChanged(form, field) || isNoted(before, name, at))
      .map(({ field, name, at }) => ({ name, at, value: valueOf(field), was: kept.has(form) ? last(kept.get(form), name) : "" }));
    if (fields.length) sessionStorage.setItem(nameOf(form), JSON.stringify({ fields, sent, revision: form.elements.revision?.value }));
    else if (kept.has(form)) sessionStorage.removeItem(nameOf(form));
  }

  // What the bench took, sent with WORD, is no draft any more.
  function done(word) {
    for (const name of Object.keys(sessionStorage))
      if (word && name.startsWith("draft ") && JSON.parse(sessionStorage.getItem(name)).sent === word) sessionStorage.removeItem(name);
  }

  // A script is told so by its answer, a page by a word that comes with it.
  const hear = () => done(document.cookie.match(/(?:^|; )deckwright-done=([0-9a-f]{32})/)?.[1]);

  function put(field, value) {
    if (isBox(field)) field.checked = value;
    else field.value = value;
    for (let box = field.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
  }

  // Whether anything that FORM had not kept stands in it again.
  function restore(form) {
    const draft = read(form);
    let found = false;
    for (const { name, at, value, was } of draft?.fields ?? []) {
      const field = alike(form, name)[at];
      if (!field || valueOf(field) === value) continue;
      // Another changed it meanwhile: the bench is told what stood here when it was typed.
      if (kept.has(form) && last(kept.get(form), name) !== was) {
        const before = new URLSearchParams(kept.get(form));
        before.set(name, was);
        kept.set(form, before.toString());
        form.elements.revision.value = draft.revision;
      }
      put(field, value);
      found = true;
    }
    if (found && draft.sent && kept.has(form)) underway.add(form);
    // The same sent again is answered as it was, if it was taken.
    if (found && draft.sent && form.elements.once) form.elements.once.value = draft.sent;
    if (draft && !found && kept.has(form)) sessionStorage.removeItem(nameOf(form));
    return found;
  }

  // FORM as the bench has it now; nothing where it is not reached.
  async function asItIs(form) {
    const place = forms.filter((other) => kindOf(other) === kindOf(form)).indexOf(form);
    try {
      const text = await (await fetch(location.href, { credentials: "same-origin", cache: "no-store" })).text();
      return [...new DOMParser().parseFromString(text, "text/html").forms].filter((other) => isPosted(other) && kindOf(other) === kindOf(form))[place];
    } catch {
      return undefined;
    }
  }

  // What was sent as its page was left may have come after this page was made: then it is kept, and no trouble. It is looked
  // for more and more seldom, for a minute: a bench that is busy takes its time.
  async function askAfter(form) {
    for (let wait = 150; wait < 40000; wait *= 2) {
      await new Promise((go) => setTimeout(go, wait));
      if (!isUnkept(form)) return; // kept by hand meanwhile, or on its way
      const there = await asItIs(form);
      if (!there || typed(there) !== typed(form)) continue;
      kept.set(form, typed(form));
      renew(form, there.elements.revision?.value);
      note(form);
      bench.wrongs.delete(form);
      bench.showWrongs();
      return;
    }
  }

  document.addEventListener("input", (event) => note(event.target.form));
  document.addEventListener("submit", (event) => {
    if (!forms.includes(event.target) || kept.has(event.target)) return;
    document.cookie = "deckwright-done=; Path=/; Max-Age=0"; // what is said from now on is about this
    note(event.target, event.target.elements.once?.value);
  });
  addEventListener("pageshow", (event) => event.persisted && hear());

  hear();
  const again = forms.filter(restore), alone = again.filter((form) => kept.has(form));
  const keepAll = () => alone.forEach((form) => keep(form, null));
  for (const form of alone) bench.say(bench.words.draft, true, { about: form, acts: [{ words: bench.words.keepIt, act: keepAll }] });
  alone.filter((form) => underway.has(form)).forEach(askAfter);
  if (again.length > alone.length) bench.say(bench.words.draft);
  return { note, done };
})();
