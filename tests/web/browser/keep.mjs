// SPDX-License-Identifier: MIT
// How a page keeps what is entered, in a real browser: once, whole, and with one
// place that says so. Nothing here is timed: each step waits for what it wants to see.
import { Tap, openBench, openBrowser, openPage, picture, screens } from "./browser.mjs";

const JOB = "/job/0001?at=intake", WORK = "/job/0001?at=work";
const tap = new Tap();
const bench = await openBench(process.argv[2]);
const browser = await openBrowser();
const page = await openPage(browser, bench, screens.tablet);
const place = page.locator('section#intake input[name="place"]');
const fault = page.locator('section#intake [name="fault"]');
const told = page.locator("#word .told"), wrong = page.locator("#word .wrong");

// What the page posted since it was asked last.
let posts = [];
page.on("request", (request) => { if (request.method() === "POST") posts.push(request); });
const posted = () => { const all = posts; posts = []; return all; };
// Until nothing is on its way any more.
const settled = () => page.evaluate(() => keeping);
// A field as the bench has it, read from the page anew without leaving the one that is open.
const stands = (path, selector) => page.evaluate(async ([path, selector]) => {
  const anew = new DOMParser().parseFromString(await (await fetch(path)).text(), "text/html");
  return anew.querySelector(selector).value;
}, [path, selector]);

async function enters(tap) {
  for (const [name, text] of [["a word", "shelf 4"], ["Greek", "ράφι 5"]])
    await tap.try(`Enter keeps a field once and stays: ${name}`, async () => {
      await page.goto(JOB);
      posted();
      await place.fill(text);
      await place.press("Enter");
      await told.getByText("Kept.").waitFor();
      await settled();
      const sent = posted().length, value = await stands(JOB, 'section#intake input[name="place"]');
      return sent === 1 && value === text && page.url().endsWith(JOB) && !(await wrong.innerText())
        ? "" : `${sent} posts, "${value}", ${page.url()}, ${await wrong.innerText()}`;
    });
  await tap.try("Enter in a field that was not changed sends nothing", async () => {
    posted();
    await place.press("Enter");
    await settled();
    return posted().length === 0 && page.url().endsWith(JOB) ? "" : page.url();
  });
  await tap.try("Enter on the page of an entry, and emptied by Enter", async () => {
    await place.fill("");
    await place.press("Enter");
    await told.getByText("Kept.").waitFor();
    await settled();
    return (await stands(JOB, 'section#intake input[name="place"]')) === "" ? "" : "it still stands";
  });
}

async function dates(tap) {
  const date = page.locator('main form[data-keep] input[type="date"]').first();
  await tap.try("a date typed key by key is kept once, when it is left", async () => {
    await page.goto(JOB);
    if (!(await date.count())) return "there is no date on the page";
    posted();
    const name = await date.getAttribute("name");
    await date.focus();
    await page.keyboard.type("02032036");
    const early = posted().length;
    await page.keyboard.press("Tab");
    while ((await page.evaluate((one) => document.activeElement.name === one, name))) await page.keyboard.press("Tab");
    await told.getByText("Kept.").waitFor();
    await settled();
    const sent = posted().length, value = await stands(JOB, `form[data-keep] input[name="${name}"]`);
    return early === 0 && sent === 1 && /^2036-0[23]-0[23]$/.test(value) ? "" : `${early} while typing, ${sent} after it, ${value}`;
  });
  await tap.try("a date that is not whole is not kept, and the page says so", async () => {
    const before = await date.inputValue();
    posted();
    await date.focus();
    await page.keyboard.press("Delete"); // the first of its parts alone
    await date.blur();
    await wrong.getByText("not whole").waitFor();
    await settled();
    const value = await stands(JOB, `form[data-keep] input[name="${await date.getAttribute("name")}"]`);
    return posted().length === 0 && value === before ? "" : `${value}, not ${before}`;
  });
  await tap.try("a date chosen without typing is kept at once", async () => {
    await page.goto(JOB);
    posted();
    await date.evaluate((field) => { field.value = "2036-04-05"; field.dispatchEvent(new Event("change", { bubbles: true })); });
    await told.getByText("Kept.").waitFor();
    return posted().length === 1 ? "" : "it was not sent once";
  });
}

