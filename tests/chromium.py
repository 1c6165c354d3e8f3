"""A headless Chromium with its driver, for the tests of pages."""

import shutil

import pytest

BROWSER = shutil.which("chromium") or shutil.which("google-chrome")
DRIVER = shutil.which("chromedriver")


def chromium(width=1280, height=900, requests=False):
    """Return a driver of a browser whose window is so large, and which logs what it says.

    It logs what it asks for too, if that is asked for: the driver then hears of every packet.
    """
    if not (BROWSER and DRIVER):
        pytest.skip("no Chromium with its driver is installed")
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER
    words = ("headless=new", "no-sandbox", "disable-gpu", "disable-dev-shm-usage")
    for word in (*words, "hide-scrollbars", f"window-size={width},{height}"):
        options.add_argument(f"--{word}")
    logs = ("browser", "performance") if requests else ("browser",)
    options.set_capability("goog:loggingPrefs", dict.fromkeys(logs, "ALL"))
    return webdriver.Chrome(options=options, service=Service(DRIVER))
