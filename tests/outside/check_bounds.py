"""Bounds held against jobs whose cost is known: rectangles cut from sheets, so that these sheets are enough.

    python tests/outside/check_bounds.py WORK [--jobs 100] [--seed 1] [--program PATH]

Each job has one to four sheets of up to three kinds (one in five a roll), cut to rectangles by straight cuts; each rectangle is
drawn in by half the spacing, and the sheets have the margin outside. In every second job small ones are left out. Further sheets that are not needed lie beside. Where the
sheets are few, the cheapest set that could do at all is also looked for by trying every set, with a program for rectangles of
its own (it places corner by corner and gives up when the jobs are large).
A bound above the planted cost, or above what trying every set gives, is told, and the exit status is 1. The area that a
bound's reason tells is worked out again. Prints how often each sort of bound stood, and the median of cost ÷ bound − 1.
"""
import argparse
import itertools
import json
import math
import pathlib
import random
import re
import statistics
import subprocess


def cut(draw, w, d, n):
    """Rectangles that fill a box, by n straight cuts."""
    boxes = [(0, 0, w, d)]
    for _ in range(n):
        boxes.sort(key=lambda b: b[2] * b[3])
        x, y, bw, bd = boxes.pop()
        if bw >= bd and bw >= 80:
            k = draw.randrange(30, bw - 29)
            boxes += [(x, y, k, bd), (x + k, y, bw - k, bd)]
        elif bd >= 80:
            k = draw.randrange(30, bd - 29)
            boxes += [(x, y, bw, k), (x, y + k, bw, bd - k)]
        else:
            boxes.append((x, y, bw, bd))
            break
    return [b[2:] for b in boxes]


def make(folder, draw):
    """Writes a job; gives spacing, margin, rectangles, sheets as (width, depth, cost, quantity), whether a roll, planted cost, turns."""
    folder.mkdir(parents=True, exist_ok=True)
    spacing, margin = draw.choice([(0, 0), (2, 5), (3, 5), (6, 3)])
    turns = draw.choice(["none", "quarter"])
    roll = draw.random() < 0.2
    parts, planted, sheets = [], 0.0, []
    sparse = draw.random() < 0.5
    for _ in range(1 if roll else draw.randrange(1, 4)):
        w, d = draw.randrange(150, 600), draw.randrange(120, 400)
        used = 1 if roll else draw.randrange(1, 3)
        cost = round(draw.uniform(0.5, 1.5) * w * d / 10000, 2)
        for _ in range(used):
            made = [(a - spacing, b - spacing) for a, b in cut(draw, w, d, draw.choice([0, 1, 2, 4, 8]))]
            # In every second job the small ones are left out: area alone then says little.
            parts += sorted(made, key=lambda b: b[0] * b[1])[-draw.randrange(1, 4):] if sparse else made
        full = (w + 2 * margin - spacing, d + 2 * margin - spacing)
        if roll:
            length = full[0] * 3
            sheets.append((length, full[1], cost * 3, 1))
            planted += cost
        else:
            sheets.append((*full, cost, used + draw.randrange(0, 2)))
            planted += used * cost
    if turns == "quarter":
        parts = [p if draw.random() < 0.5 else p[::-1] for p in parts]
    draw.shuffle(parts)
    lines = ['stock = "stock.toml"', "[cutter]", 'kind = "laser"', "kerf = 0", f"spacing = {spacing}", f"edge_margin = {margin}", f'turns = "{turns}"',
             "[marks]", "labels = false"]
    for k, (w, d) in enumerate(parts):
        (folder / f"p{k}.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{d}mm" viewBox="0 0 {w} {d}">'
            f'<path d="M 0 0 H {w} V {d} H 0 Z" fill="none" stroke="black"/></svg>\n')
        lines += ["[[part]]", f'name = "p{k}"', 'material = "plywood"', "thickness = 4", f'drawing = "p{k}.svg"']
    (folder / "job.toml").write_text("\n".join(lines) + "\n")
    stock = []
    for k, (w, d, cost, quantity) in enumerate(sheets):
        stock += ["[[sheet]]", f'id = "s{k}"', 'material = "plywood"', "thickness = 4", f"size = [{w}, {d}]", f"cost = {cost}", f"quantity = {quantity}"]
        if roll:
            stock.append('sold_by = "length"')
    (folder / "stock.toml").write_text("\n".join(stock) + "\n")
    return spacing, margin, parts, sheets, roll, planted, turns


