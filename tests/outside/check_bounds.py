"""Bounds held against jobs whose cost is known: rectangles cut from sheets, so that these sheets are enough.

    python tests/outside/check_bounds.py WORK [--jobs 100] [--seed 1] [--program PATH]

Each job has one to four sheets of up to three kinds (one in five a roll), cut to rectangles by straight cuts; each rectangle is
drawn in by half the spacing, and the sheets have the margin outside. In every second job small ones are left out. Further sheets that are not needed lie beside. Where the
sheets are few, the cheapest set that could do at all is also looked for by trying every set, with a program for rectangles of
its own (it places corner by corner and gives up when the jobs are large).
A bound above the planted cost, or above what trying every set gives, is told, and the exit status is 1. Prints how often each
sort of bound stood, and the median of cost ÷ bound − 1.

`--shapes` makes other jobs: sheets (one in three a roll) are cut by random chords into convex pieces, some pieces get a round or
rectangular hole, with or without a part in it, some corners are cut off by arcs, and pieces are turned as the job allows.

What a reason tells is worked out again with Shapely: areas as told; what shapes count of lines that cross them (summed over 4000
lines, at 720 angles where any is allowed); the least cost of sheets that meet the rows as told, by trying every set of sheets.
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

import numpy
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import split


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


def write(folder, parts, sheets, roll, cutter):
    """Writes job, stock and drawings; parts as (width, depth, rings of points with y down), cutter as (spacing, margin, turns)."""
    spacing, margin, turns = cutter
    lines = ['stock = "stock.toml"', "[cutter]", 'kind = "laser"', "kerf = 0", f"spacing = {spacing}", f"edge_margin = {margin}", f'turns = "{turns}"',
             "[marks]", "labels = false"]
    for k, (w, d, rings) in enumerate(parts):
        path = " ".join("M " + " L ".join(f"{x} {y}" for x, y in ring) + " Z" for ring in rings)
        (folder / f"p{k}.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{d}mm" viewBox="0 0 {w} {d}">'
            f'<path d="{path}" fill="none" stroke="black"/></svg>\n')
        lines += ["[[part]]", f'name = "p{k}"', 'material = "plywood"', "thickness = 4", f'drawing = "p{k}.svg"']
    (folder / "job.toml").write_text("\n".join(lines) + "\n")
    stock = []
    for k, (w, d, cost, quantity) in enumerate(sheets):
        stock += ["[[sheet]]", f'id = "s{k}"', 'material = "plywood"', "thickness = 4", f"size = [{w}, {d}]", f"cost = {cost}", f"quantity = {quantity}"]
        if roll:
            stock.append('sold_by = "length"')
    (folder / "stock.toml").write_text("\n".join(stock) + "\n")


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
    rings = [[[(0, 0), (w, 0), (w, d), (0, d)]] for w, d in parts]
    write(folder, [(*size, of) for size, of in zip(parts, rings)], sheets, roll, (spacing, margin, turns))
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


def shapes(folder, draw):
    """Writes a job of shapes; gives spacing, margin, shapes with counts, sheets, whether a roll, planted cost, turns."""
    folder.mkdir(parents=True, exist_ok=True)
    spacing, margin = draw.choice([(0, 0), (2, 5), (3, 5), (8, 3), (5, 12)])
    turns = draw.choice(["none", "half", "quarter", "quarter", "any"])
    roll = draw.random() < 0.35
    parts, planted, sheets = [], 0.0, []
    sparse = draw.random() < 0.5
    for _ in range(1 if roll else draw.randrange(1, 4)):
        w, d = draw.randrange(150, 600), draw.randrange(90, 400)
        used = 1 if roll else draw.randrange(1, 3)
        cost = round(draw.uniform(0.5, 1.5) * w * d / 10000, 2)
        for _ in range(used):
            pieces = [box(0, 0, w, d)]
            for _ in range(draw.choice([0, 1, 1, 2, 3, 5])):
                pieces.sort(key=lambda p: p.area)
                big = pieces.pop()
                x0, y0, x1, y1 = big.bounds
                way = draw.choice([0, 90, 45, draw.uniform(0, 180)]) * math.pi / 180
                cx, cy = draw.uniform(0.3, 0.7) * (x1 - x0) + x0, draw.uniform(0.3, 0.7) * (y1 - y0) + y0
                line = LineString([(cx - 2000 * math.cos(way), cy - 2000 * math.sin(way)), (cx + 2000 * math.cos(way), cy + 2000 * math.sin(way))])
                pieces += [p for p in split(big, line).geoms if p.area > 1]
            made = []
            for p in pieces:
                p = p.buffer(-spacing / 2, join_style="mitre", mitre_limit=20)
                if p.is_empty or p.geom_type != "Polygon" or p.area < 200:
                    continue
                c, r = p.representative_point(), p.boundary.distance(p.representative_point())
                if draw.random() < 0.3 and r > 12:
                    inner = Point(c).buffer(r * draw.uniform(0.3, 0.8), 32) if draw.random() < 0.5 else box(c.x - r / 2, c.y - r / 2, c.x + r / 2, c.y + r / 2)
                    insert = inner.buffer(-spacing - 0.01)
                    p = p.difference(inner)
                    if draw.random() < 0.5 and not insert.is_empty:
                        made.append(insert)
                made.append(p)
            parts += sorted(made, key=lambda p: p.area)[-draw.randrange(1, 4):] if sparse else made
        full = (w + 2 * margin - spacing, d + 2 * margin - spacing)
        if roll:
            sheets.append((full[0] * 3, full[1], cost * 3, 1))
            planted += cost
        else:
            sheets.append((*full, cost, used + draw.randrange(0, 2)))
            planted += used * cost
    angle = {"none": lambda: 0, "half": lambda: draw.choice([0, 180]), "quarter": lambda: draw.choice([0, 90, 180, 270]), "any": lambda: draw.uniform(0, 360)}[turns]
    # Drawings are written to 1e-4 mm: drawn in by as much, so that what is planted stays true.
    parts = [affinity.rotate(p, angle(), origin=(0, 0)).buffer(-2e-4, join_style="mitre") for p in parts]
    parts = [p for p in parts if p.geom_type == "Polygon" and not p.is_empty and min(p.bounds[2] - p.bounds[0], p.bounds[3] - p.bounds[1]) > 1]
    draw.shuffle(parts)
    drawings = []
    for p in parts:
        x0, y0, x1, y1 = p.bounds
        rings = [[(round(x - x0, 4), round(y1 - y, 4)) for x, y in list(r.coords)[:-1]] for r in (p.exterior, *p.interiors)]
        drawings.append((round(x1 - x0, 4), round(y1 - y0, 4), rings))
    write(folder, drawings, sheets, roll, (spacing, margin, turns))
    return spacing, margin, parts, sheets, roll, planted, turns


def counts(share, how):
    """What shares count, by the words of a reason."""
    if how == "as it is":
        return share
    if how == "1 from 1/2 on, else 0":
        return (share >= 0.5) * 1.0
    if m := re.fullmatch(r"1 above ([\d.]+) and 0 below ([\d.]+)", how):
        return numpy.where(share > float(m[1]), 1.0, numpy.where(share < float(m[2]), 0.0, share))
    m = re.fullmatch(r"1/(\d+) for each whole 1/(\d+) in it", how)
    assert m and int(m[2]) == int(m[1]) + 1, how
    return numpy.floor(share * int(m[2]) + 1e-9) / int(m[1])


def lines_of(shape, n=4000):
    """Length of n lines along y in a shape, and its width."""
    x0, _, x1, _ = shape.bounds
    xs = x0 + (numpy.arange(n) + 0.5) / n * (x1 - x0)
    total = numpy.zeros(n)
    for at, ring in enumerate([shape.exterior, *shape.interiors]):
        points = numpy.array(ring.coords)
        if not ring.is_ccw:
            points = points[::-1]
        length = numpy.zeros(n)
        for (ax, ay), (bx, by) in zip(points[:-1], points[1:]):
            if ax == bx:
                continue
            of = (xs >= min(ax, bx)) & (xs < max(ax, bx))
            length[of] += numpy.sign(ax - bx) * (ay + (by - ay) * (xs[of] - ax) / (bx - ax))
        total += length if at == 0 else -length
    return numpy.maximum(total, 0), x1 - x0


def by_lines(shape, how, along, sheets, spacing, margin, turns, roll, worth):
    """The least that a shape counts, over ways to lie and sheets, sampled."""
    best = math.inf
    angles = {"none": [0], "half": [0], "quarter": [0, 90], "any": [a / 4 for a in range(720)]}[turns]
    grown = shape.buffer(spacing / 2, 32) if spacing else shape
    for a in angles:
        lying = affinity.rotate(shape, a, origin=(0, 0))
        x0, y0, x1, y1 = lying.bounds
        fit = [(k, s) for k, s in enumerate(sheets) if x1 - x0 <= s[0] - 2 * margin + 1e-6 and y1 - y0 <= s[1] - 2 * margin + 1e-6]
        if not fit:
            continue
        seen = affinity.rotate(grown, a + (90 if along == "x" else 0), origin=(0, 0))
        lengths, width = lines_of(seen, 4000 if turns != "any" else 800)
        for k, s in fit:
            room = [s[0] - 2 * margin + spacing, s[1] - 2 * margin + spacing]
            if along == "x":
                room.reverse()
            counted = counts(lengths / room[1], how).mean() * width
            best = min(best, counted * worth[k] / (1 if roll else room[0]))
    return best


def closed(part, others, spacing):
    """A shape without holes that nothing enters: narrower than the least width of anything."""
    least = min(min_width(o) for o in others) + 2 * spacing
    holes = [h for h in part.interiors if min(Polygon(h).bounds[2] - Polygon(h).bounds[0], Polygon(h).bounds[3] - Polygon(h).bounds[1]) >= least]
    return Polygon(part.exterior, holes)


TURNING = [False]


def min_width(shape):
    if not TURNING[0]:
        x0, y0, x1, y1 = shape.bounds
        return min(x1 - x0, y1 - y0)
    return min((lambda b: b[2] - b[0])(affinity.rotate(shape, a / 4, origin=(0, 0)).bounds) for a in range(720))


def recomputed(why, parts, sheets, spacing, margin, turns, roll, bound):
    """Faults of a reason, worked out again; and what sorts of rows it has."""
    faults, sorts = [], []
    TURNING[0] = turns == "any"
    shut = [closed(p, parts, spacing) for p in parts]
    rows = []
    for row in why.split("; and "):
        told = re.search(r"; ([\d.]+)( cm²)? must be carried, of which one sheet carries: (.*?)(; |$)", row)
        need, carried = float(told[1]), {}
        for word in told[3].split(", "):
            name, figure, *unit = word.split(" ")
            carried[name] = float(figure) / (100 if unit[:1] == ["mm²"] else 1)
        rows.append((need, carried, bool(told[2])))
        measured = re.search(r"measure ([\d.]+) cm²", row)
        if measured and " and enter no other" not in row:
            sorts.append("area")
            of = shut if "without holes" in row else parts
            area = sum((p.buffer(spacing / 2, 64) if "grown by half" in row else p).area for p in of) / 100
            if float(measured[1]) > area + 0.02 + 2e-4 * area or float(measured[1]) < area * 0.998 - 0.05:
                faults.append(f"{measured[1]} cm² told, {area:.2f} by hand")
        elif measured:
            sorts.append("fit")
        elif "of each line along" in row:
            sorts.append("lines")
            m = re.search(r"of each line along (\w) .*?, which counts (.*?); added up along \w, .*?, that is \((.*?)\) (.*): ([\d.]+)( cm²)? in all", row)
            along, how, stands = m[1], m[2], m[3]
            for n, each, name in re.findall(r"(\d+) × ([\d.]+) `p(\d+)`", m[4]):
                if stands == "a share of the room's area":
                    worth = [(1 if roll else (w - 2 * margin + spacing)) * (d - 2 * margin + spacing) / 100 for w, d, *_ in sheets]
                    if along == "x":
                        worth = [(w - 2 * margin + spacing) * (d - 2 * margin + spacing) / 100 for w, d, *_ in sheets]
                elif "cost" in stands:
                    worth = [c / (w if roll else 1) for w, _, c, _ in sheets]
                else:
                    worth = [1.0] * len(sheets)
                hand = by_lines(shut[int(name)], how, along, sheets, spacing, margin, turns, roll, worth)
                if not float(each) <= hand * 1.002 + 2e-4 + 0.02 * (stands == "a share of the room's area"):
                    faults.append(f"p{name} counts {each}, {hand:.4f} by hand ({how}, along {along}, {stands})")
        elif "lies on one sheet" in row:
            sorts.append("longest")
            name, least = re.search(r"`p(\d+)` lies .* measures ([\d.]+) mm", row).groups()
            room = sheets[0][1] - 2 * margin
            hand = math.inf
            for a in {"none": [0], "half": [0], "quarter": [0, 90], "any": [a / 8 for a in range(1440)]}[turns]:
                x0, y0, x1, y1 = affinity.rotate(parts[int(name)], a, origin=(0, 0)).bounds
                if y1 - y0 <= room + 1e-6:
                    hand = min(hand, x1 - x0)
            if float(least) > hand + 0.01:
                faults.append(f"p{name} measures {least} or more told, {hand:.3f} by hand")
        else:
            sorts.append("count")
    ids = [f"s{k}" for k in range(len(sheets))]
    if "in parts)" not in why:
        # Figures are told rounded: once as told, once in favour of what is told as far as rounding goes. Between them nothing is said.
        best = [math.inf, math.inf]
        if roll:
            rate, beyond = sheets[0][2] / sheets[0][0], 2 * margin - spacing
            best = [max(rate * (need / carried["s0"] + beyond) for need, carried, _ in rows)] * 2
        else:
            for numbers in itertools.product(*[range(n + 1) for *_, n in sheets]):
                cost = sum(n * s[2] for n, s in zip(numbers, sheets))
                for k, sign in enumerate((1, -1)):
                    if all(sum(n * carried.get(i, 0) for n, i in zip(numbers, ids)) >= need - sign * (0.011 if areal else 1.1e-4) * (1 + sum(numbers))
                           for need, carried, areal in rows):
                        best[k] = min(best[k], cost)
        if bound > best[1] * 1.001 + 1e-6 or bound > best[0] * 1.001 + 1e-6 and best[0] == best[1]:
            faults.append(f"bound {bound}, by its rows {best[0]}")
    return faults, sorts


def main():
    p = argparse.ArgumentParser()
    p.add_argument("work", type=pathlib.Path)
    p.add_argument("--jobs", type=int, default=100)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--rounds", default="0")
    p.add_argument("--shapes", action="store_true")
    p.add_argument("--program", default="target/release/seamwright")
    a = p.parse_args()
    wrong, gaps, planted_gaps, sorts, tried = 0, [], [], {}, 0
    for k in range(a.jobs):
        draw = random.Random(a.seed * 100003 + k)
        folder = a.work / f"job{k}"
        spacing, margin, parts, sheets, roll, planted, turns = (shapes if a.shapes else make)(folder, draw)
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
        outlines = parts if a.shapes else [box(0, 0, *p) for p in parts]
        faults, rows = recomputed(why, outlines, sheets, spacing, margin, turns, roll, bound)
        for fault in faults:
            print(f"job {k}: {fault}: {why}")
        wrong += len(faults)
        sort = " + ".join(sorted(rows))
        sorts[sort] = sorts.get(sort, 0) + 1
        least = None if roll or a.shapes else optimum(parts, sheets, spacing, margin, turns)
        tried += least is not None
        for what, cost in (("planted", planted), ("least found by trying all", least), ("plan", m["stock_cost"])):
            if cost is not None and bound > cost + 1e-6:
                print(f"job {k}: bound {bound} above {what} {cost}: {why}")
                wrong += 1
        gaps.append(m["stock_cost"] / bound - 1)
        planted_gaps.append(planted / bound - 1)
    print(f"{len(gaps)} jobs, {tried} tried in every way; bounds by {sorts}; median of planted ÷ bound − 1: {100 * statistics.median(planted_gaps):.2f} %, "
          f"of plan ÷ bound − 1: {100 * statistics.median(gaps):.2f} %; {wrong} wrong")
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
