// The parts of a page, and what another state of the same page puts in their place. The server is the only one who
// draws: script asks for the page again and takes the parts over.

/** @typedef {'ready' | 'accepted' | 'check' | 'refused' | 'kept'} Answer */

/** @type {Answer[]} */
const answers = ['accepted', 'check', 'refused', 'kept'];

/** @param {string} id */
export const part = (id) => document.getElementById(id);

/** @param {string} html */
export const parse = (html) => new DOMParser().parseFromString(html, 'text/html');

/**
 * The answer that a page's work shows.
 * @param {Element} work
 * @returns {Answer}
 */
export function answerOf(work) {
  const said = /** @type {Answer} */ (work.getAttribute('data-answer'));
  if (answers.includes(said)) return said;
  const shown = work.querySelector('.answer, .stop');
  return answers.find((a) => shown?.classList.contains(a)) ?? (shown?.matches('.stop') ? 'refused' : 'ready');
}

/**
 * What the answer says, for a list.
 * @param {Element} work
 */
export function saysOf(work) {
  const says = work.querySelector('.say, .stop .what, [role=alert]') ?? work.querySelector('[role=status]');
  return says?.textContent?.replace(/\s+/g, ' ').trim() ?? '';
}

/**
 * Gives an element the attributes of another one.
 * @param {Element} now
 * @param {Element} next
 */
function dress(now, next) {
  for (const { name } of [...now.attributes]) if (!next.hasAttribute(name)) now.removeAttribute(name);
  for (const { name, value } of next.attributes) if (now.getAttribute(name) !== value) now.setAttribute(name, value);
}

/**
 * Fills an element as another one is filled. It stays itself, and with it what others know of it.
 * @param {Element} now
 * @param {Element} next
 */
export function refill(now, next) {
  dress(now, next);
  now.replaceChildren(...next.childNodes);
}

/**
 * Takes over the work of another page. The element with the answer stays in its place and is filled anew: a
 * screen reader tells what changes in a status that it knows.
 * @param {Element} work main of this page
 * @param {Element} next main of the other
 */
export function refillWork(work, next) {
  const old = work.querySelector(':scope > .answer[role=status]');
  const fresh = next.querySelector(':scope > .answer[role=status]');
  if (!old || !fresh || old.tagName !== fresh.tagName) {
    refill(work, next);
    return;
  }
  dress(work, next);
  for (const child of [...work.childNodes]) if (child !== old) child.remove();
  const all = [...next.childNodes];
  const at = all.indexOf(fresh);
  old.before(...all.slice(0, at));
  old.after(...all.slice(at + 1));
  refill(old, fresh);
}

/**
 * Takes over only the answer of another page's work.
 * @param {Element} work
 * @param {Element} next
 */
export function refillAnswer(work, next) {
  const [now, other] = [work.querySelector(':scope > .answer, :scope > .stop'), next.querySelector(':scope > .answer')];
  if (now && other) refill(now, other);
  work.setAttribute('data-answer', next.getAttribute('data-answer') ?? '');
}

/**
 * Takes over all that a scan changes: the work, the last scans, the crew, the rarer deeds.
 * @param {Document} page
 */
export function takeOver(page) {
  const { head } = page.documentElement.dataset;
  if (head) document.documentElement.dataset.head = head;
  if (page.documentElement.lang !== document.documentElement.lang) translate(page);
  const work = part('work');
  const next = page.getElementById('work');
  if (work && next) refillWork(work, next);
  for (const id of ['last', 'crew', 'more']) {
    const [now, other] = [part(id), page.getElementById(id)];
    if (now && other) refill(now, other);
  }
}

/**
 * A badge chose the other language: all that a scan leaves as it is, in that.
 * @param {Document} page
 */
function translate(page) {
  document.documentElement.lang = page.documentElement.lang;
  document.title = page.title;
  for (const which of ['body > .head', 'body > .banner', '#scan label[for=code]', '#scan > button.main']) {
    const [now, other] = [document.querySelector(which), page.querySelector(which)];
    if (now && other) refill(now, other);
  }
  for (const other of page.querySelectorAll('template[id]')) part(other.id)?.replaceWith(other);
  const [box, named] = [part('code'), page.getElementById('code')];
  if (box instanceof HTMLInputElement && named) box.placeholder = named.getAttribute('placeholder') ?? '';
}

/**
 * A filled copy of a template of the page: {name} in its text is what values say.
 * @param {string} id
 * @param {Record<string, string>} values
 * @returns {Element}
 */
export function draw(id, values) {
  const template = /** @type {HTMLTemplateElement} */ (part(id));
  const made = /** @type {DocumentFragment} */ (template.content.cloneNode(true));
  const texts = document.createTreeWalker(made, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const text = /** @type {Text} */ (texts.currentNode);
    text.data = text.data.replace(/\{(\w+)\}/g, (_, name) => values[name] ?? '');
  }
  return /** @type {Element} */ (made.firstElementChild);
}
