"""The page in a headless browser."""

import base64
import io
import json
import time
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image
from scipy import ndimage

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_length
from lumenmap.jobs.export import export
from lumenmap.jobs.preview import preview
from lumenmap.jobs.project import load
from lumenmap.jobs.sampled import seen
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.options import PreviewOptions
from lumenmap.pictures.page import Page, write_page
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.site import Site
from tests.pictures.page.paged import WHITE_SHOW, opened, wait


@pytest.fixture(scope="module")
def work(examples):
    return load(examples / "alder-cottage" / "first-frost.toml")


@pytest.fixture(scope="module")
def made(work, tmp_path_factory):
    """The example's page, and the frame file of the same show."""
    folder = tmp_path_factory.mktemp("page")
    preview(work, folder / "show.html", PreviewOptions(width=640))
    export(work, folder)
    return folder


@pytest.fixture(scope="module")
def view(work):
    """The preview that the page's picture is compared with."""
    return Preview(work.site, width=640, height=360)


def requests(browser):
    """Addresses that the page asked for."""
    told = [json.loads(e["message"])["message"] for e in browser.get_log("performance")]
    return [
        m["params"]["request"]["url"] for m in told if m["method"] == "Network.requestWillBeSent"
    ]


def test_the_page_is_small(made):
    assert (made / "show.html").stat().st_size < 1_000_000


def test_ten_random_frames_are_those_of_the_frame_file(browser, made, work):
    opened(browser, made / "show.html")
    size = len(work.site.pixels) * work.site.pixels.kind.channels
    whole = np.fromfile(made / "frames.rgb", np.uint8).reshape(-1, size)
    assert browser.execute_script("return lumenmap.frames") == len(whole)
    for frame in np.random.default_rng(8).integers(0, len(whole), 10).tolist():
        got = browser.execute_script("return Array.from(lumenmap.codes(arguments[0]))", frame)
        assert got == whole[frame].tolist()


def test_the_picture_is_that_of_the_preview(browser, made, work, view):
    """What the canvas shows at a frame is what the preview draws of the same codes."""
    opened(browser, made / "show.html")
    sampled = np.fromfile(made / "frames.rgb", np.uint8).reshape(-1, len(work.site.pixels), 3)
    for frame in (100, 420):
        browser.execute_script("lumenmap.seek(arguments[0])", frame)
        url = browser.execute_script("return document.getElementById('picture').toDataURL()")
        canvas = np.asarray(
            Image.open(io.BytesIO(base64.b64decode(url.split(",")[1]))).convert("RGB")
        )
        still = view.still(seen(work, sampled[frame][None] / np.float32(255))[0])
        off = np.abs(canvas.astype(float) - still)
        assert off.mean() < 1.5
        assert np.quantile(off, 0.99) < 15


def test_no_light_leaks_over_an_edge(browser, made, work, view):
    """Next to outlines, where faces at other depths meet, the page is as near to the preview."""
    opened(browser, made / "show.html")
    codes = np.fromfile(made / "frames.rgb", np.uint8).reshape(-1, len(work.site.pixels), 3)
    browser.execute_script("lumenmap.seek(100)")
    url = browser.execute_script("return document.getElementById('picture').toDataURL()")
    canvas = np.asarray(Image.open(io.BytesIO(base64.b64decode(url.split(",")[1]))).convert("RGB"))
    still = view.still(seen(work, codes[100][None] / np.float32(255))[0])
    off = np.abs(canvas.astype(float) - still).max(-1)
    raster = rasterise(scene(work.site.house, view.look), view.camera, 1)
    depth = np.where(raster.surface >= 0, 1 / np.maximum(raster.nearest, 1e-3), 1000.0)
    outline = ndimage.maximum_filter(depth, 5) > 1.15 * ndimage.minimum_filter(depth, 5)
    lamps = np.asarray(view.parts.images.matrix().sum(1)).reshape(360, 640) > 0.01
    near, rest = outline & ~lamps, ~outline & ~lamps
    assert near.sum() > 2000
    assert off[near].mean() < 1.2 * off[rest].mean()
    assert off[near].mean() < 1.5


def test_one_axis_for_cues_time_and_amps(browser, made):
    """Cues that overlap lie in lanes; a moment is at one place in all of them."""
    opened(browser, made / "show.html")
    browser.execute_script("lumenmap.seek(300)")
    box = """const b = document.querySelector(arguments[0]).getBoundingClientRect();
        return [b.left, b.right, b.top, b.bottom]"""
    left, right, *_ = browser.execute_script(box, ".amps")
    head = browser.execute_script(box, "#head")
    assert (head[0] + head[1]) / 2 == pytest.approx(left + (right - left) * 300.5 / 720, abs=1)
    slider = browser.execute_script(box, "#scrub")  # its thumb is 24 wide
    assert slider[0] + 12 == pytest.approx(left, abs=1)
    assert slider[1] - 12 == pytest.approx(right, abs=1)
    boxes = [browser.execute_script(box, f"#cues button:nth-child({n})") for n in (1, 2, 3)]
    for (a, b, *_), (start, end) in zip(boxes, [(0, 9), (8, 17), (16, 24)], strict=True):
        assert a == pytest.approx(left + (right - left) * start / 24, abs=1)
        assert b == pytest.approx(left + (right - left) * end / 24, abs=1)
    tops = [b[2] for b in boxes]
    assert tops[0] == tops[2] < tops[1]
    assert boxes[0][3] <= boxes[1][2]


