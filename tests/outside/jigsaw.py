#!/usr/bin/env python3
"""Jigsaws: a sheet is cut into pieces by random chords; the program is given the pieces, turned and shuffled, and the sheet.

    jigsaw.py WORK [--kind quarter] [--pieces 10] [--count 20] [--seed 1] [--slack 0] [--digits N] [--sheets 1] [--seconds 60 | --rounds N] [--lanes 2]
                   [--program PATH] [--checker PATH] [--table CSV] [--only-make]

Kinds:
  quarter   straight chords; every piece turned by a random quarter, `turns = "quarter"`
  arcs      the same, and every second of the inner edges is an arc
  any       straight chords; every piece turned by any angle, `turns = "any"`
  lines     as quarter, but every chord goes through the whole sheet: edges down to 2 mm, angles down to 5°, small pieces
  joined    as quarter, but half as many pieces again are cut, and pairs of neighbours become one, so that pieces have notches
  boxes     chords along the axes at whole hundredths; rectangles, turned by quarters
  kerf      as quarter, but cells are drawn in by 1 mm, the sheet is larger by 1 mm on every side, `spacing = 2`, `edge_margin = 2`
  roll      as quarter, but on a sheet sold by length, five times as long as what was cut

With `--digits N` coordinates are rounded; then a slack of a few units of the last digit is needed. The sheet is as large as what was cut plus `--slack` mm both ways (a roll: across). Spacing, margin and kerf are 0. Without it they are written with
all their digits, so that a jigsaw without slack is one to rounding. Chords leave no edge under 12 mm, no angle under 20°, no piece under a
third of the mean area. Nothing of the program is used to make them; the same arguments make the same bytes.

With `--sheets N` as many sheets are cut, each into so many pieces, and two more are there. A job counts as found when the program ends with 0, all pieces lie on as many sheets as were cut, and `check_plan.py` (where it is at hand) finds no fault; for a
roll the table has the length used over the length that was cut. Seconds are those of the whole run. Ends with 1 when the checker found a
fault or the program ended other than with 0 or 3.
"""
import argparse, csv, json, math, os, random, subprocess, sys, time
from pathlib import Path

from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

import certified

HERE = Path(__file__).resolve().parent
SIZE = (480.0, 330.0)
LEAST_EDGE, LEAST_ANGLE, LEAST_SHARE = 12.0, math.radians(20), 1 / 3
SAGITTA = (0.06, 0.16)       # of an arc, as a share of its chord
APART = 4.0                  # mm between an arc and what its piece has besides its neighbours
COLUMNS = ("kind", "pieces", "seed", "slack", "status", "found", "ratio", "seconds", "rounds", "faults")


def halves(points, where, angle):
    """The two parts of a convex polygon, cut by the line through `where`."""
    nx, ny = -math.sin(angle), math.cos(angle)
    side = [(x - where[0]) * nx + (y - where[1]) * ny for x, y in points]
    parts = ([], [])
    for k, p in enumerate(points):
        q, a, b = points[(k + 1) % len(points)], side[k], side[(k + 1) % len(points)]
        parts[a < 0].append(p)
        if (a < 0) != (b < 0):
            t = a / (a - b)
            cut = (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]))
            parts[0].append(cut)
            parts[1].append(cut)
    return parts


def is_sound(points, least_area, edge=LEAST_EDGE, angle=LEAST_ANGLE):
    if len(points) < 3 or Polygon(points).area < least_area:
        return False
    n = len(points)
    for k in range(n):
        (ax, ay), (bx, by), (cx, cy) = points[k - 1], points[k], points[(k + 1) % n]
        u, v = (ax - bx, ay - by), (cx - bx, cy - by)
        lu, lv = math.hypot(*u), math.hypot(*v)
        if min(lu, lv) < edge or math.acos(max(-1, min(1, (u[0] * v[0] + u[1] * v[1]) / lu / lv))) < angle:
            return False
    return True


