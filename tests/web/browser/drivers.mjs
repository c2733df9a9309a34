// SPDX-License-Identifier: MIT
// Each browser in the same few words: Chromium by its library, and two that are spoken to without one: Firefox by
// WebDriver BiDi, WebKitGTK by WebDriver. Each gives go(path), run(script), press(x, y) of the window and type(text);
// beside(path) opens it in a second tab, and gives what runs a script there.
// Reference: W3C, WebDriver BiDi (2024) and WebDriver (2018).
import { spawn } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { PATIENCE, openBrowser, openPage } from "./browser.mjs";

const { ws: WebSocket } = createRequire(import.meta.url)("./node_modules/playwright-core/lib/utilsBundle.js");
const found = (name) => (process.env.PATH ?? "").split(delimiter).map((folder) => join(folder, name)).find((path) => existsSync(path));
const sleep = (milliseconds) => new Promise((go) => setTimeout(go, milliseconds));

// What PATTERN finds in what CHILD says.
function said(child, pattern) {
  return new Promise((resolve, reject) => {
    let text = "";
    for (const stream of [child.stdout, child.stderr])
      stream.on("data", (part) => {
        text += part;
        const hit = text.match(pattern);
        if (hit) resolve(hit);
      });
    child.on("exit", () => reject(new Error(`it ended: ${text.slice(0, 400)}`)));
  });
}

const tap = (x, y) => [{ type: "pointer", id: "finger", parameters: { pointerType: "mouse" }, actions: [
  { type: "pointerMove", x: Math.round(x), y: Math.round(y), duration: 0 }, { type: "pointerDown", button: 0 },
  { type: "pause", duration: 50 }, { type: "pointerUp", button: 0 }] }];

// Keys that are no letters.
// Reference: W3C, WebDriver (2018), 17.4.2 keyboard actions.
export const TAB = "\uE004", ENTER = "\uE007", RIGHT = "\uE014";
const NAMED = { [TAB]: "Tab", [ENTER]: "Enter" };
const keys = (text) => [{ type: "key", id: "keys", actions: [...text].flatMap((value) => [{ type: "keyDown", value }, { type: "keyUp", value }]) }];

async function openChromium(url) {
  if (!existsSync(process.env.DECKWRIGHT_CHROMIUM ?? "/usr/bin/chromium")) return null;
  const browser = await openBrowser(), page = await openPage(browser, { url }, { viewport: { width: 1280, height: 800 } });
  return {
    name: "Chromium",
    go: (path) => page.goto(path),
    run: (script) => page.evaluate(`(${script})()`),
    press: async (x, y) => {
      await page.mouse.move(x, y);
      await page.mouse.down();
      await page.mouse.up();
    },
    type: async (text) => { for (const key of text) await (NAMED[key] ? page.keyboard.press(NAMED[key]) : page.keyboard.type(key)); },
    beside: async (path) => {
      const second = await page.context().newPage();
      await second.goto(path);
      return (script) => second.evaluate(`(${script})()`);
    },
    end: () => browser.close(),
  };
}

async function openFirefox(url) {
  const program = found("firefox-esr") ?? found("firefox");
  if (!program) return null;
  const folder = mkdtempSync(join(tmpdir(), "deckwright-firefox-"));
  writeFileSync(join(folder, "user.js"), ["app.normandy.enabled", "datareporting.healthreport.uploadEnabled", "browser.shell.checkDefaultBrowser", "app.update.auto", "dom.serviceWorkers.enabled"].map((name) => `user_pref("${name}", false);`).join("\n"));
  const child = spawn(program, ["--headless", "--no-remote", "--profile", folder, "--remote-debugging-port", "0", "about:blank"], { stdio: ["ignore", "pipe", "pipe"], env: { ...process.env, MOZ_DISABLE_CONTENT_SANDBOX: "1" } });
  const [, address] = await said(child, /WebDriver BiDi listening on (ws:\S+)/);
  const socket = new WebSocket(`${address}/session`);
  await new Promise((go, stop) => { socket.on("open", go); socket.on("error", stop); });
  const waiting = new Map();
  let number = 0;
  socket.on("message", (text) => {
    const answer = JSON.parse(text);
    waiting.get(answer.id)?.(answer);
  });
  socket.on("close", () => { for (const go of waiting.values()) go({ type: "error", message: "the browser has gone" }); });
  const call = async (method, params) => {
    const id = ++number;
    const answer = await new Promise((go) => {
      const late = setTimeout(() => go({ type: "error", message: "no answer" }), PATIENCE);
      waiting.set(id, (said) => { clearTimeout(late); waiting.delete(id); go(said); });
      socket.send(JSON.stringify({ id, method, params }), (error) => error && waiting.get(id)?.({ type: "error", message: "the browser has gone" }));
    });
    if (answer.type === "error") throw new Error(`${method}: ${answer.message}`);
    return answer.result;
  };
  await call("session.new", { capabilities: {} });
  const { context } = await call("browsingContext.create", { type: "window" }); // the one it begins with has no focus
  const runIn = async (where, script) => {
    const { result, exceptionDetails } = await call("script.evaluate", { expression: `(async () => JSON.stringify(await (${script})()))()`, target: { context: where }, awaitPromise: true });
    if (exceptionDetails) throw new Error(exceptionDetails.text);
    return result.value === undefined ? undefined : JSON.parse(result.value);
  };
  return {
    name: "Firefox",
    go: (path) => call("browsingContext.navigate", { context, url: url + path, wait: "complete" }),
    run: (script) => runIn(context, script),
    beside: async (path) => {
      const second = (await call("browsingContext.create", { type: "tab", referenceContext: context, background: true })).context;
      await call("browsingContext.navigate", { context: second, url: url + path, wait: "complete" });
      return (script) => runIn(second, script);
    },
    press: (x, y) => call("input.performActions", { context, actions: tap(x, y) }),
    type: (text) => call("input.performActions", { context, actions: keys(text) }),
    end: async () => {
      socket.close();
      const ended = new Promise((go) => child.on("exit", go));
      if (child.exitCode === null && child.signalCode === null) {
        child.kill("SIGTERM");
        await ended;
      }
      rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
    },
  };
}

