// The line on top: whose house, which view; and whatever stands in the way, with what to do next.
import { h } from "./dom.js";
import { choose, composing, Panel, state, unsay } from "./store.js";
import { connect } from "./line.js";
import { ask, edit, open } from "./socket.js";

/** @param {import("./store.js").View} view @param {string} word */
function viewButton(view, word) {
  return h("button", {
    type: "button", class: "tab", "aria-pressed": state.view === view,
    onclick: () => {
      history.replaceState(null, "", `#${view}`);
      choose({ view, tried: "", asked: "", edge: "", first: "", last: "", until: false, wish: { what: "" }, answer: null });
    },
  }, word);
}

const good = () => state.shows.filter(s => !s.problem);

function shows() {
  const rows = good();
  return h("label", { class: "pick" }, h("span", { class: "quiet" }, "Show"),
    h("select", { value: state.file, onchange: (/** @type {any} */ e) => open(e.target.value) },
      rows.map(s => h("option", { key: s.file, value: s.file }, s.title))));
}

function steps() {
  const show = state.show, file = state.file;
  const step = (/** @type {"undo" | "redo"} */ type, /** @type {string} */ word, /** @type {boolean | undefined} */ can, /** @type {string | undefined} */ what) => h("button", {
    type: "button", disabled: !can, title: can && what ? `${word}: ${what}` : word,
    onclick: () => ask("step", { type, file }),
  }, word);
  return [
    step("undo", "Undo", show?.can_undo, show?.undoes), step("redo", "Redo", show?.can_redo, show?.redoes),
    h("button", { type: "button", onclick: () => ask("new", { type: "new_show", title: freeTitle("New Show") }) }, "New show"),
    show && h("button", {
      type: "button", title: "A new show that starts as a copy of this one",
      onclick: () => ask("new", { type: "new_show", title: freeTitle(`${show.title.slice(0, 70)}, copy`), copy_of: file }),
    }, "Copy show"),
    show && h("button", {
      type: "button", disabled: !good().some(s => s.file !== file), title: "Take this show off the list; its file is kept",
      onclick: () => remove(file, show.title),
    }, "Remove show"),
  ];
}

/** Take a show off the list, and go on with the one of before. @param {string} file @param {string} title */
function remove(file, title) {
  const others = good().filter(s => s.file !== file), next = others.find(s => s.file === state.before) ?? others[0];
  ask("remove", { type: "remove_show", file }, answer => {
    choose({ removed: { file, title, kept: answer.file } });
    if (next && state.file === file) open(next.file);
  });
}

/** What was removed, and how to have it back. */
function removed() {
  const gone = state.removed;
  return gone && composing() && h("div", { key: "removed", class: "notice calm", role: "status" },
    h("p", null, `“${gone.title}” is off the list. Its file is still in the folder, as ${gone.kept}.`),
    h("div", { class: "row" },
      action("Put it back", () => ask("new", { type: "put_back", file: gone.file }, () => choose({ removed: null }))),
      action("OK", () => choose({ removed: null }))));
}

/** @param {string} title */
function freeTitle(title) {
  const taken = new Set(state.shows.map(s => s.title));
  for (let n = 1; ; n++) if (!taken.has(n > 1 ? `${title} ${n}` : title)) return n > 1 ? `${title} ${n}` : title;
}

class Head extends Panel {
  view() {
    const session = state.session, both = session?.rights === "compose";
    return [
      h("h1", { key: "name" }, session?.house?.name ?? session?.folder ?? "The desk"),
      session && h("nav", { key: "views", "aria-label": "View" }, viewButton("tonight", "Tonight"), viewButton("calendar", "Calendar"), both && viewButton("compose", "Compose")),
      composing() && h("div", { key: "tools", class: "tools" }, shows(), steps(), title()),
      composing() && said("title"),
    ];
  }
}