def chords(rng, size, n):
    """n convex polygons that fill the rectangle."""
    pieces = [[(0.0, 0.0), (size[0], 0.0), tuple(size), (0.0, size[1])]]
    least = LEAST_SHARE * size[0] * size[1] / n
    while len(pieces) < n:
        areas = [Polygon(p).area for p in pieces]
        k = rng.choices(range(len(pieces)), [a * a for a in areas])[0]
        x0, y0, x1, y1 = Polygon(pieces[k]).bounds
        parts = halves(pieces[k], (rng.uniform(x0, x1), rng.uniform(y0, y1)), rng.uniform(0, math.pi))
        if all(is_sound(p, least) for p in parts):
            pieces[k:k + 1] = parts
    return pieces


def through(rng, size, n):
    """At least n polygons between lines through the rectangle."""
    for _ in range(10000):
        pieces = [[(0.0, 0.0), (size[0], 0.0), tuple(size), (0.0, size[1])]]
        for _ in range(100):
            where, angle = (rng.uniform(0, size[0]), rng.uniform(0, size[1])), rng.uniform(0, math.pi)
            parts = [q for p in pieces for q in halves(p, where, angle) if q]
            if all(is_sound(p, 60.0, 2.0, math.radians(5)) for p in parts):
                pieces = parts
            if len(pieces) >= n:
                return pieces
    raise SystemExit("no lines found")


def boxes(rng, size, n):
    pieces = [(0.0, 0.0, *size)]
    while len(pieces) < n:
        k = rng.choices(range(len(pieces)), [((x1 - x0) * (y1 - y0)) ** 2 for x0, y0, x1, y1 in pieces])[0]
        x0, y0, x1, y1 = pieces[k]
        x, y = round(rng.uniform(x0, x1), 2), round(rng.uniform(y0, y1), 2)
        parts = [(x0, y0, x, y1), (x, y0, x1, y1)] if rng.random() < (x1 - x0) / (x1 - x0 + y1 - y0) else [(x0, y0, x1, y), (x0, y, x1, y1)]
        if all(min(u - s, v - t) > LEAST_EDGE for s, t, u, v in parts):
            pieces[k:k + 1] = parts
    return [[(x0, y0), (x1, y0), (x1, y1), (x0, y1)] for x0, y0, x1, y1 in pieces]


