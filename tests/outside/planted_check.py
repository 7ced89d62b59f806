"""Reads the folders that `planted.py` wrote, from the files alone, and looks whether each planted solution keeps the job's rules.

Each check answers one question:
  tile     do the pieces of a layer cover it once, without rest?     piece    is each piece connected, and not under its least extent?
  placed   does each piece lie once, on its material?                room     do pieces, teeth at their longest, keep margin and spacing?
  tight    are sheets, one way at least, at most 6 mm too large?     lap      do lines of neighbouring layers, teeth included, keep their lap?
  clear    do lines stay away from screws?                           web      is material beside a line wide enough?
  met      are the lines exactly where pieces meet?                  cost     is the planted cost what its sheets cost?
  counts   are there 2 to 4 layers and 4 to 24 pieces?               odd      is no line at a round tenth of a millimetre?
  kind     is there what the kind promises?"""
import copy, json, math, os, tempfile, tomllib

from shapely import affinity
from shapely.geometry import LineString, MultiPoint, Point, Polygon, box
from shapely.ops import unary_union

SMALL = 1e-6
AREA = 0.02                  # mm² by which areas may differ: outlines are written to 0.01 mm, and union and difference round at 1e-9
SPARE = 6.0
CHORD = 0.02                 # mm: discs are polygons of 256 corners here, at most 0.02 inside a disc of 270 mm radius
HOLE, RELIEF = 6.6, 13.22    # M6: ISO 273 medium; head of ISO 4762 and 1.5 around it


class Folder:
    """A job folder as data: `job`, `stock` (by id), `planted`, and each layer's shape."""

    def __init__(self, path):
        with open(os.path.join(path, "job.toml"), "rb") as f:
            self.job = tomllib.load(f)
        with open(os.path.join(path, "stock.toml"), "rb") as f:
            self.stock = {s["id"]: s for s in tomllib.load(f)["sheet"]}
        with open(os.path.join(path, "planted.json"), encoding="utf-8") as f:
            self.planted = json.load(f)
        self.shapes = {}
        for layer in self.job["layer"]:
            drawn = os.path.join(path, layer["drawing"]) if "drawing" in layer else None
            self.shapes[layer["name"]] = outline_of(drawn) if drawn else box(0, 0, *self.job["fixture"]["size"])

    def rules(self):
        """Lap, clearance to screws, least piece, spacing, margin, depth: the job's, or the defaults of the job file."""
        thickest = max(l["thickness"] for l in self.job["layer"])
        seams, cutter = self.job["seams"], self.job["cutter"]
        depth = 0.0 if seams["pattern"] == "straight" else seams["depth"]
        return (max(40.0, 10 * thickest), max(5.0, 2 * thickest), max(60.0, 10 * thickest), cutter.get("spacing", max(2.0, 1.5 * cutter["kerf"])),
                cutter.get("edge_margin", max(5.0, cutter["kerf"])), depth)


def outline_of(path):
    """The region of a DXF that holds closed polylines and circles: the largest ring less the others."""
    with open(path, encoding="ascii") as f:
        rows = [r.strip() for r in f]
    rings, vertex, kind, circle = [], None, None, {}
    for code, value in zip(map(int, rows[::2]), rows[1::2]):
        if code == 0:
            if kind == "CIRCLE":
                rings.append(Point(circle[10], circle[20]).buffer(circle[40], 64))
            kind, vertex, circle = value, {}, {}
            if value == "POLYLINE":
                rings.append([])
        elif kind == "VERTEX" and code in (10, 20):
            vertex[code] = float(value)
            if code == 20:
                rings[-1].append((vertex[10], vertex[20]))
        elif kind == "CIRCLE" and code in (10, 20, 40):
            circle[code] = float(value)
    shapes = sorted((r if isinstance(r, Polygon) else Polygon(r) for r in rings), key=lambda s: -s.area)
    return shapes[0].difference(unary_union(shapes[1:]))


def sheet_region(sheet):
    whole = Polygon(sheet["outline"]) if "outline" in sheet else box(0, 0, *sheet["size"])
    for d in sheet.get("defects", []):
        whole = whole.difference(Point(d["at"]).buffer(d["circle"] / 2, 64) if "circle" in d else Polygon(d["outline"]))
    return whole


def swept(shape, place, depth):
    """A shape with the room that teeth of a layer at this place may take: moved to +x and +y, or to -x and -y, and all between."""
    d = depth if place % 2 == 0 else -depth
    for dx, dy in ((d, 0), (0, d)):
        shape = unary_union([shape, *(MultiPoint([*edge, *((x + dx, y + dy) for x, y in edge)]).convex_hull for edge in edges(shape))])
    return shape


