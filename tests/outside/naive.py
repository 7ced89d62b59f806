#!/usr/bin/env python3
"""Sets what the planner reaches on planted jobs beside two naive ways to split the same layers.

    naive.py FOLDER [--binary target/release/seamwright] [--seconds 20] [--only TEXT] [--table FILE] [--keep FOLDER]
                    [--checker ../shared/verify/check_plan.py]

FOLDER is made by `planted.py FOLDER --fallback`. Each job is planned three times, one after the other, from the same stock and for the same time:

  ours      the job as it is: seams where the planner wants them
  halved    each layer is cut in the middle of its longer side, and so is each piece until it fits the largest full sheet
  equal     each layer is cut into columns × rows of one size, as few as fit the largest full sheet; of as few, those with the shortest cuts

The pieces of a naive way are the drawn parts of a job of parts alone, which the same program packs. What is easier for the naive ways: they keep
no lap (layers are cut in one place above each other), web or least piece, their cuts are straight whatever the job's pattern, and a disc is cut
out as a polygon of 64 sides around it. Holes for screws are left out of their pieces, as nothing fits in one.

A line per job: planted cost, cost each way, saving of ours against each naive way (share of the naive cost), faults that `check_folder.py`, and a
further checker where it is at hand, find in the three plans. `--table` writes the lines as CSV, with numbers of pieces, lower bounds by the program,
and its status each way. A naive way without a plan (status 3) is no yardstick and is counted.

Ends with 0 when ours is nowhere dearer than planted or than a naive way and no checker finds a fault; with 1 otherwise, also where ours has no plan
or a run ends other than with 0 or 3; with 2 when there is nothing to run, or no full sheet in a stock."""
import argparse, csv, json, math, os, shutil, statistics, subprocess, sys, tempfile, tomllib
from collections import Counter

import ezdxf
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.ops import unary_union

from run_planted import HERE, LATE, ROOT, SAME, checkers_of, faults, told

WAYS = ("ours", "halved", "equal")
SIDES = 16                   # of a quarter of a disc
MOST = 64                    # parts a layer is cut into
TINY = 1e-6                  # mm and mm²: rounding, when boxes are compared and areas are added
COLUMNS = ("kind", "job", "planted", *WAYS, "saving_halved", "saving_equal", *(f"{way}_{what}" for way in WAYS for what in ("pieces", "sheets", "bound", "rounds", "status")),
           "faults")


# ---- layers and how they are cut ----------------------------------------------------------------------------------------
def layer_shape(folder, job, layer):
    """What `planted.py` has made: a plain rectangle, or a drawing of one outline with at most one hole."""
    if "drawing" not in layer:
        return box(0, 0, *job["fixture"]["size"])
    rings = []
    for e in ezdxf.readfile(os.path.join(folder, layer["drawing"])).modelspace():
        if e.dxftype() == "CIRCLE":
            around = e.dxf.radius / math.cos(math.pi / (4 * SIDES))
            rings.append(Point(e.dxf.center.x, e.dxf.center.y).buffer(around, SIDES))
        else:
            rings.append(Polygon([(p.x, p.y) for p in e.points()]))
    rings.sort(key=lambda r: -r.area)
    return rings[0].difference(unary_union(rings[1:]))


def polygons(shape):
    return [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "Polygon" and p.area > TINY]


def extent(shape):
    x0, y0, x1, y1 = shape.bounds
    return x1 - x0, y1 - y0


def fits(shape, room):
    """Whether the box of a piece lies in the room of a sheet, turned by a quarter or not."""
    return all(a <= b + TINY for a, b in zip(sorted(extent(shape)), sorted(room)))


def split(shape, columns, rows):
    """Cells of one size of the shape's box; what falls apart is pieces of its own."""
    x0, y0, _, _ = shape.bounds
    w, h = (side / n for side, n in zip(extent(shape), (columns, rows)))
    return [p for i in range(columns) for j in range(rows)
            for p in polygons(shape.intersection(box(x0 + i * w, y0 + j * h, x0 + (i + 1) * w, y0 + (j + 1) * h)))]


def halved(shape, room):
    w, h = extent(shape)
    return [q for p in split(shape, *((2, 1) if w >= h else (1, 2))) for q in ([p] if fits(p, room) else halved(p, room))]


