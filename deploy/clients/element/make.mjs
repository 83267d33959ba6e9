/**
 * Writes the calculator as a package has it: node make.mjs FOLDER, with FOLDER its versions as they are served.
 *
 * What a service sends beside the script becomes modules here, because a bundler knows of no file that is fetched. All
 * else stays as it is served.
 */
import { copyFile, mkdir, readFile, readdir, writeFile } from "node:fs/promises";

const numbers = new Intl.Collator("en", { numeric: true });
const version = (await readdir(process.argv[2])).filter((name) => /^\d+\.\d+\.\d+$/.test(name)).sort(numbers.compare).at(-1);
const folder = `${process.argv[2]}/${version}`;
const FETCHED = /\/\*\* A file of this very version[^\n]*\nfunction fetched\(name\) \{\n[\s\S]*?\n\}\n/g;

const names = (await readdir(folder)).filter((name) => /^(calculator\.css|words\.[a-z]+\.json)$/.test(name));
const rows = names.map((name) => `  "${name}": () => import("./${name}.js"),`);
const packed = `/** What goes with this file, each a module whose text is loaded where it is needed. */
const PACKED = {
${rows.join("\n")}
};

function fetched(name) {
  return PACKED[name]().then(({ default: text }) => new Response(text));
}
`;

await mkdir("dist");
const script = await readFile(`${folder}/calculator.js`, "utf8");
if (script.match(FETCHED)?.length !== 1) throw new Error("calculator.js does not fetch its files in the one place that is known here.");
await writeFile("dist/calculator.js", script.replace(FETCHED, () => packed));
for (const name of names) {
  const text = await readFile(`${folder}/${name}`, "utf8");
  await writeFile(`dist/${name}.js`, `export default ${JSON.stringify(text)};\n`);
}
await writeFile("dist/index.js", 'export { LastLamp } from "./calculator.js";\n');
await copyFile(`${folder}/calculator.d.ts`, "dist/index.d.ts");
await copyFile("react.d.ts", "dist/react.d.ts");
const manifest = JSON.parse(await readFile("package.json", "utf8"));
await writeFile("package.json", JSON.stringify({ ...manifest, version }, null, 2));
