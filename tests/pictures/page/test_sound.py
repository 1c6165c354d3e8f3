"""A page of a show with a sound plays in step with it."""

import shutil
import time

import numpy as np
import pytest
import soundfile

from lumenmap.jobs.preview import preview
from lumenmap.jobs.project import load
from lumenmap.pictures.options import PreviewOptions
from tests.pictures.page.paged import opened, wait


@pytest.fixture(scope="module")
def singing(examples, tmp_path_factory):
    """A page of four seconds with three seconds of a made-up tone."""
    folder = tmp_path_factory.mktemp("singing")
    shutil.copy(examples / "alder-cottage" / "house.toml", folder)
    tone = 0.1 * np.sin(2 * np.pi * 440 * np.arange(3 * 8000) / 8000)
    soundfile.write(folder / "tone.wav", tone, 8000)
    text = '[show]\nhouse = "house.toml"\nsound = "tone.wav"\nfps = 30\nlength = "4 s"\n'
    layer = '[[cue]]\nlayer = [{ effect = "still", palette = "gold" }]\n'
    (folder / "show.toml").write_text(text + layer)
    preview(load(folder / "show.toml"), folder / "show.html", PreviewOptions(width=320))
    return folder / "show.html"


def test_the_page_plays_in_step_with_its_sound(browser, singing):
    opened(browser, singing)
    step = "return [lumenmap.frame() / 30, lumenmap.heard()]"
    browser.find_element("id", "play").click()
    wait(browser, "return lumenmap.heard() > 0.5")
    for _ in range(5):
        frame, heard = browser.execute_script(step)
        assert abs(frame - heard) < 2 / 30  # one for the frame that shows, one between two reads
        time.sleep(0.1)
    browser.execute_script("lumenmap.seek(60)")
    wait(browser, "return lumenmap.heard() > 2.1")
    frame, heard = browser.execute_script(step)
    assert abs(frame - heard) < 2 / 30
    # The light goes on after the sound, and both begin again together.
    wait(browser, "return lumenmap.frame() > 100")
    wait(browser, "return lumenmap.frame() < 60 && lumenmap.heard() > 0.3")
    frame, heard = browser.execute_script(step)
    assert abs(frame - heard) < 2 / 30
    browser.find_element("id", "play").click()
    still = browser.execute_script(step)
    time.sleep(0.2)
    assert browser.execute_script(step) == still
    assert not [e for e in browser.get_log("browser") if e["level"] == "SEVERE"]


def test_its_sound_can_be_put_off(browser, singing):
    opened(browser, singing)
    button = browser.find_element("id", "sound")
    assert button.get_attribute("aria-pressed") == "true"
    button.click()
    assert button.get_attribute("aria-pressed") == "false"
