// Whether the server is there. A browser only knows whether it has a cable, so the server is asked: whenever
// something failed, and now and then when nothing was heard of it.

/** Fires "here" and "gone". */
export const changes = new EventTarget();

const silence = 15_000; // ms after which the server is asked
const patience = 4_000; // ms that it may take to answer
const pauses = [1_000, 2_000, 4_000, 8_000]; // ms between questions while it is gone; the last one again and again

let here = true;
let since = 0; // when it went
let heardAt = Date.now();
/** @type {ReturnType<typeof setTimeout> | undefined} */
let next;
let tries = 0;

export const isHere = () => here;
export const goneSince = () => since;

/** Something came from the server. */
export function heard() {
  heardAt = Date.now();
  tries = 0;
  plan(silence);
  if (here) return;
  here = true;
  changes.dispatchEvent(new Event('here'));
}

/** Something did not come from it. */
export function failed() {
  plan(pauses[Math.min(tries++, pauses.length - 1)] ?? 0);
  if (!here) return;
  here = false;
  since = Date.now();
  changes.dispatchEvent(new Event('gone'));
}

/** Asks the server now. */
export async function ask() {
  try {
    const answer = await fetch('/healthz', { cache: 'no-store', signal: AbortSignal.timeout(patience) });
    if (!answer.ok) throw new Error(answer.statusText);
    heard();
  } catch {
    failed();
  }
}

/** @param {number} ms */
function plan(ms) {
  clearTimeout(next);
  next = setTimeout(() => { if (!here || Date.now() - heardAt >= silence) void ask(); else plan(silence); }, ms);
}

addEventListener('online', () => void ask());
addEventListener('offline', () => failed());
plan(silence);
