// What does not fit on the page, as sentences: a page wider than the window, text over text, text cut off, and,
// with least, things to press that are smaller. It is given to the browser by the tests of the pages.
(least) => {
  const found = new Set();
  const wide = document.documentElement.scrollWidth;
  if (wide > innerWidth) found.add(`the page is ${wide} px wide`);

  const call = (e) => {
    const id = e.id ? "#" + e.id : "";
    const cls = e.classList.length ? "." + [...e.classList].join(".") : "";
    return e.localName + id + cls;
  };
  const path = (e) => [e.parentElement, e].filter(Boolean).map(call).join(" > ");
  const up = function* (e) { for (; e && e !== document.documentElement; e = e.parentElement) yield e; };
  // What only a screen reader has, and what is shortened on purpose and said in full elsewhere.
  const exempt = (e) => [...up(e)].some((a) => a.classList.contains("vh") || a.classList.contains("one") ||
    getComputedStyle(a).textOverflow === "ellipsis" || getComputedStyle(a).webkitLineClamp !== "none" ||
    getComputedStyle(a).position === "absolute" && a.clientWidth <= 1);
  // A bar that stays while the page scrolls beneath it is over other text by design.
  const stays = (e) => [...up(e)].find((a) => ["sticky", "fixed"].includes(getComputedStyle(a).position)) ?? null;

  // The ink of each line of text: the box of a line reaches from the ascent to the descent of its face, the ink
  // from the caps to the baseline.
  const inks = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let n; (n = walker.nextNode());) {
    const e = n.parentElement;
    if (!n.data.trim() || ["SCRIPT", "STYLE", "OPTION"].includes(e.tagName) || exempt(e) || !e.checkVisibility({ opacityProperty: true, visibilityProperty: true })) continue;
    const range = document.createRange();
    range.selectNodeContents(n);
    for (const r of range.getClientRects()) {
      let box = { l: r.left, r: r.right, t: r.top + r.height * 0.2, b: r.bottom - r.height * 0.22 };
      for (const a of up(e)) {
        const s = getComputedStyle(a);
        if (s.overflowX === "visible" && s.overflowY === "visible") continue;
        const c = a.getBoundingClientRect();
        box = { l: Math.max(box.l, c.left), r: Math.min(box.r, c.right), t: Math.max(box.t, c.top), b: Math.min(box.b, c.bottom) };
      }
      if (box.r - box.l > 1 && box.b - box.t > 1) inks.push({ ...box, n, e, stays: stays(e) });
    }
  }
  inks.sort((a, b) => a.t - b.t);
  for (let i = 0; i < inks.length; i++) {
    for (let j = i + 1; j < inks.length && inks[j].t < inks[i].b; j++) {
      const a = inks[i], b = inks[j];
      if (a.n === b.n || a.stays !== b.stays) continue;
      if (Math.min(a.r, b.r) - Math.max(a.l, b.l) > 1.5 && Math.min(a.b, b.b) - Math.max(a.t, b.t) > 1.5) {
        found.add(`“${a.n.data.trim().slice(0, 30)}” (${path(a.e)}) lies on “${b.n.data.trim().slice(0, 30)}” (${path(b.e)})`);
      }
    }
  }

  for (const e of document.body.querySelectorAll("*")) {
    if (e instanceof SVGElement || e.matches("input, select, textarea") || !e.checkVisibility({ visibilityProperty: true }) || exempt(e)) continue;
    const s = getComputedStyle(e);
    const hides = (v) => v === "hidden" || v === "clip";
    if (hides(s.overflowX) && e.scrollWidth > e.clientWidth + 1) found.add(`${path(e)} cuts its text off at the side`);
    if (hides(s.overflowY) && e.scrollHeight > e.clientHeight + 2) found.add(`${path(e)} cuts its text off below`);
    const box = e.getBoundingClientRect();
    if (box.width && box.left < -1 && e.textContent.trim()) found.add(`${path(e)} begins left of the window`);
  }

  // How far a thing is pressed up and down, and to the sides, from its middle on: what it has beyond its box counts,
  // and what lies over it does not.
  const reach = (e, box) => {
    const x = box.left + box.width / 2, y = box.top + box.height / 2;
    const hits = (x, y) => { const at = document.elementFromPoint(x, y); return at && (e.contains(at) || at.closest("label")?.control === e); };
    if (!hits(x, y)) return { width: box.width, height: box.height };
    const far = (dx, dy) => { let n = 0; while (n < 200 && hits(x + dx * (n + 1), y + dy * (n + 1))) n++; return n; };
    return { width: far(-1, 0) + far(1, 0) + 1, height: far(0, -1) + far(0, 1) + 1 };
  };
  if (least) {
    for (const e of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, summary, textarea")) {
      // A count is pressed on the keys beneath it.
      if (!e.checkVisibility({ visibilityProperty: true }) || e.closest(".vh, .count")) continue;
      const p = e.parentElement;
      // A link within a text is as high as the text is.
      if (e.localName === "a" && getComputedStyle(e).display === "inline" && getComputedStyle(e, "::after").position !== "absolute") continue;
      const box = (e.type === "checkbox" || e.type === "radio" || e.type === "file" ? e.closest("label") ?? e : e).getBoundingClientRect();
      if (!box.width || box.height >= least - 0.5 && box.width >= least - 0.5) continue;
      const pressed = reach(e, box);
      if (pressed.height < least - 0.5 || pressed.width < least - 0.5) {
        found.add(`${call(p)} > ${call(e)} “${(e.textContent || e.name || "").trim().slice(0, 30)}” is pressed on ${Math.round(pressed.width)} × ${Math.round(pressed.height)} px only`);
      }
    }
  }
  return [...found];
}
