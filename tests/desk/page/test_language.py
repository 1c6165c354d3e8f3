"""Journeys through what the show language can do: ramps, turns, routes, values, groups, except.

None of them types TOML, and few type a unit.
"""

import pytest

from tests.desk.browser import LAPTOP, PHONE
from tests.desk.page.test_composing import layer

LEFT, RIGHT, UP, DOWN, ENTER = "\ue012", "\ue014", "\ue013", "\ue015", "\ue007"


def a_speed_that_rises(hands):
    hands.tap("how fast").tap("Change over time")
    data = hands.saved(lambda d: isinstance(layer(d)["speed"], dict))
    assert layer(data)["speed"] == {"from": "1 m/s", "to": "2 m/s", "over": "12 s"}
    hands.called("Point 2")
    assert "# goes round" in (hands.desk.folder / "show.toml").read_text("utf-8")


def back_to_one_value(hands):
    a_speed_that_rises(hands)
    hands.tap("Point 1").tap("One value instead")
    hands.saved(lambda d: layer(d)["speed"] == "1 m/s")


def drags_a_point(hands):
    a_speed_that_rises(hands)
    width = hands.js("return document.querySelector('.plot').clientWidth - 52")
    hands.drag(hands.called("Point 2"), -width / 2, 30)
    data = hands.saved(lambda d: layer(d)["speed"].get("over", "12 s") != "12 s")
    hands.js("return 0")
    speed = hands.saved(lambda d: 5.5 < float(layer(d)["speed"]["over"].split()[0]) < 6.5)
    made = layer(speed)["speed"]
    assert float(made["to"].split()[0]) < 2, data
    hands.until("!document.querySelector('lm-head button[title^=Undo]').disabled")
    hands.tap("Undo").tap("Undo")  # the drag was one step, and so was the ramp
    hands.saved(lambda d: layer(d)["speed"] == "1 m/s")


def walks_a_point(hands):
    a_speed_that_rises(hands)
    hands.press("Point 2", LEFT * 5)
    hands.saved(lambda d: layer(d)["speed"]["over"] == "11.5 s")
    hands.press("Point 2", DOWN * 4)
    hands.saved(lambda d: layer(d)["speed"]["to"] not in ("2 m/s",))


def three_points(hands):
    a_speed_that_rises(hands)
    hands.tap("Point 1").tap("Add a point")
    data = hands.saved(lambda d: len(layer(d)["speed"].get("at", ())) == 3)
    assert layer(data)["speed"] == {
        "at": ["0 s", "6 s", "12 s"],
        "to": ["1 m/s", "1.5 m/s", "2 m/s"],
    }
    hands.write("Value of point 2", "0.5", root=".number").tap("Again and again")
    data = hands.saved(lambda d: layer(d)["speed"].get("repeat"))
    assert layer(data)["speed"]["to"][1] == "0.5 m/s"
    hands.tap("Take this point out")
    hands.saved(lambda d: len(layer(d)["speed"]["at"]) == 2)


def a_time_of_a_point(hands):
    a_speed_that_rises(hands)
    hands.write("Time of point 2", "4")
    hands.saved(lambda d: layer(d)["speed"]["over"] == "4 s")


def opacity_that_rises_evenly(hands):
    hands.tap("How much of it shows").tap("Change over time")
    hands.saved(lambda d: layer(d)["opacity"] == {"from": 1, "to": 0, "over": "12 s"})
    hands.tap("Even to the eye")
    hands.saved(lambda d: layer(d)["opacity"].get("even") is True)
    hands.js(
        "const s = [...document.querySelectorAll('select')].find(e => "
        "e.ariaLabel === 'Easing of opacity'); s.value = 'ease-in'; s.onchange({target: s})"
    )
    hands.saved(lambda d: layer(d)["opacity"].get("easing") == "ease-in")
    hands.sees("1 to 0 in 12 s")


def through_the_palette(hands):
    hands.tap("More of layer 1").tap("palette at")
    hands.press("The whole layer in one colour", RIGHT * 40, root=".control .row")
    hands.saved(lambda d: 0 < layer(d)["palette_at"] < 0.4)
    hands.tap("Change over time")
    data = hands.saved(lambda d: isinstance(layer(d)["palette_at"], dict))
    assert layer(data)["palette_at"]["over"] == "12 s"


def an_envelope(hands):
    hands.tap("More of layer 1").tap("envelope").tap("Change over time")
    hands.saved(lambda d: layer(d)["envelope"] == {"from": 1, "to": 0, "over": "12 s"})
    hands.tap("No envelope")
    hands.saved(lambda d: "envelope" not in layer(d))