def test_a_link_leads_to_a_moment(browser, made):
    """As W3C Media Fragments 1.0 writes it, in seconds or with colons (section 4.2.1)."""
    for words, frame in (("t=5.5", 165), ("t=npt:0:05.5", 165), ("t=0:00:10", 300), ("t=x", 0)):
        browser.get("about:blank")
        browser.get(f"{(made / 'show.html').as_uri()}#{words}")
        wait(browser, "return !!window.lumenmap")
        assert browser.execute_script("return lumenmap.frame()") == frame
    browser.execute_script("lumenmap.seek(45)")
    browser.find_element("id", "link").click()
    wait(browser, "return location.hash === '#t=1.5'")
    assert "0:01.5" in browser.find_element("id", "pixel").text


def test_a_touched_pixel_says_which_it_is(browser, made, work, view):
    opened(browser, made / "show.html")
    pixels = work.site.pixels
    n = int(np.argmax(np.where(pixels.line == 0, view.parts.levels, 0)))
    browser.execute_script(
        """const c = document.getElementById("picture"), b = c.getBoundingClientRect(), k = b.width / 640;
        c.dispatchEvent(new MouseEvent("click", { bubbles: true,
            clientX: b.left + arguments[0] * k, clientY: b.top + arguments[1] * k }))""",
        *map(float, view.parts.places[n]),
    )
    said = browser.find_element("id", "pixel").text
    edge = pixels.edge_names[pixels.edge[n]]
    assert said == (
        f"Line {pixels.lines[0].name}, pixel {n + 1}: "
        f"{edge}, {show_length(float(pixels.along_edge[n]), 'ft')}"
    )
    assert not browser.execute_script("return lumenmap.playing()")
    mark = browser.find_element("id", "mark")
    assert mark.is_displayed()


def test_what_binds_is_drawn_next_to_the_supplies(browser, examples, tmp_path):
    """A branch that comes nearer to its limit than any supply."""
    preview(load(examples / "fern-lane" / "our-windows.toml"), tmp_path / "a.html", SMALL)
    opened(browser, tmp_path / "a.html")
    labels = [e.text for e in browser.find_elements("css selector", "#power .label")]
    supplies = [e for e in labels if "comes nearest" not in e]
    assert len(labels) - len(supplies) == 1
    assert "(branch)" in next(e for e in labels if "comes nearest" in e)


SMALL = PreviewOptions(width=320)


def test_a_white_die_shines_as_in_the_preview(browser, examples, tmp_path):
    """Its own colour, by what it adds to the others, and not as much of each."""
    house = (examples / "kelder-studio" / "house.toml").read_text()
    white = 'kind = "sk6812-rgbw"\nwhite_kelvin = 2700'
    (tmp_path / "house.toml").write_text(house.replace('kind = "ws2812b"', white))
    still = WHITE_SHOW + '[[cue]]\n[[cue.layer]]\neffect = "still"\npalette = "white"\n'
    (tmp_path / "show.toml").write_text(still)
    made = load(tmp_path / "show.toml")
    assert made.site.pixels.kind.channels == 4
    preview(made, tmp_path / "a.html", PreviewOptions(width=320))
    preview(made, tmp_path / "a.png", PreviewOptions(width=320, height=180))
    opened(browser, tmp_path / "a.html")
    url = browser.execute_script("return document.getElementById('picture').toDataURL()")
    shown = np.asarray(Image.open(io.BytesIO(base64.b64decode(url.split(",")[1]))).convert("RGB"))
    due = Image.open(tmp_path / "a.png").convert("RGB").resize(shown.shape[1::-1])
    lit = np.asarray(due).max(axis=2) > 120
    means = [np.asarray(picture)[lit].mean(axis=0) for picture in (shown, due)]
    assert lit.sum() > 50 and means[0] == pytest.approx(means[1], abs=8)


