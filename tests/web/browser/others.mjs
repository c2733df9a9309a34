// SPDX-License-Identifier: MIT
// The bench in Chromium, Firefox and WebKitGTK, each as its maker gives it: a field is kept, a date is kept once, the
// first touch on a photograph does not scroll it and marks where it was, the deck takes a touch.
// One that is not installed is skipped.
import { Tap, openBench } from "./browser.mjs";
import { ENTER, RIGHT, eachBrowser } from "./drivers.mjs";

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const JOB = "/job/0001?at=intake";

// The words of the page's one place once they say something.
const told = `async () => { for (;;) { const words = document.querySelector("#word .told").innerText + document.querySelector("#word .wrong").innerText; if (words) return words; await new Promise((go) => setTimeout(go, 50)); } }`;

async function keeps(name, browser) {
  await tap.try(`${name}: a field is kept with Enter, and stands`, async () => {
    await browser.go(JOB);
    await browser.run(`() => { const field = document.querySelector("section#intake [name=place]"); field.focus(); field.value = "shelf of ${name} ä Ω"; field.dispatchEvent(new Event("change", { bubbles: true })); field.form.requestSubmit(); }`);
    const words = await browser.run(told);
    await browser.go(JOB);
    const value = await browser.run(`() => document.querySelector("section#intake [name=place]").value`);
    return /Kept/.test(words) && value === `shelf of ${name} ä Ω` ? "" : `${words} ${value}`;
  });
  await tap.try(`${name}: the page is whole: what is to be done now, the work line, the deck in plan`, async () => {
    await browser.go("/job/0007");
    const seen = await browser.run(`() => [".now", "nav.line", ".opened", "aside"].map((one) => Math.round(document.querySelector(one).getBoundingClientRect().height)).join()`);
    const sideways = await browser.run(`() => document.documentElement.scrollWidth - innerWidth`);
    return seen.split(",").every((high) => Number(high) > 20) && sideways <= 1 ? "" : `${seen}, ${sideways} px too wide`;
  });
  await tap.try(`${name}: what was typed into a form stands after the page is loaded anew`, async () => {
    await browser.go("/job/new");
    await browser.run(`() => { const area = document.querySelector("textarea[name=words]"); area.value = "Es brummt"; area.dispatchEvent(new Event("input", { bubbles: true })); }`);
    await browser.go("/job/new");
    const value = await browser.run(`() => document.querySelector("textarea[name=words]").value`);
    return value === "Es brummt" ? "" : value;
  });
}

// The job's first date as another device reads it, and the revision that holds it.
async function dateThere() {
  const form = (await (await fetch(bench.url + JOB)).text()).split("<form").find((one) => /data-keep/.test(one) && /type="date"/.test(one));
  const input = form.match(/<input[^>]*type="date"[^>]*>/)[0];
  return { name: input.match(/name="([^"]+)"/)[1], value: input.match(/value="([^"]*)"/)?.[1] ?? "", revision: Number(form.match(/name="revision" value="(\d+)"/)[1]) };
}

// What the page's one place says is awaited, and that nothing is on its way any more.
const quiet = `async () => { await new Promise((go) => setTimeout(go, 300)); await keeping; return 1; }`;

async function dates(name, browser) {
  // One does not go on to the next part by itself.
  const parts = (...all) => all.join(name === "WebKitGTK" ? RIGHT : "");
  await tap.try(`${name}: a date typed key by key is kept once, when it is left, and is none of another year`, async () => {
    await browser.go(JOB);
    const before = await dateThere(), where = `form[data-keep] input[name="${before.name}"]`;
    await browser.run(`() => { const date = document.querySelector('${where}'); date.scrollIntoView({ block: "center" }); date.focus(); return 1; }`);
    await browser.type(parts("02", "03", "2036"));
    await browser.run(quiet);
    const typing = await dateThere();
    await browser.run(`() => { document.querySelector('${where}').blur(); return 1; }`);
    await browser.run(quiet);
    const after = await dateThere(), said = await browser.run(`() => document.querySelector("#word").innerText`);
    return typing.revision === before.revision && after.revision === before.revision + 1 && /^2036-0[23]-0[23]$/.test(after.value) && /Kept/.test(said)
      ? "" : `${JSON.stringify([before, typing, after])} ${said}`;
  });
  await tap.try(`${name}: Enter keeps a date once`, async () => {
    await browser.go(JOB);
    const before = await dateThere(), where = `form[data-keep] input[name="${before.name}"]`;
    await browser.run(`() => { const date = document.querySelector('${where}'); date.scrollIntoView({ block: "center" }); date.focus(); return 1; }`);
    await browser.type(parts("04", "05", "2037") + ENTER);
    await browser.run(quiet);
    await browser.run(`() => { document.querySelector('${where}').blur(); return 1; }`);
    await browser.run(quiet);
    const after = await dateThere();
    return after.revision === before.revision + 1 && /^2037-0[45]-0[45]$/.test(after.value) ? "" : JSON.stringify([before, after]);
  });
  await tap.try(`${name}: a year typed half, and the page loaded anew: no half year is kept, and what is kept stands`, async () => {
    await browser.go(JOB);
    const before = await dateThere(), where = `form[data-keep] input[name="${before.name}"]`;
    await browser.run(`() => { const date = document.querySelector('${where}'); date.scrollIntoView({ block: "center" }); date.focus(); return 1; }`);
    await browser.type(parts("06", "07", "2"));
    await browser.go(JOB);
    await browser.run(quiet);
    await browser.go(JOB); // where day and month with the old year made a date, it was kept as the page was left
    const after = await dateThere(), shown = await browser.run(`() => document.querySelector('${where}').value`);
    const right = after.value === before.value || /^2037-0[67]-0[67]$/.test(after.value);
    return right && after.value === shown ? "" : JSON.stringify([before, after, shown]);
  });
  await tap.try(`${name}: an emptied date is kept once, empty, and shows no day`, async () => {
    await browser.go(JOB);
    const before = await dateThere(), where = `form[data-keep] input[name="${before.name}"]`;
    await browser.run(`() => { const date = document.querySelector('${where}'); date.focus(); date.value = ""; for (const kind of ["input", "change"]) date.dispatchEvent(new Event(kind, { bubbles: true })); date.blur(); return 1; }`);
    await browser.run(quiet);
    const after = await dateThere();
    await browser.go(JOB);
    const empty = await browser.run(`() => { const date = document.querySelector('${where}'); return date.value === "" && date.classList.contains("empty"); }`);
    return after.revision === before.revision + 1 && after.value === "" && empty ? "" : JSON.stringify([before, after, empty]);
  });
}

