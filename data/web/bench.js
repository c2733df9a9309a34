// What every page does in the browser: it keeps a field as soon as it was
// changed, says so, and says when the bench cannot be reached.
"use strict";

const bench = {
  seal: document.querySelector("meta[name=seal]")?.content ?? "",

  // Says WORDS in the page's line; WRONG when something was not done.
  say(words, wrong = false) {
    const line = document.getElementById("word");
    if (!line) return;
    line.textContent = words;
    line.classList.toggle("wrong", wrong);
    clearTimeout(bench.timer);
    if (!wrong) bench.timer = setTimeout(() => { line.textContent = ""; }, 4000);
  },

  // Posts BODY (FormData or URLSearchParams) to PATH. Returns what the bench said: {kept, words}.
  async post(path, body) {
    try {
      const answer = await fetch(path, {
        method: "POST", body, credentials: "same-origin",
        headers: { "Accept": "application/json", "Deckwright-Seal": bench.seal },
      });
      const said = await answer.json();
      bench.say(said.words, !said.kept);
      return said;
    } catch {
      const words = document.documentElement.dataset.offline ?? "The bench cannot be reached. What you changed is still on this page and is not kept yet.";
      bench.say(words, true);
      return { kept: false, words };
    }
  },
};

document.documentElement.classList.add("scripted");

document.addEventListener("change", async (event) => {
  const form = event.target.form;
  if (!form || !form.hasAttribute("data-keep")) return;
  const said = await bench.post(form.action, new URLSearchParams(new FormData(form)));
  event.target.setAttribute("aria-invalid", String(!said.kept));
});

document.addEventListener("submit", (event) => {
  // Enter in a field that is kept as it is changed keeps it, and stays.
  if (!event.target.hasAttribute("data-keep") || event.submitter) return;
  event.preventDefault();
  document.activeElement?.dispatchEvent(new Event("change", { bubbles: true }));
});