async function largeOnes(tap) {
  await tap.try("a text of 100 kB is kept", async () => {
    await page.goto(JOB);
    const words = page.locator("form[data-keep] textarea:visible").first();
    const text = "Größe ω ж 盤 🎛️ ".repeat(4000);
    await words.fill(text);
    await words.blur();
    await told.getByText("Kept.").waitFor();
    const value = await stands(JOB, `form[data-keep] textarea[name="${await words.getAttribute("name")}"]`);
    return value.trim() === text.trim() && !(await wrong.innerText()) ? "" : `${value.length} of ${text.length}: ${await wrong.innerText()}`;
  });
  await tap.try("a signature of 26 loops is kept", async () => {
    await page.goto("/job/0001/sign?at=intake");
    const canvas = page.locator("#signature");
    await canvas.scrollIntoViewIfNeeded();
    const box = await canvas.boundingBox();
    const at = (t) => [box.x + box.width * (0.5 + 0.48 * Math.sin(t * 1.03) * Math.cos(t / 9)), box.y + box.height * (0.5 + 0.46 * Math.cos(t * 1.31))];
    await page.mouse.move(...at(0));
    await page.mouse.down();
    for (let t = 0; t < 26 * 2 * Math.PI; t += 0.25) await page.mouse.move(...at(t));
    await page.mouse.up();
    // A tablet has more pixels than this screen: as dense a drawing as one makes there.
    const bytes = await page.evaluate(async () => {
      const canvas = document.getElementById("signature"), pen = canvas.getContext("2d");
      for (let i = 0; i < 9000; i++) {
        pen.fillStyle = `rgb(${(i * 7919) % 256} ${(i * 104729) % 256} ${(i * 1299709) % 256})`;
        pen.fillRect((i * 31337) % canvas.width, (i * 271828) % canvas.height, 2, 2);
      }
      return (await new Promise((done) => canvas.toBlob(done, "image/png"))).size;
    });
    await picture(page, "sign-loops");
    await page.locator("#sign").getByRole("button", { name: /sign|keep/i }).last().click();
    await page.waitForURL(/\/papers/);
    return bytes > 64 * 1024 ? "" : `it is no test: ${bytes} bytes`;
  });
}

async function onePlace(tap) {
  await tap.try("news does not cover trouble, and trouble goes when its field is kept", async () => {
    await page.goto(JOB);
    await page.route("**/record/job/*", (route) => route.abort());
    await place.fill("nowhere");
    await place.blur();
    await wrong.getByText("was not reached").waitFor();
    await page.unroute("**/record/job/*");
    const other = page.locator("form[data-keep] textarea:visible").first();
    await other.fill("Another thing.");
    await other.blur();
    await told.getByText("Kept.").waitFor();
    await picture(page, "word-both", false);
    const both = await wrong.innerText();
    const [above, below] = [await wrong.boundingBox(), await told.boundingBox()];
    const apart = above.y + above.height <= below.y + 1;
    await place.press("Enter");
    await wrong.filter({ hasText: "reached" }).waitFor({ state: "detached" });
    await settled();
    const value = await stands(JOB, 'section#intake input[name="place"]');
    return /not reached/.test(both) && apart && value === "nowhere" ? "" : `${both}, apart ${apart}, "${value}"`;
  });
  await tap.try("what was refused says why, and not that it was not reached", async () => {
    await page.goto(JOB);
    const seen = [];
    for (const [status, contentType, body] of [[413, "text/plain", "Too much for one form."], [502, "text/html", "<h1>No</h1>"], [200, "text/html", "<h1>Enter</h1>"]]) {
      await page.route("**/record/job/*", (route) => route.fulfill({ status, contentType, body }));
      await place.fill(`try ${status}`);
      await place.blur();
      await settled();
      seen.push(await wrong.innerText());
      await page.unroute("**/record/job/*");
    }
    page.wrongs.length = 0; // of which one was a 502
    return /Too much for one form/.test(seen[0]) && seen.slice(1).every((one) => /refused/.test(one)) && !seen.some((one) => /not reached/.test(one))
      ? "" : seen.join(" | ");
  });
  await tap.try("a trouble that was seen goes", async () => {
    await wrong.getByRole("button", { name: "Seen" }).click();
    return (await wrong.innerText()) === "" ? "" : await wrong.innerText();
  });
}

