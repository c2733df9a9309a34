// SPDX-License-Identifier: MIT
// The bench in Firefox and in WebKitGTK, each as its maker gives it: a field is kept, a date
// is kept once, a photograph does not scroll under the first touch, the deck takes a touch.
// One that is not installed is skipped.
import { Tap, openBench } from "./browser.mjs";
import { drivers } from "./drivers.mjs";

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
    await browser.press(at[0], at[1]);
    const after = await browser.run(`() => scrollY`);
    return Math.abs(after - at[2]) < 1 ? "" : `it scrolled by ${after - at[2]} px`;
  });
}

for (const [name, open] of drivers) {
  const browser = await open(bench.url).catch((error) => error);
  if (browser === null) {
    console.log(`ok ${++tap.number} - ${name} # SKIP it is not installed`);
    continue;
  }
  if (browser instanceof Error) {
    tap.say(`${name} starts`, browser.message);
    continue;
  }
  await keeps(name, browser);
  await touches(name, browser);
  await browser.end();
}
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
