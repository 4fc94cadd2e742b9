// What the page of a device can tell only with script: how a scan ended, what is heard, what the browser can do.

import { backs, count, events, ready } from './kept.js';
import { canRead } from './camera.js';
import { part } from './page.js';
import { mute, muted, sound, sounding } from './sound.js';
import { can, works } from './worker.js';

const box = /** @type {HTMLInputElement} */ (part('code'));
const end = /** @type {HTMLInputElement} */ (part('end'));

// At the window, for what is at the document may send the form.
addEventListener('keydown', (e) => {
  if (e.target === box && (e.key === 'Enter' || e.key === 'Tab')) end.value = e.key;
}, { capture: true });
document.addEventListener('click', (e) => {
  const tested = e.target instanceof Element ? e.target.closest('[data-sound]') : null;
  if (tested) sound(tested.getAttribute('data-sound') ?? '');
});

for (const e of document.querySelectorAll('.needs-script')) e.remove();
for (const e of document.querySelectorAll('.acts[hidden]')) e.removeAttribute('hidden');

const silent = /** @type {HTMLInputElement} */ (part('mute'));
silent.checked = muted();
silent.addEventListener('change', () => mute(silent.checked));

/** Says under an id what its data-NAME says. @param {string} id @param {string} name */
function say(id, name) {
  const e = part(id);
  if (e) e.textContent = e.dataset[name] ?? '';
}

say('can-worker', !can() ? 'plain' : works() || !navigator.serviceWorker.controller ? 'yes' : 'no');
say('can-sound', sounding().can ? 'yes' : 'no');
void canRead().then((how) => say('can-camera', how));

/** A device that keeps scans keeps its name: the keys of its scans go with it. */
function named() {
  const busy = count() > 0 || backs() > 0;
  const note = part('not-now');
  if (note) note.hidden = !busy;
  for (const b of document.querySelectorAll('.named button')) /** @type {HTMLButtonElement} */ (b).disabled = busy;
}
events.addEventListener('change', named);
void ready.then(named);
