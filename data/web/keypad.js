// A big keypad for numbers, for whoever touches a field: figures, the user's own decimal mark, a sign, the field's
// units. A keyboard goes on working beside it; without scripts, or with a mouse, it never comes.
"use strict";

(() => {
  const isNumber = (field) => field instanceof HTMLInputElement && field.hasAttribute("data-units") && !field.disabled && !field.readOnly;
  const mark = new Intl.NumberFormat(navigator.language).formatToParts(1.5).find((part) => part.type === "decimal")?.value ?? ".";
  const words = bench.words;
  let pad = null, field = null, before = "", own = false; // own: the device's own keyboard is wanted for this field

  // Nothing on the pad takes the focus, so that the field keeps its caret.
  function key(name, act, label, look = "") {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: name, className: `second ${look}`, tabIndex: -1 });
    if (label) button.setAttribute("aria-label", label);
    button.addEventListener("pointerdown", (event) => event.preventDefault());
    button.addEventListener("click", act);
    return button;
  }

  function changed() {
    pad.querySelector("output").textContent = field.value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function put(text) {
    const [from, to] = [field.selectionStart ?? field.value.length, field.selectionEnd ?? field.value.length];
    field.setRangeText(text, from, to, "end");
    changed();
  }

  function erase() {
    const [from, to] = [field.selectionStart, field.selectionEnd];
    if (from === to && from > 0) field.setRangeText("", from - 1, from, "end");
    else field.setRangeText("", from, to, "end");
    changed();
  }

  function turnSign() {
    const value = field.value.trimStart();
    field.value = /^[-−]/.test(value) ? value.slice(1) : `-${value.replace(/^\+/, "")}`;
    changed();
  }

  // The number stays, with UNIT behind it.
  function putUnit(unit) {
    const number = field.value.match(/^\s*[-−+]?[\d.,\s⅓⅔½¼¾/]*/)[0].trim();
    field.value = number ? `${number} ${unit}` : field.value;
    changed();
  }

  const numbers = () => [...document.querySelectorAll("input[data-units]")].filter((one) => isNumber(one) && one.getClientRects().length);

  function next() {
    const all = numbers(), after = all[all.indexOf(field) + 1];
    if (!after) return done();
    after.focus({ preventScroll: true });
    show(after);
  }

  function done() {
    const last = field;
    last?.blur();
    hide();
  }

  // A value that was put by the pad is no change to the browser.
  function tell() {
    if (field && field.value !== before) field.dispatchEvent(new Event("change", { bubbles: true }));
    before = field?.value ?? "";
  }

  function hide() {
    tell();
    pad?.remove();
    if (field && !own) field.setAttribute("inputmode", field.dataset.mode);
    document.body.style.paddingBottom = document.documentElement.style.scrollPaddingBottom = "";
    pad = field = null;
  }

  function build() {
    const made = document.createElement("div"), head = document.createElement("div"), units = document.createElement("div"), keys = document.createElement("div");
    made.className = "keypad";
    made.setAttribute("role", "group");
    made.setAttribute("aria-label", words.pad);
    head.className = "keypad-head";
    head.append(Object.assign(document.createElement("span"), { textContent: field.labels?.[0]?.textContent ?? field.getAttribute("aria-label") ?? "" }), document.createElement("output"));
    units.className = "keypad-units";
    for (const unit of field.dataset.units.split(",").map((one) => one.trim()).filter(Boolean)) units.append(key(unit, () => putUnit(unit)));
    units.append(key(words.padOwn, () => { own = true; field.setAttribute("inputmode", "text"); const kept = field; hide(); kept.blur(); kept.focus(); }));
    keys.className = "keypad-keys";
    const figure = (name) => key(name, () => put(name));
    keys.append(...["7", "8", "9"].map(figure), key("⌫", erase, words.padErase), ...["4", "5", "6"].map(figure), key("±", turnSign, words.padSign),
      ...["1", "2", "3"].map(figure), key(words.padNext, next, "", "tall"), figure("0"), figure(mark), key(words.padDone, done, "", "done"));
    made.append(head, units, keys);
    return made;
  }

  function show(wanted) {
    if (field === wanted && pad) return;
    hide();
    own = false;
    field = wanted;
    before = field.value;
    field.dataset.mode ??= field.getAttribute("inputmode") ?? "text";
    field.setAttribute("inputmode", "none");
    pad = build();
    document.body.append(pad);
    pad.querySelector("output").textContent = field.value;
    document.body.style.paddingBottom = document.documentElement.style.scrollPaddingBottom = `${pad.offsetHeight}px`;
    field.scrollIntoView({ block: "center" });
    field.select();
  }

  // The device's own keyboard must not come first: it goes by what stands in the field as it is touched.
  document.addEventListener("pointerdown", (event) => {
    if (event.pointerType !== "touch" || !isNumber(event.target)) return;
    if (own && event.target === document.activeElement) return;
    event.target.dataset.mode ??= event.target.getAttribute("inputmode") ?? "text";
    event.target.setAttribute("inputmode", "none");
  }, true);
  document.addEventListener("click", (event) => {
    if (event.pointerType === "touch" && isNumber(event.target) && !(own && event.target === field)) show(event.target);
  });
  document.addEventListener("focusout", (event) => {
    if (event.target === field && !(event.relatedTarget && isNumber(event.relatedTarget) && pad)) hide();
  });
  document.addEventListener("keydown", (event) => {
    if (!pad) return;
    if (event.key === "Escape") hide();
    else if (event.target === field) setTimeout(() => { if (pad && field) pad.querySelector("output").textContent = field.value; }, 0);
  });
})();
