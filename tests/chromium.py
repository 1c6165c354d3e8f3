"""A headless Chromium with its driver, for the tests of pages; waits and touches in it that cost little.

A wait is one question, which the page answers when it has come so far: each look of a test from
outside goes through four processes. A touch is the browser's own, where a person would see what is
touched; the driver's ``click`` does the same by a dozen scripts of its own, in five times the work.
"""

import shutil
import time

import pytest

BROWSER = shutil.which("chromium") or shutil.which("google-chrome")
DRIVER = shutil.which("chromedriver")


def chromium(width=1280, height=900, requests=False, graphics=False):
    """Return a driver of a browser whose window is so large, and which logs what it says.

    It logs what it asks for too, if that is asked for: the driver then hears of every packet. With
    ``graphics`` it has WebGL, by a program in place of a processor.
    """
    if not (BROWSER and DRIVER):
        pytest.skip("no Chromium with its driver is installed")
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER
    words = ("headless=new", "no-sandbox", "disable-dev-shm-usage")
    gpu = ("use-angle=swiftshader", "enable-unsafe-swiftshader", "ignore-gpu-blocklist")
    for word in (
        *words,
        *(gpu if graphics else ("disable-gpu",)),
        "hide-scrollbars",
        f"window-size={width},{height}",
    ):
        options.add_argument(f"--{word}")
    logs = ("browser", "performance") if requests else ("browser",)
    options.set_capability("goog:loggingPrefs", dict.fromkeys(logs, "ALL"))
    return webdriver.Chrome(options=options, service=Service(DRIVER))


#: Looks when the page has changed, and now and then: what a canvas or a field holds is no change of it.
_UNTIL = """
const [time, ...words] = arguments, end = Date.now() + time;
return new Promise((done, fail) => {
  const look = () => {
    let got = null, wrong = null;
    try { got = EXPRESSION; } catch (error) { wrong = error; }
    if (!got && Date.now() < end) return;
    changes.disconnect();
    clearInterval(timer);
    if (wrong) fail(wrong); else done(got || null);
  };
  const changes = new MutationObserver(look), timer = setInterval(look, 50);
  changes.observe(document, { subtree: true, childList: true, attributes: true, characterData: true });
  look();
});
"""


def until(driver, expression, *words, seconds=8):
    """Wait until a JavaScript expression holds, which may use ``words``; return it, or None."""
    from selenium.common.exceptions import WebDriverException

    script, end = _UNTIL.replace("EXPRESSION", expression), time.monotonic() + seconds
    while True:
        left = end - time.monotonic()
        try:
            return driver.execute_script(script, max(left, 0) * 1000, *words)
        except WebDriverException:  # another page has come meanwhile
            if left <= 0:
                raise
            time.sleep(0.02)


def press(driver, x, y):
    """Press and let go of the mouse at a point of the window (CSS px)."""
    where = {"x": x, "y": y, "button": "left", "clickCount": 1}
    for kind in ("mousePressed", "mouseReleased"):
        driver.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": kind, **where})
