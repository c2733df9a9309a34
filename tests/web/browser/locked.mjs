// SPDX-License-Identifier: MIT
// A screen in a customer's hands shows one page and nothing else, in each browser: not by its "back", not by a picture or a
// page that the browser still has, not in a second tab, not where the bench is not reached; until the password.
// Reference: RFC 9111, 5.2.2 (no-cache, no-store); WHATWG HTML, 7.4 (session history).
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { Tap, openBench } from "./browser.mjs";
import { eachBrowser } from "./drivers.mjs";

const tap = new Tap();
const program = process.argv[2], bench = await openBench(program);
const SIGN = "/job/0003/sign?at=intake", PASSWORD = "turn the record over";
const pause = (milliseconds) => new Promise((go) => setTimeout(go, milliseconds));
execFileSync(program, ["bench", "password", "--book", join(bench.folder, "shop")], { input: `${PASSWORD}\n` });

async function seen(run, script) {
  for (;;) {
    const said = await run(script).catch(() => null);
    if (said) return said;
    await pause(100);
  }
}
// Where a window is once it stands still, and what is seen in it.
const settled = (run) => seen(run, `() => document.readyState === "complete" && [location.pathname + location.search, document.body.innerText, getComputedStyle(document.body).display]`);
const isShown = ([path, words]) => path === SIGN && !/Rooms of the bench|Board\nLive/.test(words);
// A job's page must not be seen: its own address, and words on it.
const isBook = ([path, words, display]) => path !== SIGN && !/The bench is not reached/.test(words) && path.startsWith("/job/") && display !== "none" && words.trim() !== "";

async function walk(name, browser) {
  await browser.go("/job/0001/photos");
  const photo = await browser.run(`() => document.querySelector("ol.photos a").getAttribute("href")`);
  await browser.go(photo);
  const picture = await seen(browser.run, `() => { const image = document.querySelector("#board image, figure img"); return image && (image.getAttribute("href") ?? image.getAttribute("src")); }`);
  await browser.run(`() => fetch(${JSON.stringify(picture)}).then((answer) => answer.blob()).then(() => 1)`);
  const second = await browser.beside("/job/0007").catch((error) => error);
  await browser.go("/job/0003");
  await browser.go(SIGN);
  await browser.run(`() => { document.querySelector('form[action="/lock"] button').click(); return 1; }`);
  await seen(browser.run, `() => document.documentElement.classList.contains("locked") && document.readyState === "complete"`);

  await tap.try(`${name}: a second tab goes to the page as well`, async () => {
    if (second instanceof Error) return `there is no second tab: ${second.message}`;
    for (;;) {
      const there = await settled(second);
      if (isShown(there)) return "";
      await pause(200);
    }
  });
  await tap.try(`${name}: "back" shows nothing else`, async () => {
    await browser.run(`() => { setTimeout(() => history.go(-2), 50); return 1; }`);
    await pause(1000);
    for (;;) {
      const there = await settled(browser.run);
      if (isShown(there)) return "";
      if (isBook(there)) return JSON.stringify(there).slice(0, 300);
      await pause(100);
    }
  });
  await tap.try(`${name}: a picture that the browser has is not shown`, async () => {
    await browser.go(picture).catch(() => null);
    const there = await settled(browser.run);
    return isShown(there) ? "" : JSON.stringify(there).slice(0, 300);
  });
  await tap.try(`${name}: without the bench neither "back" nor an address shows anything of the book`, async () => {
    await bench.leave();
    const wrong = [];
    for (const act of [() => browser.run(`() => { setTimeout(() => history.back(), 50); return 1; }`), () => browser.run(`() => { setTimeout(() => history.go(-2), 50); return 1; }`),
      () => browser.go("/job/0003"), () => browser.go(picture)]) {
      await act().catch(() => null);
      await pause(1200);
      const there = await Promise.race([browser.run(`() => [location.pathname + location.search, document.body.innerText, getComputedStyle(document.body).display, document.querySelectorAll("img").length + (document.contentType.startsWith("image/") ? 1 : 0)]`).catch(() => null), pause(3000).then(() => null)]);
      if (there && (isBook(there) || (there[3] && there[0] === picture))) wrong.push(JSON.stringify(there).slice(0, 300));
    }
    await bench.comeBack();
    return wrong.join("\n");
  });
  await tap.try(`${name}: and with it again the one page is there`, async () => {
    await browser.go("/job/0003").catch(() => null);
    for (;;) {
      const there = await settled(browser.run);
      if (isShown(there)) return "";
      await pause(200);
    }
  });
  await tap.try(`${name}: the password opens it, and what is shown again is the bench`, async () => {
    await browser.go("/unlock");
    await browser.run(`() => { document.querySelector("[name=password]").value = ${JSON.stringify(PASSWORD)}; document.querySelector("main form button").click(); return 1; }`);
    await seen(browser.run, `() => location.pathname === "/" && document.readyState === "complete"`);
    await browser.go("/job/0003");
    const there = await settled(browser.run);
    return isBook(there) ? "" : JSON.stringify(there).slice(0, 300);
  });
}

for await (const [name, browser] of eachBrowser(tap, bench)) await walk(name, browser);
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
