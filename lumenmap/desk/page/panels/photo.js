// Colours of a photograph. The desk is asked for them and keeps nothing; the photo itself stays in this
// browser, above the palette that is mixed, where a touch gives the chosen stop its colour.
import { h } from "./dom.js";
import { said } from "./head.js";
import { choose, state, unsay } from "./store.js";

/** How large it is drawn (px), and how many colours are asked for. */
const WIDE = 480, COUNT = 6;
const KINDS = "image/png,image/jpeg,image/gif,image/webp";

/** @type {ImageBitmap | null} */
let picture = null;
/** @type {number} */
let busy = 0;

/** @param {File} file @param {(colours: string[], name: string) => void} done */
async function ask(file, done) {
  const own = ++busy;
  unsay("photo");
  choose({ photo: "The desk looks for its colours …" });
  try {
    const answer = await fetch(`/photo?count=${COUNT}`, { method: "POST", body: file, headers: { "Content-Type": file.type || "unknown" } });
    if (!answer.ok) throw new Error((await answer.text()).trim());
    const { colours } = /** @type {{ colours: string[] }} */ (await answer.json());
    picture = await createImageBitmap(file).catch(() => null);
    if (own === busy) done(colours, (file.name.replace(/\.[^.]*$/, "").toLowerCase().match(/[a-z0-9]+/g) ?? ["photo"]).join("-").slice(0, 40));
    choose({ photo: file.name });
  } catch (error) {
    const lost = error instanceof TypeError;
    state.said.set("photo", lost ? "The desk doesn't answer now. Try again when it is back." : /** @type {Error} */ (error).message || "The photo couldn't be read.");
    choose({ photo: "" });
  }
}

/** The button that takes a photo. @param {(colours: string[], name: string) => void} done */
export function photoButton(done) {
  return [
    h("label", { key: "photo", class: "pick photo" }, h("span", null, "Colours of a photo"), h("input", {
      type: "file", accept: KINDS, "aria-label": "A photo to take colours from",
      onchange: (/** @type {any} */ e) => {
        const file = e.target.files?.[0];
        e.target.value = "";
        if (file) void ask(file, done);
      },
    })),
    state.photo.endsWith("…") && h("p", { key: "wait", class: "quiet", role: "status" }, state.photo), said("photo"),
  ];
}

/** The photo, if there is one. */
export const photoAbove = () => picture && [h("lm-photo", { key: "picture" }), h("p", { key: "hint", class: "quiet" }, "Touch the photo to give the chosen stop its colour.")];

/** Called with the colour that was touched, 0..255. @type {(rgb: [number, number, number], gesture: boolean) => void} */
let picked = () => {};
/** @param {typeof picked} take */
export const onPick = take => { picked = take; };

class Photo extends HTMLElement {
  connectedCallback() {
    const canvas = document.createElement("canvas"), shown = picture;
    if (!shown) return;
    canvas.width = WIDE;
    canvas.height = Math.max(1, Math.min(2 * WIDE, Math.round(WIDE * shown.height / shown.width)));
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    pen?.drawImage(shown, 0, 0, canvas.width, canvas.height);
    this.setAttribute("role", "img");
    this.setAttribute("aria-label", "Your photo; the sliders below change the same colour");
    this.replaceChildren(canvas);
    const pick = (/** @type {PointerEvent} */ e, first = false) => {
      const box = canvas.getBoundingClientRect(), part = (/** @type {number} */ v) => Math.min(Math.max(v, 0), 0.999);
      const at = pen?.getImageData(Math.floor(part((e.clientX - box.left) / box.width) * canvas.width), Math.floor(part((e.clientY - box.top) / box.height) * canvas.height), 1, 1).data;
      if (at) picked([at[0], at[1], at[2]], first);
    };
    this.onpointerdown = e => {
      this.setPointerCapture(e.pointerId);
      pick(e, true);
      this.onpointermove = move => pick(move);
    };
    this.onpointerup = this.onpointercancel = () => { this.onpointermove = null; };
  }
}

customElements.define("lm-photo", Photo);
