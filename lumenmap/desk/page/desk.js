// The desk's page: brings the panels together, and decides which show is looked at.
import { pictured } from "./dates.js";
import { begin } from "./light.js";
import { choose, onChange, state, wide } from "./store.js";
import { send } from "./line.js";
import { open, start } from "./socket.js";
import "./head.js";
import "./house.js";
import "./beside.js";
import "./evening.js";
import "./calendar.js";
import "./ruler.js";
import "./layers.js";
import "./own.js";

/** The show that the picture is about: what plays, what will, or the first there is. */
function wantedShow() {
  const good = state.shows.filter(s => !s.problem), { file } = pictured();
  return good.find(s => s.file === file)?.file ?? good[0]?.file ?? "";
}

let told = false;
onChange(() => {
  if (state.session && !told) {
    told = true;
    if (location.hash === "#calendar") state.view = "calendar";
    else if (state.session.rights === "compose" && (wide.matches || location.hash === "#compose") && location.hash !== "#tonight") state.view = "compose";
  }
  document.title = state.session?.house?.name ?? "The desk";
  document.body.dataset.view = state.view;
  if (state.link !== "open" || !state.shows.length) return;
  const wanted = wantedShow();
  // What was tried and then chosen is tonight's own now.
  if (!state.asked && !state.wish.what && state.tried && state.tried === wanted) choose({ tried: "" });
  // Unless shows are composed, the picture follows the evening, and what is tried for it.
  if (!state.file || (state.view !== "compose" && !state.tried && state.file !== wanted)) open(wanted);
});
begin(send);
start();
