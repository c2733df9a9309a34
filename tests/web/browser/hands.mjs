// SPDX-License-Identifier: MIT
// For every hand and eye: all of a page is reached by the keyboard and shows where one is, nothing sticks out at 400 %
// of zoom, nothing moves where less motion is asked for, a printed job has no buttons, and what a screen reader says of
// the intake and of a sheet is as it was recorded.
// Reference: W3C, Web Content Accessibility Guidelines 2.1, 2018: 1.4.10, 2.1.1, 2.1.2, 2.3.3, 2.4.7.
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { Tap, openBench, openBrowser, openPage, screens } from "./browser.mjs";
import { allPaths, shape, sideways } from "./paths.mjs";

const RECORDED = join(import.meta.dirname, "spoken");
const write = process.argv.includes("--write"); // records anew what is said
const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();
const page = await openPage(browser, bench, screens.bench);
const pages = (await allPaths(page)).filter(({ path, status }) => status === 200 && !path.startsWith("/look/")).map(({ path }) => path);

// --- the keyboard -------------------------------------------------------------------------

// Goes through the page by Tab. Returned: what is not reached, what does not show that it is focused.
async function byTab(path) {
  await page.goto(path);
  await page.evaluate(() => {
    window.wanted = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")]
      .filter((one) => one.tabIndex >= 0 && !one.disabled && one.checkVisibility({ visibilityProperty: true }) && !(one.type === "radio" && !one.checked));
    window.seen = new Set();
    window.unseen = [];
  });
  const count = await page.evaluate(() => window.wanted.length);
  for (let i = 0; i < 2 * count + 20; i++) {
    await page.keyboard.press("Tab");
    const done = await page.evaluate(() => {
      const one = document.activeElement;
      if (one === document.body || !one) return window.seen.size > 0;
      if (!window.seen.has(one)) {
        const style = getComputedStyle(one), place = one.querySelector?.(".place");
        const outlined = style.outlineStyle !== "none" && Number.parseFloat(style.outlineWidth) >= 2;
        if (!outlined && !(place && Number.parseFloat(getComputedStyle(place).strokeWidth) >= 4)) window.unseen.push(one.outerHTML.slice(0, 90));
      }
      window.seen.add(one);
      return false;
    });
    if (done) break;
  }
  return page.evaluate(() => [
    ...window.wanted.filter((one) => !window.seen.has(one) && !(one.type === "radio" && [...window.seen].some((other) => other.name === one.name)))
      .map((one) => `not reached: ${one.outerHTML.slice(0, 90)}`),
    ...window.unseen.map((one) => `does not show its focus: ${one}`)].slice(0, 4).join("\n"));
}

for (const path of ["/", "/job/new", "/job/0007?at=intake", "/job/0001?at=findings", "/job/0001/setup", "/measure/align", "/measure/speed?job=0007", "/shop/people",
  "/shop/settings", "/book/customer/1", "/job/0001/journal", "/job/0001/papers", "/job/0001/photos", "/job/0001/sign?at=intake", "/live"])
  await tap.try(`all of ${path} is reached by the keyboard`, () => byTab(path));

await tap.try("a job is opened, and a mark set on its deck, by the keyboard alone", async () => {
  await page.goto("/job/new");
  await page.locator("main [name=model]").focus();
  await page.keyboard.type("Heron 3");
  await page.locator("main [name=name]").focus();
  await page.keyboard.type("Ruth Marsh");
  await page.locator("main").getByRole("button", { name: "Open the job" }).focus();
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/job\/\d+/);
  await page.goto("/job/0007?at=papers");
  const zone = page.locator('.deck-plan a[data-zone="8"]').first();
  await zone.focus();
  await page.keyboard.press("Enter");
  await page.waitForURL(/zone=/);
  await page.locator("#mark-here [name=note]").focus();
  await page.keyboard.type("by the keyboard");
  await page.keyboard.press("Enter");
  await page.waitForURL((address) => !address.search.includes("zone="));
  await page.goto("/job/0007?at=intake");
  return (await page.content()).includes("by the keyboard") ? "" : "the mark is not there";
});

await tap.try("the first Tab leads past the rooms", async () => {
  await page.goto("/job/0007");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  return (await page.evaluate(() => location.hash)) === "#main" ? "" : await page.evaluate(() => document.activeElement.outerHTML.slice(0, 90));
});

// --- zoom, motion, paper ------------------------------------------------------------------

await tap.try("at 400 % of a screen of 1280 points nothing sticks out sideways", async () => {
  const zoomed = await openPage(browser, bench, { viewport: { width: 320, height: 256 }, deviceScaleFactor: 4 }), wrong = [];
  for (const path of pages) {
    await zoomed.goto(path);
    const said = await sideways(zoomed);
    if (said) wrong.push(`${path}: ${said}`);
  }
  await zoomed.context().close();
  return wrong.slice(0, 8).join("\n");
});

