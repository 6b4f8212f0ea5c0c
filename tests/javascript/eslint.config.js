// @ts-check
// The rules for everything that is served and for the tests' own modules.

import js from "@eslint/js";
import globals from "globals";

const SERVED = "webapp/static/js";
const WORKERS = [`${SERVED}/service-worker.js`, `${SERVED}/worker-copies.js`];
const WORKLET = `${SERVED}/sound/capture.js`;
const PITCH_WORKER = `${SERVED}/sound/pitch-worker.js`;

export default [
  { linterOptions: { reportUnusedDisableDirectives: "error", noInlineConfig: false } },
  {
    files: [`${SERVED}/**/*.js`, "tests/javascript/**/*.js"],
    languageOptions: { ecmaVersion: 2023, sourceType: "module" },
    rules: {
      ...js.configs.recommended.rules,
      eqeqeq: "error",
      "no-unused-vars": "error",
      "no-var": "error",
      "prefer-const": "error",
      "no-underscore-dangle": ["error", { enforceInMethodNames: true, enforceInClassFields: true }],
    },
  },
  { files: [`${SERVED}/**/*.js`], ignores: [...WORKERS, WORKLET, PITCH_WORKER], languageOptions: { globals: globals.browser } },
  { files: WORKERS, languageOptions: { sourceType: "script", globals: globals.serviceworker } },
  { files: [PITCH_WORKER], languageOptions: { globals: globals.worker } },
  { files: [WORKLET], languageOptions: { globals: globals.audioWorklet } },
  { files: ["tests/javascript/**/*.js"], languageOptions: { globals: globals.node } },
];
