"""A show composed, seen, checked and exported in Python: no show file is written."""

# %% The house, and two cues: the porch stays warm while the roof glints, then the roof sweeps.
from pathlib import Path

import lumenmap

site = lumenmap.Site.read("examples/alder-cottage/house.toml")
porch = lumenmap.layer("still", palette="glow", on="porch", opacity="60 %")
show = lumenmap.compose(
    lumenmap.cue(
        porch,
        lumenmap.layer("glint", palette="frost", on="main", rate=0.4, decay="800 ms"),
        name="Glints",
        length="5 s",
        fade_out="1 s",
    ),
    lumenmap.cue(
        porch,
        lumenmap.layer("gradient", palette="frost", on="main", length="20 ft", speed="6 ft/s"),
        name="Sweep",
        start="4 s",
        fade_in="1 s",
    ),
    name="Two Cues",
    cross="2 s",
    length="8 s",
    unit="ft",
    palettes={"glow": ["#ffb060", "#ff9038"]},
)
project = lumenmap.Project.of(show, site)
print(project)

# %% See it: any ending that lumenmap preview knows.
out = Path("out")
out.mkdir(exist_ok=True)
options = lumenmap.PreviewOptions(width=320, fps=10, seconds=8)
lumenmap.preview(project, out / "two-cues.gif", options)

# %% Check it, then export it.
report = lumenmap.check(project)
print(f"peak {report['peak_amps']:.2f} A of {report['budget_amps']:g} A")
print(f"{report['capped_frames']} of {report['frames']} frames dimmed; {report['seam']['text']}")
exported = lumenmap.export(project, out)
print("SHA-256", exported["sha256"])
