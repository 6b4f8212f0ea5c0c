// @ts-check
// One take sent to a notebook that gives answers of its own.

import { Late, Pass, sendTake } from "../../../webapp/static/js/sound/sending.js";

const TOKEN = { csrf_token: "a token", notebook: "", now: "2030-01-01T00:00:00+00:00" };
const TAKE = { url: "/fingerings/1/takes.json", fields: {}, keptAt: 0, notebook: "" };

/**
 * What becomes of a take, and the words about it.
 * @param {number} status
 * @param {string} contentType
 * @param {string} body
 */
export async function sendOne(status, contentType, body) {
  const ask = globalThis.fetch;
  globalThis.fetch = async (url) =>
    url === "/token.json"
      ? Response.json(TOKEN)
      : new Response(body, { status, headers: { "Content-Type": contentType } });
  try {
    const { result, refusal = "" } = await sendTake(TAKE, new Blob(["a sound"]), new Pass());
    return result ? ["gone", ""] : ["refused", refusal];
  } catch (error) {
    if (!(error instanceof Late)) throw error;
    return ["waiting", error.message];
  } finally {
    globalThis.fetch = ask;
  }
}
