// SPDX-License-Identifier: MIT
// On a small telephone and with the page at twice its size on a tablet: what is touched is 48 px in both directions
// and 8 px from the next, nothing sticks out sideways.
// Reference: W3C, Web Content Accessibility Guidelines 2.1, 2018: 1.4.4 resize text, 1.4.10 reflow, 2.5.5 target size, whose
// exceptions are taken: a link in a sentence, and what must stand where it does (the places of the deck's plan).
// 48 and 8 px are this bench's own.
import { Tap, openBench, openBrowser, openPage, screens } from "./browser.mjs";
import { allPaths, sideways } from "./paths.mjs";

// A tablet of 1024 by 768 at 200 % has half as many of the page's own pixels.
const SMALL = { "small telephone": { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true }, "tablet at 200 %": { viewport: { width: 512, height: 384 } } };

// What is too small or too near, in lines; "" when nothing.
const crowded = (page) =>
  page.evaluate(() => {
    const LEAST = 47.5, APART = 7.5;
    const whole = (one) => {
      const over = getComputedStyle(one, "::after");
      if (over.content !== "none" && over.position === "absolute") return one.offsetParent; // it is touched all over that
      return one.matches("[type=checkbox], [type=radio]") ? (one.closest("label") ?? one) : one;
    };
    const inSentence = (one) => one.tagName === "A" && getComputedStyle(one).display === "inline" && whole(one) === one
      && [...one.parentElement.childNodes].some((other) => other.nodeType === Node.TEXT_NODE && other.textContent.trim());
    const isSeen = (box) => box.width > 1 && box.height > 1 && box.right > 0;
    const all = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]")]
      .filter((one) => !one.closest("svg, .skip") && one.checkVisibility({ opacityProperty: true, visibilityProperty: true }) && !inSentence(one));
    const targets = [...new Set(all.map(whole))].map((one) => ({ one, box: one.getBoundingClientRect() })).filter(({ box }) => isSeen(box));
    const called = (one) => `${one.tagName.toLowerCase()} “${(one.textContent || one.name || "").trim().slice(0, 24)}”`;
    const said = [];
    for (const { one, box } of targets)
      if (box.height < LEAST || box.width < LEAST) said.push(`${called(one)} is ${Math.round(box.width)} by ${Math.round(box.height)}`);
    targets.forEach(({ one, box }, i) => {
      for (const { one: other, box: its } of targets.slice(i + 1)) {
        if (one.contains(other) || other.contains(one)) continue;
        const apart = Math.max(box.left - its.right, its.left - box.right, box.top - its.bottom, its.top - box.bottom);
        const covers = [one, other].some((each) => ["sticky", "fixed"].includes(getComputedStyle(each.closest("nav, .word") ?? each).position));
        if (apart < APART && !covers) said.push(`${called(one)} and ${called(other)} are ${apart.toFixed(1)} apart`);
      }
    });
    return said.slice(0, 6).join("\n");
  });

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();
const pages = (await allPaths(await openPage(browser, bench))).filter((one) => one.status === 200 && !one.path.startsWith("/look/"));
tap.say("there are pages to look at", pages.length > 60 ? "" : `${pages.length}`);
for (const [name, screen] of Object.entries(SMALL)) {
  const page = await openPage(browser, bench, { ...screen, reducedMotion: "reduce" });
  for (const { path } of pages)
    await tap.try(`${path} on a ${name}`, async () => {
      await page.goto(path, { waitUntil: "load" });
      return [await sideways(page), await crowded(page)].filter(Boolean).join("\n");
    });
  await page.context().close();
}
// A job with everything on it, photographs and all, on each screen, and with all opened that folds.
for (const [name, screen] of Object.entries({ ...SMALL, ...screens })) {
  const page = await openPage(browser, bench, { ...screen, reducedMotion: "reduce" });
  for (const path of ["/job/0001?at=intake", "/job/0001/photos"])
    await tap.try(`${path} with photographs, closed and opened, on a ${name}`, async () => {
      await page.goto(path, { waitUntil: "load" });
      const closed = await crowded(page);
      await page.evaluate(() => { for (const one of document.querySelectorAll("details")) one.open = true; });
      return [closed, await crowded(page)].filter(Boolean).join("\n");
    });
  await page.context().close();
}
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
