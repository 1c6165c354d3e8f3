"""The page on which marks are made by touch, on a phone: what is saved gives the camera.

Audited by axe-core for WCAG 2.2 A and AA (W3C); the camera is OpenCV's, the house is invented.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lumenmap.camera.marks.points import named_points
from lumenmap.camera.marks.read import read_posed
from lumenmap.site import Site
from tests.camera.test_shot import off, seen, standing

AXE = Path(__file__).parents[2] / ".ci" / "page" / "node_modules" / "axe-core" / "axe.min.js"
AUDIT = """
const done = arguments[0];
axe.run().then(r => done(r.violations.map(v => [v.impact, v.id, v.nodes.map(
  n => n.html.slice(0, 150))])));
"""
SIZE = (1600, 1200)


@pytest.fixture(scope="module")
def folder(tmp_path_factory, examples):
    folder = tmp_path_factory.mktemp("touch")
    (folder / "house.toml").write_text((examples / "marlow-bend" / "house.toml").read_text())
    grey = np.linspace(60, 90, SIZE[0]).astype(np.uint8)
    picture = Image.fromarray(np.tile(grey[None, :, None], (SIZE[1], 1, 3)))
    exif = picture.getexif()
    exif[0x8769] = {0xA405: 25}
    picture.save(folder / "front.jpg", exif=exif)
    return folder


@pytest.fixture(scope="module")
def driver(browser):
    phone = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", phone)
    yield browser
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.fixture
def page(driver, folder, lumenmap):
    """The page, open, with nothing marked."""
    made = folder / "mark.html"
    if not made.exists():  # once for all tests
        done = lumenmap("marks", folder / "house.toml", "--photo", folder / "front.jpg", "-o", made)
        assert done.code == 0, done.err
        assert "save front.marks.toml next to the photograph" in " ".join(done.out.split())
        assert not (folder / "front.marks.toml").exists()
    driver.get(made.as_uri())
    driver.execute_script("localStorage.clear(); location.reload()")
    return driver


def touch(driver, x, y):
    """Touch the photograph at pixels of the whole one."""
    driver.execute_script(
        "const p = document.getElementById('photo'), b = p.getBoundingClientRect();"
        "const at = { pointerId: 1, bubbles: true, clientX: b.left + arguments[0] * b.width,"
        " clientY: b.top + arguments[1] * b.height };"
        "p.setPointerCapture = () => {};"
        "for (const kind of ['pointerdown', 'pointerup']) p.dispatchEvent(new PointerEvent(kind, at));",
        x / SIZE[0],
        y / SIZE[1],
    )


def press(driver, name):
    driver.execute_script("document.getElementById(arguments[0]).click()", name)


def value(driver, name, what="textContent"):
    return driver.execute_script(f"return document.getElementById(arguments[0]).{what}", name)


def named(driver):
    return value(driver, "name").partition(". ")[2]


def test_points_marked_by_touch_give_the_camera(page, folder):
    rng = np.random.default_rng(21)
    camera = standing(rng, 26.0, size=SIZE)
    known = named_points(Site.read(folder / "house.toml").house)
    marked = 0
    while marked < 8:
        place = seen(known[named(page)].xyz[None], *camera)[0]
        if not ((place > 20) & (place < np.array(SIZE) - 20)).all():
            press(page, "skip")
            continue
        assert value(page, "save", "disabled") == (marked < 5)
        touch(page, *place)
        press(page, "next")
        marked += 1
    assert value(page, "count") == "8 marked: enough"
    text = value(page, "text", "value")
    # What is saved is this text, under the name that the command said.
    saved = page.execute_script(
        "let got; HTMLAnchorElement.prototype.click = function () { got = [this.download, this.href]; };"
        "document.getElementById('save').click(); return got"
    )
    assert saved[0] == "front.marks.toml"
    assert page.execute_script("return decodeURIComponent(arguments[0])", saved[1]).endswith(text)
    (folder / "front.marks.toml").write_text(text)
    try:
        posed = read_posed(folder / "front.marks.toml")
    finally:
        (folder / "front.marks.toml").unlink()
    assert len(posed.marks) == 8
    degrees, part = off(posed.shot, camera[0], camera[1], posed.site.pixels.xyz.mean(0))
    assert degrees < 0.5 and part < 0.02
    # The browser keeps them.
    page.refresh()
    assert value(page, "text", "value") == text


def test_marks_are_moved_by_keys_left_out_and_taken_back(page):
    first = named(page)
    touch(page, 800, 600)
    page.execute_script(
        "for (const [key, shiftKey] of [['ArrowRight', false], ['ArrowUp', true]])"
        "document.getElementById('photo').dispatchEvent(new KeyboardEvent('keydown', { key, shiftKey }))"
    )
    row = next(r for r in value(page, "text", "value").splitlines() if r.startswith(f'"{first}"'))
    assert json.loads(row.partition(" = ")[2]) == pytest.approx([801, 580], abs=0.06)
    press(page, "skip")
    assert first not in value(page, "text", "value")
    assert named(page) != first
    press(page, "back")
    assert named(page) == first
    touch(page, 10, 10)
    assert first in value(page, "text", "value")
    press(page, "clear")
    assert value(page, "count").startswith("0 marked: 5 more are needed")


def test_the_page_asks_nobody_fits_a_phone_and_passes_the_audit(page):
    asked = page.execute_script("return performance.getEntriesByType('resource').map(e => e.name)")
    assert not [a for a in asked if not a.startswith("data:")]
    assert page.execute_script("return document.documentElement.scrollWidth <= innerWidth")
    low = "return [...document.querySelectorAll('button')].filter(b => b.offsetHeight < 44).length"
    assert page.execute_script(low) == 0
    if not AXE.is_file():
        pytest.skip("axe-core isn't installed: npm ci --prefix .ci/page")
    page.execute_script(AXE.read_text("utf-8"))
    assert page.execute_async_script(AUDIT) == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["house.toml", "-o", "m.html"], "needs a photograph to mark the points on: --photo"),
        (["house.toml", "-o", "m.bmp"], "expected a file name ending in .png"),
        (
            ["house.toml", "--photo", "front.jpg", "-o", "m.gif"],
            "m.gif: expected a file name ending in .png or .html",
        ),
        (["front.marks.toml", "-o", "m.html"], "m.html: expected a file name ending in .png"),
        (["house.toml", "--photo", "none.jpg", "-o", "m.html"], "none.jpg: no such photograph"),
    ],
)
def test_what_the_page_needs(folder, lumenmap, words, told):
    (folder / "front.marks.toml").write_text('[photo]\nfile = "front.jpg"\n[mark]\n')
    try:
        done = lumenmap("marks", *(folder / w if "." in w else w for w in words))
    finally:
        (folder / "front.marks.toml").unlink()
    assert done.code == 2
    assert told in " ".join(done.err.split())
