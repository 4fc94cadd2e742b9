// The clock of the plant, by that of the device.

import { part } from './page.js';

export function showTime() {
  const clock = /** @type {HTMLTimeElement | null} */ (part('clock'));
  const zone = clock?.dateTime.match(/([+-])(\d\d):(\d\d)$/);
  if (!clock || !zone) return;
  const ahead = (zone[1] === '-' ? -1 : 1) * (Number(zone[2]) * 60 + Number(zone[3]));
  clock.textContent = new Date(Date.now() + ahead * 60_000).toISOString().slice(11, 16);
}
