// SPDX-License-Identifier: MIT
// A job's page and the board on three screens: what to do now stands first, no part is
// longer than four screens of a telephone, a wide screen is used in columns, the deck's
// plan takes a touch where it was made.
import { Tap, openBench, openBrowser, openPage, picture, screens } from "./browser.mjs";
import { allPaths } from "./paths.mjs";

const PARTS = ["intake", "safety", "as-received", "findings", "estimate", "work", "set-up", "as-left", "papers", "state"];
const ALL = process.env.DECKWRIGHT_TESTS === "all"; // else two of the jobs and every third sheet
const JOBS = ALL ? ["0001", "0003", "0007", "0010", "0012"] : ["0001", "0007"]; // handed over, in work, waiting, new, ready
const SHEETS = Array.from({ length: 24 }, (_, number) => number + 1).filter((number) => ALL || number % 3 === 1);
const MOST_SCREENS = 4;

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();

async function lengths(page, screen, paths) {
  const long = [];
  for (const path of paths) {
    await page.goto(path);
    const high = await page.evaluate(async () => { // with every picture, also those that are fetched when they are near
      const pictures = [...document.images].map((image) => { image.loading = "eager"; return image.decode().catch(() => {}); });
      await Promise.all(pictures);
      return document.documentElement.scrollHeight;
    });
    if (high > MOST_SCREENS * screen.viewport.height) long.push(`${path} is ${(high / screen.viewport.height).toFixed(1)} screens long`);
  }
  return long.join("\n");
}

const phone = await openPage(browser, bench, screens.phone);
for (const job of JOBS)
  await tap.try(`no part of job ${job} is longer than ${MOST_SCREENS} screens of a telephone`, () =>
    lengths(phone, screens.phone, [`/job/${job}`, ...PARTS.map((part) => `/job/${job}?at=${part}`), `/job/${job}?at=intake&zone=4`]));

// The handbook is a book: it is searched, and printed whole.
const small = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true };
await tap.try(`no page that a link leads to is longer than ${MOST_SCREENS} screens of a small telephone`, async () => {
  const page = await openPage(browser, bench, small);
  const found = (await allPaths(page)).filter(({ path, status }) => status === 200 && !path.startsWith("/look/handbook.html"));
  const long = await lengths(page, small, [...found.map(({ path }) => path), "/job/0001?at=intake", "/job/0001?at=intake&zone=4", "/job/0001/journal"]);
  await page.context().close();
  return found.length > 60 ? long : `only ${found.length} pages`;
});

// However much stands on them.
await tap.try(`no sheet, deck, set-up, list of photographs or paper's words is longer than ${MOST_SCREENS} screens of a small telephone`, async () => {
  const page = await openPage(browser, bench, small), paths = [];
  for (const number of SHEETS) paths.push(`/sheet/${number}`);
  for (let number = 1; number <= 11; number += 1) paths.push(`/book/deck/${number}`);
  for (const job of JOBS)
    paths.push(`/job/${job}/setup`, `/job/${job}/setup?as=received`, `/job/${job}/photos`, ...["service", "proof", "transport"].map((paper) => `/job/${job}/words/${paper}`));
  const long = await lengths(page, small, paths);
  await page.context().close();
  return long;
});

for (const name of ["tablet", "bench"])
  await tap.try(`nor is a sheet, a part of a job or the choice of what to measure longer than ${MOST_SCREENS} screens of the ${name}`, async () => {
    const page = await openPage(browser, bench, screens[name]), paths = ["/measure", ...SHEETS.map((number) => `/sheet/${number}`)];
    for (const job of JOBS)
      paths.push(...PARTS.map((part) => `/job/${job}?at=${part}`), `/job/${job}/setup`, `/job/${job}/photos`, `/job/${job}/words/service`);
    const long = await lengths(page, screens[name], paths);
    await page.context().close();
    return long;
  });

// A drawing as wide as the page made it, and a unit beside its field, never under it.
for (const name of Object.keys(screens))
  await tap.try(`units stand beside their fields and drawings within the page, on the ${name}`, async () => {
    const page = await openPage(browser, bench, screens[name]), wrong = [];
    for (const path of ["/live", "/measure/force", "/measure/held", "/measure/belt", "/measure/film", "/measure/pose", "/measure/pressing", "/measure/riaa", "/measure/side", "/measure/twin"]) {
      await page.goto(path);
      wrong.push(...await page.evaluate(async () => {
        for (const fold of document.querySelectorAll("details")) fold.open = true;
        const under = [...document.querySelectorAll(".field .unit")].filter((unit) => unit.getClientRects().length).filter((unit) => {
          const [field, own] = [unit.parentElement.firstElementChild.getBoundingClientRect(), unit.getBoundingClientRect()];
          return own.top > field.bottom - 4 || own.left < field.right - 4;
        }).map((unit) => `the unit ${unit.textContent} of ${unit.closest(".field").innerText.split("\n")[0]}`);
        const drawing = document.querySelector(".as-typed img"), drawn = !drawing || await drawing.decode().then(() => drawing.naturalHeight > 200, () => false);
        const box = drawing?.getBoundingClientRect();
        if (!drawn || (box && (box.right > innerWidth + 1 || box.width < Math.min(300, innerWidth / 4)))) under.push("its drawing");
        return under;
      }).then((found) => found.map((what) => `${path}: ${what}`)));
      await page.evaluate(() => scrollTo(0, 0));
      await picture(page, `form-${path.split("/").pop()}-${name}`, false);
    }
    await page.context().close();
    return wrong.join("\n");
  });

