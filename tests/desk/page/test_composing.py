"""Journeys of the one who composes: cues, layers, options, palettes, edges, time."""

import pytest

from tests.desk.browser import BRIGHT, LAPTOP, PHONE

LEFT, RIGHT, UP, ENTER = "\ue012", "\ue014", "\ue013", "\ue007"


def layer(data, cue=0, number=0):
    return data["cue"][cue]["layer"][number]


def from_nothing(hands):
    """Two cues, an effect and a palette in each, no unit typed."""
    hands.tap("New show").until(
        "document.querySelector('input.title')?.value.startsWith('New Show')"
    )
    hands.write("Name", "Two Moods")
    name = hands.until("document.querySelector('select')?.value")
    assert name.startswith("new-show")
    hands.saved(lambda d: d["show"]["name"] == "Two Moods", name)
    hands.tap("Effect: still").tap("pools").tap("Palette").tap("ember").tap("Done")
    hands.tap("Add a cue")
    hands.saved(lambda d: len(d["cue"]) == 2, name)
    hands.until("document.querySelectorAll('.cue').length === 2")
    hands.tap("chase").tap("Palette").tap("frost")
    data = hands.saved(lambda d: layer(d, 1)["palette"] == "frost", name)
    assert layer(data, 1)["effect"] == "chase" and layer(data)["palette"] == "ember"
    assert data["cue"][1]["start"] == "15 s"
    assert hands.actions < 20


def copies_a_show(hands):
    """Another mood of a show that is liked as it is."""
    before = hands.file()
    hands.tap("Copy show").until(
        "document.querySelector('input.title')?.value === 'First Try, copy'"
    )
    name = hands.until("document.querySelector('select')?.value")
    hands.tap("Palette: dusk").tap("candlelight")
    data = hands.saved(lambda d: layer(d)["palette"] == "candlelight", name)
    assert data["show"]["name"] == "First Try, copy" and len(data["cue"]) == 2
    assert hands.file() == before


def removes_a_show_and_puts_it_back(hands):
    """A stray touch makes a show; two more are rid of it, or have it back."""
    hands.tap("New show").until(
        "document.querySelector('input.title')?.value.startsWith('New Show')"
    )
    name = hands.until("document.querySelector('select')?.value")
    hands.tap("Remove show").sees(f"as {name}.removed")
    hands.until(f"![...document.querySelectorAll('select option')].some(o => o.value === '{name}')")
    hands.until("document.querySelector('input.title')?.value === 'First Try'")
    assert not (hands.desk.folder / name).exists()
    hands.tap("Put it back")
    hands.until(f"document.querySelector('select')?.value === '{name}'")
    hands.until("document.querySelector('input.title')?.value.startsWith('New Show')")
    assert (hands.desk.folder / name).exists()
    assert "is off the list" not in hands.text


def fields_are_named(hands):
    """A list and a field that both say First Try aren't told apart without a word."""
    seen = (
        "(() => { const e = [...document.querySelectorAll('lm-head .pick span')]"
        ".find(e => e.textContent === words[0]);"
        "e.scrollIntoView({ block: 'nearest', inline: 'center' });"  # a phone has them in a row
        "const r = e.getBoundingClientRect(); return r.width > 20 && r.right <= innerWidth"
        " && e.contains(document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2)); })()"
    )
    for word in ("Show", "Name"):
        hands.until(seen, what=f"{word} isn't seen", words=[word])


def slides_an_option(hands):
    hands.tap("how fast").press("how fast", RIGHT * 30, root=".row")
    hands.saved(
        lambda d: layer(d)["speed"] not in ("1 m/s",) and layer(d)["speed"].endswith(" m/s")
    )
    assert "# goes round" in (hands.desk.folder / "show.toml").read_text("utf-8")


def one_drag_is_one_undo(hands):
    slides_an_option(hands)
    hands.tap("Undo")
    hands.saved(lambda d: layer(d)["speed"] == "1 m/s")
    hands.until("document.querySelector('lm-head button[title=Undo]')?.disabled")


def types_a_number(hands):
    hands.tap("how fast").write("how fast", "2.5", root=".number")
    hands.saved(lambda d: layer(d)["speed"] == "2.5 m/s")