def test_it_plays_scrubs_and_stops_by_keys_and_mouse(browser, made):
    from selenium.webdriver.common.by import By
    from selenium.webdriver.common.keys import Keys

    opened(browser, made / "show.html")
    body = browser.find_element(By.TAG_NAME, "body")
    assert not browser.execute_script("return lumenmap.playing()")
    browser.find_element(By.ID, "play").click()
    wait(browser, "return lumenmap.frame() > 3")
    assert browser.find_element(By.ID, "play").get_attribute("aria-label") == "Pause"
    body.send_keys(" ")
    assert not browser.execute_script("return lumenmap.playing()")
    body.send_keys(Keys.HOME)
    assert browser.execute_script("return lumenmap.frame()") == 0
    body.send_keys(Keys.ARROW_RIGHT)
    body.send_keys(Keys.SHIFT + Keys.ARROW_RIGHT)
    assert browser.execute_script("return lumenmap.frame()") == 31
    browser.execute_script(
        "const s = document.getElementById('scrub'); s.value = 300;"
        "s.dispatchEvent(new Event('input'))"
    )
    assert browser.execute_script("return lumenmap.frame()") == 300
    clock = browser.find_element(By.ID, "clock").text
    assert clock.startswith("0:10.0 / 0:24.0")
    cues = browser.find_elements(By.CSS_SELECTOR, "#cues button")
    cues[1].click()
    assert browser.find_element(By.CSS_SELECTOR, "#cues [aria-current=true]").text
    browser.find_element(By.ID, "loop").click()
    assert browser.find_element(By.ID, "loop").get_attribute("aria-pressed") == "false"


def test_no_request_leaves_the_page_and_nothing_is_logged(browser, made):
    opened(browser, made / "show.html")
    browser.execute_script("lumenmap.play(true)")
    time.sleep(0.5)
    asked = requests(browser)
    assert asked
    assert all(url.startswith(("file:", "data:")) for url in asked)
    assert not browser.get_log("browser")


def test_it_fits_a_phone(browser, made):
    from selenium.webdriver.common.action_chains import ActionChains

    size = {"width": 360, "height": 740, "deviceScaleFactor": 2, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    try:
        opened(browser, made / "show.html")
        assert browser.execute_script("return document.documentElement.scrollWidth") <= 360
        small = browser.execute_script(
            "return [...document.querySelectorAll('button, select, input')].filter(b =>"
            "b.offsetParent && b.getBoundingClientRect().height < 40).map(b => b.id)"
        )
        assert not small  # fingers need about 44 CSS px (WCAG 2.5.5)
        lawn = ActionChains(browser).move_to_element_with_offset(
            browser.find_element("id", "picture"), -100, 85
        )
        lawn.click().perform()  # no pixel is near there
        wait(browser, "return lumenmap.playing()")
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.mark.parametrize("size", [(1366, 768), (844, 390), (390, 844)])
def test_picture_and_playback_are_seen_without_scrolling(browser, made, size):
    told = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", told)
    try:
        opened(browser, made / "show.html")
        for name in ("picture", "play", "scrub"):
            box = browser.find_element("id", name).rect
            assert box["y"] >= 0
            assert box["y"] + box["height"] <= size[1]
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.mark.parametrize("width", [320, 390, 844])
@pytest.mark.parametrize("length", ["24 s", "0.9 s"])
def test_times_on_the_ruler_stand_apart(browser, examples, tmp_path, width, length):
    """On a phone the last but one was written across the last."""
    (tmp_path / "house.toml").write_text((examples / "kelder-studio" / "house.toml").read_text())
    still = '[[cue]]\n[[cue.layer]]\neffect = "still"\n'
    (tmp_path / "show.toml").write_text(WHITE_SHOW.replace("3 s", length) + still)
    preview(load(tmp_path / "show.toml"), tmp_path / "a.html", PreviewOptions(width=160, fps=4))
    told = {"width": width, "height": 844, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", told)
    try:
        opened(browser, tmp_path / "a.html")
        boxes = browser.execute_script(
            "return [...document.querySelectorAll('#ticks span')].map(e => {"
            "const r = document.createRange(); r.selectNodeContents(e);"
            "const b = r.getBoundingClientRect(); return [b.left, b.right]})"
        )
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert len(boxes) >= 3
    assert all(a[1] < b[0] for a, b in pairwise(sorted(boxes))), boxes


def test_every_control_has_a_name(browser, made):
    opened(browser, made / "show.html")
    nameless = browser.execute_script(
        "return [...document.querySelectorAll('button, select, input, canvas')].filter(e =>"
        "!(e.getAttribute('aria-label') || e.textContent.trim() || e.labels?.length)).length"
    )
    assert nameless == 0
    assert browser.execute_script("return document.documentElement.lang") == "en"


def test_no_frames_and_unwritable_places_are_refused(house, pixelmap, tmp_path):
    view = Preview(Site(house, pixelmap), width=160, height=90)
    page = Page("a", "b", 20.0)
    with pytest.raises(InputError, match="there are no frames to write"):
        write_page(tmp_path / "a.html", view, pixelmap, np.zeros((0, 3, 3), np.uint8), page)
    wire = np.zeros((2, len(pixelmap), 3), np.uint8)
    with pytest.raises(InputError, match="can't be written"):
        write_page(tmp_path / "no" / "a.html", view, pixelmap, wire, page)
    assert not list(tmp_path.iterdir())


def test_a_show_without_a_sound_has_no_button_for_it(browser, made):
    opened(browser, made / "show.html")
    assert not browser.find_elements("id", "sound")
    assert browser.execute_script("return lumenmap.heard()") is None
