"""Bad luck at the page: others edit too, files break, the desk goes away and comes back."""

import asyncio
import threading

import pytest

from lumenmap.desk.run import Desk, Settings
from tests.desk.browser import EVENING, LAPTOP, PHONE, Hands, house_of


def path_of(hands, name="show.toml"):
    return hands.desk.folder / name


def edited(hands, before, after, name="show.toml"):
    """Save as an editor does."""
    path = path_of(hands, name)
    text = path.read_text("utf-8")
    assert before in text
    path.write_text(text.replace(before, after), "utf-8")


def test_two_browsers_edit_at_once(hands):
    hands.open("compose", "show.toml", LAPTOP)
    first = hands.driver.current_window_handle
    hands.driver.switch_to.new_window("tab")
    try:
        hands.open("compose", "show.toml", LAPTOP)
        hands.tap("Palette").tap("candlelight")
        hands.driver.switch_to.window(first)
        hands.until(
            "document.querySelector('.word[aria-label^=Palette]').textContent === 'candlelight'"
        )
        hands.tap("how fast").write("how fast", "3", root=".number")
        data = hands.saved(lambda d: d["cue"][0]["layer"][0]["speed"] == "3 m/s")
        assert data["cue"][0]["layer"][0]["palette"] == "candlelight"
        hands.driver.switch_to.window(hands.driver.window_handles[1])
        hands.sees("3 m/s")
        hands.tap("Undo")  # whoever made it
        hands.saved(lambda d: d["cue"][0]["layer"][0]["speed"] == "1 m/s")
    finally:
        hands.driver.switch_to.window(hands.driver.window_handles[1])
        hands.driver.close()
        hands.driver.switch_to.window(first)


def test_an_editor_saves_meanwhile(visitor):
    visitor.open("compose", "show.toml", LAPTOP)
    edited(visitor, 'name = "two"', 'name = "second"   # by hand')
    visitor.until("[...document.querySelectorAll('.cue')].some(c => c.textContent === 'second')")
    visitor.tap("Palette").tap("candlelight")
    visitor.saved(lambda d: d["cue"][0]["layer"][0]["palette"] == "candlelight")
    text = path_of(visitor).read_text("utf-8")
    assert "# by hand" in text and "# goes round" in text


def meanwhile(hands, before, after):
    """Save as an editor does, in the very moment before the desk takes the next edit."""
    session = hands.desk.desk.hub.session
    take = session.take_from_disk

    def once(name):
        session.take_from_disk = take
        edited(hands, before, after)
        return take(name)

    session.take_from_disk = once


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])
@pytest.mark.parametrize("mine", [True, False], ids=["mine", "theirs"])
def test_both_changed_the_same(visitor, size, mine):
    # Neither of the speeds flashes: a warning that comes meanwhile would move what is tapped.
    visitor.open("compose", "show.toml", size)
    visitor.tap("how fast")
    meanwhile(visitor, 'speed = "1 m/s"', 'speed = "3 m/s"')
    visitor.write("how fast", "2", root=".number")
    visitor.sees(
        "Somebody changed cue 1, layer 1, speed meanwhile: it is 3 m/s now, and you chose 2 m/s. "
        "Nothing was changed from here; choose which."
    )
    assert "{" not in visitor.js("return document.querySelector('.said').textContent")
    visitor.tap("Use mine" if mine else "Leave theirs")
    visitor.until("!document.querySelector('.said')")
    visitor.saved(lambda d: d["cue"][0]["layer"][0]["speed"] == ("2 m/s" if mine else "3 m/s"))


def test_an_undo_that_would_lose_what_an_editor_did(visitor):
    visitor.open("compose", "show.toml", LAPTOP)
    visitor.tap("how fast").write("how fast", "2", root=".number")
    visitor.saved(lambda d: d["cue"][0]["layer"][0]["speed"] == "2 m/s")
    edited(visitor, 'speed = "2 m/s"', 'speed = "7 m/s"   # by hand')
    visitor.sees("7 m/s")
    visitor.tap("Undo")
    visitor.sees("it is 7 m/s now, so undo would lose that. Nothing was changed; give it")
    assert 'speed = "7 m/s"   # by hand' in path_of(visitor).read_text("utf-8")


def test_a_layer_that_somebody_took_out(visitor):
    visitor.open("compose", "show.toml", LAPTOP)
    visitor.tap("two, from").tap("Palette")
    meanwhile(visitor, path_of(visitor).read_text("utf-8").split("\n\n", 4)[4], "")
    visitor.tap("frost")
    visitor.sees("Cue 2 isn't there any more: somebody took it out meanwhile")
    visitor.until("document.querySelectorAll('.cue').length === 1")


def test_a_show_breaks_and_is_mended(visitor):
    visitor.open("compose", "show.toml", LAPTOP)
    edited(visitor, "fps = 10", "fps = thirty")
    visitor.sees('line 5: put "thirty" in quotes')
    visitor.sees("5 | fps = thirty")  # the place itself
    visitor.tap("Palette").tap("candlelight")
    visitor.sees("can't be read as it stands on disk")
    edited(visitor, "fps = thirty", "fps = 10")
    visitor.until("!document.querySelector('.notice')")
    visitor.tap("candlelight")
    visitor.saved(lambda d: d["cue"][0]["layer"][0]["palette"] == "candlelight")


