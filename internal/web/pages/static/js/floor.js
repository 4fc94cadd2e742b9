// A page of the floor: what it does beside what it shows. Every form works without this.

import { showTime } from './clock.js';
import { countKeys, focus, hold } from './keys.js';
import { follow } from './live.js';
import { changes, goneSince, isHere } from './net.js';
import { answerOf, draw, part, refillWork, takeOver } from './page.js';
import { send, take } from './scan.js';
import { sound } from './sound.js';

const form = /** @type {HTMLFormElement | null} */ (part('scan'));
const box = /** @type {HTMLInputElement | null} */ (part('code'));

/** @type {import('./scan.js').Scan[]} */
const waiting = []; // scans that were taken and are not sent yet, in order
let sending = false;

/** Sends what waits, one after another. */
async function sendAll() {
  if (sending) return;
  sending = true;
  for (let scan = waiting[0]; scan; scan = waiting[0]) {
    const page = await send(scan, false);
    if (!page) break; // again when the server is back
    waiting.shift();
    show(page);
  }
  sending = false;
}

/**
 * Shows the page that answered a scan.
 * @param {Document} page
 */
function show(page) {
  const work = part('work');
  if (!work) return;
  if (page.getElementById('work')) takeOver(page);
  else {
    const lines = [...page.querySelectorAll('h1, p')].map((e) => e.textContent?.trim()).filter(Boolean);
    const main = document.createElement('main');
    main.append(draw('trouble', { says: lines.join(' ') }));
    for (const { name, value } of work.attributes) main.setAttribute(name, value);
    main.dataset.answer = 'refused';
    refillWork(work, main);
  }
  tell(answerOf(work));
}

/**
 * Tells an answer to ear and eye.
 * @param {import('./page.js').Answer} answer
 */
export function tell(answer) {
  countKeys();
  sound(answer);
  flash(answer);
}

let flashed = 0;

/**
 * The whole screen lights up once; at most three times in a second (WCAG 2.3.1).
 * @param {string} answer
 */
function flash(answer) {
  const now = performance.now();
  if (answer === 'ready' || now - flashed < 400) return;
  flashed = now;
  part('flash')?.remove();
  const light = document.createElement('div');
  light.id = 'flash';
  light.className = answer;
  light.addEventListener('animationend', () => light.remove());
  document.body.append(light);
}

document.addEventListener('submit', (e) => {
  const sent = /** @type {HTMLFormElement} */ (e.target);
  if (!form || sent.method !== 'post' || new URL(sent.action).pathname !== new URL(form.action).pathname) return;
  e.preventDefault();
  const scan = take(sent, e.submitter);
  form.reset();
  if (box) focus(box);
  if (!scan) return; // Enter alone, or the line feed after it
  waiting.push(scan);
  void sendAll();
});

/** Says whether the server is there. */
function showNet() {
  const net = part('net');
  if (!net) return;
  net.hidden = false;
  net.classList.toggle('off', !isHere());
  net.textContent = (isHere() ? net.dataset.here : net.dataset.gone) ?? '';
  if (!isHere()) net.title = new Date(goneSince()).toLocaleTimeString();
}
changes.addEventListener('here', () => { showNet(); void sendAll(); });
changes.addEventListener('gone', showNet);

setInterval(showTime, 5_000);

showNet();
countKeys();
if (box) hold(box);
follow(form ? decodeURIComponent(new URL(form.action).pathname.split('/')[2] ?? '') : '');
