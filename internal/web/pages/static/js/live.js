// News from the server. A page whose parts may have changed asks for itself again and takes over what is marked:
// every [data-live] with an id. Nobody is disturbed: not where a form is being filled, and no screen that is not seen.

import { ask, failed, heard } from './net.js';
import { parse, part, refill } from './page.js';

/** @typedef {{ seq: number, kind: string, station?: string, load?: string }} News */

const soon = 1_000; // ms between two looks at what happens here
const later = 5_000; // and at what happens elsewhere
const pauses = [1_000, 2_000, 4_000, 8_000, 16_000, 30_000]; // ms before the stream is opened again

const root = document.documentElement;
const head = () => Number(root.dataset.head ?? 0);

/** The station of this page. @type {string} */
let station = '';
let seen = 0; // the last record that was told of
let tries = 0;
let looked = 0; // when the page was last asked for
/** @type {EventSource | undefined} */
let stream;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let again;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let look;
let lookAt = Infinity;

/** @param {News} news */
const near = (news) => !station || !news.station || news.station === station || !!news.load && !!document.querySelector(`[data-load="${CSS.escape(news.load)}"]`);

/** @param {number} ms */
function lookIn(ms) {
  const at = Math.max(Date.now() + 150, looked + ms);
  if (at >= lookAt) return;
  lookAt = at;
  clearTimeout(look);
  look = setTimeout(refresh, at - Date.now());
}

function open() {
  clearTimeout(again);
  if (stream || document.hidden) return;
  stream = new EventSource(`/live?after=${Math.max(seen, head())}`);
  stream.addEventListener('open', () => { tries = 0; heard(); });
  stream.addEventListener('message', (e) => {
    heard();
    const news = /** @type {News} */ (JSON.parse(e.data));
    seen = news.seq;
    if (news.seq > head()) lookIn(near(news) ? soon : later);
  });
  stream.addEventListener('error', () => {
    close();
    void ask(); // a full or restarted server is not a lost network
    const pause = pauses[Math.min(tries++, pauses.length - 1)] ?? 0;
    again = setTimeout(open, pause * (0.75 + Math.random() / 2));
  });
}

function close() {
  stream?.close();
  stream = undefined;
}

/** Somebody is at work in it. @param {Element} e */
function busy(e) {
  const active = document.activeElement;
  if (active && active !== document.body && e.contains(active) && active.id !== 'code') return true;
  const marked = getSelection();
  if (marked && !marked.isCollapsed && marked.anchorNode && e.contains(marked.anchorNode)) return true;
  for (const field of /** @type {NodeListOf<HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement>} */ (e.querySelectorAll('input, textarea, select'))) {
    if (field instanceof HTMLSelectElement) {
      const first = [...field.options].findIndex((o) => o.defaultSelected);
      if (field.selectedIndex !== Math.max(first, 0)) return true;
    } else if (field instanceof HTMLInputElement && (field.type === 'checkbox' || field.type === 'radio')) {
      if (field.checked !== field.defaultChecked) return true;
    } else if (field.type !== 'hidden' && field.value !== field.defaultValue) return true;
  }
  return false;
}

/** Asks for the page again, and takes over what is live in it. */
export async function refresh() {
  lookAt = Infinity;
  if (document.hidden) return;
  looked = Date.now();
  /** @type {Document} */
  let page;
  try {
    const answer = await fetch(location.href, { headers: { Accept: 'text/html' }, cache: 'no-store', signal: AbortSignal.timeout(10_000) });
    heard();
    if (!answer.ok) return; // the address of a form, or of what is no more
    page = parse(await answer.text());
  } catch {
    failed();
    return;
  }
  const is = Number(page.documentElement.dataset.head ?? 0);
  if (is < head()) return; // a scan was answered meanwhile
  let left = false;
  for (const next of page.querySelectorAll('[data-live][id]')) {
    const now = part(next.id);
    if (!now || now.parentElement?.closest('[data-live]')) continue;
    if (busy(now)) left = true;
    else if (!now.isEqualNode(next)) replace(now, next);
  }
  for (const now of document.querySelectorAll('[data-live][id]')) {
    if (page.getElementById(now.id) || !now.hasChildNodes()) continue;
    if (busy(now)) left = true;
    else now.replaceChildren(); // what it showed is no more
  }
  if (left) lookIn(later);
  else root.dataset.head = String(is);
}

/**
 * Fills an element as it is now, and leaves open what was open and scrolled what was scrolled.
 * @param {Element} now
 * @param {Element} next
 */
function replace(now, next) {
  const folds = [...now.querySelectorAll('details')].map((d) => d.open);
  const rolls = [now, ...now.querySelectorAll('[tabindex="0"]')].map((e) => [e.scrollTop, e.scrollLeft]);
  refill(now, next);
  now.querySelectorAll('details').forEach((d, i) => { d.open = folds[i] ?? d.open; });
  [now, ...now.querySelectorAll('[tabindex="0"]')].forEach((e, i) => { [e.scrollTop, e.scrollLeft] = /** @type {[number, number]} */ (rolls[i] ?? [0, 0]); });
}

/**
 * Follows the news from now on.
 * @param {string} at the station of the page, '' where all news concerns it
 */
export function follow(at = '') {
  if (!at && !document.querySelector('[data-live]')) return; // a station may show more after its next scan
  station = at;
  document.addEventListener('visibilitychange', () => { if (document.hidden) { clearTimeout(again); close(); } else open(); });
  addEventListener('online', open);
  open();
}
