// A page of the floor: what it does beside what it shows. Every form works without this.

import { showTime } from './clock.js';
import * as kept from './kept.js';
import { countKeys, focus, hold } from './keys.js';
import { follow } from './live.js';
import { ask, changes, isHere } from './net.js';
import { answerOf, draw, parse, part, refillAnswer, refillWork, takeOver } from './page.js';
import { send, take } from './scan.js';
import { sound } from './sound.js';
import { register } from './worker.js';

const form = /** @type {HTMLFormElement | null} */ (part('scan'));
const box = /** @type {HTMLInputElement | null} */ (part('code'));
const work = part('work');
/** The station of the page, '' where it is of none. */
const station = decodeURIComponent(/^\/at\/([^/]+)/.exec(form ? new URL(form.action).pathname : '')?.[1] ?? '');

/** What main shows: the page of the server, what is kept, or what came back. @type {'page' | 'kept' | 'back'} */
let showing = 'page';

/** @type {import('./scan.js').Scan[]} */
const waiting = []; // scans that were taken and are not sent yet, in order
let sending = false;

/** Sends what waits, one after another. What cannot be sent is kept, and all that comes after it. */
async function sendAll() {
  if (sending) return;
  sending = true;
  await kept.ready;
  for (let scan = waiting[0]; scan; scan = waiting[0]) {
    const page = kept.count() || !isHere() ? undefined : await send(scan, false);
    if (!page) await kept.keep(scan);
    waiting.shift();
    if (page) show(page);
    else showKept();
  }
  sending = false;
  void kept.sendKept();
}

/**
 * Shows the page that answered a scan.
 * @param {Document} page
 */
function show(page) {
  if (!work) return;
  showing = 'page';
  if (page.getElementById('work')) {
    takeOver(page);
    if (form && location.search) history.replaceState(null, '', form.action); // what was asked for before the scan is answered
  }
  else showTrouble(kept.trouble(page));
  showState();
  tell();
}

/** Something is wrong that no scan is at fault for. @param {string} says */
function showTrouble(says) {
  if (work) refillWork(work, draw('trouble', { says }));
}

function showKept() {
  if (!work) return;
  showing = 'kept';
  kept.showKept(work);
  tell();
}

function showBack() {
  if (!work) return;
  showing = 'back';
  kept.showBack(work);
}

/** Shows what the server has of this page now. */
async function showNow() {
  try {
    const answer = await fetch(location.href, { headers: { Accept: 'text/html' }, cache: 'no-store', signal: AbortSignal.timeout(8_000) });
    const page = parse(await answer.text());
    if (!answer.ok || !page.getElementById('work')) return;
    showing = 'page';
    takeOver(page);
    countKeys();
  } catch { /* the next scan shows it */ }
}

/** Tells the answer that main shows to ear and eye. */
function tell() {
  if (!work) return;
  const answer = answerOf(work);
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
  if (!form || sent.method !== 'post' || e.defaultPrevented || !station) return;
  if (new URL(sent.action).pathname !== new URL(form.action).pathname) {
    if (isHere()) return;
    e.preventDefault(); // it would be lost with the page
    if (work) refillAnswer(work, draw('trouble', { says: part('trouble')?.dataset.gone ?? '' })); // what was typed stays
    tell();
    void ask();
    return;
  }
  e.preventDefault();
  const scan = take(sent, e.submitter);
  form.reset();
  part('more')?.removeAttribute('open');
  if (box) focus(box);
  if (!scan) return; // Enter alone, or the line feed after it
  waiting.push(scan);
  void sendAll();
});

/** A tag that something else than the scanner read. @param {string} code */
function scanned(code) {
  if (!box || !form) return;
  box.value = code;
  form.requestSubmit();
}

/** Offers the camera, where there is one and the browser gives it to pages. */
async function offerCamera() {
  if (!station || !isSecureContext || !('mediaDevices' in navigator) || !part('camera-key')) return;
  const devices = await navigator.mediaDevices.enumerateDevices().catch(() => []);
  if (devices.some((d) => d.kind === 'videoinput')) form?.querySelector(':scope > button.main')?.after(draw('camera-key', {}));
}

// A photo of a tag is read as soon as it is taken.
document.addEventListener('change', async (e) => {
  const photo = /** @type {HTMLInputElement} */ (e.target);
  const file = photo.id === 'photo' ? photo.files?.[0] : undefined;
  if (!file || !station || !work) return;
  const { readPhoto } = await import('./camera.js');
  const code = await readPhoto(file);
  photo.value = '';
  if (code) scanned(code);
  else {
    refillAnswer(work, draw('trouble', { says: photo.dataset.none ?? '' }));
    tell();
  }
});

/** Says whether the server is there, and how much came back. */
function showState() {
  const net = part('net');
  if (net) {
    net.hidden = false;
    net.classList.toggle('off', !isHere());
    net.textContent = (isHere() ? net.dataset.here : net.dataset.gone) ?? '';
  }
  const key = part('came-back');
  if (key) {
    key.hidden = !kept.backs();
    key.textContent = (key.dataset.says ?? '').replace('{n}', String(kept.backs()));
  }
}

changes.addEventListener('here', () => { showState(); void sendAll(); if (showing === 'kept' && work) kept.showKept(work); });
changes.addEventListener('gone', () => { showState(); if (kept.count() && showing === 'page') showKept(); });

kept.events.addEventListener('change', () => {
  showState();
  if (!work) return;
  if (showing === 'back') { if (kept.backs()) showBack(); else void showNow(); }
  if (showing === 'kept') { if (kept.count()) kept.showKept(work); else if (!kept.backs()) void showNow(); }
});
kept.events.addEventListener('sent', () => {
  if (!kept.backs()) return;
  showBack();
  tell();
});

document.addEventListener('click', (e) => {
  const pressed = e.target instanceof Element ? e.target.closest('[data-seen], #came-back, #camera') : null;
  if (!pressed) return;
  if (pressed.id === 'camera') {
    void import('./camera.js').then((camera) => camera.look(scanned));
    return;
  }
  if (pressed.id === 'came-back') showBack();
  else void kept.seen(pressed.getAttribute('data-seen') ?? '');
});

setInterval(showTime, 5_000);
showState();
countKeys();
if (box) hold(box);
follow(station);
void kept.ready.then(() => { showState(); return ask(); }).then(() => kept.sendKept());
register();
void offerCamera();