def edges(shape):
    lines = [shape.coords] if isinstance(shape, LineString) else [r.coords for p in getattr(shape, "geoms", [shape]) for r in (p.exterior, *p.interiors)]
    return [pair for line in lines for pair in zip(list(line), list(line)[1:])]


def line_band(points, place, depth):
    """What the teeth of a base line may take: each of its straight parts moved across itself."""
    d = depth if place % 2 == 0 else -depth
    parts = [MultiPoint([a, b, *((x + d, y) if a[0] == b[0] else (x, y + d) for x, y in (a, b))]).convex_hull for a, b in zip(points, points[1:])]
    return unary_union(parts)


class Check:
    """All checks of one folder; `found` lists (heading, text)."""

    def __init__(self, folder):
        self.f, self.found = folder, []
        self.lap, self.clear, self.least, self.spacing, self.margin, self.depth = folder.rules()
        self.layers = [(k, l, folder.shapes[l["name"]], p) for k, (l, p) in enumerate(zip(folder.job["layer"], folder.planted["layers"]))]

    def say(self, heading, text):
        self.found.append((heading, text))

    def run(self):
        self.pieces()
        self.lines()
        self.sheets()
        self.kind()
        return self.found

    def pieces(self):
        self.reach, self.owner = {}, {}
        for k, layer, shape, planted in self.layers:
            parts = []
            for piece in planted["pieces"]:
                bare = unary_union([box(*r) for r in piece["rectangles"]])
                part = bare.intersection(shape)
                parts.append(part)
                self.reach[piece["id"]], self.owner[piece["id"]] = swept(bare, k, self.depth).intersection(shape), layer
                x0, y0, x1, y1 = part.bounds
                if part.geom_type != "Polygon" or min(x1 - x0, y1 - y0) < self.least:
                    self.say("piece", f"{piece['id']} measures {x1 - x0:g} × {y1 - y0:g}, {part.geom_type}")
            union = unary_union(parts)
            if abs(sum(p.area for p in parts) - shape.area) > AREA or union.symmetric_difference(shape).area > AREA:
                self.say("tile", f"layer {layer['name']}: {shape.area - sum(p.area for p in parts):.3f} mm² missing")
            met = unary_union([p.intersection(q) for i, p in enumerate(parts) for q in parts[:i]]).buffer(1e-4)
            drawn = unary_union([LineString(l["points"]) for l in planted["lines"]]).intersection(shape)
            if drawn.difference(met).length > 0.01 or met.difference(drawn.buffer(1e-3)).area > 2e-4:      # a strip 2e-4 wide, 1 mm long
                self.say("met", f"layer {layer['name']}: its lines are not where its pieces meet")
        count = sum(len(p["pieces"]) for _, _, _, p in self.layers)
        if not (4 <= count <= 24 and 2 <= len(self.layers) <= 4 and len(self.owner) == count == self.f.planted["pieces"]):
            self.say("counts", f"{len(self.layers)} layers, {count} pieces")

    def lines(self):
        bands = [[(l["runs"], line_band(l["points"], k, self.depth)) for l in p["lines"]] for k, _, _, p in self.layers]
        for (k, layer, shape, planted), own, above in zip(self.layers, bands, [*bands[1:], []]):
            for (runs, band), line in zip(own, planted["lines"]):
                (ax, ay), (bx, by) = line["points"][0], line["points"][-1]
                if runs != ("x" if abs(bx - ax) > abs(by - ay) else "y"):
                    self.say("lap", f"layer {layer['name']}: a line is said to run {runs}")
                near = min((band.distance(other) for way, other in above if way == runs), default=math.inf)
                if near < self.lap - SMALL:
                    self.say("lap", f"layers {k} and {k + 1}: {near:.2f} mm, {self.lap:g} is asked")
                self.beside(layer, shape, line["points"], band)
                inner = [v for p, q in zip(line["points"], line["points"][1:]) for v in (p[0] if p[0] == q[0] else p[1],)]
                if any(abs(v * 10 - round(v * 10)) < 1e-6 for v in inner):
                    self.say("odd", f"layer {layer['name']}: a line at {inner}")

    def beside(self, layer, shape, points, band):
        """Screws and edges beside a line. An edge that the line meets is no edge beside it, if it meets it at 14.5° or more."""
        holes = self.f.job.get("bed", {}).get("locating", [])
        for hole in holes:
            disc = Point(hole["at"]).buffer((HOLE if "locating" in layer["features"] else RELIEF) / 2, 64)
            if band.distance(disc) < self.clear + CHORD:
                self.say("clear", f"layer {layer['name']}: {band.distance(disc):.2f} mm from a screw to a line, {self.clear:g} is asked")
        line = LineString(points)
        for ring in (r for p in getattr(shape, "geoms", [shape]) for r in (p.exterior, *p.interiors)):
            round_one = len(ring.coords) > 50
            for rim in [LineString(ring.coords)] if round_one else [LineString(e) for e in edges(LineString(ring.coords))]:
                if line.intersects(rim):
                    if round_one and line.distance(Polygon(rim).centroid) > math.cos(math.radians(14.5)) * math.sqrt(Polygon(rim).area / math.pi):
                        self.say("web", f"layer {layer['name']}: a line meets a round hole at too flat an angle")
                elif line.distance(rim) < 2 * layer["thickness"] + self.depth:
                    self.say("web", f"layer {layer['name']}: {line.distance(rim):.2f} mm between a line and an edge")

    def sheets(self):
        laid, used = {}, {}
        for a in self.f.planted["assignment"]:
            shape = affinity.rotate(self.reach[a["piece"]], a["rotation"], origin=(0, 0))
            laid.setdefault(a["piece"], []).append(a["sheet"])
            used.setdefault(a["sheet"], []).append((a["piece"], affinity.translate(shape, a["x"], a["y"])))
            sheet, owner = self.f.stock[a["sheet"]], self.owner[a["piece"]]
            if (sheet["material"], sheet["thickness"]) != (owner["material"], owner["thickness"]):
                self.say("placed", f"{a['piece']} lies on {sheet['material']}")
        for pid in self.owner:
            if len(laid.get(pid, [])) != 1:
                self.say("placed", f"{pid} lies on {laid.get(pid)}")
        for sid, items in used.items():
            region = sheet_region(self.f.stock[sid])
            for i, (pid, shape) in enumerate(items):
                if not region.contains(shape) or shape.distance(region.boundary) < self.margin - SMALL:
                    self.say("room", f"{pid} on {sid}: {shape.distance(region.boundary):.3f} mm of margin")
                for other, there in items[:i]:
                    if shape.distance(there) < self.spacing - SMALL:
                        self.say("room", f"{pid} and {other} on {sid}: {shape.distance(there):.3f} mm apart")
            self.tight(sid, region, items)
        cost = sum(self.f.stock[s]["cost"] for s in used)
        if abs(cost - self.f.planted["cost"]) > SMALL:
            self.say("cost", f"{self.f.planted['cost']} is told, {cost:.2f} is what the sheets cost")

    def tight(self, sid, region, items):
        """The sheet is no larger both ways than what its pieces' common box, margins and what may be spare take."""
        x0, y0, x1, y1 = unary_union([shape for _, shape in items]).bounds
        sx0, sy0, sx1, sy1 = region.bounds
        most = 2 * self.margin + SPARE + 0.02
        if sx1 - sx0 - (x1 - x0) > most and sy1 - sy0 - (y1 - y0) > most:
            self.say("tight", f"{[pid for pid, _ in items]} on {sid}: {sx1 - sx0 - (x1 - x0):.2f} and {sy1 - sy0 - (y1 - y0):.2f} mm more than the pieces")

    def kind(self):
        """What makes the kind: looked for in sheets and layers."""
        kind, planted = self.f.planted["kind"], self.f.planted
        base = kind.split(":")[-1]
        used = {}
        for a in planted["assignment"]:
            used.setdefault(a["sheet"], []).append(a["piece"])
        corners = {s: len(self.f.stock[s].get("outline", [1] * 4)) for s in used}
        parent = lambda pid: self.owner[pid]["name"]
        has = {
            "grid": all(len(p["rectangles"]) == 1 for _, _, _, l in self.layers for p in l["pieces"]),
            "tee": any(0 < Point(x).distance(shape.boundary) for _, _, shape, l in self.layers for s in l["lines"] for x in (s["points"][0], s["points"][-1])),
            "pair": any(len({parent(p) for p in on}) == 2 for on in used.values()),
            "ell": any(corners[s] == 6 and len(on) == 2 for s, on in used.items()),
            "ell-step": any(corners[s] == 6 and len(on) == 1 for s, on in used.items()) and any(len(s["points"]) == 4 for _, _, _, l in self.layers for s in l["lines"]),
            "odd": any(n == 5 or "defects" in self.f.stock[s] for s, n in corners.items()),
            "cut": any(shape.area < 0.99 * box(*shape.bounds).area for _, _, shape, _ in self.layers),
        }[base]
        full = [s for s in self.f.stock if s.startswith("full")]
        others = len(self.f.stock) - len(full) - len(used)
        if not has or others != (math.ceil(len(used) / 2) if kind.startswith("surplus") else 0):
            self.say("kind", f"{kind}: {others} sheets beside the {len(used)} planted ones")


