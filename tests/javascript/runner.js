// @ts-check
// Calls exported functions of modules for the Python tests: one job a line comes in as JSON, one
// answer a line goes out. Samples cross as base64 of 32-bit floats, {"float32": "..."}, both ways.

import { createInterface } from "node:readline";

/**
 * @typedef {object} Job
 * @property {string} module its address
 * @property {string} name of the function that it exports
 * @property {unknown[]} arguments
 */

/** @param {string} _ @param {unknown} value */
function revive(_, value) {
  if (typeof value !== "object" || value === null || !("float32" in value)) return value;
  const bytes = Uint8Array.from(Buffer.from(String(value.float32), "base64")); // aligned, unlike a Buffer
  return new Float32Array(bytes.buffer);
}

/** @param {string} _ @param {unknown} value */
function pack(_, value) {
  if (!(value instanceof Float32Array)) return value;
  return { float32: Buffer.from(value.buffer, value.byteOffset, value.byteLength).toString("base64") };
}

/** @param {Job} job */
async function run(job) {
  const module = await import(job.module);
  return module[job.name](...job.arguments);
}

/** @param {string} line */
async function answer(line) {
  try {
    const value = await run(JSON.parse(line, revive));
    return JSON.stringify({ value: value ?? null }, pack);
  } catch (error) {
    return JSON.stringify({ error: error instanceof Error ? (error.stack ?? error.message) : String(error) });
  }
}

for await (const line of createInterface({ input: process.stdin })) {
  process.stdout.write(`${await answer(line)}\n`);
}
