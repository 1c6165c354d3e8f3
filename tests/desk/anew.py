"""The page as somebody finds it who comes anew, without loading it again.

To load the page, its modules and its picture costs more than most journeys do. So a journey may
begin at the page that the one before it left: once all that was asked is answered, the store gets
back the values that it is loaded with, and what is folded out is drawn from nothing.
"""

from selenium.common.exceptions import WebDriverException

#: False where no desk's page is, or it doesn't come to it within four seconds.
_RUN = """
const [host, ...given] = arguments;
if (location.host !== host || location.pathname !== "/") return false;
const until = async found => {
  const end = performance.now() + 3000;
  while (!found()) {
    if (performance.now() > end) throw new Error("it doesn't come");
    await new Promise(r => setTimeout(r, 5));
  }
};
const work = async () => {
  const load = name => import(`/page/${name}.js`);
  const [store, light, socket] = await Promise.all(["store", "light", "socket"].map(load));
  const { state, changed } = store;
  BODY
  return true;
};
return Promise.race([work(), new Promise(r => setTimeout(r, 4000, false))]).catch(() => false);
"""
#: An edit of nothing has its turn after all edits, and a show comes after all other answers.
_SETTLED = """
if (!state.show || state.link !== "open") return false;
await new Promise(r => socket.edit("settled", "settled", () => [], { done: r }));
if (state.drafts.size) await new Promise(r => setTimeout(r, 300));
if (state.drafts.size) return false;
const file = state.file;
state.file = "";
socket.open(file);
await until(() => state.show);
"""
#: The same, and nothing else.
_ANSWERED = """
if (!state.show || state.link !== "open") return false;
await new Promise(r => socket.edit("answered", "answered", () => [], { done: r }));
"""
#: What the desk told stays; the second copy of the store has everything as it is loaded.
_ANEW = """
const [view] = given, loaded = structuredClone((await import("/page/store.js?loaded")).state);
for (const told of ["link", "session", "shows", "tonight", "days", "problems", "light"]) delete loaded[told];
Object.assign(state, loaded, { view });
light.forget();
Object.assign(light.clock, { at: 0, playing: true });
document.activeElement?.blur();
for (const panel of document.querySelectorAll("lm-evening, lm-day, lm-calendar, lm-layers, lm-own")) panel.replaceChildren();
history.replaceState(null, "", `#${view}`);
scrollTo(0, 0);
changed();
await until(() => state.show);
changed();
await Promise.resolve();
"""


def _run(hands, body, *words):
    """Run a part of the above; False if the page isn't one of the desk, or doesn't come to it."""
    try:
        return hands.js(_RUN.replace("BODY", body), hands.desk.host, *words)
    except WebDriverException:
        return False


def answered(hands):
    """Wait until the page has its answers: a file is on disk some milliseconds before that."""
    return _run(hands, _ANSWERED)


def settled(hands):
    """Wait until all that was asked from this page is answered; say whether that was so."""
    return _run(hands, _SETTLED)


def anew(hands, view):
    """Show the page as it is for somebody who comes to a view of it; say whether that was so."""
    return _run(hands, _ANEW, view)
