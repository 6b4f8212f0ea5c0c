// @ts-check
// Small requests that change something: a fresh token, then a form, and whether it worked.

const PATIENCE_MS = 8000;

/** @typedef {{error?: {message?: string}}} Refusal */

/** @returns {Promise<string>} */
async function fetchToken() {
  const answer = await fetch("/token.json", { signal: AbortSignal.timeout(PATIENCE_MS) });
  if (!answer.ok) throw new Error(`token: ${answer.status}`);
  return (await answer.json()).csrf_token;
}

/**
 * @param {string} url an address that answers in JSON
 * @param {Record<string, string>} [fields]
 * @returns {Promise<{isDone: boolean, message: string, body: any}>} the message is a sentence where it failed, the
 *   body what was answered where it did not
 */
export async function send(url, fields = {}) {
  try {
    const body = new FormData();
    for (const [name, value] of Object.entries({ csrf_token: await fetchToken(), ...fields })) body.set(name, value);
    const answer = await fetch(url, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE_MS) });
    if (answer.ok) return { isDone: true, message: "", body: await answer.json().catch(() => null) };
    /** @type {Refusal} */
    const refusal = await answer.json().catch(() => ({}));
    return { isDone: false, message: refusal.error?.message ?? "The notebook could not do it.", body: null };
  } catch {
    const message = "The notebook does not answer, so this was not noted. Takes wait in this browser; mark the note again later.";
    return { isDone: false, message, body: null };
  }
}
