// SPDX-License-Identifier: MIT
// A whole job in a real browser, from intake to the report, as a person at the
// bench does it: on a desktop, then on a phone. By labels and names only.
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { Tap, openBench, openBrowser, openPage, picture, screens } from "./browser.mjs";

const program = process.argv[2];
const tap = new Tap();
const bench = await openBench(program);
const browser = await openBrowser();

// Invented recordings of one deck before and after its belt was changed.
const recording = (name, ...operands) => {
  const path = join(bench.folder, name);
  execFileSync(program, ["synth", path, "synth.length=20s", ...operands], { stdio: "ignore" });
  return path;
};
const before = recording("before.wav", "fault.speed_error=1.2%", "fault.wow=0.3%");
const after = recording("after.wav", "fault.speed_error=0.1%", "fault.wow=0.03%");

// What the page's own line says after a change was kept.
const kept = (page) => page.locator("#word").filter({ hasText: /Kept/ }).waitFor();

async function open(page, words) {
  const box = page.locator("details", { has: page.locator("summary", { hasText: words }) }).first();
  if ((await box.getAttribute("open")) === null) await box.locator("summary").first().click();
  return box;
}

async function measure(page, job, as, file, name) {
  await tap.try(`${name}: speed is measured ${as} and kept`, async () => {
    await page.goto(`${job}?at=as-${as}`);
    await page.getByRole("link", { name: `Measure as ${as}` }).click();
    await page.locator('a[href^="/measure/speed?"]').click();
    await page.locator("input[type=file]").first().setInputFiles(file);
    await page.getByLabel("Recorded tone", { exact: true }).fill("3150 Hz");
    await page.getByRole("button", { name: "Measure" }).click();
    const keep = page.locator("section.keep");
    await keep.waitFor();
    await picture(page, `sheet-${as}-${name}`);
    await keep.getByRole("button", { name: "Keep" }).click();
    await page.waitForURL(/\/sheet\/\d+/);
    await page.goto(`${job}?at=as-${as}`);
    const section = page.locator(`section[aria-labelledby="as-${as}-title"], #as-${as}`).first();
    return (await section.innerText()).match(/speed/i) ? "" : "the job does not show the sheet";
  });
}

