// The clock of the plant, by that of the device.

import { part } from './page.js';

/**
 * A moment as the plant's clocks show it, with seconds: "10:47:12".
 * @param {number} at in ms of Unix time
 */
export function timeOf(at) {
  const zone = /** @type {HTMLTimeElement | null} */ (part('clock'))?.dateTime.match(/([+-])(\d\d):(\d\d)$/);
  const ahead = zone ? (zone[1] === '-' ? -1 : 1) * (Number(zone[2]) * 60 + Number(zone[3])) : -new Date(at).getTimezoneOffset();
  return new Date(at + ahead * 60_000).toISOString().slice(11, 19);
}

export function showTime() {
  const clock = part('clock');
  if (clock) clock.textContent = timeOf(Date.now()).slice(0, 5);
}