def joined(rng, size, n):
    """Pairs of neighbours become one, where the result is one polygon that keeps the limits."""
    pieces, tries = chords(rng, size, n + (n + 1) // 2), 0
    while len(pieces) > n:
        tries += 1
        if tries > 2000:
            pieces, tries = chords(rng, size, n + (n + 1) // 2), 0
        i, j = rng.sample(range(len(pieces)), 2)
        both = Polygon(pieces[i]).buffer(1e-7, join_style="mitre").union(Polygon(pieces[j]).buffer(1e-7, join_style="mitre"))
        if both.geom_type != "Polygon" or both.interiors:
            continue
        # Corners as they were: those of the two, and of others on their rim.
        shell = [min((p for q in (pieces[i], pieces[j]) for p in q), key=lambda p: math.dist(p, c)) for c in orient(both).exterior.coords[:-1]]
        ring = [p for k, p in enumerate(shell) if p != shell[k - 1]]
        if is_sound(ring, 0) and abs(Polygon(ring).area - Polygon(pieces[i]).area - Polygon(pieces[j]).area) < 1e-4:
            pieces = [p for k, p in enumerate(pieces) if k not in (i, j)] + [ring]
    return pieces


def drawn_in(points, by):
    """Corners of a polygon moved inward so that every edge moves by as much."""
    out = []
    n = len(points)
    for k in range(n):
        (ax, ay), (bx, by_), (cx, cy) = points[k - 1], points[k], points[(k + 1) % n]
        lu, lv = math.dist((ax, ay), (bx, by_)), math.dist((bx, by_), (cx, cy))
        m, q = (-(by_ - ay) / lu, (bx - ax) / lu), (-(cy - by_) / lv, (cx - bx) / lv)
        f = by / (1 + m[0] * q[0] + m[1] * q[1])
        out.append((bx + (m[0] + q[0]) * f, by_ + (m[1] + q[1]) * f))
    return out


def line_of(a, b):
    return (a, b, 0.0)


def with_arcs(rng, pieces):
    """Edges (start, end, bulge) of each piece; every second inner edge between two pieces becomes an arc where that is sound."""
    corners = sorted({p for piece in pieces for p in piece})
    rings = []
    for piece in pieces:
        ring = []
        for k, a in enumerate(piece):
            b = piece[(k + 1) % len(piece)]
            length = math.dist(a, b)
            on = [(math.dist(a, c), c) for c in corners if c not in (a, b)
                  and abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) < 1e-7 * length
                  and 0 < (c[0] - a[0]) * (b[0] - a[0]) + (c[1] - a[1]) * (b[1] - a[1]) < length * length]
            stops = [a, *[c for d, c in sorted(on) if 1e-6 < d < length - 1e-6], b]
            ring += [line_of(p, q) for p, q in zip(stops, stops[1:])]
        rings.append(ring)
    near = lambda p, q: math.dist(p, q) < 1e-6
    for i in range(len(rings)):
        for e in range(len(rings[i])):
            a, b, bulge = rings[i][e]
            mates = [(j, f) for j in range(i + 1, len(rings)) for f, (c, d, _) in enumerate(rings[j]) if near(a, d) and near(b, c)]
            if not mates or math.dist(a, b) < 2 * LEAST_EDGE or rng.random() < 0.5:
                continue
            bulge = 2 * rng.uniform(*SAGITTA) * rng.choice((-1, 1))
            (j, f), before = mates[0], (rings[i][e], rings[mates[0][0]][mates[0][1]])
            rings[i][e] = (a, b, bulge)
            rings[j][f] = (b, a, -bulge)
            if not (room_beside(rings[i], e) and room_beside(rings[j], f)):
                rings[i][e], rings[j][f] = before
    return [merged(r) for r in rings]


def flat(edge, n=24):
    """Points of an edge, its end left out."""
    (ax, ay), (bx, by), bulge = edge
    if not bulge:
        return [(ax, ay)]
    rise = (1 - bulge * bulge) / (4 * bulge)
    cx, cy = (ax + bx) / 2 - (by - ay) * rise, (ay + by) / 2 + (bx - ax) * rise
    r, start, sweep = math.hypot(ax - cx, ay - cy), math.atan2(ay - cy, ax - cx), 4 * math.atan(bulge)
    return [(cx + r * math.cos(start + sweep * k / n), cy + r * math.sin(start + sweep * k / n)) for k in range(n)]


def room_beside(ring, e):
    from shapely.geometry import LineString
    if not Polygon([p for edge in ring for p in flat(edge)]).is_valid:
        return False
    own = LineString([*flat(ring[e]), ring[e][1]])
    n = len(ring)
    for k in range(n):
        if k != e:
            other = LineString([*flat(ring[k]), ring[k][1]])
            beside = (k - e) % n in (1, n - 1)
            if not beside and own.distance(other) < APART:
                return False
            if beside:      # two neighbours meet in a corner of 20° or more
                (p, q), (s, t) = ((flat(ring[e])[0], (*flat(ring[e]), ring[e][1])[1]), (ring[k][1], flat(ring[k])[-1])) if (k + 1) % n == e else \
                    ((ring[e][1], flat(ring[e])[-1]), (flat(ring[k])[0], (*flat(ring[k]), ring[k][1])[1]))
                u, v = (q[0] - p[0], q[1] - p[1]), (t[0] - s[0], t[1] - s[1])
                if math.acos(max(-1, min(1, (u[0] * v[0] + u[1] * v[1]) / math.hypot(*u) / math.hypot(*v)))) < LEAST_ANGLE:
                    return False
    return True


def merged(ring):
    """Without corners in the middle of a straight line."""
    out = list(ring)
    k = 0
    while k < len(out):
        (a, b, p), (c, d, q) = out[k], out[(k + 1) % len(out)]
        if len(out) > 2 and not p and not q and abs((b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])) < 1e-9 * math.dist(a, b) * math.dist(c, d):
            out[k] = (a, d, 0.0)
            del out[(k + 1) % len(out)]
            k = 0
        else:
            k += 1
    return out


