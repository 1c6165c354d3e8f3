"""The page of ``preview --watch`` in a headless browser: each save is seen."""

from functools import partial

import pytest

from lumenmap.jobs.trial import trial
from tests import chromium
from tests.desk.conftest import running


@pytest.fixture(scope="module", autouse=True)
def _a_window_of_a_laptop(browser):
    size = {"width": 1100, "height": 900, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    browser.execute_cdp_cmd("Network.clearBrowserCookies", {})
    browser.get_log("browser")
    yield
    browser.get("about:blank")
    browser.get_log("browser")  # the desk that was gone
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def until(browser, script, seconds=30):
    got = chromium.until(browser, script, seconds=seconds)
    assert got, (script, text(browser))
    return got


#: How bright the drawn picture is: the sum of its colours.
BRIGHT = (
    "(() => { const c = document.getElementById('picture'); if (c.width < 600) return 0; "
    "const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; "
    "let sum = 0; for (let i = 0; i < d.length; i += 4) sum += d[i] + d[i + 1] + d[i + 2]; "
    "return sum; })()"
)


def text(browser):
    return browser.find_element("tag name", "body").text


def test_each_save_is_seen_at_once(house, browser):
    path = house / "show.toml"
    dark = path.read_text("utf-8").replace("opacity = 1", "opacity = 0")
    bright = path.read_text("utf-8")
    path.write_text(dark, "utf-8")
    with running(house, watched="show.toml") as desk:
        browser.get(desk.address)
        browser.execute_script("document.getElementById('play').click()")  # pause
        until(browser, BRIGHT)
        assert browser.title == "First Try"
        browser.execute_script(
            "const s = document.getElementById('scrub'); s.value = 90; "
            "s.dispatchEvent(new Event('input'))"
        )
        until(browser, "document.getElementById('clock').textContent.startsWith('3.0')")
        before = until(browser, BRIGHT)
        path.write_text(bright, "utf-8")
        until(browser, f"{BRIGHT} > {before} * 1.02")
        assert "Saved at" in text(browser) and "hall: 0." in text(browser)
        path.write_text(bright.replace("fps = 30", "fps = thirty"), "utf-8")
        until(browser, "document.getElementById('problems').textContent.includes(\"isn't TOML\")")
        path.write_text(bright, "utf-8")
        until(browser, "!document.getElementById('problems').textContent")
        # Markup in a name is text.
        nasty = "<img src=x onerror=document.title=1>"
        path.write_text(bright.replace("First Try", nasty), "utf-8")
        until(browser, "document.getElementById('title').textContent.includes('<img')")
        assert not browser.find_elements("css selector", "#title img")
        # It can't change anything.
        page = desk.page(f"{browser.get_cookies()[0]['name']}={browser.get_cookies()[0]['value']}")
        page.open()
        assert "only shows saves" in page.edit(["show", "fps"], 30, 25)["sentence"]
        errors = [e for e in browser.get_log("browser") if e["level"] == "SEVERE"]
        assert not [e for e in errors if "favicon" not in e["message"]], errors


def test_an_effect_that_is_being_written(house, browser, tmp_path_factory):
    folder = tmp_path_factory.mktemp("effects")
    code = (
        '"""One level everywhere."""\nimport numpy as np\n\n\n'
        "def evenly(at, t, palette, /):\n"
        '    """One level everywhere."""\n'
        "    return np.full((len(t), len(at.xyz), 3), LEVEL, np.float32)\n"
    )
    (folder / "evenly.py").write_text(code.replace("LEVEL", "0.05"), "utf-8")
    make = partial(trial, "evenly", "", (), house=house / "house.toml", effect_folders=(folder,))
    settings = {"effect_folders": (folder,), "watched": make().show.file.name, "made": make}
    with running(house, **settings) as desk:
        browser.get(desk.address)
        before = until(browser, BRIGHT)
        (folder / "evenly.py").write_text(code.replace("LEVEL", "0.6"), "utf-8")
        until(browser, f"{BRIGHT} > {before} * 1.02")


def test_flashing_is_dark_until_it_is_asked_for(house, browser):
    from tests.desk.test_house_light import FLASHING

    (house / "strobe.toml").write_text(FLASHING, "utf-8")
    with running(house, watched="strobe.toml") as desk:
        browser.get(desk.address)
        until(browser, "!document.getElementById('ask').hidden")
        until(browser, BRIGHT)
        browser.execute_script("document.getElementById('show').click()")
        until(browser, "document.getElementById('ask').hidden")


def test_the_pairing_page_takes_the_code(house, browser):
    with running(house, lan=1, addresses=("127.0.0.2",)) as desk:
        line = next(s for s in desk.said if "    code " in s)
        browser.get(f"http://127.0.0.2:{desk.host.split(':')[1]}/")
        browser.find_element("id", "code").send_keys("000000")
        browser.find_element("css selector", "button").click()
        until(browser, "document.getElementById('said').textContent.includes(\"isn't the code\")")
        browser.find_element("id", "code").clear()
        browser.find_element("id", "code").send_keys(line.rsplit(" ", 1)[1])
        browser.find_element("css selector", "button").click()
        until(browser, "document.title != 'Pair this device'")
        assert not browser.execute_script("return document.cookie")


def test_the_page_asks_no_other_host(house, browser):
    with running(house, watched="show.toml") as desk:
        browser.get(desk.address)
        until(browser, BRIGHT)
        names = browser.execute_script(
            "return performance.getEntriesByType('resource').map(e => new URL(e.name).host)"
        )
        assert names and set(names) == {desk.host}
