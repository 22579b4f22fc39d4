// The shape of the scripts themselves, read with TypeScript's parser.

import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import ts from "typescript";

const root = fileURLToPath(new URL("../..", import.meta.url));
const scripts = path.join(root, "static/js");
const mostLines = 60;

/** The files below a folder whose names end so, with paths from the folder. */
function filesIn(folder, ending) {
  return fs
    .readdirSync(folder, { recursive: true })
    .map(String)
    .filter((name) => name.endsWith(ending))
    .sort();
}

const modules = new Map(
  filesIn(scripts, ".js").map((name) => {
    const text = fs.readFileSync(path.join(scripts, name), "utf8");
    return [name, ts.createSourceFile(name, text, ts.ScriptTarget.Latest, true)];
  }),
);

/** The functions of a file, with their lines. */
function functionsOf(file) {
  const found = [];
  const visit = (node) => {
    if (ts.isFunctionLike(node) && node.body) {
      const from = file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1;
      const to = file.getLineAndCharacterOfPosition(node.end).line + 1;
      found.push({ name: node.name?.getText(file) ?? "a function", from, lines: to - from + 1 });
    }
    ts.forEachChild(node, visit);
  };
  visit(file);
  return found;
}

/** The modules that a module loads, by import, export from or import(). */
function loadedBy(name) {
  const loaded = [];
  const visit = (node) => {
    const from = ts.isImportDeclaration(node) || ts.isExportDeclaration(node) ? node.moduleSpecifier : undefined;
    const called = ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword ? node.arguments[0] : undefined;
    const to = from ?? called;
    if (to) {
      assert.ok(ts.isStringLiteral(to), `${name} loads a module whose name is worked out`);
      loaded.push(path.posix.join(path.posix.dirname(name), to.text));
    }
    ts.forEachChild(node, visit);
  };
  visit(modules.get(name));
  return loaded;
}

/** All that a module loads, with what that loads. */
function reachedFrom(entry) {
  const reached = new Set();
  const waiting = [entry];
  for (let name = waiting.pop(); name; name = waiting.pop()) {
    if (reached.has(name)) continue;
    assert.ok(modules.has(name), `there is no ${name}`);
    reached.add(name);
    waiting.push(...loadedBy(name));
  }
  return reached;
}

const roomOf = (name) => name.split("/")[0];
const pages = [...modules.keys()].filter((name) => roomOf(name) === "pages");

/** The pages on which pins are edited. */
const editing = ["pages/wheel.js"];

test(`no function is longer than ${mostLines} lines`, () => {
  const all = [...modules].flatMap(([name, file]) => functionsOf(file).map((f) => ({ ...f, name: `${name}:${f.from} ${f.name}` })));
  assert.ok(all.length > 400, `only ${all.length} functions were found`);
  assert.deepEqual(all.filter((f) => f.lines > mostLines), []);
});

test("a function's lines are counted from its head to its end", () => {
  const lines = (text) => functionsOf(ts.createSourceFile("x.js", text, ts.ScriptTarget.Latest, true)).map((f) => f.lines);
  assert.deepEqual(lines("/** Says\n * why. */\nfunction f() {\n  return 1;\n}"), [3]);
  assert.deepEqual(lines("class C {\n  constructor() {\n    this.f = () => {\n    };\n  }\n  get x() { return 1; }\n}"), [4, 2, 1]);
});

test("pages that do not edit load nothing of the desk", () => {
  for (const page of pages) {
    const ofDesk = [...reachedFrom(page)].filter((name) => roomOf(name) === "desk");
    if (editing.includes(page)) assert.ok(ofDesk.includes("desk/hands.js"), `${page} has no hands`);
    else assert.deepEqual(ofDesk, [], page);
  }
});

test("arrows go from pages to desk to face to lib", () => {
  const allowed = { lib: ["lib"], face: ["lib", "face"], desk: ["lib", "face", "desk"], pages: ["lib", "face", "desk"] };
  for (const name of modules.keys()) {
    for (const to of loadedBy(name)) assert.ok(allowed[roomOf(name)]?.includes(roomOf(to)), `${name} loads ${to}`);
  }
});

test("every script is loaded by some page", () => {
  const reached = new Set(pages.flatMap((page) => [...reachedFrom(page)]));
  assert.deepEqual([...modules.keys()].filter((name) => !reached.has(name)), []);
});

test("each view's script is the entry module of a page, and each entry module has a view", () => {
  const web = path.join(root, "web");
  const named = new Set();
  for (const view of filesIn(web, ".templ")) {
    const text = fs.readFileSync(path.join(web, view), "utf8");
    for (const [, name] of text.matchAll(/src="\/static\/js\/([^"]+)"/g)) named.add(name);
  }
  assert.deepEqual([...named].sort(), pages);
});
