// Keep the screen on while somebody plays, where the browser can. It lets go by itself when the page
// is hidden, so it is asked again when the page comes back.

let lock = null;
let isWanted = false;

async function ask() {
  if (!isWanted || document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
  try {
    lock = await navigator.wakeLock.request("screen");
    if (!isWanted) await letSleep();
  } catch {
    lock = null; // a low battery may refuse it; the page works without
  }
}

document.addEventListener("visibilitychange", ask);

/** Keep the screen on from now on. */
export async function stayAwake() {
  isWanted = true;
  await ask();
}

/** Let the screen go dark again. */
export async function letSleep() {
  isWanted = false;
  const held = lock;
  lock = null;
  await held?.release();
}