def a_passage(hands):
    hands.tap("how fast").tap("As usual").tap("Done")
    hands.saved(lambda d: "speed" not in layer(d))
    hands.tap("More of layer 1").tap("over").write("Time of one passage", "3", root=".number")
    hands.saved(lambda d: layer(d)["over"] == "3 s")
    hands.tap("Done").tap("More of layer 1").tap("times")
    hands.write("With over: how many", "2", root=".number")
    hands.saved(lambda d: layer(d)["times"] == 2)


def a_passage_instead_of_a_speed_is_refused(hands):
    hands.tap("More of layer 1").tap("over").write("Time of one passage", "3", root=".number")
    hands.sees("Over stands for speed; give one of the two.")
    assert "over" not in layer(hands.file())


def takes_turns(hands):
    hands.tap("More of layer 1").tap("turns", root=".cards").tap("Take turns")
    data = hands.saved(lambda d: "turns" in layer(d))
    assert layer(data)["turns"] == {"every": "1 s", "parts": "edges"}
    hands.tap("to and fro")
    hands.saved(lambda d: layer(d)["turns"]["order"] == "to and fro")
    hands.write("From one turn to the next", "2.5", root=".number")
    hands.saved(lambda d: layer(d)["turns"]["every"] == "2.5 s")
    hands.sees("takes turns, every 2.5 s")
    hands.tap("No turns")
    hands.saved(lambda d: "turns" not in layer(d))


def leaves_an_edge_alone(hands):
    hands.tap("More of layer 1").tap("except").tap("main/rake-right", root=".chips")
    hands.saved(lambda d: layer(d)["except"] == ["main/rake-right"])
    hands.sees("but not")
    hands.tap("none", root=".chips")
    hands.saved(lambda d: "except" not in layer(d))


def a_group_of_ones_own(hands):
    hands.tap("Groups").write("A new group's name", "gable").keys(ENTER)
    hands.tap("Add", root=".own")
    data = hands.saved(lambda d: "gable" in d.get("group", {}))
    assert data["group"]["gable"] == ["main/rake-left"]
    hands.tap("main/rake-right", root=".own")
    hands.saved(lambda d: d["group"]["gable"] == ["main/rake-left", "main/rake-right"])
    hands.tap("But not main/rake-left")
    data = hands.saved(lambda d: isinstance(d["group"]["gable"], dict))
    assert data["group"]["gable"]["except"] == ["main/rake-left"]
    hands.tap("Places: the whole house").tap("gable", root=".control, .layer.chosen, .open")
    hands.saved(lambda d: layer(d).get("on") == ["gable"])


def places_of_a_group_touched_quicker_than_the_desk_answers(hands):
    hands.tap("Groups").write("A new group's name", "gable")
    hands.tap("Add", root=".own")
    hands.saved(lambda d: d["group"]["gable"] == ["main/rake-left"])
    hands.sees("gable: these belong to it")
    hands.js(
        "const chips = [...document.querySelectorAll('.own .chip')];"
        "for (const name of ['main/rake-right', 'front']) "
        "chips.find(c => c.textContent.trim().startsWith(name)).click()"
    )
    hands.saved(lambda d: d["group"]["gable"] == ["main/rake-left", "main/rake-right", "front"])


def a_route_of_ones_own(hands):
    hands.tap("Routes").write("A new route's name", "walk")
    hands.tap("Add", root=".own")
    data = hands.saved(lambda d: d.get("route"))
    assert data["route"] == [{"name": "walk", "edges": ["main/rake-left"]}]
    hands.tap("main/rake-right", root=".own .chips")
    hands.saved(lambda d: d["route"][0]["edges"] == ["main/rake-left", "main/rake-right"])
    hands.tap("main/rake-right one earlier")
    hands.saved(lambda d: d["route"][0]["edges"] == ["main/rake-right", "main/rake-left"])
    hands.tap("main/rake-left from its end")
    hands.saved(lambda d: d["route"][0]["edges"][1] == "main/rake-left reversed")
    hands.tap("Take main/rake-right out")
    hands.saved(lambda d: d["route"][0]["edges"] == ["main/rake-left reversed"])


def along_the_route(hands):
    hands.tap("Routes").write("A new route's name", "walk")
    hands.tap("Add", root=".own")
    hands.saved(lambda d: d.get("route"))
    hands.tap("what the groups run along").tap("along walk")
    hands.saved(lambda d: layer(d)["way"] == "along walk")
    hands.sees("along walk")