def refused_number(hands):
    hands.tap("how fast").write("how fast", "5000", root=".number")
    hands.sees("expected")
    said = hands.js("return document.querySelector('.open .said')?.textContent")
    assert "5000" in said and "m/s" in said
    assert layer(hands.file())["speed"] == "1 m/s"
    hands.until("document.querySelector('.number input').value === '1'")


def as_usual(hands):
    hands.tap("how fast").tap("As usual")
    hands.saved(lambda d: "speed" not in layer(d))


def another_effect(hands):
    hands.tap("Effect: chase").tap("still")
    data = hands.saved(lambda d: layer(d)["effect"] == "still")
    assert "speed" not in layer(data)  # which still hasn't got


def another_palette(hands):
    hands.tap("Palette: dusk").tap("candlelight")
    hands.saved(lambda d: layer(d)["palette"] == "candlelight")


def own_copy_of_a_palette(hands):
    hands.tap("two, from").tap("Palette: candlelight").tap("Mix its colours")
    data = hands.saved(lambda d: layer(d, 1)["palette"] == "my-candlelight")
    assert data["palette"]["my-candlelight"]["stops"]


def mixing(hands):
    hands.tap("Palette: dusk").tap("Mix its colours")
    hands.called("Stop 1")
    return hands


def drags_a_stop(hands):
    mixing(hands)
    width = hands.js("return document.querySelector('.stops').clientWidth")
    hands.drag(hands.called("Stop 2"), width * 0.25, 0)
    data = hands.saved(lambda d: 0.65 < d["palette"]["dusk"]["stops"][1]["at"] < 0.85)
    assert data["palette"]["dusk"]["stops"][0]["at"] == 0
    assert "# two friends" in (hands.desk.folder / "show.toml").read_text("utf-8")


def walks_a_stop(hands):
    mixing(hands).press("Stop 2", LEFT * 3)
    hands.saved(lambda d: d["palette"]["dusk"]["stops"][1]["at"] == 0.47)


def slides_the_hue(hands):
    mixing(hands).press("Hue", RIGHT * 40)
    hands.saved(lambda d: d["palette"]["dusk"]["stops"][0]["colour"].startswith("oklch("))


def touches_the_plane(hands):
    mixing(hands)
    plane = hands.js(
        "const p = document.querySelector('lm-plane'); p.scrollIntoView({block: 'center'}); return p"
    )
    hands.drag(plane, 0, 0)
    data = hands.saved(lambda d: d["palette"]["dusk"]["stops"][0]["colour"].startswith("oklch("))
    light, strength = data["palette"]["dusk"]["stops"][0]["colour"][6:].split()[:2]
    assert 0.4 < float(light) < 0.6 and 0.14 < float(strength) < 0.2  # its middle


def more_and_fewer_colours(hands):
    mixing(hands).tap("A colour more")
    hands.saved(lambda d: len(d["palette"]["dusk"]["stops"]) == 3)
    hands.until("document.querySelectorAll('.stop').length === 3")
    hands.tap("Take this colour out")
    hands.saved(lambda d: len(d["palette"]["dusk"]["stops"]) == 2)


def asks_what_eyes_see(hands):
    mixing(hands).tap("Check for eyes and amps")
    hands.sees("mA a pixel on average")


def touches_an_edge(hands):
    """On the picture, where the first edge is drawn."""
    edge = hands.until("document.querySelector('.over polyline')?.id")
    x, y = hands.js(
        "scrollTo(0, 0); const p = document.querySelector('.over polyline'); "
        "const o = p.getAttribute('points').split(' ').map(q => q.split(',').map(Number)); "
        "const [a, b] = o[Math.floor(o.length / 2)]; "
        "const r = document.querySelector('.over').getBoundingClientRect(); "
        "return [r.x + a * r.width / 640, r.y + b * r.height / 360]"
    )
    from selenium.webdriver.common.actions.action_builder import ActionBuilder
    from selenium.webdriver.common.actions.pointer_input import PointerInput

    hands.actions += 1
    hands.touch(x, y, 0, 0, ActionBuilder, PointerInput)
    hands.until("document.querySelector('.edge b')")
    name = hands.js("return document.querySelector('.edge b').textContent")
    caption = hands.js("return document.querySelector('.edge').textContent")
    assert edge.startswith("edge-") and "pixels" in caption and " m" in caption
    hands.tap("Put the layer here")
    hands.saved(lambda d: layer(d)["on"] == [name])
    hands.tap("Take the layer away")
    hands.saved(lambda d: "on" not in layer(d))


