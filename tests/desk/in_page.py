"""What the tests' hands ask of the page: JavaScript expressions, whose ``words`` are given to them."""

#: The first visible thing that can be used and is called so: by its label, or what it says.
CALLED = """
((name, root) => {
  const all = [...document.querySelectorAll(
    `${root} :is(button, input, select, [role=slider], [role=listbox])`)];
  const called = e => (e.getAttribute('aria-label') || (e.labels && e.labels[0]?.textContent)
    || e.textContent).trim();
  const seen = all.filter(e => e.getClientRects().length && !e.disabled);
  const found = seen.find(e => called(e) === name) || seen.find(e => called(e).startsWith(name));
  found?.scrollIntoView({block: 'center'});
  return found || null;
})(...words)
"""
#: Its middle, once nothing lies over that. If it moves before the touch comes, nothing is touched.
MIDDLE = f"""
(() => {{
  const found = {CALLED}, kinds = ['pointerdown', 'mousedown', 'click'];
  if (!found) return null;
  const box = found.getClientRects()[0], x = box.x + box.width / 2, y = box.y + box.height / 2;
  if (!found.contains(document.elementFromPoint(x, y))) return null;
  const heed = event => {{
    if (!found.contains(event.target)) {{ event.stopImmediatePropagation(); event.preventDefault(); }}
    else if (event.type === 'click') window.hit = true;
  }};
  for (const kind of kinds) addEventListener(kind, heed, true);
  window.hit = false;
  window.unheed = () => {{ for (const kind of kinds) removeEventListener(kind, heed, true); }};
  return [x, y];
}})()
"""
#: Whether it was touched; no page before another one came.
HIT = "window.unheed?.(); return window.hit !== false"
#: Whether a show of a file and title is composed; it is chosen if another one is.
SHOWN = """
(([file, title]) => {
  const chosen = document.querySelector('select');
  if (chosen && chosen.value !== file) {
    chosen.value = file;
    if (chosen.value === file) chosen.onchange({target: chosen});
  }
  return document.querySelector('input.title')?.value === title && chosen?.value === file;
})(words)
"""
