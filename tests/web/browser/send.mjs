// SPDX-License-Identifier: MIT
// Files over a connection that breaks: a recording and a photograph go on where they stopped, after the page was loaded
// anew too; what is typed meanwhile stays; a measurement that fails need not have its recording sent again.
import { execFileSync } from "node:child_process";
import { appendFileSync, copyFileSync, readFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { Tap, openBench, openBrowser, openPage, screens } from "./browser.mjs";

const tap = new Tap();
const program = process.argv[2];
const bench = await openBench(program);
const browser = await openBrowser();
const take = join(bench.folder, "take.wav");
execFileSync(program, ["synth", take, "record.tone=3150Hz", "synth.length=40s"], { stdio: "ignore" });
const size = readFileSync(take).length;

// Counts the bytes of pieces that PAGE sends, and breaks the connection at piece number BREAKS.
async function watch(page, breaks = []) {
  const seen = { pieces: 0, offsets: [] };
  await page.route("**/arriving/*", async (route) => {
    const sent = route.request().postDataBuffer()?.toString("latin1") ?? "";
    if (route.request().method() !== "POST") return route.continue();
    seen.pieces += 1;
    seen.offsets.push(Number(sent.match(/name="at"\r\n\r\n(\d+)/)?.[1]));
    return breaks.includes(seen.pieces) ? route.abort("connectionreset") : route.continue();
  });
  return seen;
}

for (const [name, screen] of Object.entries(screens)) {
  const page = await openPage(browser, bench, screen);
  const seen = await watch(page, [2]);
  await tap.try(`a recording goes on where the connection broke (${name})`, async () => {
    await page.goto("/measure/speed?job=0007&as=received");
    await page.locator("input[name=recording1]").setInputFiles(take);
    await page.locator("[name='record.tone']").fill("3150 Hz");
    await page.locator("form[enctype] button[type=submit]").click();
    await page.waitForURL(/\/result\//);
    const expected = Math.ceil(size / (1 << 20)) + 1;
    return seen.pieces === expected && new Set(seen.offsets).size === expected - 1 ? "" : `${seen.pieces} pieces, ${seen.offsets}`;
  });
  await tap.try(`and is measured as what it was (${name})`, async () => /take\.wav/.test(await page.locator("main").innerText()) ? "" : "it is not");
  await page.context().close();
}

await tap.try("while it breaks the page says so, and then that it goes on", async () => {
  const page = await openPage(browser, bench, screens.tablet);
  await watch(page, [1, 2]);
  await page.goto("/measure/speed");
  await page.locator("input[name=recording1]").setInputFiles(take);
  await page.locator("form[enctype] button[type=submit]").click();
  await page.locator("#word .wrong").getByText("not reached just now").waitFor();
  await page.locator("#word .told").getByText("goes on").waitFor({ state: "attached" });
  await page.waitForURL(/\/(result|measure)\//);
  await page.context().close();
  return "";
});

await tap.try("after the page was loaded anew the same file goes on, not from its beginning", async () => {
  const page = await openPage(browser, bench, screens.tablet);
  let seen = await watch(page, [2, 3, 4, 5, 6, 7, 8, 9]);
  await page.goto("/measure/speed");
  await page.locator("input[name=recording1]").setInputFiles(take);
  await page.locator("form[enctype] button[type=submit]").click();
  await page.locator("#word .wrong").getByText("not reached just now").waitFor();
  await page.unroute("**/arriving/*");
  seen = await watch(page);
  await page.goto("/measure/speed");
  await page.locator("input[name=recording1]").setInputFiles(take);
  await page.locator("[name='record.tone']").fill("3150 Hz");
  await page.locator("form[enctype] button[type=submit]").click();
  await page.waitForURL(/\/result\//);
  await page.context().close();
  return Math.min(...seen.offsets) >= 1 << 20 ? "" : `from ${Math.min(...seen.offsets)}`;
});

await tap.try("a measurement that fails keeps its recording on the page, and is sent again without it", async () => {
  const page = await openPage(browser, bench, screens.phone);
  const seen = await watch(page);
  await page.goto("/measure/speed");
  await page.locator("input[name=recording1]").setInputFiles(take);
  await page.locator("[name='record.tone']").fill("12 Hz");
  await page.locator("form[enctype] button[type=submit]").click();
  await page.locator("small.sent").getByText("take.wav is on the bench computer already").waitFor();
  const before = seen.pieces;
  await page.locator("[name='record.tone']").fill("3150 Hz");
  await page.locator("form[enctype] button[type=submit]").click();
  await page.waitForURL(/\/result\//);
  await page.context().close();
  return seen.pieces === before && before > 1 ? "" : `${before} pieces, then ${seen.pieces}`;
});

// A recording that is still written, a card that was pulled out: the bench is reached all the while.
for (const [what, change] of [["changes", (path) => appendFileSync(path, "more")], ["is gone", (path) => rmSync(path)]])
  await tap.try(`a file that ${what} before it is sent must be chosen again, and is told so`, async () => {
    const page = await openPage(browser, bench, screens.tablet), path = join(bench.folder, "changing.wav");
    copyFileSync(take, path);
    await page.goto("/measure/speed");
    await page.locator("input[name=recording1]").setInputFiles(path);
    change(path);
    await page.locator("form[enctype] button[type=submit]").click();
    await page.locator("#word .wrong").getByText("changing.wav: This file can no longer be read").waitFor();
    const seen = await page.evaluate(() => [document.querySelector("#word").innerText, document.querySelector("input[name=recording1]").value,
      document.querySelector("form[enctype] button[type=submit]").disabled]);
    if (/not reached|goes on/.test(seen[0]) || seen[1] || seen[2]) return JSON.stringify(seen);
    await page.locator("input[name=recording1]").setInputFiles(take);
    await page.locator("[name='record.tone']").fill("3150 Hz");
    await page.locator("form[enctype] button[type=submit]").click();
    await page.waitForURL(/\/result\//);
    await page.context().close();
    return "";
  });

await tap.try("a photograph that is gone before it is sent is told so", async () => {
  const page = await openPage(browser, bench, screens.phone), path = join(bench.folder, "gone.png");
  copyFileSync(join(import.meta.dirname, "../../../docs/pictures/worn-belt.png"), path);
  await page.goto("/job/0010/photos");
  await page.evaluate(() => { // gone between the choice and the first piece
    const send = bench.files.send;
    bench.files.send = async (...given) => { await window.takeAway(); return send(...given); };
  });
  await page.exposeFunction("takeAway", () => rmSync(path));
  await page.locator("input[name=chosen]").setInputFiles(path);
  await page.locator("#word .wrong").getByText("gone.png: This file can no longer be read").waitFor();
  await page.context().close();
  return "";
});

await tap.try("a photograph goes on too", async () => {
  const page = await openPage(browser, bench, screens.phone);
  const seen = await watch(page, [1]);
  await page.goto("/job/0010/photos");
  await page.locator("input[name=chosen]").setInputFiles(process.env.DECKWRIGHT_PHOTO ?? join(import.meta.dirname, "../../../docs/pictures/worn-belt.png"));
  await page.locator("#word .told").getByText("The photograph is kept").waitFor({ state: "attached" });
  await page.locator("#list img").first().waitFor({ state: "attached" });
  await page.context().close();
  return seen.pieces === 2 ? "" : `${seen.pieces} pieces`;
});

await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
