"""Published strip sets as jobs, run through the public command line.

    python tests/outside/strip.py DATA WORK [--sets fu,albano] [--seconds 60 | --rounds 200] [--seeds 1,2] [--lanes 2] [--program PATH]
             [--checker PATH]

DATA holds the instances in the neutral form that fixtures/nesting/README.md describes. Each becomes a job of parts on one
sheet sold by length (the factor of a coordinate is 1, 1.25, 1.5 or 1.75 times a power of two, so that whole numbers stay
exact). Prints density = 100 · area ÷ (width · length used) beside the published mean: Gardeyn, Vanden Berghe & Wauters 2025,
table 2 (100 runs of 20 minutes on 3 threads; for fu, jakobs1 and the shapes sets on a strip 0.01 % wider).
Ends with 1 where a run fails or `check_plan.py`, where it is at hand, finds a fault.
"""
import argparse
import json
import pathlib
import subprocess
import time

import certified

MEAN = {"fu": 92.24, "jakobs1": 89.09, "shapes0": 68.60, "shapes1": 75.69, "shapes2": 84.68, "shirts": 89.66, "albano": 89.47, "trousers": 91.73}
BEST = {"fu": 92.41, "jakobs1": 89.26, "shapes0": 69.98, "shapes1": 76.73, "shapes2": 86.23, "shirts": 90.92, "albano": 89.82, "trousers": 92.62,
        "dighe1": 100.0}


def factor(width, near=500):
    """The factor that brings a strip, or a container, nearest to so much."""
    return min((m * 2.0**e for m in (1, 1.25, 1.5, 1.75) for e in range(-12, 12)), key=lambda f: abs(f * width - near))


def turns(rotations):
    if rotations == "any":
        return "any"
    return {(0,): "none", (0, 180): "half", (0, 90, 180, 270): "quarter"}[tuple(rotations)]


def part(item, f, folder):
    """Writes the drawing of a part; gives its lines of the job."""
    name = f"part{item['id']}"
    path = " L ".join(f"{p[0] * f!r} {p[1] * f!r}" for p in item["outline"])
    # y runs down in SVG: a turn of the drawing about x, the same for all parts.
    xs, ys = [p[0] * f for p in item["outline"]], [p[1] * f for p in item["outline"]]
    box = f"{min(xs)!r} {min(ys)!r} {max(xs) - min(xs)!r} {max(ys) - min(ys)!r}"
    size = f'width="{max(xs) - min(xs)!r}mm" height="{max(ys) - min(ys)!r}mm"'
    (folder / f"{name}.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{box}"><path d="M {path} Z" fill="none" stroke="black"/></svg>\n')
    return ["[[part]]", f'name = "{name}"', 'material = "felt"', "thickness = 2", f'drawing = "{name}.svg"',
            f"quantity = {item['quantity']}", f'turns = "{turns(item["rotations"])}"']


def make(data, folder):
    """Writes job, stock and drawings; gives the factor."""
    f = factor(data["strip_width"])
    folder.mkdir(parents=True, exist_ok=True)
    width = data["strip_width"] * f
    longest = max(max(p[k] for p in i["outline"]) - min(p[k] for p in i["outline"]) for i in data["items"] for k in (0, 1)) * f
    length = 3 * data["total_item_area"] * f * f / width + 2 * longest
    lines = ['stock = "stock.toml"', "[cutter]", 'kind = "laser"', "kerf = 0", "spacing = 0", "edge_margin = 0"]
    for item in data["items"]:
        lines += part(item, f, folder)
    lines += ["[marks]", "labels = false"]
    (folder / "job.toml").write_text("\n".join(lines) + "\n")
    (folder / "stock.toml").write_text(
        f'[[sheet]]\nid = "roll"\nmaterial = "felt"\nthickness = 2\nsize = [{length!r}, {width!r}]\nsold_by = "length"\ncost = {length!r}\n')
    return f


def main():
    p = argparse.ArgumentParser()
    p.add_argument("data", type=pathlib.Path)
    p.add_argument("work", type=pathlib.Path)
    p.add_argument("--sets", default=",".join(MEAN))
    p.add_argument("--seconds", default="60")
    p.add_argument("--rounds")
    p.add_argument("--seeds", default="1")
    p.add_argument("--lanes", default="2")
    p.add_argument("--program", default="target/release/seamwright")
    certified.option(p)
    a = p.parse_args()
    gaps, wrong = [], []
    for name in a.sets.split(","):
        data = json.loads((a.data / f"{name}.json").read_text())
        found = []
        for seed in a.seeds.split(","):
            folder = a.work / name
            f = make(data, folder)
            job = (folder / "job.toml").read_text().split("[search]")[0]
            (folder / "job.toml").write_text(job + f"[search]\nseed = {seed}\nlanes = {a.lanes}\n")
            budget = ["--rounds", a.rounds] if a.rounds else ["--seconds", a.seconds]
            began = time.time()
            done = subprocess.run([a.program, "plan", folder, "-o", folder / "out", "--force", *budget], capture_output=True, text=True)
            took = time.time() - began
            if done.returncode != 0:
                wrong.append(f"{name} failed: {done.stderr}")
                break
            wrong += certified.faults(a.checker, folder)
            plan = json.loads((folder / "out" / "plan.json").read_text())
            length = plan["sheets"][0]["used_length"] / f
            density = 100 * data["total_item_area"] / (data["strip_width"] * length)
            found.append(density)
            print(f"{name},{seed},{length:.4f},{density:.2f},{plan['settings']['rounds']} rounds,{took:.1f} s", flush=True)
        if found:
            mean = sum(found) / len(found)
            published = MEAN.get(name)
            if published:
                gaps.append(mean - published)
            print(f"{name}: mean {mean:.2f}, published mean {published}, best {BEST.get(name)}", flush=True)
    if gaps:
        print(f"mean of (ours - published mean) over {len(gaps)} sets: {sum(gaps) / len(gaps):+.2f}, least {min(gaps):+.2f}")
    print(*wrong, certified.at_hand(a.checker), sep="\n")
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
