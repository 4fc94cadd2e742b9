// With the network gone a scan is kept in this device, with its key, its time and its place in the order. When the
// network is back they go out in that order, each once; what is not simply accepted then comes back to be looked at.

import { timeOf as time } from './clock.js';
import { changes, goneSince, isHere } from './net.js';
import { answerOf, draw, part, refillWork, saysOf } from './page.js';
import * as queue from './queue.js';
import { send } from './scan.js';
import { told } from './tag.js';

/** Fires "change" with each, and "sent" when all that was kept is sent. @type {EventTarget} */
export const events = new EventTarget();

const tab = String(Math.random());
const others = 'BroadcastChannel' in globalThis ? new BroadcastChannel('tagd-kept') : undefined;

/** @type {queue.Queue} as it was last seen */
let now = queue.empty();
let lasting = true;

let store = new Promise((/** @type {(s: Promise<queue.Store>) => void} */ opened) => opened(queue.openStore(indexedDB)));

/**
 * Changes the queue. Where the browser has no store, or its disk is full, the page itself keeps it.
 * @template T
 * @param {(q: queue.Queue) => T} step
 * @returns {Promise<T>}
 */
async function change(step) {
  const noted = (/** @type {queue.Queue} */ q) => {
    const result = step(q);
    now = structuredClone(q);
    return result;
  };
  const was = now;
  try {
    return await (await store).change(noted);
  } catch {
    lasting = false;
    const page = queue.pageStore(structuredClone(was));
    store = Promise.resolve(page);
    return page.change(noted);
  }
}

/** Resolves when it is known what was kept before. */
export const ready = change(() => {});

/** How many are kept. */
export const count = () => now.kept.length;

/** How many came back. */
export const backs = () => now.back.length;

/** @param {import('./scan.js').Scan} scan */
export async function keep(scan) {
  await change((q) => queue.keep(q, scan));
  others?.postMessage('');
  void navigator.storage?.persist?.().catch(() => false); // asks the browser not to clear it away
}

let sending = false;

/** Sends what is kept, in order, while the server is there. */
export async function sendKept() {
  if (sending) return;
  sending = true;
  let any = false;
  try {
    while (isHere()) {
      const scan = await change((q) => queue.lend(q, tab, Date.now()));
      if (!scan) break;
      const page = await send(scan, true);
      if (!page) break;
      const work = page.getElementById('work');
      const [answer, says] = work ? [answerOf(work), saysOf(work)] : [/** @type {const} */ ('refused'), trouble(page)];
      await change((q) => queue.settle(q, scan.key, answer, says));
      others?.postMessage('');
      events.dispatchEvent(new Event('change'));
      any = true;
    }
  } finally {
    sending = false;
  }
  if (any && !count()) events.dispatchEvent(new Event('sent'));
}

/** What the page of a problem says. @param {Document} page */
export const trouble = (page) => [...page.querySelectorAll('h1, p')].map((e) => e.textContent?.trim()).filter(Boolean).join(' ');

/** @param {string} key */
export async function seen(key) {
  await change((q) => queue.dismiss(q, key));
  others?.postMessage('');
  events.dispatchEvent(new Event('change'));
}

others?.addEventListener('message', async () => {
  await change(() => {});
  events.dispatchEvent(new Event('change'));
});
changes.addEventListener('here', () => void sendKept());
setInterval(() => { if (count() && isHere()) void sendKept(); }, 3_000); // another tab may have been closed over it

/**
 * What a row of a list says of a scan.
 * @param {import('./scan.js').Scan} scan
 * @returns {Record<string, string>}
 */
function row(scan) {
  const words = part('kept-row')?.dataset ?? {};
  const field = (/** @type {string} */ name) => scan.fields.find(([n, value]) => n === name && value)?.[1] ?? '';
  const code = field('code');
  const tag = told(code);
  const counted = (/** @type {string | number} */ n) => n && `${n} ${Number(n) === 1 ? words.piece : words.pieces}`;
  const known = [counted(tag.pieces), tag.size].filter(Boolean).join(', ');
  return {
    at: time(scan.at),
    mark: tag.mark || tag.number || code || scan.by,
    sub: tag.mark ? [tag.number, known].filter(Boolean).join(' · ') : tag.number ? words.bare ?? '' : '',
    kind: (tag.kind && words[`kind${tag.kind}`]) ?? '',
    more: [counted(field('pieces')), code && scan.by].filter(Boolean).join(' · '),
    key: scan.key,
  };
}

/** The screen of what is kept. @param {Element} work */
export function showKept(work) {
  const n = count();
  const page = draw('kept-page', { n: String(n), at: time(now.kept[n - 1]?.at ?? Date.now()), since: time(goneSince() || Date.now()).slice(0, 5) });
  page.classList.toggle('back-again', isHere());
  page.classList.toggle('fleeting', !lasting);
  page.querySelector('#kept')?.append(...now.kept.map((s) => draw('kept-row', row(s))));
  refillWork(work, page);
  const list = part('kept');
  if (list) list.scrollTop = list.scrollHeight;
}

/** The screen of what came back. @param {Element} work */
export function showBack(work) {
  const page = draw('back-page', { n: String(backs()) });
  for (const b of now.back) {
    const item = draw('back-row', { ...row(b.scan), says: b.says });
    item.querySelector('[data-seen]')?.setAttribute('data-seen', b.scan.key);
    for (const sign of item.querySelectorAll('[data-sign]')) if (sign.getAttribute('data-sign') !== b.answer) sign.remove();
    page.querySelector('#back')?.append(item);
  }
  refillWork(work, page);
}
