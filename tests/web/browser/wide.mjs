// SPDX-License-Identifier: MIT
// With every word longer by 40 % the pages still stand within the width of a small telephone: every page that a link
// leads to, every part of a job, every measuring form.
import { execFileSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { Tap, openBench, openBrowser, openPage, picture } from "./browser.mjs";
import { allPaths, shape, sideways } from "./paths.mjs";

const PARTS = ["intake", "safety", "as-received", "findings", "estimate", "work", "set-up", "as-left", "papers", "state"];
const SMALL = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true };

const tap = new Tap();
const bench = await openBench(process.argv[2], (folder) => {
  const words = join(folder, "words");
  mkdirSync(words);
  execFileSync("python3", [join(import.meta.dirname, "../../cli/bracketed.py"), words]);
  return { LC_ALL: "C.UTF-8", LANGUAGE: "xx", DECKWRIGHT_WORDS: words };
});
const browser = await openBrowser();
const page = await openPage(browser, bench, { ...SMALL, reducedMotion: "reduce" });

// The first of what is wider than its window, so that it is found.
const widest = () =>
  page.evaluate(() => [...document.querySelectorAll("body *")]
    .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 && !one.closest("[style*=overflow], .scrolls, table, svg"))
    .map((one) => one.outerHTML.slice(0, 160)).slice(0, 2).join("\n"));

const found = (await allPaths(page)).filter(({ path, status }) => status === 200 && !path.startsWith("/look/"));
const forms = [...(await (await page.request.get("/measure")).text()).matchAll(/href="(\/measure\/[a-z]+)"/g)].map(([, path]) => path);
const paths = new Set([...found.map(({ path }) => path), ...forms, ...PARTS.flatMap((part) => [`/job/0001?at=${part}`, `/job/0007?at=${part}`])]);
tap.say(`${paths.size} pages are looked at, in the long words`, paths.size > 90 && /⟦/.test(await (await page.request.get("/shop")).text()) ? "" : [...paths].join(" "));
for (const path of paths)
  await tap.try(`${path} stands within its width`, async () => {
    await page.goto(path, { waitUntil: "load" });
    await picture(page, `wide-${shape(path).replaceAll("/", "_")}`);
    const extra = await sideways(page);
    return extra && `${extra}\n${await widest()}`;
  });
tap.say("no request left the host, no script failed", page.wrongs.join("\n"));
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