async function undoes(tap) {
  await page.evaluate(() => sessionStorage.clear()); // what was refused above is given up
  await tap.try("what was added says so, and its undo names the act", async () => {
    await page.goto(JOB);
    const form = page.locator('form[action="/record/accessory"]').first();
    for (const box of await page.locator("details", { has: form }).all()) await box.locator("summary").first().click();
    await form.locator('[name="name"]').fill("Belt in a bag");
    await form.locator("button[type=submit]").last().click();
    await told.getByText("Added.").waitFor();
    await picture(page, "word-added", false);
    const words = await told.getByRole("button", { name: "Undo" }).innerText();
    return /^Undo: added accessory .*Belt in a bag/.test(words) && !page.url().includes("kept=") ? "" : `${words} ${page.url()}`;
  });
  await tap.try("trouble stands above it, and the undo takes back that act alone", async () => {
    await page.route("**/record/job/*", (route) => route.abort());
    await place.fill("far away");
    await place.blur();
    await wrong.getByText("was not reached").waitFor();
    await page.unroute("**/record/job/*");
    await picture(page, "word-added-and-trouble", false);
    await told.getByRole("button", { name: "Undo" }).click();
    await told.getByText("Undone.").waitFor();
    const text = await place.inputValue(), anew = await openPage(browser, bench);
    await anew.goto(JOB);
    const there = (await anew.content()).includes("Belt in a bag");
    await anew.context().close();
    return text === "far away" && !there ? "" : `the field says "${text}", the accessory ${there ? "is still there" : "is gone"}`;
  });
  await tap.try("undone once, loaded again nothing is offered", async () => {
    await page.goto(JOB);
    await place.fill("shelf 22");
    await place.press("Enter");
    const button = told.getByRole("button", { name: /^Undo: changed “Where it stands”/ });
    await Promise.all([page.waitForEvent("load"), button.click()]);
    await told.getByText("Undone.").waitFor();
    await page.reload();
    return (await told.innerText()) === "" ? "" : await told.innerText();
  });
}

async function taps(tap) {
  await tap.try("two taps on a form make one entry", async () => {
    await page.goto(WORK);
    const form = page.locator('form[action="/record/operation"]').first();
    const name = await form.locator('[name="summary"], [name="words"], [name="name"]').first().getAttribute("name");
    const token = await form.locator("[name=once]").inputValue();
    const answers = await page.evaluate(async ([field]) => {
      const form = document.querySelector('form[action="/record/operation"]');
      form.elements[field].value = "Tapped twice";
      const body = new URLSearchParams(new FormData(form));
      const tap = async () => (await fetch(form.action, { method: "POST", body, headers: { "Deckwright-Form-Token": bench.formToken } })).url;
      return Promise.all([tap(), tap(), tap()]);
    }, [name]);
    await page.goto(WORK);
    const entries = await page.locator("li", { hasText: "Tapped twice" }).count();
    return token && entries === 1 && new Set(answers).size === 1 ? "" : `${entries} entries, ${answers.join(" ")}`;
  });
}

