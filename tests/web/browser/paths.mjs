// SPDX-License-Identifier: MIT
// The pages that links lead to.

const MOST_OF_A_SHAPE = 1;

// The journal of a record looks the same whatever its kind; a job's page has another part open for each "?at=".
export const shape = (path) => path.replace(/\?(?!at=).*/, "").replace(/\d+/g, "N").replace(/^\/journal\/\w+/, "/journal/KIND");

// The pages that links lead to from the board, one of each shape.
export async function allPaths(page) {
  const waiting = ["/"], seen = new Map(), found = [];
  while (waiting.length) {
    const path = waiting.shift();
    if ((seen.get(shape(path)) ?? 0) >= MOST_OF_A_SHAPE) continue;
    seen.set(shape(path), (seen.get(shape(path)) ?? 0) + 1);
    const answer = await page.request.get(path);
    if (!(answer.headers()["content-type"] ?? "").startsWith("text/html")) continue;
    found.push({ path, status: answer.status(), bytes: (await answer.body()).length });
    for (const [, link] of (await answer.text()).matchAll(/<a [^>]*href="(\/[^"#]*)/g)) waiting.push(link.replaceAll("&amp;", "&"));
  }
  return found;
}

// What sticks out of the window sideways.
export const sideways = (page) =>
  page.evaluate(() => {
    const extra = document.documentElement.scrollWidth - window.innerWidth;
    return extra > 1 ? `${extra} px wider than the window` : "";
  });