def turned(rng, ring, kind):
    """Turned, and moved so that its box begins at 0, 0."""
    quarter = rng.randrange(4)
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarter]
    if kind == "any":
        angle = rng.uniform(0, 2 * math.pi)
        c, s = math.cos(angle), math.sin(angle)
    spun = [tuple((c * x - s * y, s * x + c * y) for x, y in e[:2]) + (e[2],) for e in ring]
    points = [p for e in spun for p in flat(e)]
    x0, y0 = min(p[0] for p in points), min(p[1] for p in points)
    return [tuple((x - x0, y - y0) for x, y in e[:2]) + (e[2],) for e in spun]


def drawing(ring, digits=None):
    if digits is not None:
        ring = [tuple((round(x, digits), round(y, digits)) for x, y in e[:2]) + (e[2],) for e in ring]
    points = [p for e in ring for p in flat(e)]
    w, h = max(p[0] for p in points), max(p[1] for p in points)
    path = [f"M {ring[0][0][0]!r} {ring[0][0][1]!r}"]
    for a, b, bulge in ring:
        if bulge:
            radius = math.dist(a, b) * (1 + bulge * bulge) / (4 * abs(bulge))
            path.append(f"A {radius!r} {radius!r} 0 0 {int(bulge > 0)} {b[0]!r} {b[1]!r}")
        else:
            path.append(f"L {b[0]!r} {b[1]!r}")
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{w!r}mm" height="{h!r}mm" viewBox="0 0 {w!r} {h!r}">'
            f'<path d="{" ".join(path)} Z" fill="none" stroke="black"/></svg>\n')


def make(folder, kind, n, seed, slack, lanes, digits=None, sheets=1):
    rng = random.Random(f"{kind} {n} {seed}")
    cut = {"lines": through, "joined": joined, "boxes": boxes}.get(kind, chords)
    pieces = [p for _ in range(sheets) for p in cut(rng, SIZE, n)]
    if kind == "kerf":
        pieces = [drawn_in(p, 1.0) for p in pieces]
    rings = with_arcs(rng, pieces) if kind == "arcs" else [[line_of(p, piece[(k + 1) % len(piece)]) for k, p in enumerate(piece)] for piece in pieces]
    rng.shuffle(rings)
    folder.mkdir(parents=True, exist_ok=True)
    lines = ['stock = "stock.toml"', "[cutter]", 'kind = "laser"', "kerf = 0", *(("spacing = 2", "edge_margin = 2") if kind == "kerf" else ("spacing = 0", "edge_margin = 0"))]
    more = 2.0 if kind == "kerf" else 0.0
    for k, ring in enumerate(rings):
        (folder / f"piece{k + 1}.svg").write_text(drawing(turned(rng, ring, kind), digits))
        lines += ["[[part]]", f'name = "piece{k + 1}"', 'material = "felt"', "thickness = 2", f'drawing = "piece{k + 1}.svg"',
                  f'turns = "{"any" if kind == "any" else "quarter"}"']
    lines += ["[marks]", "labels = false", "[search]", f"seed = {seed}", f"lanes = {lanes}"]
    (folder / "job.toml").write_text("\n".join(lines) + "\n")
    size = [5 * SIZE[0] if kind == "roll" else SIZE[0] + slack + more, SIZE[1] + slack + more]
    sold = f'sold_by = "length"\ncost = {size[0]!r}\n' if kind == "roll" else "cost = 100\n"
    (folder / "stock.toml").write_text(f'[[sheet]]\nid = "sheet"\nmaterial = "felt"\nthickness = 2\nsize = [{size[0]!r}, {size[1]!r}]\n{sold}' + (f"quantity = {sheets + 2}\n" if sheets > 1 else ""))


