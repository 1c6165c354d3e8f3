import lumenmap

project = lumenmap.load("examples/kelder-studio/lantern-walk.toml")
site = project.site
print(f"{len(site.pixels)} pixels, {project.show.frames} frames on {site.house.name}")
for light in lumenmap.render(project):  # blocks of (T, N, 3) float32, linear, 0..1
    done = lumenmap.limit(light, site.budgets)  # codes (T, N, 3) uint8 inside every budget
    if done.gain.min() < 1:
        print("dimmed to", done.gain.min())
report = lumenmap.export(project, "out")  # frames.rgb and frames.json
print(f"peak {report['peak_amps']:.2f} A of {report['budget_amps']:g} A")
