// Whose keys are those? A scanner plugged in as a keyboard types into whatever has the focus. So the scan box always
// has it back, and a burst of keys that went elsewhere is taken from there.

import { Burst, quick } from './burst.js';

// What a keyboard has no key for, a scanner types with Control: the separators of ISO/IEC 15434.
/** @type {Record<string, string>} */
const control = { ']': '\x1d', '^': '\x1e', 6: '\x1e', d: '\x04' };

const fields = 'input, select, textarea, [contenteditable]';
const pressed = 'a[href], button, summary, label, dialog, ' + fields;

/** @param {EventTarget | null} e */
const isField = (e) => e instanceof Element && e.matches(fields) && !e.matches('[type=checkbox], [type=radio], [type=file]');

/** A field that takes text takes a scan as well; a count and a choice do not. @param {Element} e */
const takesScans = (e) => e.matches('textarea, input:not([inputmode=numeric], [type=number])');

/**
 * Keeps the focus in the box, and gives it what a scanner types elsewhere.
 * @param {HTMLInputElement} box
 */
export function hold(box) {
  const form = /** @type {HTMLFormElement} */ (box.form);
  const burst = new Burst();
  /** @type {{ field: HTMLInputElement, value: string } | undefined} */
  let spoiled; // a field that the burst went into, as it was before

  // A screen keyboard covers half a tablet: it comes only when a finger is laid on the box itself.
  box.addEventListener('pointerdown', () => { box.inputMode = 'text'; });

  document.addEventListener('keydown', (e) => {
    const at = e.timeStamp;
    const to = e.target;
    if (e.ctrlKey && !e.altKey && !e.metaKey) {
      const c = control[e.key.toLowerCase()];
      if (to === box && c && at - burst.last <= quick) {
        e.preventDefault();
        box.setRangeText(c, box.selectionStart ?? 0, box.selectionEnd ?? 0, 'end');
        burst.typed(c, at);
      } else if (e.key.toLowerCase() === 'j' && at - burst.last <= 10 * quick) {
        e.preventDefault(); // a line feed after the scan: a browser would show its downloads
      }
      return;
    }
    if (e.altKey || e.metaKey || e.isComposing) return;
    if (e.key === 'Enter' || e.key === 'Tab') {
      const scan = burst.ended(at);
      if (!scan) return;
      if (to === box) {
        if (e.key === 'Tab') { // a scanner may end with Tab
          e.preventDefault();
          form.requestSubmit();
        }
      } else if (spoiled) {
        e.preventDefault();
        spoiled.field.value = spoiled.value;
        box.value = scan;
        form.requestSubmit();
      }
      spoiled = undefined;
      return;
    }
    if ([...e.key].length !== 1) return;
    if (burst.typed(e.key, at)) spoiled = undefined;
    if (to === box) return;
    if (isField(to)) {
      const field = /** @type {HTMLInputElement} */ (to);
      if (burst.text.length === 1 && !takesScans(field)) spoiled = { field, value: field.value };
    } else if (e.key !== ' ') { // the space presses what has the focus
      focus(box); // the character follows it
    }
  }, { capture: true });

  // After a press on anything that is no field the box has the focus back. A screen reader's own cursor moves
  // without a press, so it is left alone; so is whoever marks a text to copy it.
  document.addEventListener('click', (e) => {
    const to = e.target instanceof Element ? e.target : null;
    const inField = to?.closest(fields);
    if (inField && isField(inField)) return;
    if (to?.closest('summary, dialog, label') || String(getSelection())) return;
    // What was pressed acts first.
    if (to?.closest(pressed)) setTimeout(() => { if (!isField(document.activeElement) && !document.querySelector('dialog[open]')) focus(box); });
    else focus(box);
  });
  addEventListener('focus', () => { if (document.activeElement === document.body) focus(box); });
  setTimeout(() => { if (document.activeElement === document.body) focus(box); }, 100); // the page's own autofocus comes first
}

/** @param {HTMLInputElement} box */
export function focus(box) {
  if (document.activeElement === box) return;
  box.inputMode = matchMedia('(pointer: coarse)').matches ? 'none' : 'text';
  box.focus({ preventScroll: true });
}

/** Keys for a count: [data-keys] says the id of the field that its [data-key] fill, "0" to "9" and "back". They need script. */
export function countKeys() {
  for (const key of document.querySelectorAll('[data-keys][hidden], [data-key][hidden]')) key.removeAttribute('hidden');
}

/** @type {WeakSet<Element>} fields whose count is the tag's, not one that was typed */
const typedInto = new WeakSet();

document.addEventListener('click', (e) => {
  const key = e.target instanceof Element ? e.target.closest('[data-key]') : null;
  const keys = key?.closest('[data-keys]');
  if (!key || !keys) return;
  const id = keys.getAttribute('data-keys');
  const field = /** @type {HTMLInputElement | null} */ ((id ? document.getElementById(id) : null) ?? keys.closest('form')?.elements.namedItem('pieces') ?? document.getElementById('pieces'));
  if (!field) return;
  const pressedKey = key.getAttribute('data-key') ?? '';
  if (/^\d$/.test(pressedKey)) field.value = ((typedInto.has(field) ? field.value : '') + pressedKey).slice(0, 5);
  else if (pressedKey === 'back') field.value = field.value.slice(0, -1);
  else return;
  typedInto.add(field);
  const shown = keys.querySelector('output') ?? keys.parentElement?.querySelector('output');
  if (shown) shown.textContent = field.value || '0';
});
