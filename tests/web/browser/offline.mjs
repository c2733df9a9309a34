// SPDX-License-Identifier: MIT
// The app where the bench is not reached: it says so in its own words, keeps nothing of the book, what was typed stands
// again, and it goes on when the bench is there.
// Reference: W3C, Service Workers, working draft of 2022, as Chromium has them.
import { Tap, openBench, openBrowser, openPage, picture, screens, seriousFindings } from "./browser.mjs";

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();

for (const [name, screen] of Object.entries(screens)) {
  const page = await openPage(browser, bench, { ...screen, serviceWorkers: "allow" });
  await page.goto("/");
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.goto("/job/0007");
  await page.goto("/book/customer");
  await tap.try(`nothing of the book is kept on the ${name}`, async () => {
    const kept = await page.evaluate(async () => {
      const all = [];
      for (const shelf of await caches.keys())
        for (const one of await (await caches.open(shelf)).keys()) all.push(new URL(one.url).pathname);
      return all;
    });
    return kept.length > 2 && kept.every((path) => path === "/offline" || path.startsWith("/look/")) ? "" : kept.join(" ");
  });
  await tap.try(`without the bench the ${name} says so`, async () => {
    await bench.leave();
    await page.goto("/job/0010");
    const words = await page.locator("main").innerText();
    const lead = await page.locator("h1").evaluate((one) => Number.parseFloat(getComputedStyle(one).fontSize));
    await picture(page, `offline-${name}-light`, false);
    await page.emulateMedia({ colorScheme: "dark" });
    await picture(page, `offline-${name}-dark`, false);
    const wrong = await seriousFindings(page);
    return /The bench is not reached/.test(words) && /Nothing is kept meanwhile/.test(words) && lead > 20 ? wrong : `${lead} ${words}`;
  });
  await tap.try(`and goes on where it was (${name})`, async () => {
    await bench.comeBack();
    await page.locator("#offline").getByText("The bench is there again").waitFor();
    await page.getByRole("link", { name: "Try again" }).click();
    await page.locator("h1").getByText("0010").waitFor();
    return page.url().endsWith("/job/0010") ? "" : page.url();
  });
  await page.context().close();
}

await tap.try("what was sent while the bench was away stands in its form again", async () => {
  const page = await openPage(browser, bench, { ...screens.tablet, serviceWorkers: "allow" });
  await page.goto("/job/new");
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.goto("/job/new");
  await page.locator("main [name=model]").fill("Kestrel 40");
  await bench.leave();
  await page.locator("main form[method=post] button[type=submit]").last().click();
  await page.locator("h1").getByText("The bench is not reached").waitFor();
  await bench.comeBack();
  await page.goto("/job/new");
  const typed = await page.locator("main [name=model]").inputValue();
  await page.context().close();
  return typed === "Kestrel 40" ? "" : `'${typed}'`;
});

await tap.try("the manifest names the app, its start and a mark of any size", async () => {
  const page = await openPage(browser, bench, { serviceWorkers: "allow" });
  await page.goto("/");
  const manifest = await (await page.request.get(await page.locator("link[rel=manifest]").getAttribute("href"))).json();
  const mark = await page.request.get(manifest.icons[0].src);
  await page.context().close();
  return manifest.start_url === "/" && manifest.display === "standalone" && mark.ok() && manifest.icons[0].sizes === "any" ? "" : JSON.stringify(manifest);
});

await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
