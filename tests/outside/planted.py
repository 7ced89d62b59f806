"""Jobs whose offcuts were made to fit: somewhere there is a plan that costs no more than the price of those offcuts.

    planted.py make FOLDER [--count 100] [--seed 1] [--pattern straight] [--kinds grid,tee,pair,ell,odd,cut,surplus] [--alone]
    planted.py run FOLDER [--binary target/release/seamwright] [--seconds 20 | --rounds N] [--checker ../shared/verify/check_plan.py]

`make` splits two to four layers in a hidden way, draws an offcut for every piece (or two) with up to 6 mm to spare each way, and prices it by area.
Beside them stand full sheets at twice the price for their area, unless `--alone`. Kinds: `grid` rows and columns all through; `tee` columns with rows
of their own; `pair` two pieces on one rectangle; `ell` two pieces on an L; `odd` offcuts with a corner cut off, or a defect; `cut` layers with a corner
cut off or a large hole; `surplus` half as many offcuts again, dearer by 1.2 to 2 times. `run` plans each job and says which reach the planted cost."""
import argparse, json, os, random, shutil, subprocess, sys, time

LAP, MARGIN, SPACING, SLACK = 40.0, 5.0, 2.0, 6.0
TOOTH, DEPTH = 40.0, 12.0
KINDS = ["grid", "tee", "pair", "ell", "odd", "cut", "surplus"]


class Piece:
    """A piece of a layer, with what its offcut needs: extents with teeth, margins and some slack."""

    def __init__(self, rnd, width, depth):
        self.size = [width + 2 * MARGIN + rnd.uniform(0.3, SLACK), depth + 2 * MARGIN + rnd.uniform(0.3, SLACK)]
        if rnd.random() < 0.5:
            self.size.reverse()


def seams(rnd, extent, n, avoid, lap, least):
    """Positions of n - 1 seams at odd hundredths, `lap` from those to avoid; None where none were found."""
    for _ in range(3000):
        at = sorted(round(rnd.uniform(least, extent - least), 2) for _ in range(n - 1))
        ends = [0.0, *at, extent]
        if all(b - a >= least for a, b in zip(ends, ends[1:])) and all(abs(a - b) >= lap for a in at for b in avoid):
            return at
    return None


def layer(rnd, width, depth, tee, below, reach):
    """A hidden split of one layer: columns from left to right, each with its rows. `below` holds the seams of the layer under it."""
    # Teeth of neighbouring layers point away from each other or towards each other: both reaches are kept.
    lap, least = LAP + 2 * reach, 80 + 2 * reach
    for _ in range(300):
        nx, ny = rnd.choice([(1, 2), (2, 1), (2, 2), (2, 2), (3, 2), (2, 3), (3, 1)])
        xs = seams(rnd, width, nx, below[0], lap, least)
        if xs is None:
            continue
        counts = [max(1, rnd.choice([ny, ny, ny + 1, ny - 1])) for _ in range(nx)] if tee else [ny] * nx
        columns = [seams(rnd, depth, n, below[1], lap, least) for n in counts]
        if not tee:
            columns = columns[:1] * nx
        if None not in columns:
            return xs, columns
    return None


def pieces(rnd, width, depth, xs, columns, depth_of_teeth, even):
    out, ex = [], [0.0, *xs, width]
    for i, rows in enumerate(columns):
        ey = [0.0, *rows, depth]
        for j in range(len(rows) + 1):
            # A piece has teeth on the side to which the layer's teeth point, where a seam runs there.
            w, d = ex[i + 1] - ex[i], ey[j + 1] - ey[j]
            w += depth_of_teeth if (i < len(xs) if even else i > 0) else 0
            d += depth_of_teeth if (j < len(rows) if even else j > 0) else 0
            out.append(Piece(rnd, w, d))
    return out


def rectangle(size):
    w, d = size
    return {"size": [w, d], "area": w * d}


def pair(a, b):
    """A rectangle for two pieces side by side, the way round that wastes least."""
    best = None
    for p in (a.size, a.size[::-1]):
        for q in (b.size, b.size[::-1]):
            w, d = p[0] + q[0] - 2 * MARGIN + SPACING, max(p[1], q[1])
            waste = w * d - p[0] * p[1] - q[0] * q[1]
            if best is None or waste < best[0]:
                best = (waste, w, d)
    return rectangle(best[1:])


