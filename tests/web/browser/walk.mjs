// SPDX-License-Identifier: MIT
// A whole job from the owner at the counter to the hand-over, as one who knows the bench
// goes: each touch and each field that is typed is counted, and nothing that the job knows
// is asked again.
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { Tap, openBench, openBrowser, openPage, picture, screens } from "./browser.mjs";

const MOST_CLICKS = 45, MOST_TYPED = 20;
const program = process.argv[2];
const tap = new Tap();
const bench = await openBench(program);
const browser = await openBrowser();
const page = await openPage(browser, bench, { ...screens.bench, reducedMotion: "reduce" });
let clicks = 0, typed = 0;

const recording = (name, ...operands) => {
  const path = join(bench.folder, name);
  execFileSync(program, ["synth", path, "synth.length=20s", ...operands], { stdio: "ignore" });
  return path;
};
const before = recording("before.wav", "fault.speed_error=1.2%", "fault.wow=0.3%");
const after = recording("after.wav", "fault.speed_error=0.1%", "fault.wow=0.03%");

// One touch, of something that leads to a page or not.
async function touch(place) {
  clicks += 1;
  await place.click();
  await page.waitForLoadState("load");
}
async function type(place, text) {
  typed += 1;
  await place.fill(text);
}
async function choose(place, label) {
  clicks += 1;
  await place.selectOption({ label });
}
const now = () => page.locator("section.now");
const press = (words) => touch(now().getByRole("button", { name: words }).or(now().getByRole("link", { name: words })).first());
const move = async (words) => {
  const button = page.locator(".proposal button");
  if (!(await button.innerText()).includes(words)) throw new Error(`it proposes ${await button.innerText()}, not ${words}`);
  await touch(button);
};
const says = async (words) => {
  const title = await page.locator("#now-title").innerText();
  if (!title.includes(words)) throw new Error(`what to do now is "${title}", not "${words}"`);
};

await tap.try("the deck comes in", async () => {
  await page.goto("/");
  await touch(page.getByRole("link", { name: "New job" }));
  await type(page.getByLabel("Make"), "Corvin");
  await type(page.getByLabel("Model"), "Studio 2");
  await type(page.locator("[name=name]"), "Ada Quist");
  await type(page.getByLabel("Telephone"), "0555 0142");
  await type(page.locator("textarea[name=words]"), "It sounds like a music box under water.");
  await touch(page.getByRole("button", { name: "Open the job" }));
  await says("tick what came with it");
  for (const name of ["cover", "mat", "cartridge"]) await touch(page.locator("label.tick", { hasText: new RegExp(`^${name}$`) }));
  await page.evaluate(() => keeping);
  await page.reload();
  await says("have the owner agree");
  await press("The list is correct");
  await says("safe to use");
  return "";
});

await tap.try("it is safe, and measured as received", async () => {
  const form = page.locator('section#safety form[action="/record/verdict"]');
  await choose(form.locator("[name=grade]"), "good");
  await type(form.locator("[name=evidence]"), "240 MOhm to earth");
  await touch(form.getByRole("button", { name: "Give the verdict" }));
  await says("measure as received");
  await press("From a recording");
  clicks += 1;
  await page.locator("input[type=file]").first().setInputFiles(before);
  await type(page.getByLabel("Recorded tone", { exact: true }), "3150 Hz");
  await type(page.getByLabel("Test record", { exact: true }), "Quay test record, copy 2");
  if (!(await page.locator('[name="chain.name"]').inputValue())) await type(page.locator('[name="chain.name"]'), "Bench");
  await touch(page.getByRole("button", { name: "Measure" }));
  await page.waitForURL(/\/result\//);
  await touch(page.locator("section.keep").getByRole("button", { name: "Keep" }));
  await page.waitForURL(/\/sheet\//);
  await touch(page.getByRole("link", { name: "To the job" }));
  await says("find what is wrong");
  return "";
});

await tap.try("what is wrong, what it costs, and the owner's answer", async () => {
  const findings = page.locator("section#findings");
  await touch(findings.locator("summary", { hasText: "Add a finding" }));
  await type(findings.locator('form[action="/record/finding"] [name=symptom]'), "warbles");
  await type(findings.locator('form[action="/record/finding"] [name=cause]'), "belt stretched");
  await choose(findings.locator('form[action="/record/finding"] [name=confirmed]'), "confirmed");
  await touch(findings.locator('form[action="/record/finding"]').getByRole("button", { name: "Add" }));
  await says("make an estimate");
  await press("Start an estimate");
  const lines = page.locator("section#estimate");
  await touch(lines.locator("summary", { hasText: "Add a line" }));
  const line = lines.locator('form[action="/record/estimate_line"]');
  await type(line.locator("[name=name]"), "Fit a belt, clean its path");
  await type(line.locator("[name=minutes]"), "60");
  await type(line.locator("[name=price]"), "60");
  await touch(line.getByRole("button", { name: "Add" }));
  await press("Give it out");
  await press("Write down the answer");
  await choose(page.locator("#answer [name=how]"), "telephone");
  await touch(page.locator("#answer").getByRole("button", { name: "Write it down" }));
  await move("on the bench");
  return "";
});

await tap.try("the work, and how it is set", async () => {
  await says("note the work");
  await press("Put the agreed work on the bench");
  await says("do the work");
  await press("Done now");
  await says("set it up");
  await press("Set up, step by step");
  const belt = page.locator('[id="setup.drive"]');
  await touch(belt.locator("summary"));
  await type(belt.locator("[name=value]"), "new belt");
  await touch(belt.getByRole("button", { name: "Keep" }));
  await touch(page.locator(".job-line a"));
  return "";
});

await tap.try("as left the same way, asked for nothing that is known", async () => {
  await says("measure as left, the same way");
  await press("The same way");
  clicks += 1;
  await page.locator("input[type=file]").first().setInputFiles(after);
  const known = await page.evaluate(() => ["record.tone", "record.name", "chain.name"].map((name) => document.querySelector(`[name="${name}"]`).value).join(", "));
  if (!/^3150(\.0)?, Quay test record, copy 2, \w/.test(known)) return known;
  await picture(page, "as-left-the-same-way");
  await touch(page.getByRole("button", { name: "Measure" }));
  await page.waitForURL(/\/result\//);
  const comparable = await page.getByText("It can be compared with what was measured as received").count();
  await touch(page.locator("section.keep").getByRole("button", { name: "Keep" }));
  await page.waitForURL(/\/sheet\//);
  await touch(page.getByRole("link", { name: "To the job" }));
  return comparable ? "" : "nothing says that the two can be compared";
});

await tap.try("billed, paid, signed and handed over", async () => {
  await says("write the invoice");
  await press("Start it");
  await press("Issue it");
  await move("ready");
  await press("It is paid");
  await press("Show and sign");
  await type(page.getByLabel("Or type the name as a signature"), "Ada Quist");
  await touch(page.locator("#sign").getByRole("button", { name: "Sign", exact: true }));
  await page.waitForURL(/\/papers/);
  await touch(page.locator(".job-line a"));
  await move("handed over");
  await says("done and gone");
  return "";
});

console.log(`# ${clicks} clicks, ${typed} typed fields from intake to hand-over`);
tap.say(`a whole job is at most ${MOST_CLICKS} clicks`, clicks <= MOST_CLICKS ? "" : `${clicks} clicks`);
tap.say(`and at most ${MOST_TYPED} typed fields`, typed <= MOST_TYPED ? "" : `${typed} fields`);
tap.say("no request left the host, no script failed", page.wrongs.join("\n"));
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
