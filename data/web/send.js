// Sends a file in pieces, so that a connection that breaks costs one piece. What came stays on the bench for a day: the
// same file chosen again, were it after the page was loaded anew, goes on where it stopped.
"use strict";

bench.files = (() => {
  const PIECE = 1 << 20;
  const name = (file) => `sending ${file.name} ${file.size} ${file.lastModified}`;
  // How long each file was when it was chosen: one that is gone since then has no length left, and its nothing can be read.
  const sizes = new WeakMap();
  addEventListener("change", (event) => { for (const file of event.target.files ?? []) sizes.set(file, file.size); }, true);
  const pause = (seconds) => new Promise((go) => {
    const timer = setTimeout(go, 1000 * seconds);
    addEventListener("online", () => { clearTimeout(timer); go(); }, { once: true });
  });

  // What the bench answers; throws where it was not reached or could not just now.
  async function ask(path, body) {
    const head = { "Accept": "application/json", "Deckwright-Form-Token": bench.formToken };
    const answer = await fetch(path, body ? { method: "POST", credentials: "same-origin", headers: head, body } : { credentials: "same-origin", headers: head });
    if (answer.status === 403 && body && (await bench.seal())) return ask(path, body);
    if (answer.status === 502 || answer.status === 503 || answer.status === 504) throw new Error("not just now");
    return { status: answer.status, ...bench.heard(answer.status, await answer.text()) };
  }

  async function begin(file) {
    const known = sessionStorage.getItem(name(file));
    if (known) {
      const said = await ask(`/arriving/${known}`);
      if (said.kept) return said;
    }
    const said = await ask("/arriving", new URLSearchParams({ bytes: file.size }));
    if (said.kept) sessionStorage.setItem(name(file), said.key);
    return said;
  }

  // The bytes of FILE from AT on, one piece; null when it can no longer be read: it was changed or is gone since it was chosen.
  async function read(file, at) {
    try {
      return new Blob([await file.slice(at, at + PIECE).arrayBuffer()]);
    } catch {
      return null;
    }
  }

  // Sends FILE; PROGRESS is told how much of it (0 to 1) is there. Returns {kept, key} or {kept: false, words}, with GONE
  // where the file must be chosen again. As long as the bench is not reached it is tried again, and the page says so.
  async function send(file, progress = () => {}) {
    let said = null, tries = 0;
    const gone = { kept: false, gone: true, words: bench.words.gone };
    if (file.size !== (sizes.get(file) ?? file.size)) return gone;
    for (;;) {
      try {
        if (!said) said = await begin(file);
        if (said.status === 404) {
          sessionStorage.removeItem(name(file));
          said = await begin(file);
        }
        if (!said.kept) return said;
        if (tries) bench.say(bench.words.on, false, { about: file });
        tries = 0;
        progress(file.size ? said.at / file.size : 1);
        if (said.at >= file.size) return said;
        const piece = await read(file, said.at), body = new FormData();
        if (!piece) {
          sessionStorage.removeItem(name(file));
          return gone;
        }
        body.set("at", said.at);
        body.append("piece", piece, "piece");
        said = await ask(`/arriving/${said.key}`, body);
      } catch {
        said = null; // where it stopped is asked anew
        tries += 1;
        if (tries === 1) bench.say(bench.words.broken, true, { about: file });
        await pause(Math.min(10, tries));
      }
    }
  }

  // Has FORM name FILE, which was sent as SAID, for FIELD instead of bringing it.
  function put(body, field, file, said) {
    body.delete(field);
    body.set(`${field}.sent`, said.key);
    body.set(`${field}.name`, file.name);
    body.set(`${field}.bytes`, file.size);
  }

  return { send, put, done: (file) => sessionStorage.removeItem(name(file)) };
})();
