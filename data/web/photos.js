// Sends photographs one after another as soon as they are taken or chosen, so that one
// that does not come through holds up none of the others.
"use strict";

(() => {
  const form = document.querySelector("#add form");
  const progress = document.getElementById("sending");
  if (!form || !progress) return;

  // One file, then the form's other fields; resolves to what the bench said.
  async function send(file, done, all) {
    const sent = await bench.files.send(file, (part) => { progress.value = (done + part) / all; });
    if (!sent.kept) return { ...sent, words: `${file.name}: ${sent.words}` };
    const body = new FormData(form);
    body.delete("taken");
    bench.files.put(body, "chosen", file, sent);
    const said = await bench.post(form.getAttribute("action"), body, file);
    if (said.kept) bench.files.done(file);
    else bench.wrongs.delete(file); // said below, with the others
    return said.kept ? said : { ...said, words: `${file.name}: ${said.words}` };
  }

  // The list as it is now; what stands in the form stays.
  async function refresh() {
    const page = new DOMParser().parseFromString(await (await fetch(location.href)).text(), "text/html");
    document.getElementById("list").replaceWith(page.getElementById("list"));
  }

  form.addEventListener("change", async (event) => {
    if (event.target.type !== "file" || event.target.files.length === 0) return;
    const files = [...event.target.files];
    const wrong = [];
    progress.hidden = false;
    for (let i = 0; i < files.length; i++) {
      progress.value = i / files.length;
      bench.say(`${i + 1} / ${files.length}`);
      const said = await send(files[i], i, files.length);
      if (!said.kept) wrong.push(said.words);
    }
    progress.hidden = true;
    event.target.value = "";
    await refresh().catch(() => {});
    if (wrong.length) bench.say(wrong.join(" "), true);
  });
})();
