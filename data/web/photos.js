// Sends photographs one after another as soon as they are taken or chosen, so that one
// that does not come through holds up none of the others.
"use strict";

(() => {
  const form = document.querySelector("#add form");
  const progress = document.getElementById("sending");
  if (!form || !progress) return;

  // One file with the form's other fields; resolves to what the bench said.
  function send(file, done, all) {
    const body = new FormData(form);
    body.delete("taken");
    body.delete("chosen");
    body.append("chosen", file, file.name);
    body.set("once", bench.draw());
    return new Promise((resolve) => {
      const request = new XMLHttpRequest();
      request.open("POST", form.action);
      request.setRequestHeader("Accept", "application/json");
      request.setRequestHeader("Deckwright-Form-Token", bench.formToken);
      request.upload.onprogress = (event) => {
        progress.value = (done + event.loaded / Math.max(1, event.total)) / all;
      };
      request.onload = () => {
        const said = bench.heard(request.status, request.responseText);
        resolve(said.kept ? said : { ...said, words: `${file.name}: ${said.words}` });
      };
      request.onerror = () => resolve({ kept: false, words: `${file.name}: ${bench.words.offline}` });
      request.send(body);
    });
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
      if (said.kept) bench.say(said.words);
      else wrong.push(said.words);
    }
    progress.hidden = true;
    event.target.value = "";
    await refresh().catch(() => {});
    if (wrong.length) bench.say(wrong.join(" "), true);
  });
})();