async function wholeJob(name, screen) {
  const page = await openPage(browser, bench, { ...screen, reducedMotion: "reduce", acceptDownloads: true });
  let job = "";
  await tap.try(`${name}: a job is opened from the board`, async () => {
    await page.goto("/");
    await page.getByRole("link", { name: "New job" }).click();
    await page.getByLabel("Make").fill("Corvin");
    await page.getByLabel("Model").fill(`Bench ${name}`);
    await page.locator("[name=name]").fill(`Ada Quist of the ${name}`);
    await page.locator("textarea[name=words]").fill("It sounds like a music box under water.");
    await page.getByRole("button", { name: "Open the job" }).click();
    await page.waitForURL(/\/job\/\d+$/);
    job = new URL(page.url()).pathname;
    return "";
  });
  await tap.try(`${name}: a field is kept as it was changed, and undone`, async () => {
    await page.goto(`${job}?at=intake`);
    const fault = page.locator('[name="fault"]').first();
    await fault.fill("slow, wavers");
    await fault.blur();
    await kept(page);
    await page.reload();
    if ((await page.locator('[name="fault"]').first().inputValue()) !== "slow, wavers") return "it was not kept";
    await page.locator('[name="fault"]').first().fill("something else");
    await page.locator('[name="fault"]').first().blur();
    await kept(page);
    await Promise.all([page.waitForEvent("load"), page.locator("#word").getByText("Undo").click()]);
    await page.goto(`${job}?at=intake`);
    const value = await page.locator('[name="fault"]').first().inputValue();
    return value === "slow, wavers" ? "" : `it stands at "${value}"`;
  });
  await measure(page, job, "received", before, name);
  await tap.try(`${name}: a verdict is given`, async () => {
    await page.goto(`${job}?at=findings`);
    const box = await open(page, "Give a verdict");
    await box.getByLabel("Item").fill("Belt");
    await box.locator("select[name=grade]").selectOption({ label: "replace" });
    await box.getByRole("button", { name: "Add" }).click();
    await page.waitForLoadState("load");
    return (await page.content()).includes("Belt") ? "" : "it is not there";
  });
  await tap.try(`${name}: a photograph goes into the job`, async () => {
    const photo = { name: "deck.jpg", mimeType: "image/jpeg", buffer: await page.screenshot({ type: "jpeg" }) };
    await page.goto(`${job}/photos`);
    await page.locator("input[name=chosen]").setInputFiles(photo);
    const send = page.getByRole("button", { name: "Send" });
    if (await send.isVisible()) await send.click();
    await page.locator("main img").first().waitFor();
    await picture(page, `photos-${name}`);
    return "";
  });
  await tap.try(`${name}: the owner signs with a finger`, async () => {
    await page.goto(`${job}/sign?at=intake`);
    const canvas = page.locator("canvas").first();
    await canvas.scrollIntoViewIfNeeded();
    const box = await canvas.boundingBox();
    await page.mouse.move(box.x + 20, box.y + box.height / 2);
    await page.mouse.down();
    for (let i = 1; i <= 20; i += 1)
      await page.mouse.move(box.x + 20 + i * (box.width - 40) / 20, box.y + box.height * (0.5 + 0.3 * Math.sin(i)));
    await page.mouse.up();
    await picture(page, `sign-${name}`);
    await page.locator("#sign").getByRole("button", { name: /sign|keep/i }).last().click();
    await page.waitForURL(/\/papers/);
    return "";
  });
  await measure(page, job, "left", after, name);
  await tap.try(`${name}: the report opens as a PDF`, async () => {
    await page.goto(`${job}/papers`);
    const path = await page.locator('a[href*="/paper/service"]').first().getAttribute("href");
    const paper = await page.request.get(path);
    const head = (await paper.body()).subarray(0, 5).toString("latin1");
    return paper.headers()["content-type"] === "application/pdf" && head === "%PDF-" ? "" : `${paper.status()} ${head}`;
  });
  await tap.try(`${name}: the job is found by its owner's name`, async () => {
    await page.goto("/");
    await page.getByRole("searchbox").first().fill("Quist");
    await page.getByRole("button", { name: "Find" }).click();
    await page.waitForLoadState("load");
    await page.locator(`a[href="${job}"]`).first().click();
    await page.waitForURL(new RegExp(job));
    return "";
  });
  tap.say(`${name}: no request left the host, no script failed`, page.wrongs.join("\n"));
  await page.context().close();
}

async function keyboard() {
  const page = await openPage(browser, bench, screens.tablet);
  await tap.try("a keyboard alone goes past the rooms into the page", async () => {
    await page.goto("/");
    await page.keyboard.press("Tab");
    const first = await page.evaluate(() => document.activeElement.textContent);
    await page.keyboard.press("Enter");
    await page.keyboard.press("Tab");
    const inside = await page.evaluate(() => Boolean(document.activeElement.closest("main")));
    const outline = await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle);
    return first === "To the main part" && inside && outline !== "none" ? "" : `${first}, inside ${inside}, outline ${outline}`;
  });
  await tap.try("the bench's large type is larger, and stays", async () => {
    await page.goto("/shop");
    const size = () => page.evaluate(() => parseFloat(getComputedStyle(document.documentElement).fontSize));
    const usual = await size();
    await page.getByRole("button", { name: "Large type" }).click();
    await page.waitForLoadState("load");
    await page.goto("/");
    const large = await size();
    await picture(page, "board-large-type");
    return large > usual * 1.2 ? "" : `${usual} px, then ${large} px`;
  });
  await page.context().close();
}

await wholeJob("desktop", screens.bench);
await wholeJob("phone", screens.phone);
await keyboard();
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
