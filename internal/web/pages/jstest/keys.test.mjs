// Run by node --test: what needs no browser.
import assert from 'node:assert/strict';
import test from 'node:test';

import { Burst } from '../static/js/burst.js';
import { newKey } from '../static/js/key.js';
import { told } from '../static/js/tag.js';

test('keys are UUIDs of version 7 in the order of time', () => {
  // RFC 9562, section 5.7 and its example in appendix A.6: 2022-02-22 14:22:22 -05:00 is 017f22e2-79b0-7...
  assert.match(newKey(1645557742000), /^017f22e2-79b0-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  const made = Array.from({ length: 500 }, (_, i) => newKey(1_700_000_000_000 + i));
  assert.deepEqual([...made].sort(), made);
  assert.equal(new Set(Array.from({ length: 500 }, () => newKey(0))).size, 500);
});

/** Types a text, a key every gap ms, and ends it. */
function type(burst, text, gap, pause = gap) {
  let at = 1000;
  for (const c of text) burst.typed(c, at += gap);
  return burst.ended(at + pause);
}

test('a scanner is told from a person', () => {
  const burst = new Burst();
  assert.equal(type(burst, '10010000004205', 8), '10010000004205');
  assert.equal(type(burst, '10010000004205', 120), '', 'a person types');
  assert.equal(type(burst, '19', 8), '', 'too short for a scan');
  assert.equal(type(burst, '10010000004205', 8, 900), '', 'the end came much later');
  burst.typed('1', 0);
  burst.typed('9', 300);
  let at = 2000;
  for (const c of '10010000004205') burst.typed(c, at += 10);
  assert.equal(burst.ended(at + 5), '10010000004205', 'what a person typed before is no part of it');
});

test('a tag tells with no server what stands in its text', () => {
  const bare = { mark: '', pieces: '', size: '' };
  const number = '1-001-00000042-05';
  for (const [typed, want] of [
    ['10010000004205', { ...bare, number, kind: '1' }],
    [']C010010000004205', { ...bare, number, kind: '1' }],
    ['1-001-00000042-05', { ...bare, number, kind: '1' }],
    ['HTTPS://TAGS.EXAMPLE/T/10010000004205/C2/J24%2D118/L3/MB1%2F204/S%235/N46/HSY21', { number, kind: '1', mark: 'B1/204', pieces: '46', size: '#5' }],
    ['https://tags.example/t/10010000004205/c2/mb1', { number, kind: '1', mark: 'b1', pieces: '', size: '' }],
    ['HTTPSÖ--TAGS.EXAMPLE-T-10010000004205-C2', { ...bare, number, kind: '1' }],
    ['HTTPS://TAGS.EXAMPLE/T/10010000004205/M%E0%A4%A', { ...bare, number, kind: '1' }],
    ['24-118 B5-204', { ...bare, number: '', kind: '' }],
  ]) assert.deepEqual(told(typed), want, typed);
});
