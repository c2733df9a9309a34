// SPDX-License-Identifier: MIT
// Every page that a link leads to, on three screens, light and dark: axe-core
// finds nothing serious, nothing sticks out sideways, what is touched is large,
// no request leaves the host.
// Reference: W3C, Web Content Accessibility Guidelines 2.1, 2018, through axe-core.
import { Tap, openBench, openBrowser, openPage, picture, screens, seriousFindings } from "./browser.mjs";
import { allPaths, shape, sideways } from "./paths.mjs";

const MOST_BYTES = 100 * 1024;
const MOST_BYTES_OF_THE_BOOK = 250 * 1024; // the handbook is one page, to be searched and printed whole

// Buttons and links that look like buttons below 44 px, by WCAG's target size; ours are 48.
const small = (page) =>
  page.evaluate(() =>
    [...document.querySelectorAll("button, .button, nav a, select, input:not([type=checkbox]):not([type=radio]):not([type=hidden])")]
      .map((one) => [one, one.getBoundingClientRect()])
      .filter(([, box]) => box.width > 0 && box.height > 0 && box.height < 47)
      .map(([one, box]) => `${Math.round(box.height)} px high: ${one.outerHTML.slice(0, 100)}`)
      .slice(0, 3).join("\n"));

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();
const guide = await openPage(browser, bench);
const pages = await allPaths(guide);
tap.say("links lead to the rooms of the bench", ["/", "/live", "/measure", "/book", "/shop"].filter((room) => !pages.some((one) => one.path === room && one.status === 200)).join(" "));
for (const { path, status, bytes } of pages)
  tap.say(`${path} is there and light`, (status === 200 ? "" : `status ${status}`) + (bytes <= (path.startsWith("/look/handbook.html") ? MOST_BYTES_OF_THE_BOOK : MOST_BYTES) ? "" : ` ${bytes} bytes`));
await tap.try("the handbook's contents keep the blanks between words", async () => {
  await guide.goto(pages.find(({ path }) => path.startsWith("/look/handbook.html")).path, { waitUntil: "load" });
  return guide.evaluate(() => {
    const plain = (words) => words.replace(/\s+/g, " ").trim();
    return [...document.querySelectorAll("nav[aria-label=Contents] a")]
      .filter((one) => plain(one.innerText) !== plain(one.textContent)).map((one) => one.innerText).slice(0, 3).join("\n");
  });
});
for (const [name, screen] of Object.entries(screens)) {
  const page = await openPage(browser, bench, { ...screen, reducedMotion: "reduce" });
  for (const { path } of pages.filter((one) => one.status === 200))
    await tap.try(`${path} on the ${name}`, async () => {
      page.wrongs.length = 0;
      await page.emulateMedia({ colorScheme: "light" });
      await page.goto(path, { waitUntil: "load" });
      await picture(page, `${shape(path).replaceAll("/", "_")}-${name}-light`);
      // Structure and colours are the same on every screen: all of it is looked at on the smallest, colours on the largest.
      const wrong = [await sideways(page), await small(page)];
      if (name !== "tablet") wrong.push(await seriousFindings(page, name === "phone" ? undefined : ["color-contrast"]));
      await page.emulateMedia({ colorScheme: "dark" });
      await picture(page, `${shape(path).replaceAll("/", "_")}-${name}-dark`);
      if (name === "bench") wrong.push(await seriousFindings(page, ["color-contrast"]));
      return [...wrong, ...page.wrongs].filter(Boolean).join("\n");
    });
  await page.context().close();
}
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