def an_edge_by_keys_goes_to_the_route(hands):
    hands.tap("Routes").write("A new route's name", "walk")
    hands.tap("Add", root=".own")
    hands.saved(lambda d: d.get("route"))
    hands.press("Edges of the house", RIGHT + RIGHT + ENTER)
    data = hands.saved(lambda d: len(d["route"][0]["edges"]) == 2)
    assert "on" not in layer(data)


def a_value_of_the_show(hands):
    hands.tap("Values").write("A new value's name", "pulse")
    hands.tap("Add", root=".own")
    hands.saved(lambda d: d.get("values") == {"pulse": 1})
    hands.write("pulse", "3", root=".own .number")
    hands.saved(lambda d: d["values"]["pulse"] == 3)
    hands.tap("how fast")
    hands.called("how fast they run: follows")
    hands.js(
        "const s = [...document.querySelectorAll('select')].find(e => "
        "e.ariaLabel?.includes('follows')); s.value = 'pulse'; s.onchange({target: s})"
    )
    hands.saved(lambda d: layer(d)["speed"] == "{pulse}")
    hands.sees("It follows the show's value pulse: 3 m/s.")
    hands.tap("Take the value pulse out")
    hands.sees("pulse")
    hands.until("document.querySelector('.own .said, .notice .said, .said')")
    assert hands.file()["values"] == {"pulse": 3}  # it is in use


def settings_of_the_show(hands):
    hands.tap("Settings").write("The length of the loop", "25", root=".number")
    hands.saved(lambda d: d["show"]["length"] == "25 s")
    hands.sees("of 25 s")
    hands.tap("steady")
    hands.saved(lambda d: d["limit"]["mode"] == "steady")
    hands.tap("no", root=".own [aria-label='match screen']")
    hands.saved(lambda d: d["show"]["match_screen"] is False)


def colours_of_a_photo(hands):
    from PIL import Image

    folder = hands.desk.folder.parent
    image = Image.new("RGB", (300, 200), (255, 40, 20))
    image.paste((20, 60, 255), (150, 0, 300, 200))
    image.save(folder / "Our Garden.jpg", quality=95)
    hands.tap("Palette: dusk").called("A photo to take colours from").send_keys(
        str(folder / "Our Garden.jpg")
    )
    data = hands.saved(lambda d: layer(d)["palette"] == "our-garden")
    stops = data["palette"]["our-garden"]["stops"]
    assert [s["at"] for s in stops] == [0, 0.5] and stops[0]["colour"].startswith("#ff")
    hands.called("Stop 2")
    photo = hands.until("document.querySelector('lm-photo canvas')")
    hands.js("arguments[0].scrollIntoView({block: 'center'})", photo)
    width = hands.js("return arguments[0].clientWidth", photo)
    hands.tap("Stop 1")
    hands.drag(photo, width * 0.3, 0)  # from the middle into the blue
    hands.saved(
        lambda d: (
            255 < float(d["palette"]["our-garden"]["stops"][0]["colour"][6:-1].split()[2]) < 275
        )
    )


def a_photo_that_isnt_one(hands):
    (hands.desk.folder.parent / "notes.png").write_text("not a picture")
    hands.tap("Palette: dusk").called("A photo to take colours from").send_keys(
        str(hands.desk.folder.parent / "notes.png")
    )
    hands.sees("The photo isn't a readable picture; expected PNG, JPEG, GIF or WebP.")
    assert layer(hands.file())["palette"] == "dusk"
    hands.driver.get_log("browser")  # the refused photo, 422


def how_a_cue_fades(hands):
    hands.tap("How it fades").tap("ease-in-out")
    hands.saved(lambda d: d["cue"][0]["easing"] == "ease-in-out")
    hands.tap("yes", root=".layers")
    hands.saved(lambda d: d["cue"][0]["even"] is True)


JOURNEYS = [f for f in list(globals().values()) if getattr(f, "__module__", "") == __name__]
JOURNEYS.remove(a_speed_that_rises)  # others begin with it
ON_A_PHONE = [
    colours_of_a_photo,
    drags_a_point,
    takes_turns,
    a_route_of_ones_own,
    a_group_of_ones_own,
    places_of_a_group_touched_quicker_than_the_desk_answers,
    three_points,
]


@pytest.mark.parametrize(
    ("journey", "size"),
    [(j, LAPTOP) for j in JOURNEYS] + [(j, PHONE) for j in ON_A_PHONE],
    ids=lambda v: v.__name__ if callable(v) else "x".join(map(str, v)),
)
def test_a_journey(visitor, journey, size):
    visitor.open("compose", "show.toml", size)
    journey(visitor)
