"""A page whose show may flash asks before it plays."""

import numpy as np
import pytest

from lumenmap.jobs.preview import preview
from lumenmap.jobs.project import load
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.options import PreviewOptions
from lumenmap.pictures.page import Drawn, Page, write_page
from lumenmap.site import Site
from tests.pictures.page.paged import WHITE_SHOW, opened, wait


@pytest.fixture
def flashing(house, pixelmap, tmp_path):
    """A page whose show was flagged, with names that try to break out of the page."""
    wire = np.zeros((20, len(pixelmap), 3), np.uint8)
    wire[::2] = 255
    view = Preview(Site(house, pixelmap), width=160, height=90)
    amps = np.linspace(0, 3, 20)
    page = Page(
        "</script><b>Flash",
        'Cabin & "Co"',
        20.0,
        [("on <off>", 0, 1)],
        [Drawn("garage", "supply", 2.5, amps, True)],
        ["all: general flashes from 0 to 1 s"],
    )
    write_page(tmp_path / "a.html", view, pixelmap, wire, page)
    return tmp_path / "a.html"


def test_flagged_flashing_is_asked_about_first(browser, flashing):
    from selenium.webdriver.common.by import By

    opened(browser, flashing)
    bright = (
        "const c = document.getElementById('picture');"
        "return c.getContext('2d').getImageData(0, 0, c.width, c.height).data.reduce((a, b) => a + b)"
    )
    dark = browser.execute_script(bright)
    browser.find_element(By.ID, "play").click()
    assert browser.find_element(By.ID, "ask").get_attribute("open")
    assert not browser.execute_script("return lumenmap.playing()")
    browser.find_element(By.ID, "dark").click()
    browser.execute_script("lumenmap.seek(4)")
    assert browser.execute_script(bright) == dark  # scrubbing does not show it either
    browser.find_element(By.ID, "play").click()
    browser.find_element(By.ID, "show").click()
    wait(browser, "return lumenmap.playing()")
    browser.execute_script("lumenmap.play(false); lumenmap.seek(4)")
    assert browser.execute_script(bright) > dark
    assert browser.find_element(By.TAG_NAME, "h1").text.startswith("</script><b>Flash")
    assert browser.title == '</script><b>Flash, Cabin & "Co"'


def test_a_strobing_show_asks_before_it_plays(browser, examples, tmp_path):
    """Through the whole way: the flash check of the codes is what makes the page ask."""
    from selenium.webdriver.common.by import By

    (tmp_path / "house.toml").write_text((examples / "kelder-studio" / "house.toml").read_text())
    flash = '\n[[cue]]\nstart = "{} s"\nlength = "0.1 s"\n[[cue.layer]]\neffect = "still"\npalette = "white"\n'
    show = WHITE_SHOW + "".join(flash.format(n / 5) for n in range(15))
    (tmp_path / "show.toml").write_text(show)
    preview(load(tmp_path / "show.toml"), tmp_path / "a.html", PreviewOptions(width=320))
    opened(browser, tmp_path / "a.html")
    browser.find_element(By.ID, "picture").click()
    assert browser.find_element(By.ID, "ask").get_attribute("open")
    assert not browser.execute_script("return lumenmap.playing()")
    found = browser.find_element(By.ID, "found").text
    assert "the whole house" in found
    browser.find_element(By.ID, "show").click()
    wait(browser, "return lumenmap.playing()")