async function touches(name, browser) {
  await tap.try(`${name}: a press on the deck says where it was`, async () => {
    await browser.go("/job/0001?at=papers");
    const box = await browser.run(`() => { const place = document.querySelector('.deck-plan a[data-zone="9"] .place'); place.scrollIntoView({ block: "center" }); const box = place.getBoundingClientRect(); return [box.left, box.top, box.width, box.height]; }`);
    await browser.press(box[0] + 0.25 * box[2], box[1] + 0.7 * box[3]);
    // Asked anew each time: a page that was left is not always thrown away, and what waits in it then waits for ever.
    let place = null;
    while (!place) {
      await new Promise((go) => setTimeout(go, 100));
      place = await browser.run(`() => { const field = document.querySelector("#mark-here [name=across]"); return field && [field.value, document.querySelector("#mark-here [name=along]").value].map(Number); }`).catch(() => null);
    }
    return Math.abs(place[0] - 0.25) < 0.03 && Math.abs(place[1] - 0.7) < 0.03 ? "" : String(place);
  });
  await tap.try(`${name}: the first touch on a scrolled photograph does not scroll it`, async () => {
    await browser.go("/job/0001/photos");
    const photo = await browser.run(`() => document.querySelector("ol.photos a").getAttribute("href")`);
    await browser.go(photo);
    const at = await browser.run(`() => { const board = document.querySelector("#board"); if (!board) return null; board.scrollIntoView({ block: "start" }); scrollBy(0, board.getBoundingClientRect().height / 2); const box = board.getBoundingClientRect(); return [box.left + box.width / 2, Math.max(90, box.bottom - box.height / 5), scrollY, box.top]; }`);
    if (!at) return "there is no board";
    if (at[3] > -20) return `its top is in the window, at ${at[3]}: nothing would scroll`;
    const expected = await browser.run(`() => { const place = new DOMPoint(${Math.round(at[0])}, ${Math.round(at[1])}).matrixTransform(document.getElementById("placing").getScreenCTM().inverse()); return [place.x, place.y]; }`);
    await browser.press(at[0], at[1]);
    const after = await browser.run(`() => scrollY`), mark = await browser.run(`() => ["x1", "y1"].map((one) => Number(document.querySelector("#marking [name=" + one + "]").value))`);
    if (Math.abs(after - at[2]) >= 1) return `it scrolled by ${after - at[2]} px`;
    return Math.hypot(mark[0] - expected[0], mark[1] - expected[1]) < 2 ? "" : `the mark is at ${mark}, not at ${expected}`;
  });
  await tap.try(`${name}: what was marked and not kept stands after the page is loaded anew`, async () => {
    const mark = await browser.run(`() => ["x1", "y1"].map((one) => document.querySelector("#marking [name=" + one + "]").value)`);
    await browser.go(await browser.run(`() => location.pathname`));
    const after = await browser.run(`() => ["x1", "y1"].map((one) => document.querySelector("#marking [name=" + one + "]").value)`);
    const drawn = await browser.run(`() => document.querySelectorAll("#placing circle").length`);
    return mark[0] && after.join() === mark.join() && drawn > 0 ? "" : `${mark}, then ${after}, ${drawn} drawn`;
  });
}

for await (const [name, browser] of eachBrowser(tap, bench)) {
  await keeps(name, browser);
  await dates(name, browser);
  await touches(name, browser);
}
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
