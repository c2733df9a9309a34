// SPDX-License-Identifier: MIT
// The job's page with its script: what is entered is kept at once, one change
// after another, and can be taken back; an older page is told so.
import { Tap, openBench, openBrowser, openPage, screens } from "./browser.mjs";

const JOB = "/job/0001?at=intake";
const word = (page) => page.locator("#word");
const place = (page) => page.locator('section#intake input[name="place"]');

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();
const page = await openPage(browser, bench, screens.tablet);
await page.goto(JOB);

await tap.try("a field is kept when it is left", async () => {
  await place(page).fill("shelf 7");
  await place(page).blur();
  await word(page).getByText("Kept.").waitFor();
  const anew = await openPage(browser, bench);
  await anew.goto(JOB);
  const stands = await place(anew).inputValue();
  await anew.context().close();
  return stands === "shelf 7" ? "" : `it is "${stands}"`;
});

await tap.try("several fields one right after the other are all kept", async () => {
  // Set as a quick hand would: the second before the bench has answered to the first.
  await page.evaluate(() => {
    for (const [name, value] of [["technician", "Mo"], ["screws_place", "tray 9"], ["fault", "hums"]]) {
      const field = document.querySelector(`section#intake [name="${name}"]`);
      field.value = value;
      field.dispatchEvent(new Event("change", { bubbles: true }));
    }
  });
  await page.evaluate(() => keeping);
  const anew = await openPage(browser, bench);
  await anew.goto(JOB);
  const stand = await anew.evaluate(() => ["technician", "screws_place", "fault"].map((name) => document.querySelector(`section#intake [name="${name}"]`).value).join());
  await anew.context().close();
  return stand === "Mo,tray 9,hums" ? "" : stand;
});

await tap.try("undo puts back what stood there", async () => {
  await place(page).fill("the wrong shelf");
  await place(page).blur();
  await Promise.all([page.waitForEvent("load"), word(page).getByRole("button", { name: "Undo" }).click()]);
  const stands = await place(page).inputValue();
  return stands === "shelf 7" ? "" : `it is "${stands}"`;
});

await tap.try("another device's older page is refused, and its text stays", async () => {
  const other = await openPage(browser, bench, screens.phone);
  await other.goto(JOB);
  await place(page).fill("shelf 8");
  await place(page).blur();
  await word(page).getByText("Kept.").waitFor();
  await place(other).fill("shelf 1");
  await place(other).blur();
  await word(other).getByText("changed by somebody else meanwhile").waitFor();
  const marked = await place(other).getAttribute("aria-invalid"), text = await place(other).inputValue();
  await other.context().close();
  return marked === "true" && text === "shelf 1" ? "" : `${marked} ${text}`;
});

await tap.try("a tick is kept, and taken away", async () => {
  const tick = () => page.locator('section#intake label.tick', { hasText: "cover" }).locator("input[type=checkbox]");
  if (!(await tick().count())) return "there is no list to tick";
  for (const ticked of [true, false]) {
    await page.goto(JOB);
    await tick().setChecked(ticked);
    await page.evaluate(() => keeping);
    await page.reload();
    if ((await tick().isChecked()) !== ticked) return ticked ? "it was not kept" : "it stays ticked";
  }
  return "";
});

await tap.try("a station leads to its part of the page, and is not hidden by the line", async () => {
  const phone = await openPage(browser, bench, screens.phone);
  await phone.goto(JOB);
  await phone.locator('nav.line a[href$="#findings"]').click();
  const [heading, line] = [await phone.locator("#findings-title").boundingBox(), await phone.locator("nav.line").boundingBox()];
  await phone.context().close();
  return heading.y >= line.y + line.height - 1 && heading.y < 844 ? "" : `heading at ${heading.y}, line to ${line.y + line.height}`;
});

tap.say("no script failed", page.wrongs.join("\n"));
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
