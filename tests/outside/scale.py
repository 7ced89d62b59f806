"""Jobs of many small parts on many sheets, run through the public command line: how long the first plan takes.

    python tests/outside/scale.py WORK [--parts 100,1000,10000] [--kinds 20] [--seconds 0] [--lanes 2] [--spacing 2] [--seed 1] [--program PATH]
             [--checker PATH]

Parts are drawn at random (rectangles, triangles, ells, discs, rings, rounded bars; 15 to 80 mm), `--kinds` of them, with about equal
quantities. Sheets measure 600 × 400, as many as there could be need of, and forty offcuts. Prints for each number of parts the seconds until the first
plan stands, seconds in all, the peak of memory, sheets, cost, bound and yield, and by which power of the number the time grows from one to the next.
Ends with 1 where a run fails or `check_plan.py`, where it is at hand, finds a fault.
"""
import argparse
import json
import math
import os
import pathlib
import random
import subprocess
import time

import certified


def outline(draw):
    """The path of a part and its box."""
    kind = draw.randrange(6)
    w, d = draw.randrange(15, 81), draw.randrange(15, 81)
    if kind == 0:
        return f"M 0 0 H {w} V {d} H 0 Z", (w, d)
    if kind == 1:
        return f"M 0 0 L {w} 0 L {draw.randrange(0, w)} {d} Z", (w, d)
    if kind == 2:
        a, b = max(5, w // 3), max(5, d // 3)
        return f"M 0 0 H {w} V {b} H {a} V {d} H 0 Z", (w, d)
    r = w / 2
    disc = f"M 0 {r} A {r} {r} 0 0 1 {w} {r} A {r} {r} 0 0 1 0 {r} Z"
    if kind == 3:
        return disc, (w, w)
    if kind == 4:
        s = r / 2
        return f"{disc} M {r - s} {r} A {s} {s} 0 0 1 {r + s} {r} A {s} {s} 0 0 1 {r - s} {r} Z", (w, w)
    h, r = max(8, d // 3), max(8, d // 3) / 2
    return f"M {r} 0 H {w + r} A {r} {r} 0 0 1 {w + r} {h} H {r} A {r} {r} 0 0 1 {r} 0 Z", (w + 2 * r, h)


def make(folder, parts, kinds, spacing, seed):
    draw = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    lines = ['stock = "stock.toml"', "[cutter]", 'kind = "laser"', "kerf = 0.15", f"spacing = {spacing}", "edge_margin = 5", "[marks]", "labels = false"]
    boxes = 0
    for k in range(kinds):
        path, (w, d) = outline(draw)
        size = f'width="{w}mm" height="{d}mm" viewBox="0 0 {w} {d}"'
        (folder / f"p{k}.svg").write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {size}><path d="{path}" fill="none" stroke="black"/></svg>\n')
        quantity = parts // kinds + (k < parts % kinds)
        boxes += quantity * (w + spacing) * (d + spacing)
        lines += ["[[part]]", f'name = "p{k}"', 'material = "plywood"', "thickness = 4", f'drawing = "p{k}.svg"', f"quantity = {quantity}"]
    (folder / "job.toml").write_text("\n".join(lines) + "\n")
    stock = ["[[sheet]]", 'id = "full"', 'material = "plywood"', "thickness = 4", "size = [600, 400]",
             f"quantity = {math.ceil(1.5 * boxes / 240000) + 2}", "cost = 6.0"]
    for k in range(40):
        w, d = draw.randrange(120, 400), draw.randrange(120, 300)
        stock += ["[[sheet]]", f'id = "offcut{k}"', 'material = "plywood"', "thickness = 4", f"size = [{w}, {d}]", f"cost = {w * d / 240000 * 3:.2f}"]
    (folder / "stock.toml").write_text("\n".join(stock) + "\n")


def main():
    p = argparse.ArgumentParser()
    p.add_argument("work", type=pathlib.Path)
    p.add_argument("--parts", default="100,1000,10000")
    p.add_argument("--kinds", type=int, default=20)
    p.add_argument("--seconds", default="0")
    p.add_argument("--lanes", default="2")
    p.add_argument("--spacing", type=float, default=2.0)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--program", default="target/release/seamwright")
    certified.option(p)
    a = p.parse_args()
    before, wrong = None, []
    for n in map(int, a.parts.split(",")):
        folder = a.work / f"parts-{n}-{a.kinds}"
        make(folder, n, min(a.kinds, n), a.spacing, a.seed)
        out = folder / "out"
        began = time.time()
        done = subprocess.Popen([a.program, "plan", folder, "-o", out, "--force", "--seconds", a.seconds, "--lanes", a.lanes, "--progress", "lines"],
                                stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
        first = None
        told = []
        for line in done.stderr:
            told.append(line)
            if first is None and "first plan" in line:
                first = time.time() - began
        _, status, usage = os.wait4(done.pid, 0)
        took = time.time() - began
        if status != 0:
            wrong.append(f"{n} failed: {''.join(told[-5:])}")
            continue
        wrong += certified.faults(a.checker, folder)
        plan = json.loads((out / "plan.json").read_text())
        m = plan["metrics"]
        power = "" if before is None else f", time grows as n^{math.log(first / before[1]) / math.log(n / before[0]):.2f}"
        before = (n, first)
        print(f"{n} parts of {a.kinds} kinds: first plan {first:.2f} s, all {took:.1f} s, {usage.ru_maxrss / 1024:.0f} MB, {m['sheets_used']} sheets, "
              f"cost {m['stock_cost']:.2f}, bound {m['bound']['stock_cost']:.2f} ({100 * (m['stock_cost'] / m['bound']['stock_cost'] - 1):.1f} %), "
              f"yield {m['yield']:.3f}{power}", flush=True)
    print(*wrong, certified.at_hand(a.checker), sep="\n")
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