def packs(boxes, w, d, spacing, turn, budget):
    """Whether boxes fit a room: every order of places at corners of what lies there. None where the budget runs out."""
    boxes = sorted(boxes, key=lambda b: -b[0] * b[1])

    def place(k, lying):
        budget[0] -= 1
        if budget[0] < 0:
            return None
        if k == len(boxes):
            return True
        xs = sorted({0.0} | {x + bw + spacing for x, _, bw, _ in lying})
        ys = sorted({0.0} | {y + bd + spacing for _, y, _, bd in lying})
        unsure = False
        for bw, bd in {boxes[k], boxes[k][::-1]} if turn else {boxes[k]}:
            for x, y in itertools.product(xs, ys):
                if x + bw > w + 1e-9 or y + bd > d + 1e-9:
                    continue
                if all(x >= a + c + spacing - 1e-9 or a >= x + bw + spacing - 1e-9 or y >= b + e + spacing - 1e-9 or b >= y + bd + spacing - 1e-9
                       for a, b, c, e in lying):
                    found = place(k + 1, [*lying, (x, y, bw, bd)])
                    if found:
                        return True
                    unsure |= found is None
        return None if unsure else False

    return place(0, [])


def optimum(parts, sheets, spacing, margin, turns):
    """A cost that some assignment of parts to sheets has, the least one: so no bound may lie above it. None where it is too large."""
    bins = [(w, d, cost) for w, d, cost, n in sheets for _ in range(n)]
    if len(parts) > 6 or len(bins) > 4:
        return None
    best = None
    for assigned in itertools.product(range(len(bins)), repeat=len(parts)):
        cost = sum(bins[b][2] for b in set(assigned))
        if best is not None and cost >= best - 1e-9:
            continue
        budget = [3000]
        if all(packs([parts[i] for i in range(len(parts)) if assigned[i] == b], bins[b][0] - 2 * margin, bins[b][1] - 2 * margin, spacing,
                     turns == "quarter", budget) for b in set(assigned)):
            best = cost
    return best


def main():
    p = argparse.ArgumentParser()
    p.add_argument("work", type=pathlib.Path)
    p.add_argument("--jobs", type=int, default=100)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--rounds", default="0")
    p.add_argument("--program", default="target/release/seamwright")
    a = p.parse_args()
    wrong, gaps, planted_gaps, sorts, tried = 0, [], [], {}, 0
    for k in range(a.jobs):
        draw = random.Random(a.seed * 100003 + k)
        folder = a.work / f"job{k}"
        spacing, margin, parts, sheets, roll, planted, turns = make(folder, draw)
        done = subprocess.run([a.program, "plan", folder, "-o", folder / "out", "--force", "--rounds", a.rounds, "--lanes", "1", "--quiet"],
                              capture_output=True, text=True)
        if done.returncode not in (0, 3):
            print(f"job {k}: {done.stderr}")
            wrong += 1
            continue
        if done.returncode == 3:
            continue       # no plan was found: nothing tells the bound
        m = json.loads((folder / "out" / "plan.json").read_text())["metrics"]
        bound, why = m["bound"]["stock_cost"], m["bound"]["why"]
        sort = "count" if "sheets are needed" in why else "length" if "the roll is used" in why else "fit" if "enter no other" in why else "area"
        sorts[sort] = sorts.get(sort, 0) + 1
        least = None if roll else optimum(parts, sheets, spacing, margin, turns)
        tried += least is not None
        for what, cost in (("planted", planted), ("least found by trying all", least), ("plan", m["stock_cost"])):
            if cost is not None and bound > cost + 1e-6:
                print(f"job {k}: bound {bound} above {what} {cost}: {why}")
                wrong += 1
        told = re.search(r"measure (\d+) cm²", why)
        if told:
            h = spacing / 2
            area = sum(w * d + 2 * h * (w + d) + math.pi * h * h for w, d in parts)
            if abs(float(told[1]) - math.floor(area / 100)) > 1:
                print(f"job {k}: {told[1]} cm² told, {area / 100:.2f} by hand")
                wrong += 1
        gaps.append(m["stock_cost"] / bound - 1)
        planted_gaps.append(planted / bound - 1)
    print(f"{len(gaps)} jobs, {tried} tried in every way; bounds by {sorts}; median of planted ÷ bound − 1: {100 * statistics.median(planted_gaps):.2f} %, "
          f"of plan ÷ bound − 1: {100 * statistics.median(gaps):.2f} %; {wrong} wrong")
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