def walks_the_edges(hands):
    hands.press("Edges of the house", RIGHT + RIGHT + ENTER)
    data = hands.saved(lambda d: len(layer(d)["on"]) == 1)
    chosen = hands.until(
        "document.querySelector('[role=option][aria-selected=true]')?.getAttribute('aria-label')"
    )
    assert chosen.startswith(layer(data)["on"][0] + ",")


def chooses_places(hands):
    hands.tap("Places: the whole house").tap("main/rake-left")
    hands.saved(lambda d: layer(d)["on"] == ["main/rake-left"])
    hands.tap("the whole house", root=".chips")
    hands.saved(lambda d: "on" not in layer(d))


def adds_a_layer(hands):
    hands.tap("Add a layer")
    data = hands.saved(lambda d: len(d["cue"][0]["layer"]) == 2)
    assert layer(data, 0, 1)["effect"] and "# goes round" in (
        hands.desk.folder / "show.toml"
    ).read_text("utf-8")
    hands.until("document.querySelectorAll('.layer').length === 2")


def takes_a_layer_out(hands):
    adds_a_layer(hands)
    hands.tap("Take layer 1 out")
    data = hands.saved(lambda d: len(d["cue"][0]["layer"]) == 1)
    assert layer(data)["effect"] != "chase"
    hands.tap("Undo")
    hands.saved(lambda d: layer(d)["effect"] == "chase")
    assert "# goes round" in (hands.desk.folder / "show.toml").read_text("utf-8")


def orders_layers(hands):
    adds_a_layer(hands)
    hands.tap("Layer 2 one down")
    hands.saved(lambda d: layer(d, 0, 1)["effect"] == "chase")


def blends(hands):
    hands.tap("How it mixes").tap("screen")
    hands.saved(lambda d: layer(d)["blend"] == "screen")


def opacity(hands):
    hands.tap("How much of it shows: 100 %").press(
        "How much of it", LEFT * 20, root=".control .row"
    )
    hands.saved(lambda d: layer(d)["opacity"] == 0.9)


def a_way(hands):
    hands.tap("Effect: chase").tap("gradient")
    hands.saved(lambda d: layer(d)["effect"] == "gradient")
    hands.until(
        "[...document.querySelectorAll('.option')].some(o => o.textContent.includes('way'))"
    )
    hands.tap("what the palette").tap("line")
    hands.saved(lambda d: layer(d)["way"] == "line")


def drags_a_cue(hands):
    bar = hands.called("two, from")
    width = hands.js("return document.querySelector('.bars').clientWidth")
    hands.drag(bar, -width * 0.2, 0)
    hands.saved(lambda d: abs(float(d["cue"][1]["start"].split()[0]) - 6) < 1)


def walks_a_cue(hands):
    hands.press("two, from", LEFT * 2)
    hands.saved(lambda d: d["cue"][1]["start"] == "9 s")


def longer_by_keys(hands):
    hands.press("one, from", RIGHT * 2, shift=True)
    hands.saved(lambda d: d["cue"][0]["length"] == "13 s")


def times_of_a_cue(hands):
    hands.write("begins at", "1.5").write("fades in over", "2")
    data = hands.saved(lambda d: d["cue"][0].get("fade_in") == "2 s")
    assert data["cue"][0]["start"] == "1.5 s"


def names_a_cue(hands):
    hands.write("Cue", "dusk comes", root=".times")
    hands.saved(lambda d: d["cue"][0]["name"] == "dusk comes")


def takes_a_cue_out(hands):
    hands.tap("two, from").tap("Take this cue out")
    hands.saved(lambda d: len(d["cue"]) == 1)
    hands.until("document.querySelectorAll('.cue').length === 1")


def undo_and_redo(hands):
    another_palette(hands)
    hands.tap("Undo")
    hands.saved(lambda d: layer(d)["palette"] == "dusk")
    hands.tap("Redo")
    hands.saved(lambda d: layer(d)["palette"] == "candlelight")


def renames_the_show(hands):
    hands.write("Name", "Second Try")
    hands.saved(lambda d: d["show"]["name"] == "Second Try")
    hands.until("document.querySelector('select').selectedOptions[0].textContent === 'Second Try'")


