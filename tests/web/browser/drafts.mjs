// SPDX-License-Identifier: MIT
// What was typed is never lost, in each browser: half typed, the page loaded anew, the bench away and there again, sent
// into nothing, refused. It stands again and says that it is not kept, is sent once, and is gone when the bench has taken it.
// Common practice, no source.
import { Tap, openBench } from "./browser.mjs";
import { eachBrowser } from "./drivers.mjs";

const tap = new Tap();
const bench = await openBench(process.argv[2]);
const JOB = "/job/0001?at=intake", PLACE = "section#intake [name=place]", WORDS = "main textarea[name=words]";
const pause = (milliseconds) => new Promise((go) => setTimeout(go, milliseconds));

// What RUN gives once it is something; a page that is being left answers nothing.
async function seen(browser, run) {
  for (;;) {
    const said = await browser.run(run).catch(() => null);
    if (said) return said;
    await pause(100);
  }
}
const value = (browser, where) => seen(browser, `() => { const field = document.querySelector(${JSON.stringify(where)}); return document.readyState === "complete" && field && "=" + field.value; }`).then((said) => said.slice(1));
const told = (browser) => browser.run(`() => document.querySelector("#word").innerText`);
// As a hand does it: into the field, key by key.
async function types(browser, where, text) {
  await seen(browser, `() => { const field = document.querySelector(${JSON.stringify(where)}); for (let box = field?.closest("details"); box; box = box.parentElement.closest("details")) box.open = true; field?.focus(); return document.activeElement === field; }`);
  await browser.type(text);
}
// The page anew, which is there once the mark of the old one is not.
async function anew(browser, path) {
  await browser.run(`() => { window.left = true; return 1; }`).catch(() => null);
  await browser.go(path).catch(() => null);
  await seen(browser, `() => !window.left && document.readyState === "complete" && document.querySelector("#word, #offline") && 1`);
}
// A form that is sent into nothing: the page is there until the browser has found that nobody answers.
async function left(browser) {
  while (await browser.run(`() => document.querySelector("main form[method=post]") && 1`).catch(() => null)) await pause(100);
  await pause(1500);
}
const press = (browser, where) => browser.run(`() => { document.querySelector(${JSON.stringify(where)}).click(); return 1; }`);
const count = async (what) => Number((await (await fetch(`${bench.url}/find?words=${what}`)).text()).match(/<li>/g)?.length ?? 0);

async function wholeForms(name, browser) {
  const model = `Heron${name}`;
  await tap.try(`${name}: half typed, the page loaded anew`, async () => {
    await anew(browser, "/job/new");
    await types(browser, WORDS, "Es brummt ä");
    await anew(browser, "/job/new");
    const stands = await value(browser, WORDS), said = await told(browser);
    return stands === "Es brummt ä" && /not kept yet/.test(said) ? "" : `"${stands}" "${said}"`;
  });
  await tap.try(`${name}: and the bench started anew meanwhile`, async () => {
    await bench.leave();
    await browser.go("/job/new").catch(() => null);
    await bench.comeBack();
    await anew(browser, "/job/new");
    const stands = await value(browser, WORDS);
    return stands === "Es brummt ä" ? "" : `"${stands}"`;
  });
  await tap.try(`${name}: sent while the bench is away`, async () => {
    await types(browser, "main [name=model]", model);
    await bench.leave();
    await press(browser, "main form[method=post] button[type=submit]");
    await left(browser);
    await bench.comeBack();
    for (const time of [1, 2]) {
      await anew(browser, "/job/new");
      const stands = [await value(browser, WORDS), await value(browser, "main [name=model]")].join();
      if (stands !== `Es brummt ä,${model}`) return `${time}: ${stands}`;
    }
    return (await count(model)) === 0 ? "" : "there is a job";
  });
  await tap.try(`${name}: sent once, and gone`, async () => {
    await press(browser, "main form[method=post] button[type=submit]");
    await seen(browser, `() => /^\\/job\\/\\d+/.test(location.pathname) && document.readyState === "complete"`);
    await anew(browser, "/job/new");
    const stands = await value(browser, WORDS), said = await told(browser), left = await browser.run(`() => Object.keys(sessionStorage).filter((one) => one.startsWith("draft ")).join()`);
    const found = await count(model);
    return stands === "" && !/not kept/.test(said) && left === "" && found === 1 ? "" : `"${stands}" "${said}" ${left} ${found} found`;
  });
  await tap.try(`${name}: refused, put right where it is asked again, and gone`, async () => {
    const WORK = "/job/0001?at=work", form = 'form[action="/record/operation"]';
    await anew(browser, WORK);
    await types(browser, `${form} [name=name]`, `Felt ${name}`);
    await types(browser, `${form} [name=quoted_minutes]`, "soon");
    await press(browser, `${form} button[type=submit]`);
    await seen(browser, `() => /put it right/i.test(document.body.innerText)`);
    await anew(browser, WORK);
    const stands = await value(browser, `${form} [name=name]`), said = await told(browser);
    if (stands !== `Felt ${name}` || !/not kept yet/.test(said)) return `"${stands}" "${said}"`;
    await press(browser, `${form} button[type=submit]`);
    await seen(browser, `() => /put it right/i.test(document.body.innerText)`);
    await browser.run(`() => { document.querySelector("main [name=quoted_minutes]").value = "15"; return 1; }`);
    await press(browser, "main form button[type=submit]");
    await seen(browser, `() => location.pathname === "/job/0001" && document.readyState === "complete"`);
    await anew(browser, WORK);
    const after = await value(browser, `${form} [name=name]`), words = await told(browser);
    return after === "" && !/not kept/.test(words) ? "" : `"${after}" "${words}"`;
  });
}