await tap.try("what to do now stands first, before the work line and every part", async () => {
  await phone.goto("/job/0007");
  const [now, line] = [await phone.locator("section.now").boundingBox(), await phone.locator("nav.line").boundingBox()];
  return now.y + now.height <= line.y + 1 && now.y + now.height <= screens.phone.viewport.height ? "" : `${now.y} ${line.y}`;
});

await tap.try("a part that is done folds to its numbers, and opens with a touch", async () => {
  await phone.goto("/job/0001?at=papers");
  const words = await phone.locator("section#as-received .holds").innerText();
  await phone.locator("section#as-received a").click();
  await phone.waitForURL(/at=as-received/);
  return /Speed error \+0\.86/.test(words) && (await phone.locator("section#as-received.opened").count()) ? "" : words;
});

await tap.try("a touch on the deck says where in the place it was", async () => {
  await phone.goto("/job/0001?at=papers");
  const rim = phone.locator('.deck-plan a[data-zone="8"] .place');
  await rim.scrollIntoViewIfNeeded();
  const box = await rim.boundingBox();
  // The rim is a ring: near its left edge, half way down.
  await phone.touchscreen.tap(box.x + 0.04 * box.width, box.y + 0.5 * box.height);
  await phone.waitForURL(/zone=8/);
  const [across, along] = [Number(await phone.locator("#mark-here [name=across]").inputValue()), Number(await phone.locator("#mark-here [name=along]").inputValue())];
  return Math.abs(across - 0.04) < 0.02 && Math.abs(along - 0.5) < 0.02 ? "" : `${across} ${along}`;
});

await tap.try("the mark is numbered on the deck where it was touched", async () => {
  await phone.locator("#mark-here [name=note]").fill("by the thumb");
  await phone.getByRole("button", { name: "Add the mark" }).click();
  await phone.waitForURL(/at=intake/);
  await phone.goto("/job/0001?at=papers");
  const spots = await phone.locator(".deck-plan .spot").count(), place = await phone.locator('.deck-plan a[data-zone="8"]').getAttribute("aria-label");
  const [rim, spot] = [await phone.locator('.deck-plan a[data-zone="8"] .place').boundingBox(), await phone.locator(".deck-plan .spot .disc").last().boundingBox()];
  const x = (spot.x + spot.width / 2 - rim.x) / rim.width;
  return /1 mark/.test(place) && spots > 3 && Math.abs(x - 0.04) < 0.02 ? "" : `${place}, ${spots} spots, at ${x}`;
});

const wide = await openPage(browser, bench, screens.bench);
await tap.try("a wide screen has the work line, the work and the deck side by side", async () => {
  await wide.goto("/job/0001?at=findings");
  const [line, work, deck] = [await wide.locator("nav.line").boundingBox(), await wide.locator(".sections").boundingBox(), await wide.locator("aside").boundingBox()];
  await picture(wide, "job-wide", false);
  const beside = line.x + line.width <= work.x && work.x + work.width <= deck.x && Math.abs(line.y - deck.y) < 60;
  return beside ? "" : `${line.x} ${work.x} ${deck.x}`;
});

await tap.try("the board has a column for each thing that is waited for, with its count", async () => {
  await wide.goto("/");
  const columns = await wide.locator(".board > section").evaluateAll((all) => all.map((one) => [one.getBoundingClientRect().top, one.querySelectorAll("li").length, one.querySelector("h2").innerText]));
  await picture(wide, "board-wide", false);
  const wrong = columns.filter(([top, count, words]) => Math.abs(top - columns[0][0]) > 2 || (count && !words.endsWith(String(count))));
  return columns.length > 2 && !wrong.length ? "" : JSON.stringify(columns);
});

await tap.try("and is a list on a telephone", async () => {
  await phone.goto("/");
  const lefts = await phone.locator(".board > section").evaluateAll((all) => all.map((one) => Math.round(one.getBoundingClientRect().left)));
  return new Set(lefts).size === 1 ? "" : lefts.join();
});

await tap.try("what was promised for today stands above, and for a day that is over too", async () => {
  await wide.goto("/job/0007?at=intake");
  const today = await wide.evaluate(() => new Date().toISOString().slice(0, 10));
  await wide.locator("section#intake [name=promised_on]").fill(today);
  await wide.locator("#word .told").getByText("Kept.").waitFor();
  await wide.goto("/");
  return /0007/.test(await wide.locator(".promises").innerText()) ? "" : await wide.locator(".promises").innerText();
});

await tap.try("the owner's answer proposes the bench, and one touch moves the job", async () => {
  await wide.goto("/job/0007");
  await wide.getByRole("link", { name: "Write down the answer" }).click();
  await wide.locator("#answer").getByLabel("How").selectOption({ label: "telephone" });
  await wide.locator("#answer").getByRole("button", { name: "Write it down" }).click();
  await wide.waitForLoadState("load");
  const words = await wide.locator(".proposal").innerText();
  await wide.locator(".proposal button").click();
  await wide.waitForLoadState("load");
  const lead = await wide.locator(".job-head .lead").innerText();
  return /The owner agreed/.test(words) && /on the bench/.test(lead) ? "" : `${words} / ${lead}`;
});

tap.say("no request left the host, no script failed", [...phone.wrongs, ...wide.wrongs].join("\n"));
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