def check_all(out):
    """Checks every folder under `out`; prints what is wrong and a closing line."""
    names = sorted(n for n in os.listdir(out) if os.path.exists(os.path.join(out, n, "planted.json")))
    wrong, fills, pieces = 0, [], []
    for name in names:
        folder = Folder(os.path.join(out, name))
        found = Check(folder).run()
        wrong += bool(found)
        fills.append(folder.planted["fill"])
        pieces.append(folder.planted["pieces"])
        for heading, text in found:
            print(f"{name}: {heading}: {text}")
    if not names:
        print(f"{out} holds no planted job")
        return 2
    print(f"{len(names)} jobs, {min(pieces)} to {max(pieces)} pieces, layers fill {min(fills):.1%} to {max(fills):.1%} of the planted sheets; {wrong} jobs with faults")
    return 1 if wrong else 0


# ---- self-test ----------------------------------------------------------------------------------------------------------
def damages(folder):
    """(heading that must notice it, damage) for a good folder; each damage changes a copy of the folder's data."""
    planted = folder.planted
    first = planted["assignment"][0]

    def rectangle(f):
        f.planted["layers"][0]["pieces"][0]["rectangles"][0][2] -= 0.5

    def away(f):
        f.planted["assignment"][0]["x"] += 7.0

    def larger(f):
        s = f.stock[first["sheet"]]
        s["outline"] = [(0, 0), (1e4, 0), (1e4, 1e4), (0, 1e4)]

    def lapped(f):
        one, other = f.planted["layers"][:2]
        other["lines"].append({"runs": one["lines"][0]["runs"], "points": one["lines"][0]["points"]})

    def screwed(f):
        (ax, ay), (bx, by) = f.planted["layers"][0]["lines"][0]["points"][:2]
        f.job["bed"] = {"locating": [{"at": [(ax + bx) / 2 + 8.0, (ay + by) / 2 + 8.0]}]}
        for layer in f.job["layer"]:
            layer["features"] = ["locating"]

    def edged(f):
        name = f.job["layer"][0]["name"]
        (ax, ay), (bx, by) = f.planted["layers"][0]["lines"][0]["points"][:2]
        spots = [box(x + 3, y + 3, x + 7, y + 7) for t in range(1, 10) for x, y in [(ax + t * (bx - ax) / 10, ay + t * (by - ay) / 10)]]
        f.shapes[name] = f.shapes[name].difference(next(s for s in spots if f.shapes[name].contains(s)))

    def dropped(f):
        f.planted["layers"][-1]["lines"].pop()

    def rounded(f):
        f.planted["layers"][0]["lines"][0]["points"] = [[round(v, 1) for v in p] for p in f.planted["layers"][0]["lines"][0]["points"]]

    def thin(f):
        f.planted["layers"][0]["pieces"][0]["rectangles"] = [[0, 0, 50, 50]]

    def kindless(f):
        f.planted["kind"] = "surplus:grid" if not planted["kind"].startswith("surplus") else "grid"

    return [("tile", rectangle), ("room", away), ("tight", larger), ("lap", lapped), ("clear", screwed), ("web", edged), ("met", dropped), ("odd", rounded),
            ("piece", thin), ("kind", kindless), ("cost", lambda f: f.planted.update(cost=planted["cost"] + 0.01)),
            ("placed", lambda f: f.planted["assignment"].remove(first)), ("placed", lambda f: f.stock[first["sheet"]].update(thickness=9.0)),
            ("counts", lambda f: f.planted.update(pieces=planted["pieces"] + 1))]


