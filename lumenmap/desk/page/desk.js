// The desk's page: brings the panels together, and decides which show is looked at.
import { begin } from "./light.js";
import { onChange, state, wide } from "./store.js";
import { connect, open, send } from "./socket.js";
import "./head.js";
import "./house.js";
import "./beside.js";
import "./evening.js";
import "./ruler.js";
import "./layers.js";
import "./own.js";

/** The show that tonight is about: what plays, what will, or the first there is. */
function tonights() {
  const pieces = state.tonight?.pieces ?? [];
  const piece = pieces.find(p => p.on_now) ?? pieces[0];
  const good = state.shows.filter(s => !s.problem);
  return good.find(s => s.file === piece?.file)?.file ?? good[0]?.file ?? "";
}

let told = false;
onChange(() => {
  if (state.session && !told) {
    told = true;
    if (state.session.rights === "compose" && (wide.matches || location.hash === "#compose") && location.hash !== "#tonight") state.view = "compose";
  }
  document.title = state.session?.house?.name ?? "The desk";
  document.body.dataset.view = state.view;
  if (state.link !== "open" || !state.shows.length) return;
  const wanted = tonights();
  // What was tried and then chosen is tonight's own now.
  if (!state.asked && state.tried === wanted) state.tried = "";
  // In the evening's view the picture follows the evening, and what is tried for it.
  if (!state.file || (state.view === "tonight" && !state.tried && state.file !== wanted)) open(wanted);
});
begin(send);
connect();
