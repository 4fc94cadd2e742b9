// A scan as the device took it, and how it goes to the server.

import { newKey } from './key.js';
import { failed, heard } from './net.js';
import { parse } from './page.js';

/**
 * @typedef {object} Scan
 * @property {string} key the device's own id of it: sent again, it is the same scan
 * @property {number} at when, by the device's clock, in ms of Unix time
 * @property {string} to the path of the station
 * @property {[string, string][]} fields what the form said
 * @property {string} by the word on the key that was pressed, where it stands for a deed
 */

/** How long the server may take before a scan is kept instead; people wait no longer. */
const patience = 5_000; // ms

/**
 * What a form says, as a scan of now; undefined when it says nothing. Its key is the script's own, since the
 * next scan may be taken before the server sent the form for it.
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} by what was pressed
 * @returns {Scan | undefined}
 */
export function take(form, by) {
  /** @type {[string, string][]} */
  const fields = [];
  for (const [name, value] of new FormData(form, by)) {
    if (typeof value === 'string' && name !== 'key') fields.push([name, name === 'code' ? value.trim() : value]);
  }
  if (form.id === 'scan' && !fields.some(([name, value]) => ['code', 'do', 'of'].includes(name) && value)) return undefined;
  return { key: newKey(), at: Date.now(), to: new URL(form.action).pathname, fields, by: by?.getAttribute('name') === 'do' ? by.textContent?.trim() ?? '' : '' };
}

/**
 * Sends a scan. An answer is a page of the station, or of a problem.
 * @param {Scan} scan
 * @param {boolean} kept the device kept it while the server was not there
 * @returns {Promise<Document | undefined>} undefined: the server is not there, or cannot take it now
 */
export async function send(scan, kept) {
  const body = new URLSearchParams(scan.fields);
  body.set('key', scan.key);
  if (kept) {
    body.set('kept', '1');
    body.set('at', new Date(scan.at).toISOString());
  }
  try {
    const answer = await fetch(scan.to, { method: 'POST', body, headers: { Accept: 'text/html' }, signal: AbortSignal.timeout(patience) });
    const page = parse(await answer.text());
    // Busy, closing, too slow: the same again later. A page that is none of ours is of some gate in between.
    if ([408, 429, 502, 503, 504].includes(answer.status) || answer.ok && !page.getElementById('work')) throw new Error(answer.statusText);
    heard();
    return page;
  } catch {
    failed();
    return undefined;
  }
}
