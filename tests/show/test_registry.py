"""Effects found in packages and folders, and a clear sentence for each bad one."""

import pickle
import subprocess
import sys

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.show.effects.registry import effects

GOOD = '''
"""Light that blinks on the even seconds."""
from typing import Annotated
import numpy as np
from lumenmap.motion.options import Duration, Seed

def wink(at, t, palette, /, *,
         period: Annotated[float, Duration("how long it is on", low=0.5, high=60)] = 1.0,
         seed: Annotated[int, Seed("which")] = 0):
    """Show the palette's first colour every other second."""
    on = np.floor(t / period) % 2 + np.zeros((1, len(at.xyz)))
    return palette(0 * on) * on[..., None].astype("f4")
'''


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "wink.py").write_text(GOOD)
    return tmp_path


def test_a_folder_of_ones_own(folder):
    (folder / "_helper.py").write_text("raise RuntimeError")  # files with _ are no effects
    effect = effects([folder])["wink"]
    assert effect.summary == "Show the palette's first colour every other second."
    assert effect.source == str(folder)
    assert effect.read({"period": "500 ms"}) == {"period": 0.5}
    assert effect.read({"seed": 4})["seed"] == 4


def test_an_effect_travels_as_a_name(folder):
    for effect in (effects()["chase"], effects([folder])["wink"]):
        back = pickle.loads(pickle.dumps(effect))
        assert back.name == effect.name
        assert back.options == effect.options


def test_an_effect_of_a_folder_travels_to_a_fresh_process(folder):
    blob = pickle.dumps(effects([folder])["wink"]).hex()
    code = f"import pickle; print(pickle.loads(bytes.fromhex('{blob}')).name)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout.strip() == "wink", done.stderr


def _install(folder, monkeypatch, name, **files):
    """Put a package of effects on the path; its name isn't that of another test's."""
    package = folder / name
    package.mkdir()
    (package / "__init__.py").touch()
    for stem, text in files.items():
        (package / f"{stem}.py").write_text(text)
    info = folder / f"{name}-1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1\n")
    (info / "entry_points.txt").write_text(f"[lumenmap.effects]\n{name} = {name}\n")
    monkeypatch.syspath_prepend(str(folder))


def test_an_installed_package_joins_without_being_named(tmp_path, monkeypatch):
    """A package on the path that declares the entry point is found."""
    _install(tmp_path, monkeypatch, "winks", wink=GOOD)
    assert effects()["wink"].source == "winks"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("def wink(", "def blink(", 'wink.py: has no function named "wink" like the file'),
        ("def wink(at, t, palette, /", "def wink(at, t, /", "must start"),
        ("palette, /, *,", "palette, *,", "must start"),
        ("/, *,", "/,", "must start"),
        ("/, *,", "/, *args,", "must start"),
        ('    """Show', '    x = """Show', "needs a docstring"),
        (
            ': Annotated[float, Duration("how long it is on", low=0.5, high=60)]',
            "",
            'option "period" needs Annotated',
        ),
        ("Annotated[float, Duration", "Annotated[float, float, Duration", None),
        (
            'Duration("how long it is on", low=0.5, high=60)',
            '"how long"',
            'option "period" needs Annotated',
        ),
        (
            'Duration("how long it is on", low=0.5, high=60)',
            "Duration()",
            r'option "period" needs a line of help: Duration\("what it does',
        ),
        (
            "] = 1.0",
            "] = 90.0",
            'the default of option "period" is 90 s; expected 0.5 s to 60 s, its own range',
        ),
        (
            "low=0.5",
            'low="0.5"',
            """range or default of option "period" can't be used: TypeError: .* expected numbers""",
        ),
        (
            "] = 1.0",
            '] = "1 s"',
            r"""range or default of option "period" can't be used: TypeError""",
        ),
        ("low=0.5", "low=[]", r"""range or default of option "period" can't be used: TypeError"""),
        ("] = 1.0", "] = float('nan')", 'the default of option "period" is nan s; expected 0.5 s'),
        ("] = 1.0", "] = None", 'option "period" needs a default'),
        ("high=60)] = 1.0", "high=60)]", 'option "period" needs a default'),
        ("period", "pace", 'option "pace" has the name of a key of every layer'),
        (
            "import numpy as np",
            "import nunpy as np",
            "can't be loaded: ModuleNotFoundError: No module named 'nunpy'",
        ),
        (
            "return palette",
            "return (palette",
            r"can't be loaded: SyntaxError: [^()]*'\(' was never closed at wink.py line 12$",
        ),
        (
            "import numpy as np",
            "import numpy as np\n1 / 0",
            "can't be loaded: ZeroDivisionError: division by zero at wink.py line 5$",
        ),
        (
            "import numpy as np",
            "import numpy as np\nimport sys; sys.exit(3)",
            "can't be loaded: SystemExit",
        ),
    ],
)
def test_a_bad_one_gets_a_clear_sentence(folder, old, new, says):
    assert old in GOOD
    (folder / "wink.py").write_text(GOOD.replace(old, new))
    if says is None:
        assert "wink" in effects([folder])
        return
    with pytest.raises(InputError, match=says) as caught:
        effects([folder])
    assert "\n" not in str(caught.value)