def test_a_broken_show_is_one_line_for_who_only_chooses(visitor):
    """It took a quarter of a telephone's screen, with a line of the file that nobody there mends."""
    visitor.open("tonight", size=PHONE)
    edited(visitor, "fps = 10", "fps = thirty")
    visitor.sees("show.toml can't be used as it stands. Compose says why.")
    assert "thirty" not in visitor.text
    visitor.tap("Compose")
    visitor.sees("5 | fps = thirty")
    assert "Compose says why" not in visitor.text
    edited(visitor, "fps = thirty", "fps = 10")
    visitor.until("!document.querySelector('.notice')")


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])
def test_the_house_breaks_and_is_mended(visitor, size):
    visitor.open("tonight", size=size)
    good = path_of(visitor, "house.toml").read_text("utf-8")
    path_of(visitor, "house.toml").write_text(good.replace("[rail]", "[rial]"), "utf-8")
    visitor.sees("house.toml")
    visitor.sees("What was good before stays in use.")
    assert "First Try from" in visitor.text
    path_of(visitor, "house.toml").write_text(good, "utf-8")
    visitor.until("!document.querySelector('.notice')")


def test_a_broken_almanac_is_said(visitor):
    visitor.open("tonight", size=PHONE)
    edited(visitor, 'to = "22:30"', 'to = "half past"', "almanac.toml")
    visitor.sees("half past")
    visitor.tap("Dark")
    visitor.until("document.querySelector('lm-evening .said')")
    edited(visitor, 'to = "half past"', 'to = "22:30"', "almanac.toml")
    visitor.until("!document.body.innerText.includes('half past')")


def test_names_with_markup_are_text(visitor):
    nasty = "<img src=x onerror=document.title=1>"
    visitor.open("compose", "show.toml", LAPTOP)
    edited(visitor, 'name = "two"', f'name = "{nasty}"')
    edited(visitor, "First Try", nasty)
    visitor.sees(nasty)
    assert not visitor.js("return document.querySelectorAll('img').length")


def test_lighting_the_house_needs_an_address(visitor):
    visitor.open("compose", "show.toml", LAPTOP)
    visitor.tap("Light the house").sees("--to ADDRESS")
    visitor.tap("Let a phone in").sees("start it with --lan")


def test_a_slow_network_is_said(hands):
    """A black box for ten seconds looks broken."""
    slow = {
        "offline": False,
        "latency": 300,
        "downloadThroughput": 60_000,
        "uploadThroughput": 9000,
    }
    driver = hands.driver
    hands.size(PHONE)
    hands.leave()
    driver.execute_cdp_cmd("Network.enable", {})
    driver.execute_cdp_cmd("Network.setCacheDisabled", {"cacheDisabled": True})
    driver.execute_cdp_cmd("Network.emulateNetworkConditions", slow)
    try:
        driver.execute_script("location.href = arguments[0]", f"http://{hands.desk.host}/#tonight")
        hands.sees("Loading …", 20)
        hands.until("document.querySelector('.view.waits')", 60)
        assert "Loading" not in hands.text
        drawn = "getComputedStyle(document.querySelector('.view'), '::after').content"
        assert "being drawn" in hands.js(f"return {drawn}")
    finally:
        fast = {**slow, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
        driver.execute_cdp_cmd("Network.emulateNetworkConditions", fast)
        driver.execute_cdp_cmd("Network.setCacheDisabled", {"cacheDisabled": False})
    hands.until("document.querySelector('.view:not(.waits)')", 20)


def test_a_device_that_was_forgotten(hands):
    hands.open("tonight", size=PHONE)
    hands.driver.delete_all_cookies()
    for client in list(hands.desk.desk.hub.clients):
        asyncio.run_coroutine_threadsafe(
            client.socket.close(1001), hands.desk.desk.hub._loop
        ).result(5)
    hands.sees("This device isn't let in any more")
    token, _ = hands.desk.desk.pairing.invite("compose", local=True)
    hands.tap("Pair it again")
    hands.sees("Type the six digits")
    hands.driver.get(f"http://{hands.desk.host}/open?token={token}")
    hands.sees("First Try from")
    hands.driver.get_log("browser")  # the refused page, 401


def test_a_phone_that_slept(hands):
    hands.open("tonight", size=PHONE)
    dead = (
        "const real = performance.now.bind(performance); performance.now = () => real() + 3600000;"
    )
    hands.js(dead + "document.dispatchEvent(new Event('visibilitychange'))")
    hands.until("performance.now() > 3600000")
    hands.tap("Dark").sees("Dark tonight.")


class Served:
    """A desk that can be killed and started again at the same address."""

    def __init__(self, folder):
        self.folder, self.port = folder, 0
        self.start()

    def start(self):
        ready = threading.Event()
        self.desk = Desk(Settings(self.folder, port=self.port), lambda _: None, self.ready(ready))
        self.desk.hub.session.now = lambda: EVENING
        self.thread = threading.Thread(target=lambda: asyncio.run(self.desk.serve()))
        self.thread.start()
        assert ready.wait(20)

    def ready(self, event):
        def begin(address):
            self.address = address
            self.host = address.split("/")[2]
            self.port = int(self.host.split(":")[1])
            event.set()

        return begin

    def stop(self):
        self.desk.stop()
        self.thread.join(20)
        assert not self.thread.is_alive()


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])
def test_the_desk_is_killed_and_started_again(driver, tmp_path, size):
    house_of(tmp_path / "house")
    served = Served(tmp_path / "house")
    hands = Hands(driver, served)
    try:
        driver.get(served.address)
        hands.open("compose", "show.toml", size)
        served.stop()
        hands.sees("The lights go on without it.")
        hands.tap("Palette").tap("candlelight")  # waits, and isn't lost
        served.start()
        hands.until("!document.querySelector('.notice')", 15)
        hands.saved(lambda d: d["cue"][0]["layer"][0]["palette"] == "candlelight")
        hands.until("/A of/.test(document.querySelector('lm-amps')?.textContent)")
        driver.get("about:blank")
    finally:
        served.stop()
        driver.get_log("browser")
