"""Print the oldest versions that pyproject.toml allows, as pip's requirements.

Only what lumenmap itself needs, not its tests: `.ci/run` installs these and runs tests with them.
"""

import tomllib
from pathlib import Path

EXTRAS = ("video", "almanac", "sheets", "camera")

project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text())["project"]
extras = project["optional-dependencies"]
for line in [*project["dependencies"], *(line for extra in EXTRAS for line in extras[extra])]:
    name, bound, version = line.partition(">=")
    assert bound, f"{line}: no lower bound"
    print(f"{name}=={version}")