def scrubs(hands):
    hands.tap("Pause").press("Playhead", RIGHT * 30)
    at = hands.until("document.querySelector('.clock').textContent")
    assert at.endswith("s of 20 s")
    hands.called("Play")


def amps_and_findings(hands):
    hands.until("/A of [0-9.]+ A/.test(document.querySelector('lm-amps')?.textContent)")
    hands.sees("Nothing flashes, nothing is dimmed, every layer is seen.")
    assert "Fullest: " in hands.text


JOURNEYS = [f for f in list(globals().values()) if getattr(f, "__module__", "") == __name__]
#: What others begin with isn't walked alone too.
BEGUN = (layer, mixing, slides_an_option, adds_a_layer, another_palette)
JOURNEYS = [f for f in JOURNEYS if f not in BEGUN]
ON_A_PHONE = [
    from_nothing,
    removes_a_show_and_puts_it_back,
    fields_are_named,
    drags_a_stop,
    touches_an_edge,
    touches_the_plane,
    drags_a_cue,
    walks_the_edges,
]


@pytest.mark.parametrize(
    ("journey", "size"),
    [(j, LAPTOP) for j in JOURNEYS] + [(j, PHONE) for j in ON_A_PHONE],
    ids=lambda v: v.__name__ if callable(v) else "x".join(map(str, v)),
)
def test_a_journey(visitor, journey, size):
    visitor.open("compose", "show.toml", size)
    journey(visitor)


def test_the_house_follows_the_hand(visitor):
    visitor.open("compose", "show.toml", LAPTOP)
    visitor.until(f"{BRIGHT} > 1")
    visitor.tap("Pause").tap("How much of it shows").write("How much of it", "0", root=".number")
    visitor.saved(lambda d: layer(d)["opacity"] == 0)
    # What was bright before may have been the house before its first light: light is what undo brings.
    dark = visitor.still()
    visitor.tap("Undo")
    visitor.until(f"{BRIGHT} > {dark} * 1.01")


def test_a_layer_that_nobody_sees_is_named(visitor):
    visitor.open("compose", "show.toml", LAPTOP)
    visitor.tap("Add a layer").tap("still", root=".cards").tap("How it mixes", root=".layer.chosen")
    visitor.tap("normal", root=".chips").tap("Done")
    visitor.sees("Not seen")
    visitor.tap("Not seen")
    visitor.until("document.querySelector('.layer').classList.contains('chosen')")


def test_flashing_is_dark_until_agreed(visitor):
    from tests.desk.test_house_light import FLASHING

    (visitor.desk.folder / "strobe.toml").write_text(FLASHING, "utf-8")
    visitor.waited(lambda: "strobe.toml" in visitor.desk.desk.hub.session.folder.named("show"))
    visitor.open("compose", "strobe.toml", LAPTOP)
    visitor.sees("This show flashes fast.")
    visitor.tap("Show it anyway")
    visitor.until("!document.querySelector('.warning')")
    (visitor.desk.folder / "strobe.toml").unlink()


def test_a_shows_own_settings_are_in_the_window_once_they_are_asked_for(visitor):
    visitor.open("compose", file="show.toml", size=(1366, 768))
    visitor.tap("Settings")
    visitor.until(
        "(() => { const r = document.querySelector('.own .field')?.getBoundingClientRect();"
        "return r && r.top > 0 && r.bottom < innerHeight; })()"
    )


def test_on_a_phone_the_house_comes_before_what_is_seldom_used(visitor):
    visitor.open("compose", "show.toml", PHONE)
    visitor.until("document.querySelector('lm-house').getBoundingClientRect().top < 160")
    visitor.js("document.querySelector('.tools').scrollLeft = 0")
    # What is refused is said where it is seen, though its field may be out of sight.
    visitor.js(
        "import('/page/store.js').then(({ state, changed }) => {"
        " state.said.set('title', 'It was changed meanwhile.'); changed(); })"
    )
    shown = (
        "(() => { const r = document.querySelector('lm-head [role=alert]')?.getBoundingClientRect();"
        " return r && r.left >= 0 && r.right <= innerWidth; })()"
    )
    visitor.until(shown)
    visitor.tap("Copy show").until(
        "document.querySelector('input.title')?.value.startsWith('First Try, copy')"
    )