// MiniBrowser wants a screen to draw on.
async function openScreen() {
  if (process.env.DISPLAY || !found("Xvfb")) return null;
  const child = spawn(found("Xvfb"), ["-displayfd", "1", "-screen", "0", "1280x900x24", "-nolisten", "tcp"], { stdio: ["ignore", "pipe", "pipe"] });
  const [, number] = await said(child, /^(\d+)\n/);
  return { child, display: `:${number}` };
}

// The driver at a port that nothing else has taken meanwhile: below those that the machine gives to whoever calls.
async function openDriver(program, env) {
  for (let attempt = 0; attempt < 20; attempt++) {
    const port = 20000 + ((process.pid * 7 + attempt * 991) % 12000);
    const child = spawn(program, [`--port=${port}`], { stdio: "ignore", env });
    const end = Date.now() + PATIENCE, isThere = () => child.exitCode === null && child.signalCode === null;
    while (isThere() && Date.now() < end) {
      if (await fetch(`http://127.0.0.1:${port}/status`).then((answer) => answer.ok, () => false)) return { child, port };
      await sleep(200);
    }
    if (!isThere()) continue; // the port was taken, or it died
    child.kill("SIGTERM");
    break;
  }
  throw new Error("its driver does not answer");
}

async function openWebKit(url) {
  const program = found("WebKitWebDriver"), lib = "/usr/lib";
  const browser = existsSync(lib) && readdirSync(lib).flatMap((machine) => ["4.1", "4.0"].map((version) => join(lib, machine, `webkit2gtk-${version}`, "MiniBrowser"))).find((path) => existsSync(path));
  if (!program || !browser) return null;
  const screen = await openScreen();
  if (!screen && !process.env.DISPLAY) return null;
  const home = mkdtempSync(join(tmpdir(), "deckwright-webkit-"));
  mkdirSync(join(home, "run"), { mode: 0o700 });
  const env = { ...process.env, DISPLAY: screen?.display ?? process.env.DISPLAY, HOME: home, XDG_RUNTIME_DIR: join(home, "run"), WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS: "1", WEBKIT_DISABLE_COMPOSITING_MODE: "1", LIBGL_ALWAYS_SOFTWARE: "1" };
  const { child, port } = await openDriver(program, env).catch((error) => {
    screen?.child.kill("SIGTERM"); // else this program never ends
    throw error;
  });
  const call = async (method, path, body) => {
    const answer = await fetch(`http://127.0.0.1:${port}${path}`, { method, body: body && JSON.stringify(body), signal: AbortSignal.timeout(PATIENCE) });
    const { value } = await answer.json();
    if (!answer.ok) throw new Error(`${path}: ${value?.message ?? answer.status}`);
    return value;
  };
  const { sessionId } = await call("POST", "/session", { capabilities: { alwaysMatch: { "webkitgtk:browserOptions": { binary: browser, args: ["--automation"] } } } }).catch((error) => {
    for (const one of [child, screen?.child]) one?.kill("SIGTERM");
    throw error;
  });
  const at = `/session/${sessionId}`, first = await call("GET", `${at}/window`);
  const run = async (script) => JSON.parse((await call("POST", `${at}/execute/async`, { script: `const done = arguments[arguments.length - 1]; (async () => JSON.stringify(await (${script})()) ?? "null")().then(done, (error) => done(JSON.stringify(String(error))));`, args: [] })) ?? "null");
  const within = async (handle, act) => {
    await call("POST", `${at}/window`, { handle });
    return act().finally(() => call("POST", `${at}/window`, { handle: first }));
  };
  return {
    name: "WebKitGTK",
    go: (path) => call("POST", `${at}/url`, { url: url + path }),
    run,
    beside: async (path) => {
      const { handle } = await call("POST", `${at}/window/new`, { type: "tab" });
      await within(handle, () => call("POST", `${at}/url`, { url: url + path }));
      return (script) => within(handle, () => run(script));
    },
    press: (x, y) => call("POST", `${at}/actions`, { actions: tap(x, y) }),
    type: (text) => call("POST", `${at}/actions`, { actions: keys(text) }),
    end: async () => {
      await call("DELETE", at).catch(() => null);
      for (const one of [child, screen?.child]) one?.kill("SIGTERM");
      rmSync(home, { recursive: true, force: true, maxRetries: 5 });
    },
  };
}

export const drivers = [["Firefox", openFirefox], ["WebKitGTK", openWebKit]];

// Every browser at BENCH in turn, as [name, browser]; one that is not installed is skipped in TAP.
export async function* eachBrowser(tap, bench) {
  const only = process.env.DECKWRIGHT_BROWSER; // by hand
  for (const [name, open] of [["Chromium", openChromium], ...drivers].filter(([name]) => !only || name === only)) {
    const browser = await open(bench.url).catch((error) => error);
    if (browser === null) console.log(`ok ${++tap.number} - ${name} # SKIP it is not installed`);
    else if (browser instanceof Error) tap.say(`${name} starts`, browser.message);
    else {
      yield [name, browser];
      await browser.end();
    }
  }
}
