// SPDX-License-Identifier: MIT
// A bench of the invented shop, a real browser that visits it, and TAP.
import { spawn, execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, readFileSync, mkdirSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

// Milliseconds after which a step that waits is taken for hung: a last guard, never a pace.
export const PATIENCE = Number(process.env.DECKWRIGHT_PATIENCE ?? 600) * 1000;

export class Tap {
  number = 0;
  failed = 0;
  // One test; TROUBLE says what is wrong, "" when nothing is.
  say(name, trouble) {
    this.number += 1;
    this.failed += trouble ? 1 : 0;
    console.log(`${trouble ? "not ok" : "ok"} ${this.number} - ${name.replaceAll("#", "\\#")}`);
    for (const line of String(trouble || "").split("\n").filter(Boolean)) console.log(`# ${line}`);
  }
  // The same of an act that throws when it cannot be done.
  async try(name, act) {
    try {
      this.say(name, await act());
    } catch (error) {
      this.say(name, String(error?.message ?? error).split("\n").slice(0, 12).join("\n"));
    }
  }
  end() {
    console.log(`1..${this.number}`);
    process.exitCode = this.failed ? 1 : 0;
  }
}

// Serves the demonstration shop from a folder of its own, with the environment that MAKE gives for that folder.
export async function openBench(program, make = () => ({})) {
  const folder = mkdtempSync(join(tmpdir(), "deckwright-browser-"));
  const env = { ...process.env, ...make(folder) };
  execFileSync("python3", [join(import.meta.dirname, "../../support/demo_shop.py"), program, join(folder, "shop")]);
  // The bench at PORT, and the address it says.
  const serve = async (port) => {
    const child = spawn(program, ["bench", `port=${port}`, "--book", join(folder, "shop")], { env, stdio: ["ignore", "pipe", "inherit"] });
    const url = await new Promise((resolve, reject) => {
      let said = "";
      child.stdout.on("data", (part) => {
        said += part;
        const found = said.match(/https?:\/\/[\w.:-]+/);
        if (found) resolve(found[0].replace(/\/$/, ""));
      });
      child.on("exit", () => reject(new Error(`the bench ended: ${said}`)));
    });
    return { child, url };
  };
  const { child, url } = await serve(0);
  return {
    url, folder, child,
    // It ends, and begins again at the same address.
    async leave() {
      this.child.removeAllListeners("exit");
      const ended = new Promise((resolve) => this.child.on("exit", resolve));
      this.child.kill("SIGTERM");
      return ended;
    },
    async comeBack() {
      this.child = (await serve(new URL(url).port)).child;
    },
    async end() {
      const status = await this.leave();
      rmSync(folder, { recursive: true, force: true });
      return status;
    },
  };
}

export function openBrowser() {
  return chromium.launch({
    timeout: PATIENCE,
    executablePath: process.env.DECKWRIGHT_CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--use-fake-device-for-media-stream"],
  });
}

export const screens = {
  phone: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true },
  tablet: { viewport: { width: 1024, height: 768 } },
  bench: { viewport: { width: 1920, height: 1080 } },
};

// A page of its own context that notes what goes wrong in it: requests to other
// hosts, errors of scripts, answers of 500 and above.
// A worker of the page's is blocked unless asked for: what it sends by itself no test could hold up or let fail.
export async function openPage(browser, bench, options = {}) {
  const context = await browser.newContext({ baseURL: bench.url, serviceWorkers: "block", ...options });
  context.setDefaultTimeout(PATIENCE);
  const page = await context.newPage();
  page.wrongs = [];
  page.on("request", (request) => {
    if (!request.url().startsWith(bench.url) && !/^(data|blob):/.test(request.url()))
      page.wrongs.push(`asked another host: ${request.url()}`);
  });
  page.on("pageerror", (error) => page.wrongs.push(`script: ${error.message}`));
  page.on("response", (answer) => {
    if (answer.status() >= 500) page.wrongs.push(`${answer.status()} from ${answer.url()}`);
  });
  page.on("console", (message) => {
    if (message.type() === "error" && /Content Security|Refused/.test(message.text())) page.wrongs.push(message.text());
  });
  return page;
}

// What axe-core finds serious on the page, in lines; "" when nothing. RULES are
// those asked, all without any.
export async function seriousFindings(page, rules) {
  if (!(await page.evaluate(() => Boolean(window.axe)))) await page.evaluate(axe);
  const found = await page.evaluate((only) => window.axe.run(document, {
    resultTypes: ["violations"], ...(only ? { runOnly: { type: "rule", values: only } } : {}),
  }), rules);
  return found.violations
    .filter((one) => one.impact === "serious" || one.impact === "critical")
    .map((one) => `${one.id}: ${one.help}; ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 140)).join(" | ")}`)
    .join("\n");
}

// Keeps a picture when DECKWRIGHT_PICTURES names a folder for them.
export async function picture(page, name, fullPage = true) {
  const folder = process.env.DECKWRIGHT_PICTURES;
  if (!folder) return;
  mkdirSync(folder, { recursive: true });
  await page.screenshot({ path: join(folder, `${name}.png`), fullPage });
}
