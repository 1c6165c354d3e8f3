// Asking for the name of something new.
import { h } from "./dom.js";

/**
 * Ask for a name, and make something of it.
 * @param {string} label @param {(name: string) => void} make
 */
export function named(label, make) {
  return h("form", {
    class: "row", onsubmit: (/** @type {any} */ e) => {
      e.preventDefault();
      const field = e.target.elements[0], name = field.value.trim();
      if (name) make(name);
      field.value = "";
    },
  }, h("label", { class: "pick" }, h("span", null, label), h("input", { type: "text", class: "title", maxlength: 60, "aria-label": label })), h("button", null, "Add"));
}