def run(a, folder, row):
    out = folder / "out"
    budget = ["--rounds", str(a.rounds)] if a.rounds is not None else ["--seconds", str(a.seconds)]
    began = time.monotonic()
    done = subprocess.run([a.program, "plan", folder, "-o", out, "--force", *budget], capture_output=True, text=True)
    row |= {"status": done.returncode, "seconds": round(time.monotonic() - began, 1)}
    if done.returncode != 0:
        return [] if done.returncode == 3 else [f"{folder.name}: ended with {done.returncode}: {done.stderr[-300:]}"]
    plan = json.loads((out / "plan.json").read_text())
    row["rounds"] = plan["settings"]["rounds"]
    row["found"] = int(len(plan["sheets"]) == a.sheets)
    if row["kind"] == "roll":
        row["ratio"] = plan["sheets"][0]["used_length"] / SIZE[0]
    found = certified.faults(a.checker, folder)
    row["faults"] = int(bool(found))
    if found:
        row["found"] = 0
    return found


def main():
    p = argparse.ArgumentParser(description="Plans jigsaws.")
    p.add_argument("work", type=Path)
    p.add_argument("--kind", default="quarter", choices=("quarter", "arcs", "any", "lines", "joined", "boxes", "kerf", "roll"))
    p.add_argument("--pieces", type=int, default=10)
    p.add_argument("--count", type=int, default=20)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--slack", type=float, default=0.0)
    p.add_argument("--digits", type=int)
    p.add_argument("--sheets", type=int, default=1)
    p.add_argument("--seconds", type=float, default=60)
    p.add_argument("--rounds", type=int)
    p.add_argument("--lanes", type=int, default=2)
    p.add_argument("--program", default=str(HERE.parent.parent / "target" / "release" / "seamwright"))
    certified.option(p)
    p.add_argument("--table")
    p.add_argument("--only-make", action="store_true")
    a = p.parse_args()
    rows, said = [], []
    for seed in range(a.seed, a.seed + a.count):
        folder = a.work / f"{a.kind}-{a.pieces}-{a.slack:g}-{a.sheets}-{seed}"
        make(folder, a.kind, a.pieces, seed, a.slack, a.lanes, a.digits, a.sheets)
        if a.only_make:
            continue
        row = dict.fromkeys(COLUMNS, "") | {"kind": a.kind, "pieces": a.pieces, "seed": seed, "slack": a.slack, "found": 0}
        said += run(a, folder, row)
        rows.append(row)
        print(",".join(f"{v:.5f}" if isinstance(v, float) and k == "ratio" else str(v) for k, v in row.items()), flush=True)
    for line in said:
        print(line)
    if rows:
        found = [r for r in rows if r["found"]]
        text = f"{a.kind}, {a.pieces} pieces, slack {a.slack:g}: {len(found)} of {len(rows)} found"
        if found:
            text += f", slowest {max(r['seconds'] for r in found)} s, mean {sum(r['seconds'] for r in found) / len(found):.1f} s"
        ratios = [r["ratio"] for r in found if r["ratio"]]
        if ratios:
            text += f", length over planted {sum(ratios) / len(ratios):.4f} in the mean, {max(ratios):.4f} at the most"
        print(text)
    if a.table:
        with open(a.table, "a", newline="", encoding="utf-8") as f:
            table = csv.DictWriter(f, COLUMNS)
            if f.tell() == 0:
                table.writeheader()
            table.writerows(rows)
    return 1 if said else 0


if __name__ == "__main__":
    sys.exit(main())