def test_names_may_not_hide_each_other(folder):
    (folder / "chase.py").write_text(GOOD.replace("def wink", "def chase"))
    with pytest.raises(InputError, match='two effects "chase", in lumenmap_effects and in'):
        effects([folder])


def test_no_such_folder(tmp_path):
    with pytest.raises(InputError, match="isn.t a folder"):
        effects([tmp_path / "none"])


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (
            "return palette(0 * on)[..., 0]",
            r"returned \(30, \d+\); expected an array of shape \(30, \d+, 3\)",
        ),
        ("return None", "returned NoneType; expected an array"),
        ("return palette(0 * on) * np.nan", "returned light that isn.t finite"),
        ("return palette(0 * on) / 0", "raised FloatingPointError|not finite"),
        ("raise ValueError('no')", "raised ValueError: no at wink.py line 12$"),
        ("return np.full((*on.shape, 3), 'x')", "returned <U1; expected an array of numbers"),
        ("return np.full((*on.shape, 3), 1e30)", "isn't finite"),
        ("return on[1e9]", "raised IndexError"),
    ],
)
def test_one_that_misbehaves_is_named_when_it_plays(folder, body, says):
    from lumenmap.core.errors import LumenmapError
    from lumenmap.frames.render import render_block
    from lumenmap.jobs.trial import trial

    text = GOOD[: GOOD.index("    return palette")] + f"    {body}\n"
    (folder / "wink.py").write_text(text)
    with pytest.raises(LumenmapError, match=says) as caught:
        render_block(trial("wink", effect_folders=[folder], seconds=1).plan, 0, 30)
    assert "wink" in str(caught.value)


def test_its_line_is_named_where_the_folder_was_given_by_a_short_path(
    folder, monkeypatch, lumenmap
):
    monkeypatch.chdir(folder.parent)
    text = GOOD[: GOOD.index("    return palette")] + "    return on[10**9]\n"
    (folder / "wink.py").write_text(text)
    done = lumenmap("try", "wink", "--effects", folder.name, "-o", "wink.gif")
    done.fails(2, r"raised IndexError: .* at wink\.py line 12$")


def test_what_it_does_right_is_shown(folder):
    from lumenmap.frames.render import render_block
    from lumenmap.jobs.trial import trial

    work = trial("wink", "lamp-white", ["period=2"], effect_folders=[folder], seconds=4)
    light = render_block(work.plan, 0, 120)
    assert not light[:60].any()
    assert np.ptp(light[60:], axis=(0, 1)).max() == 0


def test_of_installed_effects_only_those_that_are_asked_for_are_imported():
    """Importing all of them takes longer than reading a show."""
    code = (
        "import sys; from lumenmap.show.effects.registry import effects; known = effects();"
        "assert 'hearth' in known and len(known) > 20 and 'nothing' not in known;"
        "known['hearth'];"
        "print(*(m.rpartition('.')[2] for m in sys.modules if m.startswith('lumenmap_effects.')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert sorted(done.stdout.split()) == ["hearth", "nature"], done.stderr


def test_a_broken_effect_of_a_package_stops_only_those_who_ask_for_it(tmp_path, monkeypatch):
    _install(tmp_path, monkeypatch, "faces", wink=GOOD, frown="1 / 0")
    known = effects()
    assert known["wink"].name == "wink"
    for _ in range(2):  # it isn't kept as made
        with pytest.raises(InputError, match="effect faces.frown can't be loaded: ZeroDivision"):
            known["frown"]
