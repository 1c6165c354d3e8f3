"""The sheets' page on a phone: audited by axe-core, ticks kept, drawings full size, all from disk.

The audit's rules are those of axe-core, for WCAG 2.2 A and AA and its best practices (W3C).
"""

import json
import re
import time
from pathlib import Path

import pytest

AXE = Path(__file__).parents[2] / ".ci" / "page" / "node_modules" / "axe-core" / "axe.min.js"
#: The largest sheets and the smallest, made of the same elements.
HOUSES = ("marlow-bend", "tannery-row")
PHONE = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
AUDIT = """
const done = arguments[0];
axe.run().then(r => done(r.violations.map(v => [v.impact, v.id, v.nodes.map(
  n => n.html.slice(0, 150))])));
"""


@pytest.fixture(scope="module")
def driver(browser):
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
    yield browser
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.fixture(scope="module")
def sheets(written_once):
    """The files of the houses' pages."""
    return {house: (written_once(house)[0] / "sheets.html").as_uri() for house in HOUSES}


def opened(driver, file):
    """A page from the disk, with nothing ticked yet."""
    driver.get(file)
    driver.execute_script("localStorage.clear()")
    return again(driver)


def again(page):
    """Load the page again, after a moment for what it keeps."""
    time.sleep(0.2)
    page.refresh()
    return page


@pytest.fixture
def page(driver, sheets):
    return opened(driver, sheets["tannery-row"])


def test_no_two_drawings_have_one_name(sheets):
    """Somebody who doesn't see them knows which is which by its link."""
    for file in sheets.values():
        text = Path(file.removeprefix("file://")).read_text()
        names = re.findall(r"Open full size: ([^<]+)", text)
        assert len(names) > 4 and len(set(names)) == len(names) and "drawing" not in names


def test_a_heading_that_a_paragraph_names_is_a_link_to_it(driver, sheets):
    opened(driver, sheets["marlow-bend"])
    found = driver.execute_script(
        "return [...document.querySelectorAll('p a')].map(a => [a.textContent, "
        "document.getElementById(a.hash.slice(1))?.textContent])"
    )
    assert ["Wires to the line", "Wires to the line"] in found
    assert all(text == heading for text, heading in found)


def test_no_measure_or_range_breaks_over_two_lines_on_a_phone(driver, sheets):
    """Feet stay with their inches, and the ends of a range together: 7 ft 11 13/16 in, 16-17."""
    opened(driver, sheets["marlow-bend"])
    broken = driver.execute_script(
        """
        const figure = /\\d+\\s?ft\\s[\\d\\s/]+in\\b|\\d+-\\u2060?\\d+/g, found = [];
        const texts = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
        let seen = 0;
        while (texts.nextNode()) {
          const node = texts.currentNode;
          if (node.parentElement.closest("svg")) continue;
          for (const m of node.data.matchAll(figure)) {
            const range = document.createRange();
            range.setStart(node, m.index); range.setEnd(node, m.index + m[0].length);
            seen += 1;
            if (new Set([...range.getClientRects()].map(r => Math.round(r.top))).size > 1)
              found.push(m[0]);
          }
        }
        return [seen, found];
        """
    )
    assert broken[0] > 20 and broken[1] == []


def ticked_when_loaded(page, expected):
    """Return which boxes are ticked when the page is loaded again.

    The browser writes what a page keeps behind it, on a busy machine not at once.
    """
    for _ in range(10):
        found = [i for i, on in enumerate(boxes(again(page))) if on]
        if found == expected:
            break
    return found


def boxes(page):
    return page.execute_script(
        "return [...document.querySelectorAll('input')].map(box => box.checked)"
    )


@pytest.mark.parametrize("house", HOUSES)
def test_the_audit_finds_nothing(driver, sheets, house):
    if not AXE.is_file():
        pytest.skip("axe-core isn't installed: npm ci --prefix .ci/page")
    page = opened(driver, sheets[house])
    page.execute_script(AXE.read_text("utf-8"))
    assert page.execute_async_script(AUDIT) == []


def test_a_view_of_the_house_is_in_sight_on_a_phone(driver, sheets):
    """Its left margin alone was: of a small side nothing, before one scrolled."""
    left = opened(driver, sheets["marlow-bend"]).execute_script(
        "return [...document.querySelectorAll('.page .wide')]"
        ".map(e => [2 * e.scrollLeft, e.scrollWidth - e.clientWidth])"
    )
    assert len(left) > 4 and all(room > 0 and abs(at - room) <= 2 for at, room in left)


def test_nothing_is_wider_than_the_phone_but_what_scrolls(driver, sheets):
    js = opened(driver, sheets["marlow-bend"]).execute_script
    assert js("return document.documentElement.scrollWidth <= innerWidth")
    wide = js(
        "return [...document.querySelectorAll('.wide')].filter(e => e.scrollWidth > e.clientWidth)"
        ".map(e => e.tabIndex)"
    )
    assert wide and set(wide) == {0}