def equal(shape, room):
    w, h = extent(shape)
    grids = [(n, m) for n in range(1, MOST) for m in range(1, MOST) if n * m <= MOST]
    for n, m in sorted(grids, key=lambda g: (g[0] * g[1], (g[0] - 1) * h + (g[1] - 1) * w)):
        pieces = split(shape, n, m)
        if all(fits(p, room) for p in pieces):
            return pieces
    raise SystemExit(f"{MOST} parts of {w:g} × {h:g} do not fit {room}")


# ---- jobs of parts alone ------------------------------------------------------------------------------------------------
def drawing(piece, path):
    doc = ezdxf.new("R2000", units=4)
    for ring in (piece.exterior, *piece.interiors):
        doc.modelspace().add_lwpolyline(list(ring.coords)[:-1], close=True)
    doc.saveas(path)


def parts_job(folder, job, way, room):
    """Writes the job whose parts are the pieces of a naive way; the folder it is in."""
    os.makedirs(room)
    shutil.copy(os.path.join(folder, job["stock"]), os.path.join(room, "stock.toml"))
    with open(os.path.join(folder, job["stock"]), "rb") as f:
        stock = tomllib.load(f)["sheet"]
    margin = job["cutter"].get("edge_margin", 5.0)
    lines = [f"title = {json.dumps(job['title'] + ', ' + way)}", 'stock = "stock.toml"', ""]
    for layer in job["layer"]:
        full = [s["size"] for s in stock if s["id"].startswith("full-") and (s["material"], s["thickness"]) == (layer["material"], layer["thickness"])]
        if not full:
            print(f"{folder}: no full sheet for {layer['name']}: make the jobs with --fallback")
            sys.exit(2)
        largest = [side - 2 * margin for side in max(full, key=math.prod)]
        shape = layer_shape(folder, job, layer)
        pieces = {"halved": halved, "equal": equal}[way](shape, largest)
        if abs(sum(p.area for p in pieces) - shape.area) > TINY * shape.area or not all(fits(p, largest) for p in pieces):
            raise SystemExit(f"{folder}: the pieces of {layer['name']} are not the layer, or fit no sheet")
        moved = [affinity.translate(p, -p.bounds[0], -p.bounds[1]).normalize() for p in pieces]
        alike = Counter(shapely.to_wkt(p, rounding_precision=6) for p in moved)
        for i, (text, quantity) in enumerate(sorted(alike.items())):
            name = f"{layer['name']}-{i + 1}"
            drawing(shapely.from_wkt(text), os.path.join(room, name + ".dxf"))
            lines += ["[[part]]", f'name = "{name}"', f'material = "{layer["material"]}"', f"thickness = {layer['thickness']:g}",
                      f'drawing = "{name}.dxf"', f"quantity = {quantity}", ""]
    lines += ["[cutter]", *(f"{key} = {json.dumps(value)}" for key, value in job["cutter"].items())]
    with open(os.path.join(room, "job.toml"), "w", encoding="utf-8", newline="\n") as f:
        f.write("\n".join(lines) + "\n")
    return room


# ---- runs ---------------------------------------------------------------------------------------------------------------
def plan(folder, out, options, checkers):
    """Figures of one plan, and what is to be said about it."""
    job = os.path.join(folder, "job.toml")
    try:
        done = subprocess.run([options.binary, "plan", job, "-o", out, "--quiet", "--color", "never", "--seconds", str(options.seconds)],
                              capture_output=True, text=True, timeout=options.seconds + LATE)
    except subprocess.TimeoutExpired:
        return {"status": "stopped"}, [f"{folder}: stopped {LATE} s after its time"], 0
    if done.returncode != 0:
        return {"status": done.returncode}, [] if done.returncode == 3 else [f"{folder}: ended with {done.returncode}: {done.stderr.strip()[-300:]}"], 0
    with open(os.path.join(out, "plan.json"), encoding="utf-8") as f:
        made = json.load(f)
    found = faults(job, out, checkers)
    return {"status": 0, "cost": float(made["metrics"]["stock_cost"]), "bound": made["metrics"]["bound"]["stock_cost"], "pieces": len(made["pieces"]),
            "sheets": made["metrics"]["sheets_used"], "rounds": made["settings"]["rounds"]}, [f"{folder}: {line}" for line in found], len(found)


