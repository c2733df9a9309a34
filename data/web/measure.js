// The form of a procedure: a value is read as it is typed, before a recording
// is sent for nothing; and while it is measured the page says so.
"use strict";

const sheet = document.querySelector("[data-check]:not(input, textarea)");
const form = sheet?.querySelector("form");

// Asks the bench how it understands the field, and says it below.
const check = async (field) => {
  const line = document.getElementById(`${field.id}-wrong`);
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
  });
};

form?.addEventListener("change", (event) => {
  if (event.target.hasAttribute("data-check")) check(event.target);
});

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

form?.addEventListener("submit", () => {
  const button = form.querySelector("button[type=submit]");
  // Disabled after the form was read, or the browser would not send it.
  setTimeout(() => { button.disabled = true; }, 0);
  const line = document.createElement("p");
  line.className = "wait";
  line.setAttribute("role", "status");
  line.textContent = sheet.dataset.wait;
  button.after(line);
});

// Back from the sheet, the browser shows the page as it was left.
window.addEventListener("pageshow", () => {
  const button = form?.querySelector("button[type=submit]");
  if (button) button.disabled = false;
  form?.querySelector(".wait")?.remove();
});