def ell(a, b):
    """An L: the longer piece upright on the left, the other beside it at the front."""
    p, q = (a.size, b.size) if a.size[1] > b.size[1] else (b.size, a.size)
    w = p[0] + q[0] - 2 * MARGIN + SPACING
    outline = [(0, 0), (w, 0), (w, q[1]), (p[0], q[1]), (p[0], p[1]), (0, p[1])]
    return {"outline": outline, "area": p[0] * p[1] + (w - p[0]) * q[1]}


def odd(rnd, piece):
    """An offcut that is larger than its piece needs, but for a corner or a defect."""
    w, d = piece.size
    more = rnd.uniform(20, 60)
    if rnd.random() < 0.5:
        up = d + rnd.uniform(5, 15)
        outline = [(0, 0), (w + more, 0), (w + more, d * rnd.uniform(0.3, 0.8)), (w + 2.1, up), (0, up)]
        (x1, y1), (x2, y2) = outline[2], outline[3]
        return {"outline": outline, "area": (w + more) * up - (x1 - x2) * (y2 - y1) / 2}
    return {"size": [w + more, d], "area": (w + more) * d, "defect": (w + more / 2 + 3, d / 2, more / 2)}


def drawing(path, rings):
    """A DXF of the oldest kind: closed polylines."""
    lines = ["0", "SECTION", "2", "ENTITIES"]
    for ring in rings:
        lines += ["0", "POLYLINE", "8", "CUT", "66", "1", "70", "1"]
        for x, y in ring:
            lines += ["0", "VERTEX", "8", "CUT", "10", f"{x:.4f}", "20", f"{y:.4f}"]
        lines += ["0", "SEQEND"]
    open(path, "w").write("\n".join(lines + ["0", "ENDSEC", "0", "EOF", ""]))


def outlines(rnd, kind, width, depth, xs, columns):
    """The rings of one layer."""
    whole = [(0, 0), (width, 0), (width, depth), (0, depth)]
    if kind != "cut":
        return [whole]
    if rnd.random() < 0.5 or not xs or any(columns[:2]):
        by = rnd.uniform(20, 45)
        return [[(0, 0), (width, 0), (width, depth - by), (width - by, depth), (0, depth)]]
    # A hole that the first seam bridges, far enough from the edges beside it.
    left, right = 0.5 * xs[0], xs[0] + 0.5 * ((xs + [width])[1] - xs[0])
    return [whole, [(left, 0.3 * depth), (right, 0.3 * depth), (right, 0.7 * depth), (left, 0.7 * depth)]]