def run(folder, options, checkers, room):
    """One job, all ways: a row of the table, and what is to be said."""
    name = os.path.basename(folder)
    with open(os.path.join(folder, "planted.json"), encoding="utf-8") as f:
        planted = json.load(f)
    with open(os.path.join(folder, "job.toml"), "rb") as f:
        job = tomllib.load(f)
    row, said = {"kind": planted["kind"], "job": name, "planted": planted["cost"], "faults": 0}, []
    for way in WAYS:
        own = folder if way == "ours" else parts_job(folder, job, way, os.path.join(room, f"{name}-{way}"))
        figures, words, count = plan(own, os.path.join(room, f"{name}-{way}-plan"), options, checkers)
        row[way] = figures.pop("cost", None)
        row |= {f"{way}_{what}": value for what, value in figures.items()}
        row["faults"] += count
        said += words
    for way in WAYS[1:]:
        row[f"saving_{way}"] = None if row["ours"] is None or row[way] is None else 1 - row["ours"] / row[way]
    return row, said


def dearer(row, than):
    """Whether ours costs more; ours without a plan is dearer than whatever has one."""
    return row[than] is not None and (row["ours"] is None or row["ours"] > row[than] + SAME)


def line_of(row):
    savings = [f"{row[f'saving_{way}']:8.1%}" if row[f"saving_{way}"] is not None else f"{'-':>8}" for way in WAYS[1:]]
    marks = [f"dearer than {than}" for than in ("planted", *WAYS[1:]) if dearer(row, than)]
    return f"{row['job']:24} {row['planted']:8.2f} {' '.join(f'{told(row[way], 2):>8}' for way in WAYS)} {' '.join(savings)} {row['faults']:6} {', '.join(marks)}".rstrip()


def summary(rows):
    lines = []
    for way in WAYS[1:]:
        savings = [r[f"saving_{way}"] for r in rows if r[f"saving_{way}"] is not None]
        spread = f"median saving {statistics.median(savings):.1%} ({min(savings):.1%} to {max(savings):.1%})" if savings else "no saving to tell"
        lines.append(f"against {way}: {spread}, {sum(r[way] is None for r in rows)} without a plan")
    counts = ", ".join(f"than {than} in {sum(dearer(r, than) for r in rows)}" for than in ("planted", *WAYS[1:]))
    return [*lines, f"{len(rows)} jobs; ours is dearer {counts}"]


def main():
    a = argparse.ArgumentParser(description="Plans planted jobs, and the same layers split in two naive ways.")
    a.add_argument("folder")
    a.add_argument("--binary", default=os.path.join(ROOT, "target", "release", "seamwright"))
    a.add_argument("--seconds", type=float, default=20.0)
    a.add_argument("--only", default="", help="jobs whose name has this in it")
    a.add_argument("--table", help="CSV file")
    a.add_argument("--keep", help="new folder for the naive jobs and all plans; a temporary one without")
    a.add_argument("--checker", default=os.path.join(os.path.dirname(ROOT), "shared", "verify", "check_plan.py"))
    options = a.parse_args()
    options.binary = os.path.abspath(options.binary)
    names = sorted(n for n in os.listdir(options.folder) if options.only in n and os.path.exists(os.path.join(options.folder, n, "planted.json")))
    if not names or not os.path.exists(options.binary):
        print(f"nothing to run: {len(names)} jobs in {options.folder}, program {options.binary}")
        return 2
    checkers, room = checkers_of(options.checker), options.keep or tempfile.mkdtemp(prefix="naive-")
    print(f"{'job':24} {'planted':>8} {'ours':>8} {'halved':>8} {'equal':>8} {'saving':>8} {'saving':>8} faults")
    rows, said = [], []
    for name in names:
        row, words = run(os.path.join(options.folder, name), options, checkers, room)
        rows.append(row)
        said += words
        print(line_of(row), flush=True)
    print("\n".join(["", *said, "" if said else f"no fault found by {len(checkers)} checkers", *summary(rows)]))
    if options.table:
        with open(options.table, "w", newline="", encoding="utf-8") as f:
            table = csv.DictWriter(f, COLUMNS, lineterminator="\n")
            table.writeheader()
            table.writerows(rows)
    if not options.keep:
        shutil.rmtree(room)
    return 1 if said or any(dearer(r, than) for r in rows for than in ("planted", *WAYS[1:])) or any(r["ours"] is None for r in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
