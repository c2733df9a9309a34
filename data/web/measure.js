// The form of a procedure: a value is read as it is typed, before a recording
// is sent for nothing; and while it is measured the page says so.
"use strict";

const sheet = document.querySelector("[data-check]:not(input, textarea)");
const form = sheet?.querySelector("form");

// Asks the bench how it understands the field, and says it below.
const check = async (field) => {
  const line = document.getElementById(`${field.id.replace(/-sent$/, "")}-wrong`);
  const answers = [];
  const values = field.tagName === "TEXTAREA" ? field.value.split("\n") : [field.value];
  for (const value of values.map((text) => text.trim()).filter(Boolean)) {
    try {
      const answer = await fetch(sheet.dataset.check, {
        method: "POST", credentials: "same-origin", body: new URLSearchParams({ key: field.name, value }),
        headers: { "Accept": "application/json", "Deckwright-Form-Token": bench.formToken },
      });
      answers.push(bench.heard(answer.status, await answer.text()));
    } catch { return; } // it is read again when the form is sent
  }
  const wrong = answers.find((said) => !said.kept);
  bench.still(() => {
    line.textContent = (wrong ?? { words: answers.map((said) => said.words).filter(Boolean).join(", ") }).words;
    line.classList.toggle("well", !wrong);
    field.setAttribute("aria-invalid", String(Boolean(wrong)));
    if (field.dataset.lines) {
      for (const box of field.parentElement.querySelectorAll(".lines input")) {
        const at = answers.findIndex((said, place) => !said.kept && values[place].trim() === box.value.trim());
        box.setAttribute("aria-invalid", String(at >= 0));
      }
    }
  });
};

form?.addEventListener("change", (event) => {
  if (event.target.hasAttribute("data-check")) check(event.target);
});

// Readings that repeat are a list: one on each line, added and removed; the field behind it is what is sent. Without
// scripts that field itself takes a line each.
const listed = (area) => {
  const list = document.createElement("ul"), add = document.createElement("button"), own = area.id;
  const boxes = () => [...list.querySelectorAll("input")];
  const keep = () => { area.value = boxes().map((box) => box.value.trim()).filter(Boolean).join("\n"); };
  const number = () => boxes().forEach((box, at) => {
    box.id = at ? `${own}-${at + 1}` : own;
    box.setAttribute("aria-label", `${area.dataset.lines} ${at + 1}`);
    const remove = box.nextSibling;
    remove.setAttribute("aria-label", `${area.dataset.remove}: ${area.dataset.lines} ${at + 1}`);
    remove.hidden = boxes().length === 1 && !box.value;
  });
  const row = (value, after) => {
    const line = document.createElement("li"), box = document.createElement("input"), remove = document.createElement("button");
    Object.assign(box, { type: "text", value, autocomplete: "off" });
    box.setAttribute("aria-describedby", area.getAttribute("aria-describedby"));
    if (area.dataset.pad !== undefined) box.dataset.units = area.dataset.pad;
    Object.assign(remove, { type: "button", className: "second", textContent: area.dataset.remove });
    line.append(box, remove);
    after ? after.after(line) : list.append(line);
    return box;
  };
  // "1.54; 1.51" typed or pasted into one line becomes two.
  const part = (box) => {
    const [first, ...others] = box.value.split(/[;\n]/).map((text) => text.trim()).filter(Boolean);
    if (!others.length) return;
    box.value = first;
    others.reverse().forEach((text) => row(text, box.parentElement));
  };
  const changed = () => {
    number();
    keep();
    area.dispatchEvent(new Event("input", { bubbles: true }));
    check(area);
  };
  list.className = "lines";
  Object.assign(add, { type: "button", className: "second", textContent: area.dataset.add });
  add.setAttribute("aria-label", `${area.dataset.add}: ${area.dataset.lines}`);
  area.id = `${own}-sent`;
  area.hidden = true;
  (area.value.split("\n").map((text) => text.trim()).filter(Boolean).concat(area.value.trim() ? [] : [""])).forEach((text) => row(text));
  const last = document.createElement("li");
  last.append(add);
  area.before(list);
  list.append(last);
  number();
  list.addEventListener("input", () => { number(); keep(); });
  list.addEventListener("change", (event) => { part(event.target); changed(); });
  list.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target.tagName !== "INPUT" || !event.target.value.trim()) return;
    event.preventDefault(); // the next reading, not the whole form
    part(event.target);
    const next = event.target.parentElement.nextElementSibling?.querySelector("input") ?? row("", event.target.parentElement);
    changed();
    next.focus();
  });
  list.addEventListener("click", (event) => {
    if (event.target.tagName !== "BUTTON") return;
    const line = event.target.parentElement;
    if (line === last) {
      const box = row("", last.previousElementSibling);
      number();
      box.focus();
      return;
    }
    const near = (line.nextElementSibling?.querySelector("input") ?? line.previousElementSibling?.querySelector("input"));
    if (boxes().length === 1) boxes()[0].value = "";
    else line.remove();
    (boxes().includes(near) ? near : boxes()[0]).focus();
    changed();
  });
};
form?.querySelectorAll("textarea[data-lines]").forEach(listed);

