"""A show's page, opened in a headless browser; and the beginning of a show in white."""

from tests.chromium import until

WHITE_SHOW = """
[show]
name = "Strobe"
house = "house.toml"
fps = 20
length = "3 s"
seed = 1

[palette.white]
stops = ["#ffffff"]
"""


def opened(browser, path):
    for kind in ("performance", "browser"):
        browser.get_log(kind)
    browser.get(path.as_uri())
    wait(browser, "return !!window.lumenmap")
    return browser


def wait(browser, script, seconds=20):
    assert until(browser, script.removeprefix("return "), seconds=seconds), script
