// Hours of every evening in which all light is turned down, or out: told to all, changed by who composes.
import { h } from "./dom.js";
import { levels } from "./evening.js";
import { said, stuck } from "./head.js";
import { choose, onChange, state, unsay } from "./store.js";
import { ask } from "./socket.js";

/** @typedef {import("./wire").Hours} Hours */
/** @typedef {import("./wire").DimHours | import("./wire").QuietHours} Span */

/** What a first touch begins with: our choice, of hours in which neighbours go to bed, and sleep. */
const LATE = { start: "21:30", stop: "23:00", level: 0.5 }, QUIET = { start: "23:00", stop: "06:00" };
let waits = 0, sent = false;
/** The evening that answered hours will replace. @type {import("./wire").Tonight | null} */
let replaced = null;

onChange(() => {
  if (!replaced || state.tonight === replaced) return;
  replaced = null;
  sent = false;
  next();
});

/** The hours as they are under the hand. @returns {Hours} */
const hours = () => state.drafts.get("hours") ?? state.tonight?.hours ?? { dims: [], quiet: null };

/** @param {Partial<Hours>} part what is to be otherwise */
function want(part) {
  state.drafts.set("hours", { ...hours(), ...part });
  unsay("hours");
  choose({});
  clearTimeout(waits);
  waits = setTimeout(next, 200); // a hand that still moves isn't asked for yet
}

/** Ask for what is wanted, one after another: each is made of the hours that the desk told last. */
function next() {
  const wanted = state.drafts.get("hours"), seen = state.tonight?.hours;
  if (!wanted || sent) return;
  if (!seen || JSON.stringify(wanted) === JSON.stringify(seen)) return letGo();
  sent = true;
  ask("hours", { type: "set_hours", hours: wanted, seen }, () => { replaced = state.tonight; }, () => {
    sent = false;
    letGo();
  });
}

function letGo() {
  state.drafts.delete("hours");
  choose({});
}

/** A time by the clock, or by the sun in the almanac's words. @param {string} word @param {string} of @param {string} value @param {(value: string) => void} give */
function time(word, of, value, give) {
  const clock = /^\d\d:\d\d$/.test(value);
  return h("label", { key: word, class: "pick" }, h("span", { class: "quiet" }, word), h("input", {
    type: clock ? "time" : "text", value, maxlength: 40, class: clock ? "" : "short", "aria-label": `${of}, ${word}`,
    onchange: (/** @type {any} */ e) => { if (e.target.value.trim()) give(e.target.value.trim()); else choose({}); },
  }));
}

/** @param {string} of whose times they are @param {Span} span @param {(part: object) => void} give */
const times = (of, span, give) => [time("from", of, span.start, start => give({ start })), time("to", of, span.stop, stop => give({ stop }))];

/** @param {string} label @param {() => void} onclick */
const takeOut = (label, onclick) => h("button", { key: "out", type: "button", "aria-label": label, onclick }, "Take out");

function dims() {
  const all = hours().dims;
  return all.map((d, n) => {
    const of = all.length > 1 ? `Turned down, ${n + 1}` : "Turned down";
    const give = (/** @type {object} */ part) => want({ dims: hours().dims.map((one, i) => i === n ? { ...one, ...part } : one) });
    return h("div", { key: n, class: "late" },
      h("p", null, `Turned down to ${Math.round(100 * d.level)} %`),
      h("div", { class: "row" }, times(of, d, give), takeOut(`${of}: take out`, () => want({ dims: hours().dims.filter((_, i) => i !== n) }))),
      levels(d.level, level => give({ level }), `${of}: brightness`, () => hours().dims[n]?.level ?? d.level));
  });
}

function quiet() {
  const now = hours().quiet, give = (/** @type {object} */ part) => want({ quiet: { .../** @type {any} */ (hours().quiet), ...part } });
  return now && h("div", { key: "quiet", class: "late" }, h("p", null, "Quiet hours: nothing plays"),
    h("div", { class: "row" }, times("Quiet hours", now, give), takeOut("Quiet hours: take out", () => want({ quiet: null }))));
}

/** More hours begin where the last ones end. */
function more() {
  const all = hours().dims, last = all.at(-1)?.stop;
  want({ dims: [...all, last && last !== QUIET.stop ? { ...LATE, start: last, stop: QUIET.stop } : LATE] });
}

/** @param {string} word @param {() => void} onclick */
const add = (word, onclick) => h("button", { key: word, type: "button", onclick }, word);

/** What holds for every evening, and how to change that. */
export function everyEvening() {
  const t = state.tonight, on = state.late && state.session?.rights === "compose" && Boolean(t?.hours);
  if (!t?.hours) return null;
  return h("div", { key: "every", class: on ? "every open" : "every" },
    h("div", { class: "row" }, h("p", { class: "quiet", role: "status" }, t.hours_sentence),
      state.session?.rights === "compose" && h("button", { type: "button", key: "change", "aria-expanded": on, onclick: () => choose({ late: !state.late }) }, on ? "Done" : "Change hours")),
    on && [dims(), quiet(), h("div", { key: "add", class: "row" },
      add(hours().dims.length ? "Turn down at other hours too" : "Turn down late", more),
      !hours().quiet && add("Add quiet hours", () => want({ quiet: QUIET })))],
    !t.problem && said("hours"), on && t.problem && h("p", { key: "stuck", class: "said", role: "alert" }, stuck()));
}
