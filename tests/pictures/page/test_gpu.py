"""The page painted by WebGL: the same picture as by the processor, and as `Preview` draws it.

The tests' graphics processor is a program (SwiftShader, by Chromium), which the page would refuse as
slow: it is told another name.
"""

import base64
import io

import numpy as np
import pytest
from PIL import Image

from lumenmap.jobs.export import export
from lumenmap.jobs.preview import preview
from lumenmap.jobs.project import load
from lumenmap.jobs.sampled import seen
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.options import PreviewOptions
from tests.chromium import chromium, until

FRAMES = (0, 100, 420)
#: The program passes for a processor: the numbers are RENDERER's, plain and unmasked (WebGL 1.0,
#: WEBGL_debug_renderer_info).
PASSES = """
const asked = HTMLCanvasElement.prototype.getContext, told = WebGL2RenderingContext.prototype.getParameter;
HTMLCanvasElement.prototype.getContext = function (kind, how) {
  return asked.call(this, kind, kind === "webgl2" ? { ...how, failIfMajorPerformanceCaveat: false } : how);
};
WebGL2RenderingContext.prototype.getParameter = function (name) {
  return name === 0x1f01 || name === 0x9246 ? "A processor" : told.call(this, name);
};
"""
#: A driver that links no program.
BROKEN = """
WebGL2RenderingContext.prototype.getProgramParameter = () => false;
"""
BY_GPU = "return !!document.getElementById('picture').getContext('webgl2')"


@pytest.fixture(scope="module")
def made(examples, tmp_path_factory):
    """A show, its page and its frame file."""
    work = load(examples / "alder-cottage" / "first-frost.toml")
    folder = tmp_path_factory.mktemp("gpu")
    preview(work, folder / "show.html", PreviewOptions(width=640))
    export(work, folder)
    return work, folder


@pytest.fixture(scope="module")
def graphics():
    """A browser with WebGL, and a way to open a page in it after a script of ours."""
    browser = chromium(graphics=True)

    def opened(page, script):
        added = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": script})
        browser.get("about:blank")
        browser.get(page.as_uri())
        assert until(browser, "!!window.lumenmap", seconds=20)
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)
        return browser

    yield opened
    browser.quit()


def shown(browser, frame=None):
    """Return what the canvas shows, at a frame."""
    if frame is not None:
        browser.execute_script("lumenmap.seek(arguments[0])", frame)
    url = browser.execute_script("return document.getElementById('picture').toDataURL()")
    picture = Image.open(io.BytesIO(base64.b64decode(url.split(",")[1])))
    return np.asarray(picture.convert("RGB")).astype(float)


def test_it_paints_as_the_processor_and_as_the_preview_do(graphics, made):
    work, folder = made
    browser = graphics(folder / "show.html", "")
    assert not browser.execute_script(BY_GPU), "a program is refused, as slower than ours"
    by_hand = [shown(browser, frame) for frame in FRAMES]
    browser = graphics(folder / "show.html", PASSES)
    assert browser.execute_script(BY_GPU)
    view = Preview(work.site, width=640, height=360)
    codes = np.fromfile(folder / "frames.rgb", np.uint8).reshape(-1, len(work.site.pixels), 3)
    for frame, other in zip(FRAMES, by_hand, strict=True):
        picture = shown(browser, frame)
        off = np.abs(picture - other)
        assert off.mean() < 0.2
        assert np.quantile(off, 0.999) <= 3
        still = view.still(seen(work, codes[frame][None] / np.float32(255))[0])
        assert np.abs(picture - still).mean() < 1.5
    assert not [e for e in browser.get_log("browser") if e["level"] == "SEVERE"]


def test_a_picture_comes_back_with_a_processor_that_was_taken_away(graphics, made):
    """As happens to a phone's page in the background (WebGL 1.0, section 5.15.2)."""
    browser = graphics(made[1] / "show.html", PASSES)
    before = shown(browser, 100)
    browser.execute_script(
        """const gl = document.getElementById("picture").getContext("webgl2");
        window.away = gl.getExtension("WEBGL_lose_context"); away.loseContext();"""
    )
    lost = "document.getElementById('picture').getContext('webgl2').isContextLost()"
    assert until(browser, lost)
    browser.execute_script("lumenmap.seek(420)")
    browser.execute_script("away.restoreContext()")
    assert until(browser, f"!{lost}")
    assert until(browser, "document.getElementById('picture').toDataURL().length > 20000")
    after = shown(browser)
    assert np.abs(after - before).mean() > 1, "it is the moment that was asked for meanwhile"
    assert (after == shown(graphics(made[1] / "show.html", PASSES), 420)).all()


def test_a_driver_that_fails_leaves_it_to_the_processor(graphics, made):
    browser = graphics(made[1] / "show.html", PASSES + BROKEN)
    assert not browser.execute_script(BY_GPU)
    assert shown(browser, 100).max() > 200
