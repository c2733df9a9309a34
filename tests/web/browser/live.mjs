// SPDX-License-Identifier: MIT
// The live page in a real browser: started from the test tone, which is 3150 Hz
// by the computer's own clock, so a speed error of 0. Nothing here is timed: each
// step waits for what it wants to see.
import { PATIENCE, Tap, openBench, openBrowser, openPage, picture, screens, seriousFindings } from "./browser.mjs";

const text = (page, selector) => page.locator(selector).first().innerText();
// What ACT finds at last. Asks again and again from outside: the page's policy forbids what the driver's own waiting evaluates.
async function until(page, act, argument) {
  for (const end = Date.now() + PATIENCE; ;) {
    const found = await page.evaluate(act, argument);
    if (found) return found;
    if (Date.now() > end) throw new Error(`waited in vain for ${act}`);
    await page.waitForTimeout(50);
  }
}

// Painted pixels of the raster.
const painted = (page) => page.evaluate(() => {
  const canvas = document.getElementById("raster");
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let count = 0;
  for (let at = 3; at < data.length; at += 4) count += data[at] > 0;
  return count;
});
const isSettled = () => !document.getElementById("speed").classList.contains("stale")
  && /^[+−]?0\.0/.test(document.querySelector("#figure [data-part=value]").textContent);

async function check(tap, page, name, atFirst) {
  await tap.try(`before the start nothing is of now, on the ${name}`, async () => {
    await page.goto("/live?job=0007&as=received");
    await until(page, () => document.querySelectorAll(".gauge.stale").length === document.querySelectorAll(".gauge").length);
    await picture(page, `live-${name}-silent`);
    const state = await text(page, "#state");
    return state === atFirst ? "" : state;
  });
  await tap.try(`the test tone gives a figure, on the ${name}`, async () => {
    await page.check("input[name=input][value=tone]");
    await page.getByRole("button", { name: "Start", exact: true }).click();
    await until(page, isSettled);
    // Looked at in one moment: on a busy machine the page may at times not hear from the bench.
    const value = await until(page, () => document.getElementById("state").textContent === "Listening: Test tone"
      && !document.getElementById("speed").classList.contains("stale") && document.querySelector("#figure [data-part=value]").textContent);
    return Math.abs(Number(value.replace("−", "-"))) < 0.01 ? "" : value;
  });
  await tap.try(`the raster grows, on the ${name}`, async () => {
    const before = await painted(page);
    await until(page, (least) => {
      const canvas = document.getElementById("raster");
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      return data.filter((value, at) => at % 4 === 3 && value > 0).length > least;
    }, before + 180);
    return before > 0 ? "" : "nothing was painted at first";
  });
  await tap.try(`a touch shows the speed in rpm, on the ${name}`, async () => {
    await page.locator("#figure").click();
    await until(page, () => /^33\.33[0-9]\s*rpm$/.test(["value", "unit"].map((part) => document.querySelector(`#figure [data-part=${part}]`).textContent).join(" ")));
    await page.locator("#change-unit").click();
    await until(page, () => document.querySelector("#figure [data-part=unit]").textContent === "%");
    return "";
  });
  await tap.try(`axe finds nothing serious while it runs, on the ${name}`, async () => {
    let found = "";
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      await picture(page, `live-${name}-running-${colorScheme}`);
      found += await seriousFindings(page);
    }
    await page.emulateMedia({ colorScheme: "light" });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    return found + (wide > 1 ? `${wide} px wider than the window` : "");
  });
  await tap.try(`frozen, it holds while the bench goes on, on the ${name}`, async () => {
    // Nothing is frozen while nothing is heard of the bench.
    for (const end = Date.now() + PATIENCE; !(await page.locator("#live.frozen").count()) && Date.now() < end;) {
      await until(page, isSettled);
      await page.keyboard.press("F2");
    }
    const held = await painted(page), at = Number(await page.inputValue("#until"));
    await until(page, async (position) => {
      const state = await (await fetch("/live/state", { headers: { Accept: "application/json" } })).json();
      return state.position > position + 100_000; // two seconds on
    }, at);
    await until(page, () => /^Frozen \d/.test(document.getElementById("state").textContent));
    const state = await text(page, "#state");
    await picture(page, `live-${name}-frozen`);
    const same = (await painted(page)) === held && Number(await page.inputValue("#until")) === at;
    await page.locator("#freeze").click();
    await until(page, (least) => !document.getElementById("live").classList.contains("frozen") && least >= 0, held);
    return same && at > 0 && /^Frozen \d/.test(state) && (await page.inputValue("#until")) === "" ? "" : `${state}, at ${at}`;
  });
  await tap.try(`typing a name sets nothing off, on the ${name}`, async () => {
    await page.fill("#name", "");
    await page.locator("#name").pressSequentially("fkFK frozen keep");
    return (await page.inputValue("#name")) === "fkFK frozen keep"
      && !(await page.locator("#live.frozen").count()) ? "" : await page.inputValue("#name");
  });
  await tap.try(`stopped, the figures grey and say why, on the ${name}`, async () => {
    // Long enough that what was heard can be measured afterwards.
    await until(page, async () => {
      const state = await (await fetch("/live/state", { headers: { Accept: "application/json" } })).json();
      return state.position > 15 * 48_000;
    });
    await page.getByRole("button", { name: "Stop", exact: true }).click();
    await until(page, () => document.getElementById("speed").classList.contains("stale")
      && /The input was stopped/.test(document.getElementById("state").textContent));
    await until(page, () => /stopped/.test(document.getElementById("figure-over").textContent));
    await picture(page, `live-${name}-stopped`);
    const fresh = await page.locator(".gauge:not(.stale)").count();
    return fresh === 0 ? "" : `${fresh} figures still look new`;
  });
  await tap.try(`nothing went wrong behind the page, on the ${name}`, async () => page.wrongs.join("\n"));
}

// What was heard, kept through the page.
async function checkKeep(tap, page) {
  await tap.try("what was heard is measured and shown", async () => {
    await page.fill("#name", "Tone of the bench");
    await page.locator("#keep").click();
    await page.waitForURL(/\/result\//);
    return /Tone of the bench/.test(await page.locator("main").innerText()) ? "" : "its name is not on the sheet";
  });
}

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();
for (const [name, atFirst] of [["phone", "No input was started."], ["bench", "The input was stopped."]]) {
  const page = await openPage(browser, bench, screens[name]);
  await check(tap, page, name, atFirst);
  if (name === "bench") await checkKeep(tap, page);
  await page.context().close();
}
await tap.try("a bench that has gone is told", async () => {
  const page = await openPage(browser, bench, screens.phone);
  await page.goto("/live");
  await page.route("**/live/state*", (route) => route.abort());
  await until(page, () => /cannot be reached/.test(document.getElementById("state").textContent));
  return (await page.locator(".gauge:not(.stale)").count()) === 0 ? "" : "figures still look new";
});
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
