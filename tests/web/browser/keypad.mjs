// SPDX-License-Identifier: MIT
// The keypad for numbers: it comes by a touch and not by a mouse, types with the user's decimal mark and the field's
// units, covers nothing that is typed into, its keys are large, and what it typed is read and kept like anything else.
import { Tap, openBench, openBrowser, openPage, picture, screens, seriousFindings } from "./browser.mjs";

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();
const press = async (page, ...names) => {
  for (const name of names) await page.locator(".keypad").getByRole("button", { name, exact: true }).tap();
};
const LENGTH = "[name='arm.effective_length']", SPINDLE = "[name='arm.pivot_to_spindle']";

for (const [name, screen] of Object.entries(screens)) {
  const page = await openPage(browser, bench, { ...screen, hasTouch: true, locale: name === "tablet" ? "de-DE" : "en-GB" });
  const mark = name === "tablet" ? "," : ".";
  await page.goto("/measure/align");
  await tap.try(`a touch on a number brings the keypad on the ${name}`, async () => {
    await page.locator(SPINDLE).tap();
    await page.locator(".keypad").waitFor();
    const mode = await page.locator(SPINDLE).getAttribute("inputmode");
    return mode === "none" ? "" : mode;
  });
  await tap.try(`the field stands above it, and nothing sticks out (${name})`, async () => {
    const [box, pad] = [await page.locator(SPINDLE).boundingBox(), await page.locator(".keypad").boundingBox()];
    await picture(page, `keypad-${name}-light`, false);
    await page.emulateMedia({ colorScheme: "dark" });
    await picture(page, `keypad-${name}-dark`, false);
    const wrong = await seriousFindings(page);
    await page.emulateMedia({ colorScheme: "light" });
    return box.y >= 0 && box.y + box.height <= pad.y && pad.width <= screen.viewport.width ? wrong : `${JSON.stringify(box)} ${JSON.stringify(pad)}`;
  });
  await tap.try(`its keys are 48 px and more, 8 px apart (${name})`, async () => page.evaluate(() => {
    const boxes = [...document.querySelectorAll(".keypad button")].map((one) => [one.textContent, one.getBoundingClientRect()]);
    const small = boxes.filter(([, box]) => box.width < 47.5 || box.height < 47.5).map(([text]) => `${text} is small`);
    const near = boxes.flatMap(([a, one], i) => boxes.slice(i + 1).filter(([, two]) =>
      Math.max(two.left - one.right, one.left - two.right, two.top - one.bottom, one.top - two.bottom) < 7.5).map(([b]) => `${a} and ${b} are near`));
    return [...small, ...near].join("\n");
  }));
  await tap.try(`it types figures, the user's decimal mark and a unit (${name})`, async () => {
    await press(page, "2", "2", "3", "Erase", "2", mark, "0", "mm", "Next");
    await press(page, "9", mark, "4", "2", "in", "Done");
    await page.locator(".keypad").waitFor({ state: "detached" });
    const typed = [await page.locator(SPINDLE).inputValue(), await page.locator(LENGTH).inputValue()];
    return typed.join() === [`222${mark}0 mm`, `9${mark}42 in`].join() ? "" : typed.join(" and ");
  });
  await tap.try(`the bench reads it as it reads what is typed (${name})`, async () => {
    await page.locator("main form.measure button[type=submit], main form[enctype] button[type=submit]").first().click();
    await page.waitForURL(/\/result\//);
    return "";
  });
  await page.context().close();
}

const page = await openPage(browser, bench, { ...screens.tablet, hasTouch: true });
await tap.try("a sign turns, and turns back", async () => {
  await page.goto("/measure/azimuth");
  const tilt = page.getByLabel("Tilt set for a recording 1", { exact: true });
  await tilt.tap();
  await press(page, "1", "Plus or minus", "5");
  const first = await tilt.inputValue();
  await press(page, "Plus or minus");
  return first === "-15" && (await tilt.inputValue()) === "15" ? "" : first;
});
await tap.try("a mouse and a keyboard never meet it", async () => {
  await page.goto("/measure/align");
  await page.locator(SPINDLE).click();
  await page.keyboard.type("222");
  await page.keyboard.press("Tab");
  return (await page.locator(".keypad").count()) ? "it came" : "";
});
await tap.try("a keyboard types beside it, and Escape sends it away", async () => {
  await page.goto("/measure/align");
  await page.locator(SPINDLE).tap();
  await press(page, "2");
  await page.keyboard.type("14 mm");
  const shown = await page.locator(".keypad output").innerText();
  await page.keyboard.press("Escape");
  return shown === "214 mm" && (await page.locator(SPINDLE).inputValue()) === "214 mm" && !(await page.locator(".keypad").count()) ? "" : shown;
});
await tap.try("letters bring the device's own keyboard", async () => {
  await page.goto("/measure/align");
  await page.locator(SPINDLE).tap();
  await press(page, "Letters");
  const mode = await page.locator(SPINDLE).getAttribute("inputmode");
  return mode === "text" && !(await page.locator(".keypad").count()) ? "" : mode;
});
await tap.try("what it typed into a field that is kept at once is kept", async () => {
  await page.goto("/shop/settings?at=warranty");
  const days = page.getByLabel("Warranty in days");
  await days.tap();
  await press(page, "1", "2", "0", "Done");
  await page.locator("#word .told").getByText("Kept.").waitFor();
  await page.reload();
  return (await days.inputValue()) === "120" ? "" : await days.inputValue();
});
tap.say("no script failed", page.wrongs.join("\n"));

const plain = await openPage(browser, bench, { ...screens.phone, javaScriptEnabled: false });
await tap.try("without scripts the form works", async () => {
  await plain.goto("/measure/align");
  await plain.locator(SPINDLE).fill("222,0 mm");
  await plain.locator(LENGTH).fill("239.3 mm");
  await plain.locator("main form[enctype] button[type=submit]").first().click();
  return /\/result\//.test(plain.url()) ? "" : plain.url();
});

await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