def test_no_column_of_a_table_is_out_of_sight_on_a_phone(driver, sheets):
    """A rail's place on its edge is the last of nine columns, and needed on the ladder."""
    js = opened(driver, sheets["marlow-bend"]).execute_script
    assert js(
        "return [...document.querySelectorAll('.wide table')].filter("
        "t => t.parentElement.scrollWidth > t.parentElement.clientWidth).length"
    ) == 0  # fmt: skip
    cells = js(
        """
        const head = [...document.querySelectorAll("h2")].find(h => h.textContent === "Hanging");
        let part = head;
        while (!part.querySelector?.("table")) part = part.nextElementSibling;
        return [...part.querySelectorAll("tbody tr:first-child td")].map(cell => {
          const box = cell.getBoundingClientRect();
          return [getComputedStyle(cell, "::before").content, box.left >= 0 && box.right <= 390];
        });
        """
    )
    assert [name.strip('"') for name, _ in cells] == [
        *("cut", "drilled", "hung", "rail", "rail kind", "edge"),
        *("datum end at", "far end at", "pixels"),
    ]
    assert all(inside for _, inside in cells)


def test_on_a_wide_screen_and_on_paper_tables_are_tables(driver, sheets):
    page = opened(driver, sheets["marlow-bend"])
    kind = "return [...document.querySelectorAll('table tr')].map(r => getComputedStyle(r).display)"
    assert "grid" in page.execute_script(kind)
    try:
        page.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride", PHONE | {"width": 1200, "mobile": False}
        )
        assert set(page.execute_script(kind)) == {"table-row"}
        page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
        page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        assert set(page.execute_script(kind)) == {"table-row"}
    finally:
        page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)


def test_ticks_are_remembered_and_cleared(page):
    """By what they stand next to, so the third box is ticked again after the page is reloaded."""
    click = "document.querySelectorAll('input')[arguments[0]].click()"
    page.execute_script(click, 2)
    first_hole = page.execute_script(
        "return [...document.querySelectorAll('input')].indexOf(document.querySelector('ol input'))"
    )
    page.execute_script(click, first_hole)
    assert ticked_when_loaded(page, [2, first_hole]) == [2, first_hole]
    said = "return document.querySelector('.kept').textContent"
    assert f"2 of {len(boxes(page))} boxes" in page.execute_script(said)
    page.execute_script("document.querySelector('button').click()")
    assert ticked_when_loaded(page, [2]) == [2]


def test_what_else_is_kept_there_does_no_harm(page):
    """Whatever it is, no box is ticked by it, and one that is ticked then is remembered."""
    for kept in ("null", "7", '"no"', "{", '["none of ours"]'):
        page.execute_script(
            "localStorage.setItem('lumenmap: ' + document.title, arguments[0])", kept
        )
        assert not ticked_when_loaded(page, []), kept
        page.execute_script("document.querySelector('input').click()")
        assert ticked_when_loaded(page, [0]) == [0], kept


def test_without_storage_boxes_still_tick(page):
    """A browser may refuse to keep anything; the page says so."""
    page.execute_script(
        "Object.defineProperty(Storage.prototype, 'setItem', {value() { throw 1; }})"
    )
    page.execute_script("document.querySelector('input').click()")
    assert boxes(page)[0] is True
    assert "doesn't keep them" in page.execute_script(
        "return document.querySelector('.kept').textContent"
    )


def test_each_drawing_opens_full_size_and_closes(page):
    """Without the script too: by a link to itself. Then text of 2 mm is 10 px high or more."""
    js = page.execute_script
    count = js("return document.querySelectorAll('figure').length")
    assert count >= 4
    for i in range(count):
        js("document.querySelectorAll('figure .open')[arguments[0]].click()", i)
        width, room, wide = js(
            "const f = document.querySelector('figure:target'), s = f.querySelector('svg');"
            "return [s.getBoundingClientRect().width, f.clientWidth, s.viewBox.baseVal.width]"
        )
        assert room == 390 and width >= 4.9 * wide
        js("document.querySelector('figure:target .close').click()")
        assert js("return document.querySelector('figure:target')") is None


def test_the_page_asks_nobody(page):
    """Nothing but the file itself is loaded, and the browser complains of nothing."""
    for kind in ("performance", "browser"):
        page.get_log(kind)
    again(page)
    sent = [json.loads(e["message"])["message"] for e in page.get_log("performance")]
    asked = {
        m["params"]["request"]["url"].split("#")[0]
        for m in sent
        if m["method"] == "Network.requestWillBeSent"
    }
    assert asked == {page.current_url.split("#")[0]}
    assert page.get_log("browser") == []