def offcuts(rnd, kind, all_pieces):
    """The planted offcuts."""
    rest = list(all_pieces)
    rnd.shuffle(rest)
    out = []
    if kind in ("pair", "ell"):
        for _ in range(max(1, len(rest) // 4)):
            a, b = rest.pop(), rest.pop()
            near = abs(a.size[1] - b.size[1]) < 15
            out.append(pair(a, b) if kind == "pair" or near else ell(a, b))
    for p in rest:
        out.append(odd(rnd, p) if kind == "odd" and rnd.random() < 0.5 else rectangle(p.size))
    for o in out:
        o["cost"] = round(o["area"] / 10000 * rnd.uniform(0.95, 1.05), 2)
    return out


def job(rnd, folder, kind, pattern, alone):
    """Writes one job; False where the draw came to nothing."""
    shape = rnd.choice([k for k in KINDS if k not in ("surplus", "cut")]) if kind == "surplus" else kind
    width, depth = rnd.randint(500, 900), rnd.randint(350, 600)
    reach = 0.0 if pattern == "straight" else DEPTH
    below, found, rings = ([], []), [], []
    for k in range(rnd.randint(2, 4)):
        split = layer(rnd, width, depth, shape == "tee", below, reach)
        if split is None:
            return False
        below = (split[0], [y for column in split[1] for y in column])
        found += pieces(rnd, width, depth, *split, reach, k % 2 == 0)
        rings.append(outlines(rnd, shape, width, depth, *split))
    if not 4 <= len(found) <= 24:
        return False
    sheets = offcuts(rnd, shape, found)
    planted = round(sum(s["cost"] for s in sheets), 2)
    if kind == "surplus":
        for _ in range(len(sheets) // 2):
            w, d = (e * rnd.uniform(0.7, 1.3) for e in rnd.choice(found).size)
            sheets.append({**rectangle([w, d]), "cost": round(w * d / 10000 * rnd.uniform(1.2, 2), 2)})
    rnd.shuffle(sheets)
    write(folder, width, depth, rings, sheets, pattern, alone)
    json.dump({"kind": kind, "cost": planted, "pieces": len(found), "layers": len(rings)}, open(f"{folder}/planted.json", "w"))
    return True


def write(folder, width, depth, rings, sheets, pattern, alone):
    os.makedirs(folder, exist_ok=True)
    teeth = "" if pattern == "straight" else f"tooth = {TOOTH}\ndepth = {DEPTH}\n"
    text = f"""stock = "stock.toml"
[bed]
size = [{width}, {depth}]
[cutter]
kind = "laser"
kerf = 0.2
spacing = {SPACING}
edge_margin = {MARGIN}
[seams]
pattern = "{pattern}"
{teeth}min_lap = {LAP}
min_piece = 60
"""
    for k, layer_rings in enumerate(rings):
        drawing(f"{folder}/layer-{k}.dxf", layer_rings)
        text += f'[[layer]]\nname = "l{k}"\nmaterial = "acrylic"\nthickness = 3\ndrawing = "layer-{k}.dxf"\n'
    open(f"{folder}/job.toml", "w").write(text)
    stock = ""
    up = lambda v: round(v + 0.05, 1)                        # never less than planted
    for k, s in enumerate(sheets):
        stock += f'[[sheet]]\nid = "s{k}"\nmaterial = "acrylic"\nthickness = 3\ncost = {s["cost"]}\n'
        if "outline" in s:
            stock += f'outline = {[[round(x, 2), round(y, 2)] for x, y in s["outline"]]}\n'
        else:
            stock += f'size = [{up(s["size"][0])}, {up(s["size"][1])}]\n'
        if "defect" in s:
            x, y, diameter = s["defect"]
            stock += f"defects = [ {{ circle = {diameter:.2f}, at = [{x:.2f}, {y:.2f}] }} ]\n"
    if not alone:
        size = [width + 20, depth + 20]
        cost = round(size[0] * size[1] / 10000 * 2, 2)
        stock += f'[[sheet]]\nid = "full"\nmaterial = "acrylic"\nthickness = 3\nsize = {size}\ncost = {cost}\nquantity = {len(rings)}\n'
    open(f"{folder}/stock.toml", "w").write(stock)


def make(args):
    rnd, kinds, made = random.Random(args.seed), args.kinds.split(","), 0
    while made < args.count:
        kind = kinds[made % len(kinds)]
        made += job(rnd, f"{args.folder}/{made:03}-{kind}", kind, args.pattern, args.alone)


def run(args):
    totals, room = {}, f"{args.folder}-out"
    shutil.rmtree(room, ignore_errors=True)
    budget = ["--rounds", str(args.rounds)] if args.rounds is not None else ["--seconds", str(args.seconds)]
    for name in sorted(os.listdir(args.folder)):
        folder, out = f"{args.folder}/{name}", f"{room}/{name}"
        planted = json.load(open(f"{folder}/planted.json"))
        os.makedirs(room, exist_ok=True)
        started = time.time()
        done = subprocess.run([args.binary, "plan", f"{folder}/job.toml", "-o", out, *budget], capture_output=True, text=True)
        took = time.time() - started
        cost = json.load(open(f"{out}/plan.json"))["metrics"]["stock_cost"] if done.returncode == 0 else None
        reached = cost is not None and cost <= planted["cost"] + 1e-6
        said = ""
        if cost is not None and args.checker:
            check = subprocess.run([sys.executable, args.checker, out, "--job", f"{folder}/job.toml"], capture_output=True, text=True)
            said = "" if check.returncode == 0 else "  CHECK: " + (check.stdout + check.stderr).strip().splitlines()[-1]
        ratio = "-" if cost is None else f"{cost / planted['cost']:.3f}"
        print(f"{name:16} {planted['layers']} layers {planted['pieces']:2} pieces  planted {planted['cost']:7.2f}  found {cost}  ratio {ratio}  "
              f"{took:5.1f} s  {'reached' if reached else 'NOT reached, status ' + str(done.returncode)}{said}", flush=True)
        total = totals.setdefault(planted["kind"], [0, 0, 0])
        total[0] += reached
        total[1] += 1
        total[2] += bool(said)
    for kind, (reached, n, bad) in totals.items():
        print(f"{kind:8} {reached} of {n} at the planted cost or below{f', {bad} refused by the checker' if bad else ''}")
    return 0 if all(t[0] == t[1] and not t[2] for t in totals.values()) else 1


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=["make", "run"])
    parser.add_argument("folder")
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--pattern", default="straight")
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--alone", action="store_true")
    parser.add_argument("--binary", default="target/release/seamwright")
    parser.add_argument("--seconds", type=float, default=20)
    parser.add_argument("--rounds", type=int)
    parser.add_argument("--checker")
    args = parser.parse_args()
    sys.exit(run(args) if args.what == "run" else make(args))
