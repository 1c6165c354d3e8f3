import sys
from pathlib import Path

from lumenmap.core.extras import install


def test_command_is_of_this_python_and_short_where_it_can_be(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    assert install("sheets") == f'{sys.executable} -m pip install "lumenmap[sheets]"'
    monkeypatch.setattr(sys, "executable", str(tmp_path / ".venv/bin/python"))
    assert install("video") == '.venv/bin/python -m pip install "lumenmap[video]"'
    monkeypatch.setattr(sys, "executable", "/some where/python")
    assert install("video").startswith('"/some where/python" -m pip')


def test_the_readme_names_every_extra_for_users():
    import tomllib

    root = Path(__file__).resolve().parents[2]
    extras = tomllib.loads((root / "pyproject.toml").read_text())["project"]
    readme = (root / "README.md").read_text()
    for extra in set(extras["optional-dependencies"]) - {"test", "dev", "bench"}:
        assert f"| `{extra}` |" in readme