// Readings that repeat are a list of lines that are added and removed; what is sent is each line.
async function lists(tap) {
  const list = page.locator(".field", { has: page.locator("textarea[name='force.reading']") }).locator(".lines");
  const sent = () => page.locator("textarea[name='force.reading']").evaluate((area) => area.value);
  await tap.try("a second reading has a line of its own", async () => {
    await page.goto("/measure/force");
    await list.locator("input").first().fill("1.54");
    await list.getByRole("button", { name: /^Add one/ }).click();
    await list.locator("input").nth(1).fill("1.51");
    await list.locator("input").nth(1).press("Enter");
    await page.keyboard.type("1.50");
    return await sent() === "1.54\n1.51\n1.50" && new URL(page.url()).pathname === "/measure/force" ? "" : await sent();
  });
  await tap.try("one is removed, the others stay", async () => {
    await list.getByRole("button", { name: /^Remove.* 2$/ }).click();
    return await sent() === "1.54\n1.50" && await list.locator("input").count() === 2 ? "" : await sent();
  });
  await tap.try("several typed into one line become several", async () => {
    await list.locator("input").nth(1).fill("1.50; 1.52 g; 1.49");
    await list.locator("input").nth(1).blur();
    return await sent() === "1.54\n1.50\n1.52 g\n1.49" && await list.locator("input").count() === 4 ? "" : await sent();
  });
  await tap.try("what is wrong is marked on its line", async () => {
    await list.locator("input").nth(2).fill("heavy");
    await list.locator("input").nth(2).blur();
    await list.locator("input[aria-invalid=true]").waitFor();
    const marked = await list.locator("input").evaluateAll((boxes) => boxes.map((box) => box.getAttribute("aria-invalid")));
    return marked.join() === "false,false,true,false" ? "" : marked.join();
  });
  await tap.try("each line has a name, and they are measured", async () => {
    const names = await list.locator("input").evaluateAll((boxes) => boxes.map((box) => box.getAttribute("aria-label")));
    await list.locator("input").nth(2).fill("1.52");
    await page.locator("main form button[type=submit]").last().click();
    await page.waitForURL("**/result/**");
    const text = await page.locator("main").innerText();
    return new Set(names).size === 4 && /1\.51\s*g/.test(text) ? "" : `${names} ${text.slice(0, 300)}`;
  });
}

// A field is read when it is left, which a press on a button does: what is said of it then must not
// move the button from under the finger.
async function presses(tap) {
  await tap.try("a button stays under the press while a field is read", async () => {
    await page.goto("/measure/force");
    const field = page.locator("input[data-check]").first(), button = page.locator("main button[type=submit]").last();
    await field.fill("7.5");
    await button.scrollIntoViewIfNeeded();
    const before = await button.boundingBox(), read = page.waitForEvent("requestfinished", (request) => request.url().endsWith("/check"));
    await page.mouse.move(before.x + before.width / 2, before.y + before.height / 2);
    await page.mouse.down();
    await read;
    await page.evaluate(() => fetch(location.href).then((answer) => answer.text())); // what was heard before it was dealt with
    const during = await button.boundingBox();
    const line = page.locator(`[id="${await field.getAttribute("id")}-wrong"]`);
    const said = await line.innerText();
    await page.mouse.move(1, 1);
    await page.mouse.up();
    await line.getByText("7.5").waitFor();
    return before.y === during.y && said === "" ? "" : `it moved by ${during.y - before.y} px: "${said}"`;
  });
  await tap.try("and while a field is kept", async () => {
    await page.goto(JOB);
    const button = page.locator("main .acts .button:visible").last();
    await place.fill("shelf 9");
    await button.scrollIntoViewIfNeeded();
    const before = await button.boundingBox();
    await page.mouse.move(before.x + before.width / 2, before.y + before.height / 2);
    await page.mouse.down();
    await settled();
    const during = await button.boundingBox(), said = await told.innerText();
    await page.mouse.move(1, 1);
    await page.mouse.up();
    await told.getByText("Kept.").waitFor();
    return before.y === during.y && said === "" ? "" : `it moved by ${during.y - before.y} px: "${said}"`;
  });
}

for (const act of [enters, dates, largeOnes, onePlace, undoes, taps, presses, lists]) await act(tap);
tap.say("no script failed", page.wrongs.join("\n"));
await browser.close();
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
