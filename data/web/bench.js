// What every page does in the browser: it keeps a field as soon as it was
// changed, says so, and says when the bench cannot be reached.
"use strict";

const bench = {
  seal: document.querySelector("meta[name=seal]")?.content ?? "",

  // Says WORDS in the page's line; WRONG when something was not done. UNDO is
  // where to post to take it back.
  say(words, wrong = false, undo = "") {
    const line = document.getElementById("word");
    if (!line) return;
    line.textContent = words;
    line.classList.toggle("wrong", wrong);
    if (undo) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = document.documentElement.dataset.undo ?? "Undo";
      button.addEventListener("click", async () => {
        if ((await bench.post(undo, new URLSearchParams())).kept) location.reload();
      });
      line.append(" ", button);
    }
    clearTimeout(bench.timer);
    if (!wrong) bench.timer = setTimeout(() => { line.textContent = ""; }, undo ? 15000 : 4000);
  },

  // Posts BODY (FormData or URLSearchParams) to PATH. Returns what the bench said: {kept, words}.
  async post(path, body) {
    try {
      const answer = await fetch(path, {
        method: "POST", body, credentials: "same-origin", keepalive: true,
        headers: { "Accept": "application/json", "Deckwright-Seal": bench.seal },
      });
      const said = await answer.json();
      bench.say(said.words, !said.kept, said.undo);
      return said;
    } catch {
      const words = document.documentElement.dataset.offline ?? "The bench cannot be reached. What you changed is still on this page and is not kept yet.";
      bench.say(words, true);
      return { kept: false, words };
    }
  },
};

document.documentElement.classList.add("scripted");

// What was kept is a newer revision of its record: each form of it on the page says so from now on.
function renew(form, revision) {
  for (const other of document.forms)
    if (other.action === form.action && other.elements.revision) other.elements.revision.value = revision;
}

// One after another: each sends the revision that the one before made.
let keeping = Promise.resolve();

document.addEventListener("change", (event) => {
  const form = event.target.form;
  if (!form || !form.hasAttribute("data-keep")) return;
  keeping = keeping.then(async () => {
    const said = await bench.post(form.action, new URLSearchParams(new FormData(form)));
    event.target.setAttribute("aria-invalid", String(!said.kept));
    if (said.revision) renew(form, said.revision);
  });
});

document.addEventListener("submit", (event) => {
  // Enter in a field that is kept as it is changed keeps it, and stays.
  if (!event.target.hasAttribute("data-keep") || event.submitter) return;
  event.preventDefault();
  document.activeElement?.dispatchEvent(new Event("change", { bubbles: true }));
});
