"""A real Chromium in the hands of the tests: looks, touches, types, and counts what it does."""

import time
import tomllib
from datetime import UTC, datetime

from lumenmap.desk.files.history import History
from lumenmap.starter.start import start
from tests.chromium import press, until
from tests.desk.anew import anew, answered
from tests.desk.conftest import ALMANAC, running
from tests.desk.in_page import CALLED, HIT, MIDDLE, SHOWN

PHONE, LAPTOP = (390, 844), (1366, 860)
#: 19:00 on a winter's evening where the invented house stands.
EVENING = datetime(2026, 12, 12, 3, 0, tzinfo=UTC)

#: How bright the house is drawn: the mean of its colours, 0..255.
BRIGHT = (
    "(() => { const c = document.querySelector('lm-house canvas'); "
    "const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; "
    "let s = 0; for (let i = 0; i < d.length; i += 4) s += d[i] + d[i + 1] + d[i + 2]; "
    "return s / d.length * 4 / 3; })()"
)


class Hands:
    """A person at the page; ``actions`` counts touches, typed texts and keys."""

    def __init__(self, driver, desk):
        self.driver, self.desk, self.actions = driver, desk, 0
        self.stays = False
        """Whether the page needn't be loaded for the next that comes to it."""

    # -- looking --

    def js(self, script, *words):
        return self.driver.execute_script(script, *words)

    def until(self, script, seconds=8, what=None, words=()):
        """Wait until a JavaScript expression holds; return it."""
        got = until(self.driver, script, *words, seconds=seconds)
        assert got is not None, f"{what or script}\n{self.text}"
        return got

    def waited(self, found, what="it", seconds=8):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if got := found():
                return got
            time.sleep(0.02)
        raise AssertionError(f"{what}\n{self.text}")

    @property
    def text(self):
        return self.js("return document.body.innerText")

    def sees(self, words, seconds=8):
        has = "document.body.innerText.includes(words[0])"
        return self.until(has, seconds, f"{words!r} isn't there", [words])

    def called(self, name, root="body"):
        return self.until(CALLED, what=f"nothing is called {name!r}", words=[name, root])

    def has(self, name, root="body"):
        return self.js(f"const words = [...arguments]; return ({CALLED})", name, root) is not None

    # -- doing --

    def size(self, size):
        now = self.driver.current_window_handle, size  # each tab has a size of its own
        if getattr(self.driver, "sized", None) == now:
            return
        self.driver.sized = now
        width, height = size
        phone = width < 600
        words = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": phone}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", words)
        self.driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": phone})

    def open(self, view="compose", file=None, size=None):
        """Come to the page anew, as a person does with a bookmark; actions count from here."""
        if size:
            self.size(size)
        if not (self.stays and anew(self, view)):
            self.leave()
            self.driver.get(f"http://{self.desk.host}/#{view}")
            self.until("document.querySelector('lm-head h1')?.textContent !== 'The desk'")
        if view == "compose":
            self.until("document.querySelector('.cue, .notice')")
        if view == "compose" and file:
            title = self.file(file)["show"].get("name", file[:-5])
            self.until(SHOWN, what=f"{file} isn't shown", words=[file, title])
        self.actions = 0
        return self

    def let_in(self):
        """Have this desk's cookie, as from its one-time address, before its page is loaded."""
        self.leave()
        name, _, value = self.desk.let_in().partition("=")
        self.driver.add_cookie({"name": name, "value": value, "sameSite": "Strict"})

    def leave(self):
        """Have the page closed: another page of the same site needs no other process."""
        away = f"http://{self.desk.host}/page/pair.html"
        if self.driver.current_url != away:
            self.driver.get(away)

    def tap(self, name, root="body"):
        self.actions += 1
        nothing = f"nothing that could be touched is called {name!r}"
        for _ in range(5):
            press(self.driver, *self.until(MIDDLE, what=nothing, words=[name, root]))
            if self.js(HIT):
                return self
        raise AssertionError(f"{name!r} moves away from every touch")

    def press(self, name, *keys, root="body", shift=False):
        """Put the focus on a control, and press keys."""
        self.actions += 1
        found = self.called(name, root)
        self.js("arguments[0].focus()", found)
        self.keys(*keys, shift=shift)
        return self

    def keys(self, *keys, shift=False):
        from selenium.webdriver.common.action_chains import ActionChains

        chain = ActionChains(self.driver)
        chain = (
            chain.key_down("\ue008").send_keys(*keys).key_up("\ue008")
            if shift
            else chain.send_keys(*keys)
        )
        chain.perform()
        return self

    def write(self, name, text, root="body"):
        """Type into a field, and leave it."""
        self.actions += 1
        found = self.called(name, root)
        self.js("arguments[0].focus(); arguments[0].select()", found)
        self.keys(text, "\ue004")
        return self

    def drag(self, element, x, y, kind="touch"):
        """Drag from the middle of an element; a tap if it goes nowhere."""
        from selenium.webdriver.common.actions.action_builder import ActionBuilder
        from selenium.webdriver.common.actions.pointer_input import PointerInput

        self.actions += 1
        box = self._settled(element)
        self.touch(
            box[0] + box[2] / 2, box[1] + box[3] / 2, x, y, ActionBuilder, PointerInput, kind
        )
        return self

    def _settled(self, element):
        """Where an element is, once it stays there: an answer of the desk may move the page."""
        where = (
            "const r = arguments[0].getBoundingClientRect(); return [r.x, r.y, r.width, r.height]"
        )
        box, before = self.js(where, element), None
        while box != before:
            time.sleep(0.05)
            box, before = self.js(where, element), box
        return box

    def touch(self, x, y, dx, dy, builder, pointer, kind="touch"):
        made = builder(self.driver, mouse=pointer(kind, "finger"), duration=40)
        act = made.pointer_action
        act.move_to_location(int(x), int(y))
        act.pointer_down()
        for part in (0.4, 0.8, 1.0) if dx or dy else ():
            act.move_to_location(int(x + dx * part), int(y + dy * part))
        act.pointer_up()
        made.perform()

    def still(self, seconds=0.6):
        """Return the picture's brightness once it hasn't changed for some time; light moves."""
        self.js("window.bright = [-1, 0]")
        same = (
            f"(() => {{ const [was, since] = window.bright, now = Date.now(), is = {BRIGHT}; "
            "if (is !== was) window.bright = [is, now]; "
            "return is > 1 && is === was && now - since > words[0] ? is : null; })()"
        )
        return self.until(same, what="the picture goes on changing", words=[seconds * 1000])

    # -- what is on disk --

    def file(self, name="show.toml"):
        return tomllib.loads((self.desk.folder / name).read_text("utf-8"))

    def saved(self, found, name="show.toml"):
        """Wait until the file on disk is as expected; return its data."""

        def good():
            try:
                data = self.file(name)
                return data if found(data) else None
            except (OSError, ValueError, LookupError):
                return None

        answered(self)
        if data := good():
            return data
        data = self.waited(good, f"{name} isn't saved as it should be")
        answered(self)  # the file is on disk some milliseconds before that
        return data