def self_test(write_all):
    """Jobs of all kinds and patterns are right, the same twice, and every damage is noticed."""
    failed, noticed = [], 0
    with tempfile.TemporaryDirectory() as room:
        for pattern, count in (("straight", 42), ("knob,wave,zigzag,dovetail,finger", 35)):
            out, again = os.path.join(room, pattern), os.path.join(room, pattern + "2")
            kinds = ("grid", "tee", "pair", "ell", "odd", "cut", "surplus")
            write_all(out, count, 7, pattern.split(","), kinds, pattern != "straight")
            write_all(again, count, 7, pattern.split(","), kinds, pattern != "straight")
            for name in sorted(os.listdir(out)):
                for file in os.listdir(os.path.join(out, name)):
                    with open(os.path.join(out, name, file), "rb") as one, open(os.path.join(again, name, file), "rb") as two:
                        if one.read() != two.read():
                            failed.append(f"{name}/{file} differs when made again")
                folder = Folder(os.path.join(out, name))
                failed += [f"{name}: {heading}: {text}" for heading, text in Check(folder).run()]
                for heading, damage in damages(folder):
                    broken = copy.deepcopy(folder)
                    damage(broken)
                    if heading in {h for h, _ in Check(broken).run()}:
                        noticed += 1
                    else:
                        failed.append(f"{name}: {damage.__name__} is not noticed as {heading}")
    print("\n".join(failed[:60] + [f"self-test: {noticed} damages noticed, {len(failed)} faults"]))
    return 1 if failed else 0
