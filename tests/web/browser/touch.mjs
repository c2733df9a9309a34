// SPDX-License-Identifier: MIT
// Touching in photographs, in a real browser: what is missing is said, the line in the second picture runs through what is
// to be touched, and what is touched is measured. Truth comes from the pictures' own model, written apart.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { Tap, openBench, openBrowser, openPage, picture, screens, seriousFindings } from "./browser.mjs";

const JOB = "/job/0001";
const PLACES = { "touch.tip": "tip", "touch.cantilever_root": "cantilever.rear", "touch.cantilever_front": "cantilever.front",
  "touch.body_rear": "body.left.rear", "touch.body_front": "body.left.front" };
const tap = new Tap();
const bench = await openBench(process.argv[2]);
const renders = join(dirname(fileURLToPath(import.meta.url)), "..", "..", "sight", "touch_pictures.py");
let truth = null;
try {
  execFileSync("/usr/bin/python3", [renders, process.argv[2], bench.folder], { stdio: ["ignore", "ignore", "pipe"] });
  truth = JSON.parse(readFileSync(join(bench.folder, "truth.json"), "utf8"));
} catch (trouble) {
  console.log(`ok 1 - touching # SKIP the pictures cannot be drawn here: ${String(trouble.stderr ?? trouble).trim().split("\n").pop()}`);
}
const browser = truth && await openBrowser();

// Where pixel AT of the upright picture is on the screen, in the middle of it.
const onScreen = (page, index, at) => page.evaluate(([index, at]) => {
  const svg = document.querySelectorAll("svg.touch")[index], group = svg.querySelector("g");
  svg.scrollIntoView({ block: "center" });
  const place = new DOMPoint(at[0] + 0.5, at[1] + 0.5).matrixTransform(group.getScreenCTM());
  return { x: place.x, y: place.y };
}, [index, at]);

async function touch(page, key, index, at) {
  await page.locator(`input[name=place][value="${key}"]`).check();
  const place = await onScreen(page, index, at);
  await page.mouse.click(place.x, place.y);
}

// How far the line in picture INDEX passes beside pixel AT.
const besideLine = (page, index, at) => page.evaluate(([index, at]) => {
  const line = document.querySelectorAll("svg.touch")[index].querySelector("polyline.must");
  if (!line) return NaN;
  const points = line.getAttribute("points").split(" ").map((one) => one.split(",").map(Number));
  let least = Infinity;
  for (let i = 1; i < points.length; i++) {
    const [[ax, ay], [bx, by]] = [points[i - 1], points[i]], x = bx - ax, y = by - ay;
    const share = Math.min(1, Math.max(0, ((at[0] + 0.5 - ax) * x + (at[1] + 0.5 - ay) * y) / (x * x + y * y)));
    least = Math.min(least, Math.hypot(at[0] + 0.5 - ax - share * x, at[1] + 0.5 - ay - share * y));
  }
  return least;
}, [index, at]);

async function sends(page) {
  await page.goto(`${JOB}/photos`);
  const before = await page.locator("ol.photos li").count();
  await page.locator("input[name=chosen]").setInputFiles(truth.files);
  await page.locator("ol.photos li").nth(before + 1).waitFor();
}

// The two that were sent, by the order they have on the job.
async function ids(page) {
  await page.goto(`${JOB}/photos`);
  const all = await page.locator("ol.photos a").evaluateAll((links) => links.map((link) => link.getAttribute("href").split("/").pop()));
  return all.slice(-2);
}

async function walk(name, screen) {
  const page = await openPage(browser, bench, screen);
  if (name === "tablet") await tap.try("two photographs go into the job", async () => { await sends(page); return ""; });
  const [one, two] = await ids(page);
  await tap.try(`${name}: one photograph alone wants a second`, async () => {
    await page.goto(`${JOB}/touch?one=${one}`);
    const said = await page.locator("main").innerText();
    return /of 8 marks are seen/.test(said) && /second picture/.test(said) && !(await page.locator("svg.touch").count()) ? "" : said;
  });
  await tap.try(`${name}: the same one twice is one`, async () => {
    await page.goto(`${JOB}/touch?one=${one}&two=${one}`);
    return (await page.locator("svg.touch").count()) === 0 ? "" : "two boards";
  });
  await tap.try(`${name}: the line in the second picture runs through the tip`, async () => {
    await page.goto(`${JOB}/touch?one=${one}&two=${two}&as=received`);
    await page.evaluate(() => Promise.all([...document.querySelectorAll("svg.touch image")].map((image) => image.decode?.())));
    await touch(page, "touch.tip", 0, truth.exact[0].tip);
    const beside = await besideLine(page, 1, truth.exact[1].tip);
    await picture(page, `touch-line-${name}`);
    return beside < 3 + 4 * (await page.evaluate(() => 2400 / document.querySelector("svg.touch").getBoundingClientRect().width)) / 2 ? "" : `${beside} px`;
  });
  await tap.try(`${name}: a touch far beside its line is doubted`, async () => {
    const [x, y] = truth.exact[1].tip;
    await touch(page, "touch.tip", 1, [x + 150, y + 150]);
    const told = await page.locator(".beside").nth(1).innerText();
    await page.locator("svg.touch").nth(1).press("Backspace");
    return /beside its line/.test(told) ? "" : `"${told}"`;
  });
  await tap.try(`${name}: what is touched is measured`, async () => {
    for (const [key, place] of Object.entries(PLACES))
      for (const index of [0, 1]) {
        await touch(page, key, index, truth.exact[index][place]);
        await page.locator("svg.touch").nth(index).press("Alt+ArrowLeft");
        await page.locator("svg.touch").nth(index).press("Alt+ArrowRight");
      }
    await picture(page, `touch-all-${name}`);
    await page.locator("#touching form button[type=submit]").click();
    await page.getByText("Cantilever against the body").first().waitFor();
    await picture(page, `touch-sheet-${name}`);
    const said = await page.locator("main").innerText();
    const found = said.match(/Cantilever against the body[^0-9−-]*([−-]?[0-9.]+)/), wanted = truth["cantilever against body"];
    const told = found && Number(found[1].replace("−", "-"));
    return found && Math.abs(told - wanted) < 1 ? "" : `${told} for ${wanted}: ${said.slice(0, 600)}`;
  });
  await tap.try(`${name}: nothing serious by axe-core, no error of the script`, async () => {
    await page.goto(`${JOB}/touch?one=${one}&two=${two}`);
    return [await seriousFindings(page), ...page.wrongs].filter(Boolean).join("\n");
  });
  await page.context().close();
}

if (truth) {
  await walk("tablet", screens.tablet);
  await walk("phone", screens.phone);
  await browser.close();
}
await bench.end();
if (truth) tap.end();
else console.log("1..1");