/** The show's name is typed where it stands. */
function title() {
  const show = state.show;
  return show && h("label", { class: "pick" }, h("span", { class: "quiet" }, "Name"), h("input", {
    type: "text", class: "title", value: show.title, maxlength: 80,
    onchange: (/** @type {any} */ e) => edit("title", "Name of the show", now => [{
      op: "set", path: ["show", "name"], old: /** @type {any} */ (now.data.show)?.name ?? null, new: e.target.value,
    }]),
  }));
}

/** Why no evening can be changed now: the mistake itself stands at the top of the page. */
export const stuck = () => {
  const { file, problem } = state.tonight ?? { file: "", problem: "" };
  return problem && file ? `Nothing can be chosen until ${file} is mended. What was planned plays on.` : problem;
};

/** @param {string | undefined} text */
const plainly = text => text && state.tonight?.problem && text.startsWith(state.tonight.problem) ? stuck() : text;

/** A refused edit's sentence, beside its control. @param {string} key */
export function said(key) {
  const text = plainly(state.said.get(key)), mine = state.mine.get(key);
  const done = () => { unsay(key); choose({}); };
  return text ? h("div", { key: `said ${key}`, role: "alert" }, h("p", { class: "said" }, text),
    mine && h("div", { class: "row" }, action("Use mine", mine), action("Leave theirs", done))) : null;
}

/** @param {string} word @param {() => void} onclick */
const action = (word, onclick) => h("button", { type: "button", onclick }, word);

/** @returns {[string, import("./dom.js").MaybeKid] | null} what stands between the page and the server */
function line() {
  if (state.link === "unpaired") return ["This device isn't let in any more: its pairing ran out, or was taken back. Nothing is lost.", action("Pair it again", () => location.replace("/"))];
  if (state.link === "old") return ["The desk was updated since this page was loaded.", action("Load the page again", () => location.reload())];
  if (state.link === "lost") return [`${state.farewell || "The desk doesn't answer."} The lights go on without it. See that lumenmap desk runs and that this device is on the home network; this page tries again by itself.`, action("Try now", () => connect())];
  return null;
}

/** Whether a file is a show's, which who only chooses needn't mend. @param {string} file */
function leaves(file) {
  // An almanac that can't be read is listed as a show: what it is can't be seen any more.
  const others = [state.session?.house?.file, state.tonight?.file];
  return !composing() && Boolean(state.session?.house) && !others.includes(file) && state.shows.some(s => s.file === file);
}

/** Shows with mistakes, in one line for who only chooses. */
function broken() {
  const files = [...new Set(state.problems.map(p => p.file).filter(leaves))];
  return files.length > 0 && h("p", { key: "broken", class: "quiet", role: "status" },
    `${files.join(", ")} can't be used as ${files.length > 1 ? "they stand" : "it stands"}. Compose says why.`);
}

class Notice extends Panel {
  view() {
    const away = line(), session = state.session;
    return [
      !away && !session && h("p", { key: "loading", class: "quiet", role: "status" }, "Loading …"),
      away && h("div", { key: "away", class: "notice", role: "alert" }, h("p", null, away[0]), away[1]),
      session && !session.house && h("div", { key: "house", class: "notice", role: "alert" },
        h("p", null, "There is no house file that can be read in this folder. Mend it as said below, or run lumenmap new to start one; the picture comes by itself.")),
      broken(),
      removed(),
      state.problems.filter(p => !leaves(p.file)).map(p => h("div", { key: `${p.file} ${p.sentence}`, class: "notice", role: "alert" }, h("p", null,
        h("b", null, p.line ? `${p.file}, line ${p.line}` : p.file), `: ${p.sentence}`),
      p.excerpt && h("pre", null, p.excerpt), p.mend && h("p", { class: "quiet" }, "What was good before stays in use. This goes away once the file is mended or back."))),
      ["page", "step", "new", "remove"].map(said),
      state.show && !state.show.saved && composing() && h("p", { key: "saving", class: "quiet", role: "status" }, "Saving …"),
    ];
  }
}

customElements.define("lm-head", Head);
customElements.define("lm-notice", Notice);
