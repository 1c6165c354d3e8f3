import lumenmap

work = lumenmap.load("examples/kelder-studio/lantern-walk.toml")
print(f"{len(work.pixels)} pixels, {work.show.frames} frames on {work.house.name}")
for light in lumenmap.render(work):  # blocks of (T, N, 3) float32, linear, 0..1
    done = lumenmap.limit(light, work.budgets)  # codes (T, N, 3) uint8 inside every budget
    if done.gain.min() < 1:
        print("dimmed to", done.gain.min())
report = lumenmap.export(work, "out")  # frames.rgb and frames.json
print(f"peak {report['peak_amps']:.2f} A of {report['budget_amps']:g} A")
