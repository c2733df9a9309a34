// SPDX-License-Identifier: MIT
// Nothing that was typed is lost: two devices at one entry, a bench that is started anew
// under an open page, a page that is loaded anew.
import { Tap, openBench, openBrowser, openPage, screens } from "./browser.mjs";

const JOB = "/job/0001?at=intake";
const program = process.argv[2];
const tap = new Tap();
const bench = await openBench(program);
const browser = await openBrowser();
const one = await openPage(browser, bench, screens.tablet), other = await openPage(browser, bench, screens.tablet);
const field = (page, name) => page.locator(`section#intake [name="${name}"]`).first();
const told = (page) => page.locator("#word .told"), wrong = (page) => page.locator("#word .wrong");
const change = async (page, name, text) => {
  await field(page, name).fill(text);
  await field(page, name).blur();
};
const stands = async (name) => {
  const page = await openPage(browser, bench);
  await page.goto(JOB);
  const value = await field(page, name).inputValue();
  await page.context().close();
  return value;
};

await tap.try("two devices that change different fields of one entry are both kept", async () => {
  await one.goto(JOB);
  await other.goto(JOB);
  await change(one, "place", "shelf 8");
  await told(one).getByText("Kept.").waitFor();
  await change(other, "fault", "hums on the left");
  await told(other).getByText("Kept.").waitFor();
  const both = [await stands("place"), await stands("fault")].join("; ");
  return both === "shelf 8; hums on the left" && !(await wrong(other).innerText()) ? "" : both;
});

await tap.try("of the same field both values are shown", async () => {
  await change(one, "place", "shelf 9");
  await told(one).getByText("Kept.").waitFor();
  await change(other, "place", "shelf 1");
  await wrong(other).getByText("changed by somebody else meanwhile").waitFor();
  const words = await wrong(other).innerText();
  return words.includes("“shelf 9” there") && words.includes("“shelf 1” here") && (await stands("place")) === "shelf 9" ? "" : words;
});

await tap.try("and mine can be kept", async () => {
  await wrong(other).getByRole("button", { name: "Keep mine" }).click();
  await told(other).getByText("Kept.").waitFor();
  const value = await stands("place");
  return value === "shelf 1" && !(await wrong(other).innerText()) ? "" : value;
});

await tap.try("or the other's taken", async () => {
  await change(one, "place", "far shelf");
  await wrong(one).getByText("changed by somebody else meanwhile").waitFor();
  await Promise.all([one.waitForEvent("load"), wrong(one).getByRole("button", { name: "Take the other" }).click()]);
  const value = await field(one, "place").inputValue();
  return value === "shelf 1" && (await stands("place")) === "shelf 1" ? "" : value;
});

await tap.try("a tick of the list can be undone", async () => {
  await one.locator("label.tick", { hasText: /^owner.s manual$/ }).locator("input[type=checkbox]").click();
  await told(one).getByRole("button", { name: /^Undo: added accessory/ }).waitFor();
  return "";
});

await tap.try("what was typed into a form stands after the page is loaded anew", async () => {
  await one.goto("/job/new");
  await one.getByLabel("Make").fill("Corvin");
  await one.locator("textarea[name=words]").fill("Es brummt, seit der Umzug war. Ω");
  await one.reload();
  const words = await one.locator("textarea[name=words]").inputValue();
  return words === "Es brummt, seit der Umzug war. Ω" && /stands again/.test(await told(one).innerText()) ? "" : words;
});

await tap.try("also in a form that has fields called as its own parts", async () => {
  await one.goto("/job/0001?at=findings");
  const form = one.locator('form[action="/record/verdict"]');
  for (const box of await one.locator("details", { has: form }).all()) await box.locator("summary").first().click();
  await form.locator("[name=action]").fill("watch it");
  await one.reload();
  const words = await form.locator("[name=action]").inputValue();
  await form.locator("[name=action]").fill("");
  await one.goto("/job/new");
  return words === "watch it" ? "" : words;
});

await tap.try("and is forgotten once the bench has taken it", async () => {
  await one.getByRole("button", { name: "Open the job" }).click();
  await one.waitForURL(/\/job\/\d+/);
  await one.goto("/job/new");
  const words = await one.locator("textarea[name=words]").inputValue();
  return words === "" ? "" : words;
});

await tap.try("after the bench was started anew an open page is sealed again and sends", async () => {
  await one.goto(JOB);
  await bench.leave();
  await bench.comeBack();
  await change(one, "place", "after the restart");
  await told(one).getByText("Kept.").waitFor();
  return (await stands("place")) === "after the restart" && !(await wrong(one).innerText()) ? "" : await wrong(one).innerText();
});

tap.say("no script failed", [...one.wrongs, ...other.wrongs].join("\n"));
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
