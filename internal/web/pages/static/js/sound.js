// What an answer sounds like. Gloves and earmuffs: the four are told apart by rhythm and direction, not by pitch alone.

/** @typedef {{ hz: number, ms: number, gap?: number, odd?: boolean }} Tone  odd: with odd harmonics, so that small speakers carry it */

/** @type {Record<string, Tone[]>} */
const sounds = {
  accepted: [{ hz: 1760, ms: 90 }],
  check: [{ hz: 1175, ms: 110, gap: 40 }, { hz: 1568, ms: 160 }],
  refused: [{ hz: 587, ms: 140, gap: 70, odd: true }, { hz: 587, ms: 140, gap: 70, odd: true }, { hz: 587, ms: 140, odd: true }],
  kept: [{ hz: 1760, ms: 45, gap: 60 }, { hz: 1760, ms: 45 }],
};

const ramp = 0.005; // seconds: without it a tone begins and ends with a click

/** @type {AudioContext | undefined} */
let speaker;
/** @type {PeriodicWave | undefined} */
let odd;

// A browser lets a page sound only after a person touched it. A scanner's first key is such a touch.
function wake() {
  speaker ??= new AudioContext();
  void speaker.resume();
}
if ('AudioContext' in globalThis) for (const touch of ['keydown', 'pointerdown']) addEventListener(touch, wake, { capture: true });

const choice = 'tagd-mute';

export const muted = () => {
  try { return localStorage.getItem(choice) === 'yes'; } catch { return false; } // a browser may forbid it
};

/** @param {boolean} yes */
export function mute(yes) {
  try { localStorage.setItem(choice, yes ? 'yes' : 'no'); } catch { /* then it holds for nothing */ }
}

/** Whether the browser has sound at all, and whether it would be heard now. */
export const sounding = () => ({ can: 'AudioContext' in globalThis, now: speaker?.state === 'running' && !muted() });

/** @param {string} answer */
export function sound(answer) {
  const tones = sounds[answer];
  if (!tones || !speaker || speaker.state !== 'running' || muted()) return;
  odd ??= speaker.createPeriodicWave(new Float32Array([0, 0, 0, 0, 0, 0]), new Float32Array([0, 1, 0, 0.4, 0, 0.25]));
  let at = speaker.currentTime + 0.01;
  for (const tone of tones) {
    const [voice, volume] = [speaker.createOscillator(), speaker.createGain()];
    if (tone.odd) voice.setPeriodicWave(odd);
    voice.frequency.value = tone.hz;
    const end = at + tone.ms / 1000;
    volume.gain.setValueAtTime(0, at);
    volume.gain.linearRampToValueAtTime(0.8, at + ramp);
    volume.gain.setValueAtTime(0.8, end - ramp);
    volume.gain.linearRampToValueAtTime(0, end);
    voice.connect(volume).connect(speaker.destination);
    voice.start(at);
    voice.stop(end);
    at = end + (tone.gap ?? 0) / 1000;
  }
}
