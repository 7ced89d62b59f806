#!/usr/bin/env python3
"""Parts from a shelf of offcuts: some offcuts are cut into parts, others lie beside them at a higher price for their area.

    shelf.py WORK [--kind boxes] [--count 20] [--seed 1] [--slack 2] [--seconds 20 | --rounds N] [--lanes 2] [--program PATH]
             [--checker PATH] [--table CSV] [--only-make]

Kinds: boxes (rectangles, turned by quarters), chords (convex polygons, turned by quarters), joined (polygons with notches), mixed (a third each).

Two to five offcuts of different sizes are cut into two to six parts each; parts are drawn in by half the spacing and `--slack` mm are left over both
ways. Two thirds as many plausible offcuts again cost 1.2 to 2 times as much for their area, and there are large sheets at 1.5 times to fall back on. What the
cut offcuts cost is the planted cost: the table has cost over planted cost, and the program's bound over it. Nothing of the program is used to
make them; the same arguments make the same bytes. Ends with 1 where `check_plan.py` (where it is at hand) finds a fault or there is no plan.
"""
import argparse, csv, json, math, random, statistics, subprocess, sys, time
from pathlib import Path

from shapely.geometry import Polygon

sys.path.insert(0, str(Path(__file__).resolve().parent))
import certified
import jigsaw

HERE = Path(__file__).resolve().parent
SPACING, MARGIN = 2.0, 3.0
COLUMNS = ("kind", "seed", "offcuts", "parts", "status", "ratio", "bound", "seconds", "rounds", "faults")
CUTS = {"boxes": jigsaw.boxes, "chords": jigsaw.chords, "joined": jigsaw.joined}


def drawn_in(pieces):
    """Each piece without the half of the spacing that is its own."""
    return [jigsaw.drawn_in(p if Polygon(p).exterior.is_ccw else p[::-1], SPACING / 2) for p in pieces]


def make(folder, kind, seed, slack):
    rng = random.Random(f"shelf {kind} {seed}")
    folder.mkdir(parents=True, exist_ok=True)
    rings, sheets, planted = [], [], 0.0
    price = lambda w, d, by: round(w * d * 1e-4 * by, 2)
    for k in range(rng.randint(2, 5)):
        w, d = round(rng.uniform(160, 480)), round(rng.uniform(120, 330))
        how = CUTS[rng.choice(sorted(CUTS)) if kind == "mixed" else kind]
        size, n = (w - 2 * MARGIN + SPACING - slack, d - 2 * MARGIN + SPACING - slack), rng.randint(2, 6)
        pieces = drawn_in(how(rng, size, n))
        while not all(Polygon(p).is_valid for p in pieces):
            pieces = drawn_in(how(rng, size, n))
        for piece in pieces:
            rings.append([jigsaw.line_of(p, piece[(j + 1) % len(piece)]) for j, p in enumerate(piece)])
        sheets.append((w, d, price(w, d, rng.uniform(0.9, 1.1))))
        planted += sheets[-1][2]
    offcuts = len(sheets)
    for _ in range(math.ceil(offcuts * 2 / 3)):
        w, d = (round(v * rng.uniform(0.85, 1.2)) for v in rng.choice(sheets)[:2])
        sheets.append((w, d, price(w, d, rng.uniform(1.2, 2.0))))
    rng.shuffle(rings)
    rng.shuffle(sheets)
    lines = ['stock = "stock.toml"', "[cutter]", 'kind = "laser"', "kerf = 0", f"spacing = {SPACING}", f"edge_margin = {MARGIN}"]
    for k, ring in enumerate(rings):
        (folder / f"piece{k + 1}.svg").write_text(jigsaw.drawing(jigsaw.turned(rng, ring, kind)))
        lines += ["[[part]]", f'name = "piece{k + 1}"', 'material = "ply"', "thickness = 3", f'drawing = "piece{k + 1}.svg"', 'turns = "quarter"']
    lines += ["[marks]", "labels = false", "[search]", f"seed = {seed}"]
    (folder / "job.toml").write_text("\n".join(lines) + "\n")
    stock = [f'[[sheet]]\nid = "offcut{k + 1}"\nmaterial = "ply"\nthickness = 3\nsize = [{w}, {d}]\ncost = {cost}\n' for k, (w, d, cost) in enumerate(sheets)]
    stock.append(f'[[sheet]]\nid = "whole"\nmaterial = "ply"\nthickness = 3\nsize = [600, 400]\ncost = {price(600, 400, 1.5)}\nquantity = {offcuts}\n')
    (folder / "stock.toml").write_text("".join(stock))
    return {"kind": kind, "seed": seed, "offcuts": offcuts, "parts": len(rings), "faults": 0}, round(planted, 2)


def run(a, folder, row, planted):
    out = folder / "out"
    budget = ["--rounds", str(a.rounds)] if a.rounds is not None else ["--seconds", str(a.seconds)]
    began = time.monotonic()
    done = subprocess.run([a.program, "plan", folder, "-o", out, "--force", "--lanes", str(a.lanes), *budget], capture_output=True, text=True)
    row |= {"status": done.returncode, "seconds": round(time.monotonic() - began, 1)}
    if done.returncode != 0:
        row["faults"] = 1
        return [f"{folder.name}: ended with {done.returncode}: {done.stderr[-300:]}"]
    plan = json.loads((out / "plan.json").read_text())
    row |= {"rounds": plan["settings"]["rounds"], "ratio": round(plan["metrics"]["stock_cost"] / planted, 4),
            "bound": round(plan["metrics"]["bound"]["stock_cost"] / planted, 4)}
    found = certified.faults(a.checker, folder)
    row["faults"] = int(bool(found))
    return found


def main():
    p = argparse.ArgumentParser()
    p.add_argument("work", type=Path)
    p.add_argument("--kind", default="boxes", choices=(*CUTS, "mixed"))
    p.add_argument("--count", type=int, default=20)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--slack", type=float, default=2.0)
    p.add_argument("--seconds", type=float, default=20)
    p.add_argument("--rounds", type=int)
    p.add_argument("--lanes", type=int, default=2)
    p.add_argument("--program", default=str(HERE.parent.parent / "target" / "release" / "seamwright"))
    certified.option(p)
    p.add_argument("--table")
    p.add_argument("--only-make", action="store_true")
    a = p.parse_args()
    rows, faults = [], []
    for seed in range(a.seed, a.seed + a.count):
        folder = a.work / f"{a.kind}-{seed}"
        row, planted = make(folder, a.kind, seed, a.slack)
        if not a.only_make:
            faults += run(a, folder, row, planted)
            print(*(f"{k} {v}" for k, v in row.items()), flush=True)
        rows.append(row)
    if a.table:
        with open(a.table, "w", newline="") as f:
            w = csv.DictWriter(f, COLUMNS)
            w.writeheader()
            w.writerows(rows)
    if a.only_make:
        return 0
    ratios = [r["ratio"] for r in rows if "ratio" in r]
    met = sum(r <= 1 + 1e-9 for r in ratios)
    print(*faults, sep="\n")
    print(f"{met} of {len(rows)} at the planted cost or below; cost over planted: mean {statistics.mean(ratios):.4f}, greatest {max(ratios):.4f}")
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(main())