await tap.try("nothing moves where less motion is asked for", async () => {
  const still = await openPage(browser, bench, { ...screens.tablet, reducedMotion: "reduce" }), wrong = [];
  for (const path of pages) {
    await still.goto(path);
    const moving = await still.evaluate(() => document.getAnimations().length + [...document.querySelectorAll("*")]
      .filter((one) => getComputedStyle(one).transitionDuration.split(", ").some((time) => Number.parseFloat(time) > 0)).length);
    if (moving) wrong.push(`${path}: ${moving}`);
  }
  await still.context().close();
  return wrong.slice(0, 8).join("\n");
});

await tap.try("a printed job has no buttons, fields of search or keypad", async () => {
  const wrong = [];
  await page.emulateMedia({ media: "print" });
  for (const path of pages.filter((one) => one.startsWith("/job/"))) {
    await page.goto(path);
    const shown = await page.evaluate(() => [...document.querySelectorAll("button, .button, nav, .find, .keypad, .who, #word > *, input[type=file]")]
      .filter((one) => one.getClientRects().length && one.checkVisibility()).map((one) => one.outerHTML.slice(0, 80)));
    if (shown.length) wrong.push(`${path}: ${shown[0]}`);
  }
  await page.emulateMedia({ media: "screen" });
  return wrong.slice(0, 6).join("\n");
});

// --- what a screen reader says --------------------------------------------------------------

// What is not the page's own: days and numbers.
const plain = (text) => text.replace(/\d{4}-\d{2}-\d{2}( \d{2}:\d{2})?/g, "DAY").replace(/[−+]?\d[\d.,]*/g, "N").replace(/\s+/g, " ").trim();

// The page as a screen reader goes through it: landmarks, headings, links, controls with their names, and what is told.
async function spoken(path) {
  await page.goto(path);
  const session = await page.context().newCDPSession(page);
  const { nodes } = await session.send("Accessibility.getFullAXTree");
  await session.detach();
  const byId = new Map(nodes.map((node) => [node.nodeId, node])), lines = [];
  const SPOKEN = new Set(["main", "navigation", "banner", "contentinfo", "search", "region", "complementary", "heading", "link", "button", "textbox", "searchbox", "combobox", "checkbox",
    "radio", "image", "img", "figure", "table", "alert", "status", "DisclosureTriangle", "spinbutton", "Date", "slider", "group", "form"]);
  const walk = (node, deep) => {
    const role = node.role?.value, name = plain(node.name?.value ?? "");
    const said = !node.ignored && SPOKEN.has(role) && !(role === "group" && !name);
    if (said) {
      const level = node.properties?.find((one) => one.name === "level")?.value?.value;
      const short = role === "image" ? name.split(" ").slice(0, 4).join(" ") : name; // a picture's words go on with what was measured
      lines.push(`${"  ".repeat(Math.min(deep, 4))}${role}${role === "heading" ? ` ${level}` : ""}${name ? `: ${short}` : ""}`);
    }
    for (const id of node.childIds ?? []) if (byId.has(id)) walk(byId.get(id), deep + (said && !["link", "button", "heading"].includes(role) ? 1 : 0));
  };
  walk(nodes[0], 0);
  return lines;
}

// What anybody would miss who only hears it.
function missing(lines) {
  const wrong = [], said = lines.map((line) => line.trim());
  for (const line of said) if (/^(link|button|textbox|combobox|checkbox|radio|image|img|Date|searchbox|spinbutton)$/.test(line)) wrong.push(`a ${line} has no name`);
  const levels = said.filter((line) => line.startsWith("heading")).map((line) => Number(line[8]));
  if (levels.filter((level) => level === 1).length !== 1) wrong.push(`${levels.filter((level) => level === 1).length} headings of the first level`);
  levels.forEach((level, i) => { if (i && level > levels[i - 1] + 1) wrong.push(`heading ${level} after ${levels[i - 1]}: ${said.filter((line) => line.startsWith("heading"))[i]}`); });
  for (const mark of ["main", "navigation", "search"]) if (!said.some((line) => line.startsWith(mark))) wrong.push(`no ${mark}`);
  return wrong;
}

await page.goto("/job/0001?at=as-received");
const sheet = await page.locator('a[href^="/sheet/"]').first().getAttribute("href");
for (const [name, path] of [["intake", "/job/0001?at=intake"], ["sheet", sheet], ["measuring", "/measure/force?job=0003&as=received"], ["set-up", "/job/0001/setup"]])
  await tap.try(`a screen reader goes through the ${name} as was recorded`, async () => {
    const lines = await spoken(path), file = join(RECORDED, `${name}.txt`), wrong = missing(lines);
    // What a sheet's remarks lead to goes with what was measured.
    if (name === "sheet") lines.splice(0, lines.length, ...lines.filter((line) => !/^ +link/.test(line)));
    if (write) writeFileSync(file, `${lines.join("\n")}\n`);
    const recorded = readFileSync(file, "utf8").trimEnd().split("\n");
    const other = lines.findIndex((line, i) => line !== recorded[i]);
    if (other >= 0 || lines.length !== recorded.length) wrong.push(`line ${other + 1} is "${lines[other]}", recorded as "${recorded[other]}"; "node hands.mjs PROGRAM --write" records it anew`);
    return wrong.join("\n");
  });

tap.say("no script failed", page.wrongs.join("\n"));
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
