// Small makers and finders of elements. Text is always set as text, never as
// markup, so that no name from a study can become part of the page.

/** The element with an id. */
export const by = (id) => document.getElementById(id);

/** A new element with properties, attributes (names with a dash, and role) and children. */
export function make(name, props = {}, ...children) {
  const e = document.createElement(name);
  for (const [key, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.includes('-') || key === 'role' || key === 'for') e.setAttribute(key, value);
    else e[key] = value;
  }
  e.append(...children.filter((c) => c !== null && c !== undefined && c !== ''));
  return e;
}

/** A new element of a drawing. */
export function draw(name, attributes = {}) {
  const e = document.createElementNS('http://www.w3.org/2000/svg', name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  return e;
}

/** Sets a text if it differs, so that a screen reader hears of real changes only. */
export function text(element, words) {
  if (element.textContent !== words) element.textContent = words;
}

/** Shows or hides an element. */
export function show(element, yes) {
  if (element.hidden === yes) element.hidden = !yes;
}

/** Fills a list with one item a text, if the texts differ. */
export function items(list, texts) {
  const now = [...list.children].map((c) => c.textContent);
  if (now.length === texts.length && now.every((t, i) => t === texts[i])) return;
  list.replaceChildren(...texts.map((t) => make('li', {}, t)));
}

/** Whether keys typed now go into a field. */
export function typing(target) {
  return target instanceof HTMLElement && (target.isContentEditable || target.tagName === 'TEXTAREA' || target.tagName === 'SELECT'
    || (target.tagName === 'INPUT' && !['checkbox', 'radio', 'button'].includes(target.type)));
}