// The arm is drawn anew a moment after the last key.
const drawn = form?.querySelector("[data-drawn]");
let waits = 0;
const draw = () => {
  const typed = new URLSearchParams();
  for (const [name, value] of new FormData(form)) {
    if (name.includes(".") && typeof value === "string" && value.trim()) typed.set(name, value);
  }
  for (const part of drawn.querySelectorAll("[data-look]")) {
    typed.set("look", part.dataset.look);
    typed.set("wide", part.dataset.wide);
    part.setAttribute(part.tagName === "IMG" ? "src" : "srcset", `${drawn.dataset.drawn}?${typed}`);
  }
};
form?.addEventListener("input", () => {
  clearTimeout(waits);
  if (drawn) waits = setTimeout(draw, 300);
});

// Recordings go first, in pieces; then the form, which names them.
const sendFirst = async (line, button) => {
  const files = [...form.querySelectorAll("input[type=file][name^=recording]")].flatMap((input) => [...input.files].slice(0, 1).map((file) => ({ input, file })));
  for (const { input, file } of files) {
    const said = await bench.files.send(file, (part) => { line.textContent = `${file.name}: ${Math.floor(100 * part)} %`; });
    if (!said.kept) {
      bench.say(`${file.name}: ${said.words}`, true, { about: file });
      if (said.gone) input.value = "";
      line.remove();
      button.disabled = false;
      return;
    }
    form.querySelectorAll(`[name^="${input.name}."]`).forEach((old) => old.remove());
    for (const [part, value] of [["sent", said.key], ["name", file.name], ["bytes", file.size]])
      form.append(Object.assign(document.createElement("input"), { type: "hidden", name: `${input.name}.${part}`, value }));
    input.value = "";
    input.parentElement.querySelector(".sent")?.remove();
    input.after(Object.assign(document.createElement("small"), { className: "sent", textContent: file.name }));
  }
  line.textContent = sheet.dataset.wait;
  HTMLFormElement.prototype.submit.call(form);
};

form?.addEventListener("submit", (event) => {
  const button = form.querySelector("button[type=submit]"), line = document.createElement("p");
  const any = [...form.querySelectorAll("input[type=file][name^=recording]")].some((input) => input.files.length);
  if (any) event.preventDefault();
  // Disabled after the form was read, or the browser would not send it.
  setTimeout(() => { button.disabled = true; }, 0);
  line.className = "wait";
  line.setAttribute("role", "status");
  line.textContent = sheet.dataset.wait;
  button.after(line);
  if (any) sendFirst(line, button);
});

// Back from the sheet, the browser shows the page as it was left.
window.addEventListener("pageshow", () => {
  const button = form?.querySelector("button[type=submit]");
  if (button) button.disabled = false;
  form?.querySelector(".wait")?.remove();
});
