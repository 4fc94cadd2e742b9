import assert from 'node:assert/strict';
import test from 'node:test';

import { dismiss, empty, keep, lease, lend, openStore, pageStore, settle } from '../static/js/queue.js';

const scan = (key) => ({ key, at: 0, to: '/at/S1', fields: [['code', key]], by: '' });

test('what is kept goes out in order, each once', () => {
  const q = empty();
  for (const key of ['a', 'b', 'b', 'c']) keep(q, scan(key));
  const sent = [];
  for (let next = lend(q, 'one', 0); next; next = lend(q, 'one', 0)) {
    sent.push(next.key);
    if (sent.length === 1) continue; // its answer was lost: it goes again
    settle(q, next.key, 'accepted', '');
  }
  assert.deepEqual(sent, ['a', 'a', 'b', 'c']);
  assert.equal(q.kept.length, 0);
  assert.equal(q.lease, undefined, 'nobody holds what is empty');
});

test('one tab sends at a time', () => {
  const q = empty();
  keep(q, scan('a'));
  assert.equal(lend(q, 'one', 1000)?.key, 'a');
  assert.equal(lend(q, 'two', 1000), undefined);
  assert.equal(lend(q, 'two', 999 + lease), undefined);
  assert.equal(lend(q, 'two', 1000 + lease)?.key, 'a', 'a tab that was closed holds it no longer');
  assert.equal(lend(q, 'one', 1001 + lease), undefined);
  assert.equal(lend(q, 'one', 1000 - 3_600_000)?.key, 'a', 'a clock that was set back stops nobody');
});

test('what is not simply accepted comes back until somebody has seen it', () => {
  const q = empty();
  for (const key of ['a', 'b', 'c']) keep(q, scan(key));
  settle(q, 'a', 'accepted', 'cut');
  settle(q, 'b', 'check', 'held meanwhile');
  settle(q, 'c', 'refused', 'not a tag');
  settle(q, 'c', 'refused', 'not a tag'); // another tab was told too
  assert.deepEqual(q.back.map((b) => [b.scan.key, b.answer, b.says]), [['b', 'check', 'held meanwhile'], ['c', 'refused', 'not a tag']]);
  dismiss(q, 'b');
  assert.deepEqual(q.back.map((b) => b.scan.key), ['c']);
});

/**
 * As much of IndexedDB as the queue uses: one store, transactions that wait for each other, values that are
 * copied. `broken` aborts every transaction.
 */
function fakeFactory(values = new Map(), broken = { is: false }) {
  let before = Promise.resolve();
  const later = (f) => new Promise((done) => setTimeout(() => { f(); done(undefined); }, Math.random() * 3));
  const db = {
    createObjectStore() {},
    close() {},
    transaction() {
      const tx = { error: null };
      const writes = [];
      let read;
      tx.objectStore = () => ({
        get: (key) => (read = { key }),
        put: (value, key) => { writes.push([key, structuredClone(value)]); },
      });
      before = before.then(async () => {
        await later(() => { read.result = structuredClone(values.get(read.key)); read.onsuccess(); });
        await later(() => {
          if (broken.is) { tx.error = new Error('disk full'); tx.onabort(); return; }
          for (const [key, value] of writes) values.set(key, value);
          tx.oncomplete();
        });
      });
      return tx;
    },
  };
  return { open() { const asked = { result: db }; setTimeout(() => { asked.onupgradeneeded?.(); asked.onsuccess(); }); return asked; } };
}

test('two tabs change one queue, and it outlives them', async () => {
  const values = new Map();
  const factory = fakeFactory(values);
  const tabs = await Promise.all([openStore(factory), openStore(factory)]);
  await Promise.all(Array.from({ length: 40 }, (_, i) => tabs[i % 2].change((q) => keep(q, scan(String(i).padStart(2, '0'))))));
  const sent = [];
  const answer = new Set();
  await Promise.all(tabs.map(async (store, i) => {
    for (let turns = 0; turns < 200; turns++) {
      const next = await store.change((q) => lend(q, `tab ${i}`, 0));
      if (!next) continue;
      sent.push(next.key);
      assert.ok(!answer.has(next.key), 'sent twice');
      answer.add(next.key);
      await store.change((q) => settle(q, next.key, 'accepted', ''));
    }
  }));
  assert.equal(sent.length, 40);
  assert.deepEqual([...sent].sort(), sent);

  await tabs[0].change((q) => keep(q, scan('late')));
  const after = await openStore(fakeFactory(values));
  assert.deepEqual(await after.change((q) => q.kept.map((s) => s.key)), ['late'], 'the browser was closed in between');
});

test('a change that the disk refuses is an error, not a scan that is lost in silence', async () => {
  const broken = { is: true };
  const store = await openStore(fakeFactory(new Map(), broken));
  await assert.rejects(store.change((q) => keep(q, scan('a'))), /disk full/);
  broken.is = false;
  assert.equal(await store.change((q) => q.kept.length), 0);
});

test('without a store of the browser the page keeps them', async () => {
  const store = pageStore();
  await store.change((q) => keep(q, scan('a')));
  assert.equal(await store.change((q) => lend(q, 'one', 0)?.key), 'a');
});
