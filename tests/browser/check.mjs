// Looks at every HTML file of a folder as a validator, a browser and a screen reader would.
// Says what is wrong, and ends with 1 where something is.

import { readFileSync, readdirSync, existsSync } from "node:fs";
import { createRequire } from "node:module";
import { delimiter, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import { chromium } from "playwright-core";

const folder = resolve(process.argv[2]);
const require = createRequire(import.meta.url);
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const names = ["chromium", "chromium-browser", "google-chrome"];
const onPath = (process.env.PATH ?? "").split(delimiter).flatMap((dir) => names.map((name) => join(dir, name)));
const executablePath = [process.env.CHROMIUM, ...onPath].find((path) => path && existsSync(path));
if (!executablePath) {
  console.error("no Chromium found; name one in CHROMIUM");
  process.exit(2);
}

// The four looks a page has; reading it aloud takes long, and once in each scheme tells all.
const looks = [
  { name: "phone", aloud: true, viewport: { width: 390, height: 844 }, colorScheme: "light" },
  { name: "phone-dark", viewport: { width: 390, height: 844 }, colorScheme: "dark" },
  { name: "desk", viewport: { width: 1280, height: 900 }, colorScheme: "light" },
  { name: "desk-dark", aloud: true, viewport: { width: 1280, height: 900 }, colorScheme: "dark" },
];

const wrong = [];
let checks = 0;
const check = (fine, file, what) => {
  checks += 1;
  if (!fine) wrong.push(`${file}: ${what}`);
};

// The page is one file on purpose: its style sheets stand in it, and one line can be long.
const validator = new HtmlValidate({
  extends: ["html-validate:recommended"],
  rules: { "doctype-style": "off", "long-title": "off", "no-trailing-whitespace": "off" },
});

const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});

const wanted = process.argv[3] ?? "";
for (const file of readdirSync(folder).filter((name) => name.endsWith(".html") && name.startsWith(wanted)).sort()) {
  const path = join(folder, file);
  const url = pathToFileURL(path).href;

  const report = await validator.validateString(readFileSync(path, "utf8"));
  const said = report.results.flatMap((result) => result.messages).map((m) => `${m.ruleId} at ${m.line}:${m.column}: ${m.message}`);
  check(said.length === 0, file, `not valid: ${[...new Set(said)].slice(0, 5).join("; ")}`);

  for (const look of looks) {
    const { name, aloud, ...context } = look;
    const quiet = await browser.newContext(context);
    const page = await quiet.newPage();
    const heard = [];
    page.on("console", (message) => heard.push(`console: ${message.text()}`));
    page.on("pageerror", (error) => heard.push(`error: ${error.message}`));
    page.on("dialog", (dialog) => { heard.push(`dialog: ${dialog.message()}`); dialog.dismiss(); });
    page.on("request", (request) => { if (request.url() !== url) heard.push(`request: ${request.url()}`); });
    await page.goto(url);
    check(heard.length === 0, file, `${name}: ${heard.slice(0, 3).join("; ")}`);
    const [inside, room] = await page.evaluate(() => [document.scrollingElement.scrollWidth, window.innerWidth]);
    check(inside <= room, file, `${name}: ${inside} px wide in ${room}`);
    await page.screenshot({ path: join(folder, `${file}.${name}.png`), fullPage: true });

    // One size alone: of every list of sizes one is left, and no sign of the list.
    const sizes = await page.locator("input[name=size]").count();
    if (sizes > 2) {
      await page.locator("input[name=size]").nth(2).check();
      const left = await page.evaluate(() => [...document.querySelectorAll(".z, .m")]
        .filter((e) => getComputedStyle(e).display !== "none" && !e.classList.contains("z1")).length);
      check(left === 0, file, `${name}: ${left} parts of other sizes are shown`);
    }
    const starred = await page.locator(".steps em").count();
    check(starred === 0, file, `${name}: ${starred} stars of instructions are emphasis`);
    await quiet.close();

    if (!aloud) continue;
    // The page's own policy would keep the checker out.
    const open = await browser.newContext({ ...context, bypassCSP: true });
    const read = await open.newPage();
    await read.goto(url);
    await read.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
    await read.evaluate(axe);
    const { violations } = await read.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
    for (const { id, help, nodes } of violations) {
      check(false, file, `${name}: ${id}: ${help}: ${nodes.length} times, first ${nodes[0].target.join(" ")}`);
    }
    check(violations.length === 0, file, `${name}: not accessible`);
    await open.close();
  }

  const paper = await browser.newContext();
  const page = await paper.newPage();
  await page.goto(url);
  for (const format of ["A4", "Letter"]) {
    const pdf = await page.pdf({ path: join(folder, `${file}.${format}.pdf`), format });
    check(pdf.length > 1000, file, `${format}: nothing printed`);
  }
  await paper.close();
}
await browser.close();

for (const line of wrong) console.error(line);
console.log(`${checks - wrong.length} passed, ${wrong.length} failed`);
process.exit(wrong.length === 0 ? 0 : 1);