SHOW = """\
# A show of an invented house.
[show]
name = "First Try"
house = "house.toml"
fps = 10
length = "20 s"

[palette.dusk]
stops = [{ colour = "#ff8a3c", at = 0 }, { colour = "#7a2cff", at = 0.5 }]   # two friends

[[cue]]
name = "one"
start = "0 s"
length = "12 s"

[[cue.layer]]            # goes round
effect = "chase"
palette = "dusk"
speed = "1 m/s"

[[cue]]
name = "two"
start = "10 s"
length = "10 s"

[[cue.layer]]
effect = "still"
palette = "candlelight"
"""
OTHER = SHOW.replace("First Try", "Another One")


def house_of(folder):
    """Make a house with two shows and an almanac; return the texts of its files."""
    start(folder, metric=True)
    texts = {"show.toml": SHOW, "other.toml": OTHER, "almanac.toml": ALMANAC}
    texts["house.toml"] = (folder / "house.toml").read_text("utf-8")
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8")
    return texts


def fresh(desk, texts):
    """Have all files as they were, and nothing to undo."""
    session, evening = desk.desk.hub.session, desk.desk.hub.evening
    end = time.monotonic() + 10
    while time.monotonic() < end:
        shows = [s.document for n, s in session.shows.items() if n in texts]
        almanac = evening.book.document
        same = all(d.text == texts[d.path.name] and d.saved for d in shows)
        if (
            same
            and almanac.text == texts["almanac.toml"]
            and not set(session.problems) & set(texts)
        ):
            break
        for name, text in texts.items():  # again, if a last edit was written meanwhile
            if (desk.folder / name).read_text("utf-8") != text and all(d.saved for d in shows):
                (desk.folder / name).write_text(text, "utf-8")
        time.sleep(0.05)
    else:
        raise AssertionError("the desk hasn't read the files again")
    for document in (*shows, almanac):
        document.history = History()


def desk_of(folder, **settings):
    """Run a desk on an evening in winter."""
    return running(folder, **settings)
