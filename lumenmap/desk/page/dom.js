// Draws what a panel says should be there, and touches only what differs: focus, and a slider under
// the hand, stay as they are. Text becomes text nodes, never markup.

/** @typedef {{ tag: string, props: Record<string, any>, kids: Kid[] }} Made */
/** @typedef {Made | string | number} Kid */
/** @typedef {Kid | null | undefined | false | any[]} MaybeKid what is false or missing is left out; lists are laid flat */

const SVG = "http://www.w3.org/2000/svg";
const DRAWN = new Set(["svg", "g", "polyline", "path", "rect", "title"]);
const KEY = Symbol("key"), GIVEN = Symbol("given");

/** @param {MaybeKid[]} kids @returns {Kid[]} */
function flat(kids) {
  return /** @type {any[]} */ (kids).flat(Infinity).filter(k => k !== null && k !== undefined && k !== false && k !== "");
}

/**
 * Say that an element should be there.
 * @param {string} tag
 * @param {Record<string, any> | null} props `on…` are handlers, `style` a record, `key` names it among its siblings
 * @param {...MaybeKid} kids
 * @returns {Made}
 */
export function h(tag, props, ...kids) {
  return { tag, props: props ?? {}, kids: flat(kids) };
}

/** @param {any} element @param {Record<string, any>} props */
function give(element, props) {
  const before = element[GIVEN] ?? {};
  for (const name of Object.keys(before)) {
    if (!(name in props)) set(element, name, name.startsWith("on") ? null : undefined);
  }
  for (const [name, value] of Object.entries(props)) set(element, name, value);
  element[GIVEN] = props;
}

/** @param {any} element @param {string} name @param {any} value */
function set(element, name, value) {
  if (name === "key") return;
  // What isn't pressed, or isn't folded out, still says that it can be.
  if (value === false && (name === "aria-pressed" || name === "aria-expanded")) value = "false";
  if (name === "style") {
    for (const [word, to] of Object.entries(value ?? {})) element.style.setProperty(word, to);
  } else if (name.startsWith("on")) {
    element[name] = value ?? null;
  } else if (name === "value") {
    const text = String(value ?? "");
    const typing = document.activeElement === element && element.type !== "range";
    if (!typing && element.value !== text) element.value = text;
  } else if (name === "hidden" || name === "disabled" || name === "checked") {
    element[name] = Boolean(value);
  } else if (value === undefined || value === null || value === false) {
    element.removeAttribute(name);
  } else if (element.getAttribute(name) !== String(value)) {
    element.setAttribute(name, String(value));
  }
}

/** @param {any} node @param {Kid} kid */
function fits(node, kid) {
  if (!node) return false;
  if (typeof kid !== "object") return node.nodeType === Node.TEXT_NODE;
  return node.localName === kid.tag && node[KEY] === kid.props.key;
}

/** @param {Kid} kid @returns {any} */
function made(kid) {
  if (typeof kid !== "object") return document.createTextNode(String(kid));
  const element = DRAWN.has(kid.tag) ? document.createElementNS(SVG, kid.tag) : document.createElement(kid.tag);
  /** @type {any} */ (element)[KEY] = kid.props.key;
  return element;
}

/**
 * Have an element hold just these.
 * @param {Element} parent
 * @param {MaybeKid[]} wanted
 */
export function patch(parent, wanted) {
  const named = new Map([...parent.childNodes].map(n => [/** @type {any} */ (n)[KEY], n]));
  /** @type {any} */
  let at = parent.firstChild;
  for (const kid of flat(wanted)) {
    const key = typeof kid === "object" ? kid.props.key : undefined;
    let node = at;
    if (!fits(node, kid)) {
      node = key !== undefined && fits(named.get(key), kid) ? named.get(key) : made(kid);
      parent.insertBefore(node, at);
    } else at = at.nextSibling;
    named.delete(key);
    if (typeof kid !== "object") {
      if (node.data !== String(kid)) node.data = String(kid);
      continue;
    }
    // What stands inside a select or a slider has to be there before its value is given.
    if (kid.tag !== "canvas" && !kid.tag.startsWith("lm-")) patch(node, kid.kids);
    give(node, kid.props);
  }
  while (at) {
    const next = at.nextSibling;
    at.remove();
    at = next;
  }
}