async function fields(name, browser) {
  await tap.try(`${name}: a field of a job, half typed while the bench is away`, async () => {
    await anew(browser, JOB);
    await browser.run(`() => { document.querySelector("${PLACE}").value = ""; return 1; }`);
    await bench.leave();
    await types(browser, PLACE, `under ${name}`);
    await browser.go(JOB).catch(() => null);
    await pause(1000);
    await bench.comeBack();
    await anew(browser, JOB);
    const stands = await value(browser, PLACE), said = await told(browser);
    return stands === `under ${name}` && /not kept yet/.test(said) ? "" : `"${stands}" "${said}"`;
  });
  await tap.try(`${name}: it is kept by one tap, once, and says so no more`, async () => {
    const before = await revision();
    await browser.run(`() => { [...document.querySelectorAll("#word .wrong button")].find((one) => one.textContent === "Keep").click(); return 1; }`);
    await seen(browser, `() => /Kept/.test(document.querySelector("#word .told").innerText) && !/not kept/.test(document.querySelector("#word").innerText)`);
    await anew(browser, JOB);
    const stands = await value(browser, PLACE), said = await told(browser), made = (await revision()) - before;
    return stands === `under ${name}` && !/not kept/.test(said) && made === 1 ? "" : `"${stands}" "${said}" ${made} revisions`;
  });
  await tap.try(`${name}: half typed with the bench there, it is kept with the page's last breath, once`, async () => {
    const before = await revision();
    await types(browser, PLACE, "z");
    await anew(browser, JOB);
    while ((await revision()) === before) await pause(100);
    await anew(browser, JOB);
    const stands = await value(browser, PLACE), said = await told(browser), made = (await revision()) - before;
    return /z/.test(stands) && !/not kept/.test(said) && made === 1 ? "" : `"${stands}" "${said}" ${made} revisions`;
  });
  await tap.try(`${name}: kept as the page is left and loaded anew at once, it is shown and not said to be lost`, async () => {
    const wrong = [];
    for (let time = 0; time < 3; time++) {
      await anew(browser, JOB);
      await browser.run(`() => { const field = document.querySelector("${PLACE}"); window.left = true; field.value = "shelf ${time} ${name}"; field.dispatchEvent(new Event("input", { bubbles: true })); field.dispatchEvent(new Event("change", { bubbles: true })); location.reload(); return 1; }`).catch(() => null);
      await seen(browser, `() => !window.left && document.readyState === "complete" && 1`);
      let stands, there, said, kept = false;
      for (let look = 0; look < 900 && !kept; look++) { // on a busy machine it comes late: the page looks for it for a minute
        await pause(100);
        stands = await value(browser, PLACE), there = await placeThere(), said = await told(browser);
        kept = stands === `shelf ${time} ${name}` && there === stands && !/not kept/.test(said);
        if (stands !== `shelf ${time} ${name}`) break;
      }
      if (!kept) wrong.push(`"${stands}" "${there}" "${said}"`);
    }
    return wrong.join("; ");
  });
  await tap.try(`${name}: what another wrote meanwhile is not overwritten unasked`, async () => {
    await bench.leave();
    await types(browser, PLACE, "mine");
    await browser.go(JOB).catch(() => null);
    await bench.comeBack();
    await another(`theirs ${name}`);
    await anew(browser, JOB);
    const stands = await value(browser, PLACE);
    await browser.run(`() => { [...document.querySelectorAll("#word .wrong button")].find((one) => one.textContent === "Keep").click(); return 1; }`);
    const said = await seen(browser, `() => { const words = document.querySelector("#word .wrong").innerText; return /somebody else/.test(words) && words; }`);
    const there = await placeThere();
    await browser.run(`() => { [...document.querySelectorAll("#word .wrong button")].find((one) => one.textContent === "Take the other").click(); return 1; }`);
    await pause(500);
    await anew(browser, JOB);
    const after = await value(browser, PLACE), words = await told(browser);
    return /mine/.test(stands) && there === `theirs ${name}` && after === there && !/not kept/.test(words) ? "" : `"${stands}" "${said}" "${there}" "${after}" "${words}"`;
  });
}

// The job's page as another device reads it.
const page = async () => (await fetch(`${bench.url}${JOB}`)).text();
const formOf = (text) => text.split("<form").find((one) => /name="place"/.test(one));
const revision = async () => Number(formOf(await page()).match(/name="revision" value="(\d+)"/)[1]);
const placeThere = async () => formOf(await page()).match(/name="place"[^>]*value="([^"]*)"/)?.[1] ?? formOf(await page()).match(/value="([^"]*)"[^>]*name="place"/)?.[1];
async function another(text) {
  const answer = await fetch(`${bench.url}${JOB}`), html = await answer.text(), cookie = answer.headers.getSetCookie().map((one) => one.split(";")[0]).join("; ");
  const token = html.match(/name="form-token" content="([0-9a-f]+)"/)[1], action = formOf(html).match(/action="([^"]+)"/)[1];
  await fetch(bench.url + action, { method: "POST", headers: { cookie, Accept: "application/json" }, body: new URLSearchParams({ form_token: token, place: text }) });
}

for await (const [name, browser] of eachBrowser(tap, bench)) {
  await wholeForms(name, browser);
  await fields(name, browser);
}
tap.say("the bench ends cleanly", (await bench.end()) === 0 ? "" : "it did not");
tap.end();
