/** What a shop does with the notes of the package: bundles them, with what they import. Run as `node build.mjs`. */
import { readFile } from "node:fs/promises";
import { build } from "esbuild";
import { compileScript, parse } from "vue/compiler-sfc";

/** A component of Vue in one file, compiled as its own tools do it. */
const vue = {
    name: "vue",
    setup({ onLoad }) {
        onLoad({ filter: /\.vue$/ }, async ({ path }) => {
            const { descriptor, errors } = parse(await readFile(path, "utf8"));
            if (errors.length) throw errors[0];
            const isCustomElement = (tag) => tag === "last-lamp";
            const templateOptions = { compilerOptions: { isCustomElement } };
            const { content } = compileScript(descriptor, { id: path, inlineTemplate: true, templateOptions });
            return { contents: content, loader: "js" };
        });
    },
};

const defined = { __VUE_OPTIONS_API__: "false", __VUE_PROD_DEVTOOLS__: "false", __VUE_PROD_HYDRATION_MISMATCH_DETAILS__: "false" };
const define = { "process.env.NODE_ENV": '"production"', ...defined };
const made = await build({
    entryPoints: ["with-vue.js", "with-react.jsx", "alone.js"],
    bundle: true,
    format: "esm",
    jsx: "automatic",
    outdir: "out",
    plugins: [vue],
    define,
});
if (made.warnings.length) throw new Error(JSON.stringify(made.warnings));
