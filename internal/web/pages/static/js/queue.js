// The scans that a device kept, in order, and those that came back to be looked at. The rules are plain functions
// of a queue; a store changes it as one step, also between the tabs of a browser.

/**
 * @typedef {import('./scan.js').Scan} Scan
 * @typedef {{ scan: Scan, answer: import('./page.js').Answer, says: string }} Back
 * @typedef {object} Queue
 * @property {Scan[]} kept not sent yet; the first one goes first
 * @property {Back[]} back sent, and not simply accepted
 * @property {{ tab: string, until: number }} [lease] the tab that sends, until then
 */

/** @typedef {{ change: <T>(step: (q: Queue) => T) => Promise<T> }} Store */

/** How long a tab may send on without a word; longer than a scan may take. */
export const lease = 15_000; // ms

/** @returns {Queue} */
export const empty = () => ({ kept: [], back: [] });

/** @param {Queue} q @param {Scan} scan */
export function keep(q, scan) {
  if (!q.kept.some((s) => s.key === scan.key)) q.kept.push(scan);
}

/**
 * The scan that a tab may send now. One tab sends at a time: Web Locks would see to it, but a browser has them over
 * https only, and a shop's server is often a plain address. The keys make sure that nothing counts twice;
 * the lease, that the order holds. A lease that lasts too long is of a clock that was set back.
 * @param {Queue} q
 * @param {string} tab
 * @param {number} now in ms
 * @returns {Scan | undefined} undefined: there is none, or another tab sends
 */
export function lend(q, tab, now) {
  const held = q.lease;
  if (held && held.tab !== tab && held.until > now && held.until <= now + lease) return undefined;
  if (!q.kept.length) {
    delete q.lease;
    return undefined;
  }
  q.lease = { tab, until: now + lease };
  return q.kept[0];
}

/**
 * What became of a scan that was sent: it is kept no more, and if it was not simply accepted, it comes back.
 * @param {Queue} q
 * @param {string} key
 * @param {import('./page.js').Answer} answer
 * @param {string} says
 */
export function settle(q, key, answer, says) {
  const i = q.kept.findIndex((s) => s.key === key);
  const scan = q.kept[i];
  if (!scan) return;
  q.kept.splice(i, 1);
  if (answer !== 'accepted') q.back.push({ scan, answer, says });
}

/** Somebody has looked at it. @param {Queue} q @param {string} key */
export function dismiss(q, key) {
  q.back = q.back.filter((b) => b.scan.key !== key);
}

/**
 * A store in the browser's own (IndexedDB), which outlives page and browser. The queue is one record: a change of
 * it reads and writes in one transaction, and transactions wait for each other.
 * @param {IDBFactory} factory
 * @returns {Promise<Store>}
 */
export function openStore(factory) {
  return new Promise((resolve, reject) => {
    const asked = factory.open('tagd', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore('queue');
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error('another version is open'));
    asked.onsuccess = () => {
      const db = asked.result;
      db.onversionchange = () => db.close();
      resolve({
        change: (step) => new Promise((done, failed) => {
          const tx = db.transaction('queue', 'readwrite', { durability: 'strict' });
          const rows = tx.objectStore('queue');
          const read = rows.get('all');
          /** @type {any} */
          let result;
          read.onsuccess = () => {
            const q = /** @type {Queue} */ (read.result ?? empty());
            result = step(q);
            rows.put(q, 'all');
          };
          tx.oncomplete = () => done(result);
          tx.onabort = () => failed(tx.error);
        }),
      });
    };
  });
}

/** A store that lasts as long as the page, where the browser has none. @returns {Store} */
export function pageStore(q = empty()) {
  return { change: async (step) => step(q) };
}
