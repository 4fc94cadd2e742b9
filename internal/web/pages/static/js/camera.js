// A camera as a scanner: it looks until it has read one tag, gives that to the scan box, and stops.

import { draw, part } from './page.js';

/** @typedef {{ detect: (from: ImageBitmapSource) => Promise<{ rawValue: string }[]> }} Detector */
/** @typedef {{ new (o: { formats: string[] }): Detector, getSupportedFormats: () => Promise<string[]> }} Detectors */

const formats = ['qr_code', 'code_128'];
const pause = 150; // ms between two looks
const patience = 60_000; // ms after which it stops by itself
const width = 1280; // px: a frame that goes to the server is no larger

/** The browser's own reader, where it has one for our symbols. @returns {Promise<Detector | undefined>} */
async function detector() {
  const Of = /** @type {Detectors | undefined} */ (/** @type {any} */ (globalThis).BarcodeDetector);
  try {
    const has = await Of?.getSupportedFormats() ?? [];
    return Of && formats.every((f) => has.includes(f)) ? new Of({ formats }) : undefined;
  } catch {
    return undefined;
  }
}

/** How a camera is read here: by the browser, by the server, or why not. @returns {Promise<'yes' | 'server' | 'no' | 'plain'>} */
export async function canRead() {
  if (!isSecureContext) return 'plain';
  if (!navigator.mediaDevices?.getUserMedia) return 'no';
  return await detector() ? 'yes' : 'server';
}

/** @type {(() => void) | undefined} stops the camera that runs */
let stop;

/**
 * Reads one tag.
 * @param {(code: string) => void} read gets its text
 */
export async function look(read) {
  if (stop) {
    stop();
    return;
  }
  /** @type {MediaStream} */
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment', width: { ideal: 1920 }, height: { ideal: 1080 } }, audio: false });
  } catch {
    return; // forbidden, or another program has it
  }
  const shown = draw('camera-page', {});
  const video = /** @type {HTMLVideoElement} */ (shown.querySelector('video'));
  video.srcObject = stream;
  document.body.append(shown);
  let going = true;
  stop = () => {
    going = false;
    stop = undefined;
    for (const track of stream.getTracks()) track.stop();
    shown.remove();
    part('code')?.focus();
  };
  shown.querySelector('button')?.addEventListener('click', () => stop?.());
  addEventListener('keydown', function leave(e) {
    if (!going || e.key === 'Escape') removeEventListener('keydown', leave);
    if (going && e.key === 'Escape') stop?.();
  });
  const own = await detector();
  await video.play().catch(() => {});
  for (const until = Date.now() + patience; going && Date.now() < until && !document.hidden;) {
    const code = await (own ? ask(own, video) : send(video));
    if (!going) return;
    if (code) {
      stop?.();
      read(code);
      return;
    }
    await new Promise((next) => setTimeout(next, pause));
  }
  stop?.();
}

/** Only one tag in view is read: of two nobody knows which is meant. @param {string[]} texts */
const one = (texts) => (new Set(texts).size === 1 ? texts[0] : undefined);

/** @param {Detector} own @param {HTMLVideoElement} video */
async function ask(own, video) {
  try {
    return one((await own.detect(video)).map((found) => found.rawValue));
  } catch {
    return undefined; // no frame yet
  }
}

const canvas = document.createElement('canvas');

/** Sends a frame to the server's reader, one at a time. @param {HTMLVideoElement} video */
async function send(video) {
  if (!video.videoWidth) return undefined;
  const scale = Math.min(1, width / video.videoWidth);
  canvas.width = video.videoWidth * scale;
  canvas.height = video.videoHeight * scale;
  canvas.getContext('2d')?.drawImage(video, 0, 0, canvas.width, canvas.height);
  const frame = await new Promise((/** @type {(b: Blob | null) => void} */ made) => canvas.toBlob(made, 'image/jpeg', 0.8));
  return frame ? readPhoto(frame) : undefined;
}

/**
 * What the server reads in a photo.
 * @param {Blob} photo
 * @returns {Promise<string | undefined>}
 */
export async function readPhoto(photo) {
  try {
    const answer = await fetch('/api/v1/scans/photo', { method: 'POST', body: photo, headers: { 'Content-Type': photo.type }, signal: AbortSignal.timeout(20_000) });
    if (!answer.ok) return undefined;
    /** @type {{ found: { code: string, number?: string }[] }} */
    const { found } = await answer.json();
    const ours = found.filter((f) => f.number);
    // The two symbols of one tag say the same number; its QR says more.
    if (new Set(ours.map((f) => f.number)).size === 1) return ours.map((f) => f.code).sort((a, b) => b.length - a.length)[0];
    return ours.length ? undefined : one(found.map((f) => f.code));
  } catch {
    return undefined;
  }
}
