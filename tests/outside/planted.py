#!/usr/bin/env python3
"""Makes jobs with a planted solution: layers are cut in a hidden way, then a stock of offcuts is made that takes exactly those pieces.

    planted.py OUT [--count 100] [--seed 1] [--pattern straight] [--kind grid,tee] [--fallback]
    planted.py --check OUT          reads the folders again, and looks whether each planted solution keeps every rule
    planted.py --self-test          makes jobs of all kinds and patterns, checks them, damages copies and demands that each damage is noticed

What the sheets of the planted solution cost together is an upper bound of the optimum, and as they have at most 6 mm to spare each way, the
bound by area nearly meets it. Nothing of the planner is used. All is invented: sizes, prices, names. The same arguments make the same bytes.

Kinds, one after the other (so equal parts where the count is a multiple of 7):
  grid      each layer a full grid of its own          tee       columns (or rows) that are split differently: seams end on seams
  pair      pieces of different layers share a sheet   ell       L-shaped sheets: of two pieces (`ell`) or of one with a stepped seam (`ell-step`)
  odd       five-sided sheets, sheets with a defect    cut       layers, drawn, with a cut corner or a large hole
  surplus   one of the others, and half as many sheets again that fit plausibly, at 1.2 to 2 times the price per area
`--fallback` adds full sheets, twice as dear per area, which alone could take everything.

Words: *lines* are the seams' base lines; the *band* of a line is what its teeth may take: the line swept by the pattern's depth to +x or +y
for layers at even places, to -x or -y for odd ones. The *reach* of a piece is the piece grown by the depth to that side, within the layer:
whatever the teeth are, the finished piece is no larger. Sheets are made for the reach. Frames, turning and moving are those of plan.json.

Folder per job: job.toml, stock.toml, drawings, and planted.json:
  cost      sum of the prices of the planted sheets       fill      area of the layers over the area of those sheets
  layers    per layer its pieces (id, the rectangles whose union cut down to the layer it is) and its lines (`runs`, points), in the bed frame
  assignment  piece, sheet, rotation, x, y"""
import argparse, json, math, os, random, sys

from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

KINDS = ("grid", "tee", "pair", "ell", "odd", "cut", "surplus")
PATTERNS = ("straight", "knob", "wave", "zigzag", "dovetail", "finger")
RATES = {"plywood": 180.0, "MDF": 125.0, "acrylic": 410.0}   # per m², of an invented currency
TEETH = ((40.0, 12.0), (36.0, 10.5), (44.0, 13.0))          # tooth, depth
SLACK = (0.33, 5.97)                                       # mm to spare on a sheet, both sides together: 0.3 to 6 once rounded
SCATTER = 0.04                                              # of a price: so that area alone does not tell the planted sheets' worth
MOST = 24                                                   # pieces in a job
TRIES = 300
HOLE, RELIEF = 6.6, 13.22                                   # M6: medium hole (ISO 273), head of 10.22 (ISO 4762, knurled) and 1.5 around it


class Again(Exception):
    """A draw that leads nowhere: the job is drawn anew from the same stream."""


class Rules:
    """The job's limits in mm, from its thickest layer as the job's defaults are."""

    def __init__(self, thickest, spacing=None, margin=None, depth=0.0):
        self.lap, self.clear = max(40.0, 10 * thickest), max(5.0, 2 * thickest)
        self.piece = max(60.0, 10 * thickest)
        self.spacing, self.margin, self.depth = spacing or 2.0, margin or 5.0, depth
        self.least = self.piece + 8 + 2 * depth             # least distance of two lines: room for teeth and screws

    def web(self, layer):
        return 2 * layer.thickness


class Layer:
    """A layer: where it lies in the stack, its shape, its pieces as lists of rectangles, its lines as (runs, points)."""

    def __init__(self, place, name, material, thickness, size):
        self.place, self.name, self.material, self.thickness, self.size = place, name, material, thickness, size
        self.outline, self.hole = [(0, 0), (size[0], 0), tuple(size), (0, size[1])], None   # hole: points, or (x, y, diameter)
        self.pieces, self.lines = [], []

    def shape(self):
        if self.hole is None:
            return Polygon(self.outline)
        disc = not isinstance(self.hole[0], (tuple, list))
        return Polygon(self.outline).difference(Point(self.hole[:2]).buffer(self.hole[2] / 2, 64) if disc else Polygon(self.hole))

    def plain(self):
        return self.hole is None and len(self.outline) == 4

    def part(self, rects):
        return unary_union([box(*r) for r in rects]).intersection(self.shape())

    def reach(self, rects, depth):
        return unary_union([grown(r, self.place, depth) for r in rects]).intersection(self.shape())


def grown(rect, place, depth):
    """A rectangle grown to the side that teeth of a layer at this place point to."""
    x0, y0, x1, y1 = rect
    return box(x0, y0, x1 + depth, y1 + depth) if place % 2 == 0 else box(x0 - depth, y0 - depth, x1, y1)


def band(points, place, depth):
    """What the teeth of a line may take; of a straight one the line itself."""
    if depth == 0:
        return LineString(points)
    d = depth if place % 2 == 0 else -depth
    swept = [Polygon([a, b, (b[0] + ex, b[1] + ey), (a[0] + ex, a[1] + ey)])
             for a, b in zip(points, points[1:]) for ex, ey in [(d, 0) if a[0] == b[0] else (0, d)]]
    return unary_union(swept)


# ---- how layers are cut -------------------------------------------------------------------------------------------------
def odd_step(rng, value):
    """To 0.01, and never to a round tenth."""
    hundredths = round(value * 100)
    return (hundredths if hundredths % 10 else hundredths + rng.choice((-3, -1, 1, 3))) / 100


def cuts(rng, extent, n, least):
    """n places between 0 and `extent`, and all at least `least` apart."""
    free = extent - (n + 1) * least
    if free < 0:
        raise Again
    at = sorted(rng.uniform(0, free) for _ in range(n))
    return [odd_step(rng, a + (i + 1) * least) for i, a in enumerate(at)]


def turned(cells, lines):
    """x and y exchanged."""
    return ([[(y0, x0, y1, x1) for x0, y0, x1, y1 in rects] for rects in cells],
            [("x" if runs == "y" else "y", [(y, x) for x, y in points]) for runs, points in lines])


def grid(size, xs, ys):
    """Full rows and columns."""
    ex, ey = [0.0, *xs, size[0]], [0.0, *ys, size[1]]
    cells = [[(ex[i], ey[j], ex[i + 1], ey[j + 1])] for j in range(len(ey) - 1) for i in range(len(ex) - 1)]
    return cells, [("y", [(x, 0.0), (x, size[1])]) for x in xs] + [("x", [(0.0, y), (size[0], y)]) for y in ys]


def columns(size, xs, rows):
    """Columns, each with rows of its own: their lines end on those between the columns."""
    ex, cells, lines = [0.0, *xs, size[0]], [], [("y", [(x, 0.0), (x, size[1])]) for x in xs]
    for i, ys in enumerate(rows):
        ey = [0.0, *ys, size[1]]
        cells += [[(ex[i], ey[j], ex[i + 1], ey[j + 1])] for j in range(len(ey) - 1)]
        lines += [("x", [(ex[i], y), (ex[i + 1], y)]) for y in ys]
    return cells, lines


def tee(rng, size, counts, rules):
    xs = cuts(rng, size[0], len(counts) - 1, rules.least)
    rows = [cuts(rng, size[1], n - 1, rules.least) for n in counts]
    for left, right in zip(rows, rows[1:]):
        if any(abs(a - b) < 15 + 2 * rules.depth for a in left for b in right):
            raise Again
    return columns(size, xs, rows)


def stepped(rng, size, rules, third):
    """A line with a step, so that two pieces are L-shaped, and beside it a straight line where a third piece is asked for."""
    width, height = size
    share = rng.uniform(0.58, 0.7) if third else 1.0
    low, high = rules.least, share * width - rules.least
    a, b = odd_step(rng, rng.uniform(low, high)), odd_step(rng, rng.uniform(low, high))
    c = odd_step(rng, rng.uniform(0.3, 0.7) * height)
    if not 50 + 2 * rules.depth <= abs(a - b) <= 0.4 * width or min(c, height - c) < rules.least:
        raise Again
    cells = [[(0.0, 0.0, a, c), (0.0, c, b, height)]]
    end, lines = width, [("y", [(a, 0.0), (a, c), (b, c), (b, height)])]
    if third:
        end = odd_step(rng, share * width)
        lines.append(("y", [(end, 0.0), (end, height)]))
        cells.append([(end, 0.0, width, height)])
    cells.append([(a, 0.0, end, c), (b, c, end, height)])
    return cells, lines


def legal(layer, below, rules):
    """Whether the layer's pieces and lines keep all rules, and the lap to the layer below."""
    shape, depth = layer.shape(), rules.depth
    for rects in layer.pieces:
        part, reach = layer.part(rects), layer.reach(rects, depth)
        if part.is_empty or part.geom_type != "Polygon" or reach.geom_type != "Polygon" or part.area < 0.4 * box(*part.bounds).area:
            return False
        x0, y0, x1, y1 = part.bounds
        if min(x1 - x0, y1 - y0) < rules.piece + 1:
            return False
    rims = [LineString(p) for p in zip(layer.outline, [*layer.outline[1:], layer.outline[0]])]
    for ring in shape.interiors:
        disc = not isinstance(layer.hole[0], (tuple, list))
        rims += [LineString(ring.coords)] if disc else [LineString(p) for p in zip(ring.coords, list(ring.coords)[1:])]
    for _, points in layer.lines:
        line = LineString(points)
        for rim in rims:
            if line.intersects(rim):
                if rim.is_ring and line.distance(Point(layer.hole[:2])) > 0.3 * layer.hole[2]:      # met at less than 53°
                    return False
            elif line.distance(rim) < rules.web(layer) + depth + 2:
                return False
    return below is None or lap_of(layer, below, depth) >= rules.lap + 0.05


def lap_of(one, other, depth):
    """The least distance of two layers' bands that run the same way. What a step adds to a line is a seam that runs the other way."""
    return min((band(p, one.place, depth).distance(band(q, other.place, depth))
                for runs, p in one.lines + legs(one) for way, q in other.lines + legs(other) if runs == way), default=math.inf)


def legs(layer):
    """The parts of lines with a step, each with the way it runs."""
    stepped = [points for _, points in layer.lines if len(points) > 2]
    return [("y" if a[0] == b[0] else "x", [a, b]) for points in stepped for a, b in zip(points, points[1:])]


# ---- the hidden cut of a whole job --------------------------------------------------------------------------------------
class Made:
    """A job while it is made."""

    def __init__(self, rng, kind, pattern):
        self.rng, self.kind, self.pattern = rng, kind, pattern
        self.teeth = None if pattern == "straight" else rng.choice(TEETH)
        self.layers, self.sheets, self.screws, self.sold, self.full = [], [], [], [], []


def counts_for(rng, layers):
    """How many columns and rows each layer gets: 4 to 24 pieces in all."""
    most = MOST // layers
    menu = [(n, m) for n in range(1, 5) for m in range(1, 5) if 2 <= n * m <= most]
    while True:
        chosen = [rng.choice(menu) for _ in range(layers)]
        if 4 <= sum(n * m for n, m in chosen) <= MOST:
            return chosen


def layout_of(rng, kind, size, count, rules, rows):
    """Cells and lines of one layer. `rows` are the heights that layers of a `pair` job have in common."""
    n, m = count
    if kind == "pair":
        heights = rng.sample(rows, len(rows))
        at = [round(sum(heights[:i + 1]), 2) for i in range(len(heights) - 1)]
        return grid(size, cuts(rng, size[0], max(n - 1, 0 if at else 1), rules.least), at)
    if kind == "tee":
        across = rng.random() < 0.5
        line = [max(1, m + rng.choice((-1, 0, 1))) for _ in range(max(2, n))]
        if max(line) == 1:
            line[rng.randrange(len(line))] = 2
        cells, lines = tee(rng, size[::-1] if across else size, line, rules)
        return turned(cells, lines) if across else (cells, lines)
    if kind == "ell-step":
        across = rng.random() < 0.5
        cells, lines = stepped(rng, size[::-1] if across else size, rules, rng.random() < 0.4)
        return turned(cells, lines) if across else (cells, lines)
    return grid(size, cuts(rng, size[0], n - 1, rules.least), cuts(rng, size[1], m - 1, rules.least))


def blemish(rng, layer, rules):
    """Cuts a corner of the layer, or a large hole into it."""
    width, height = layer.size
    if rng.random() < 0.5:
        a, b = (odd_step(rng, rng.uniform(0.15, 0.4) * side) for side in (width, height))
        front_right = [(0, 0), (width - a, 0), (width, b), (width, height), (0, height)]
        back_left = [(0, 0), (width, 0), (width, height), (a, height), (0, height - b)]
        layer.outline = [(round(x, 2), round(y, 2)) for x, y in rng.choice((front_right, back_left))]
        return
    keep = 40 + rules.depth
    w, h = rng.uniform(0.25, 0.45) * width, rng.uniform(0.25, 0.45) * height
    if rng.random() < 0.4:
        d = min(w, h) * 1.2
        x, y = rng.uniform(keep + d / 2, width - keep - d / 2), rng.uniform(keep + d / 2, height - keep - d / 2)
        layer.hole = tuple(odd_step(rng, v) for v in (x, y, d))
    else:
        x, y = rng.uniform(keep, width - keep - w), rng.uniform(keep, height - keep - h)
        x0, y0, x1, y1 = (odd_step(rng, v) for v in (x, y, x + w, y + h))
        layer.hole = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def cut_layers(made, kind, rules, stack, counts):
    """Draws the layers' shapes, pieces and lines from below upwards, each until it keeps all rules."""
    rng, size = made.rng, made.size
    rows = None
    if kind == "pair":
        at = [0.0, *cuts(rng, size[1], rng.choice((0, 1, 1, 2)), rules.least), size[1]]
        rows = [round(b - a, 2) for a, b in zip(at, at[1:])]
    marked = rng.randrange(len(stack))                      # the layer that surely has what the kind is about
    for k, (material, thickness) in enumerate(stack):
        layer = Layer(k, f"layer{k}", material, thickness, size)
        special = k == marked or rng.random() < 0.4
        own = {"cut": rng.choice(("grid", "tee")), "odd": rng.choice(("grid", "tee")), "ell": rng.choice(("grid", "tee"))}.get(kind, kind)
        if kind in ("ell-step", "tee") and not special:
            own = "grid"
        for _ in range(TRIES):
            layer.outline, layer.hole = Layer(k, "", "", 0, size).outline, None
            if kind == "cut" and special:
                blemish(rng, layer, rules)
            try:
                layer.pieces, layer.lines = layout_of(rng, own, size, counts[k], rules, rows)
            except Again:
                continue
            if legal(layer, made.layers[-1] if k else None, rules):
                break
        else:
            raise Again
        layer.pieces.sort(key=lambda rects: (round(layer.part(rects).bounds[1]), layer.part(rects).bounds[0]))
        made.layers.append(layer)
    if not 4 <= sum(len(l.pieces) for l in made.layers) <= MOST:
        raise Again


def stack_of(rng, kind, layers):
    """Material and thickness per layer: mostly one; for sheets that layers share always one."""
    first = (rng.choice(list(RATES)), rng.choice((3.0, 3.0, 4.0)))
    if kind in ("pair", "ell") or rng.random() < 0.65:
        return [first] * layers
    other = rng.choice([(m, t) for m in RATES for t in (3.0, 4.0) if (m, t) != first])
    return [rng.choice((first, other)) for _ in range(layers)]


def draw(rng, kind, pattern):
    """One job. Raises `Again` where the draw led nowhere."""
    made = Made(rng, kind, pattern)
    base = kind
    made.base = base
    count = rng.randint(2, 4)
    stack, counts = stack_of(rng, base, count), counts_for(rng, count)
    made.spacing, made.margin = rng.choice((None, None, 2.5, 3.0)), rng.choice((None, None, 4.0, 6.5))
    rules = made.rules = Rules(max(t for _, t in stack), made.spacing, made.margin, made.teeth[1] if made.teeth else 0.0)
    wide, deep = max(n for n, _ in counts), max(m for _, m in counts)
    scale = 1.0 + rules.depth / 40
    made.size = (round(max(260, wide * rng.uniform(130, 230) * scale)), round(max(220, deep * rng.uniform(120, 200) * scale)))
    if rng.random() < 0.5:
        x, y = rng.randint(17, 22), rng.randint(17, 22)
        made.screws = [(x, y), (made.size[0] - x, made.size[1] - y)]
    cut_layers(made, base, rules, stack, counts)
    return made


# ---- sheets that take the pieces ----------------------------------------------------------------------------------------
def quarter(shape, turns):
    """Turned about the origin by quarters, exactly."""
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[turns % 4]
    return affinity.affine_transform(shape, [c, -s, s, c, 0, 0])


def up(value):
    return math.ceil(round(value * 100, 6)) / 100


class Sheet:
    """An offcut and what lies on it: placements are (piece id, quarters, x, y) in the sheet's frame."""

    def __init__(self, outline, placements, defects=()):
        self.outline, self.placements, self.defects = outline, placements, list(defects)

    def area(self):
        return Polygon(self.outline).difference(unary_union([defect_shape(d) for d in self.defects])).area

    def laid(self, rng):
        """The same sheet as somebody else would lay it on the shelf: turned, its box's corner at the origin."""
        turns = rng.randrange(4)
        turn = lambda x, y: quarter(Point(x, y), turns).coords[0]
        x0, y0 = (min(turn(*p)[i] for p in self.outline) for i in (0, 1))
        move = lambda x, y: tuple(round(v, 2) for v in (turn(x, y)[0] - x0, turn(x, y)[1] - y0))
        self.outline = [move(*p) for p in self.outline]
        self.defects = [(kind, move(*data), d) if kind == "circle" else (kind, [move(*p) for p in data], d) for kind, data, d in self.defects]
        self.placements = [(pid, (q + turns) % 4, *move(x, y)) for pid, q, x, y in self.placements]
        return self


def defect_shape(defect):
    kind, data, d = defect
    return Point(data).buffer(d / 2, 64) if kind == "circle" else Polygon(data)


class Shop:
    """Makes sheets for the reaches of pieces."""

    def __init__(self, rng, rules, reaches):
        self.rng, self.rules, self.reaches = rng, rules, reaches

    def slack(self):
        return odd_step(self.rng, self.rng.uniform(*SLACK))

    def size(self, pid, turns):
        x0, y0, x1, y1 = quarter(self.reaches[pid], turns).bounds
        return up(x1 - x0), up(y1 - y0)

    def put(self, pid, turns, x, y):
        """The placement whose box begins at (x, y)."""
        x0, y0, _, _ = quarter(self.reaches[pid], turns).bounds
        return pid, turns, round(x - x0, 2), round(y - y0, 2)

    def box_for(self, pid):
        """Width, height and placement for one piece by its box."""
        m, turns = self.rules.margin, self.rng.randrange(4)
        (w, h), sx, sy = self.size(pid, turns), self.slack(), self.slack()
        return w + 2 * m + sx, h + 2 * m + sy, self.put(pid, turns, m + round(sx / 2, 2), m + round(sy / 2, 2))

    def plain(self, pid):
        w, h, put = self.box_for(pid)
        return Sheet([(0, 0), (w, 0), (w, h), (0, h)], [put])

    def house(self, pid):
        """A box with a fifth corner on one side."""
        w, h, put = self.box_for(pid)
        return Sheet([(0, 0), (w, 0), (w, h), (self.rng.uniform(0.15, 0.85) * w, h + self.rng.uniform(8, 22)), (0, h)], [put])

    def spoiled(self, pid):
        """A box with a strip more, in which a defect lies: a disc, whole or at the edge, or a triangle."""
        w, h, put = self.box_for(pid)
        d = odd_step(self.rng, self.rng.uniform(5, 12))
        x = self.rng.uniform(0.2, 0.8) * w
        if self.rng.random() < 0.3:
            return Sheet([(0, 0), (w, 0), (w, h + d / 2), (0, h + d / 2)], [put], [("outline", [(x, h + 0.02), (x + 20, h + d), (x - 20, h + d)], None)])
        more = d / 2 if self.rng.random() < 0.5 else d + 1.5
        return Sheet([(0, 0), (w, 0), (w, h + more), (0, h + more)], [put], [("circle", (x, h + d / 2 + 0.02), d)])

    def following(self, pid):
        """The piece's own outline grown evenly; its hull where the outline has no straight sides."""
        reach, turns = self.reaches[pid], self.rng.randrange(4)
        shape = reach if len(reach.exterior.coords) <= 13 else reach.convex_hull
        grown_shape = shape.buffer(self.rules.margin + self.slack() / 2, join_style="mitre", mitre_limit=20)
        if len(grown_shape.exterior.coords) > 13:
            return self.plain(pid)
        return Sheet(list(quarter(Polygon(grown_shape.exterior), turns).exterior.coords)[:-1], [(pid, turns, 0.0, 0.0)])

    def side_by_side(self, one, other, q, r):
        """Two pieces beside each other, turned by q and r quarters."""
        m, sx, sy = self.rules.margin, self.slack(), self.slack()
        (w1, h1), (w2, h2) = self.size(one, q), self.size(other, r)
        w, h = w1 + w2 + self.rules.spacing + 2 * m + sx, max(h1, h2) + 2 * m + sy
        x = m + round(sx / 3, 2)
        return Sheet([(0, 0), (w, 0), (w, h), (0, h)],
                     [self.put(one, q, x, m + round(sy / 2, 2)), self.put(other, r, x + w1 + self.rules.spacing + round(sx / 3, 2), m + round(sy / 2, 2))])

    def sloped(self, one, other, q, r):
        """Two pieces beside each other, the second not as high: a sheet with one corner off."""
        m, sx, s1, s2 = self.rules.margin, self.slack(), self.slack(), self.slack()
        (w1, h1), (w2, h2) = self.size(one, q), self.size(other, r)
        x = m + w1 + self.rules.spacing + round(sx / 3, 2)
        w = x + w2 + m + round(2 * sx / 3, 2)
        return Sheet([(0, 0), (w, 0), (w, h2 + 2 * m + s2), (w1 + 2 * m + s1, h1 + 2 * m + s1), (0, h1 + 2 * m + s1)],
                     [self.put(one, q, m + 0.1, m + 0.1), self.put(other, r, x, m + 0.1)])

    def angled(self, one, other, q, r):
        """Two pieces, the narrower on the wider, on an L."""
        m, s1, s2, sx = self.rules.margin, self.slack(), self.slack(), self.slack()
        (w1, h1), (w2, h2) = self.size(one, q), self.size(other, r)
        y = m + h1 + self.rules.spacing + round(s2 / 3, 2)
        w, low, narrow, h = w1 + 2 * m + sx, h1 + 2 * m + s1, w2 + 2 * m + sx, y + h2 + m + round(2 * s2 / 3, 2)
        return Sheet([(0, 0), (w, 0), (w, low), (narrow, low), (narrow, h), (0, h)], [self.put(one, q, m + 0.1, m + 0.1), self.put(other, r, m + 0.1, y)])


def pairs(made, shop, fits, most):
    """Disjoint pairs of pieces of one material for which `fits(one, other, q, r)` holds, in an order that is drawn."""
    rng, owner, found, used = made.rng, made.owner, [], set()
    tries = [(a, b, q, r) for a in owner for b in owner if a != b for q in (0, 1) for r in (0, 1)]
    rng.shuffle(tries)
    for a, b, q, r in tries:
        one, other = owner[a], owner[b]
        if len(found) < most and not {a, b} & used and (one.material, one.thickness) == (other.material, other.thickness) and fits(a, b, q, r):
            found.append((a, b, q, r))
            used |= {a, b}
    return found


def rectangular(shape):
    return shape.area > 0.999 * box(*shape.bounds).area


def shared(made, shop):
    """The sheets that take two pieces, as the kind asks for."""
    rng, size, owner = made.rng, shop.size, made.owner
    if made.base == "pair":
        fits = lambda a, b, q, r: q == r == 0 and owner[a] is not owner[b] and abs(size(a, 0)[1] - size(b, 0)[1]) < 0.05
        make, found = shop.side_by_side, pairs(made, shop, fits, rng.randint(2, max(2, len(owner) // 3)))
    elif made.base == "ell":
        fits = lambda a, b, q, r: 45 < size(a, q)[0] - size(b, r)[0] < 0.6 * size(a, q)[0]
        make, found = shop.angled, pairs(made, shop, fits, rng.randint(1, 3))
    elif made.base == "odd":
        fits = lambda a, b, q, r: 15 < size(a, q)[1] - size(b, r)[1] < 80
        make, found = shop.sloped, pairs(made, shop, fits, rng.randint(0, 2))
    else:
        return [], set()
    if not found and made.base in ("pair", "ell"):
        raise Again
    return [make(*p) for p in found], {pid for p in found for pid in p[:2]}


def single(made, shop, pid, index):
    """The sheet of one piece, as the kind asks for."""
    if made.base == "odd" and made.rng.random() < 0.6:
        return (shop.house, shop.spoiled)[index % 2](pid)
    if not rectangular(shop.reaches[pid]) and (made.base == "ell-step" or made.rng.random() < 0.6):
        return shop.following(pid)
    return shop.plain(pid)


def stock_for(made):
    """The planted sheets, and where the kind asks for them others."""
    rng, rules = made.rng, made.rules
    made.owner = {f"{l.name}-{i + 1}": l for l in made.layers for i in range(len(l.pieces))}
    reaches = {f"{l.name}-{i + 1}": l.reach(rects, rules.depth) for l in made.layers for i, rects in enumerate(l.pieces)}
    shop = Shop(rng, rules, reaches)
    sheets, taken = shared(made, shop)
    sheets += [single(made, shop, pid, i) for i, pid in enumerate(p for p in made.owner if p not in taken)]
    if made.base == "ell-step" and not any(len(s.outline) == 6 for s in sheets):
        raise Again
    for sheet in sheets:
        owner = made.owner[sheet.placements[0][0]]
        sheet.material, sheet.thickness = owner.material, owner.thickness
        price(rng, sheet, 1.0)
        made.sheets.append(sheet.laid(rng))
    if made.kind == "surplus":
        for like in rng.sample(made.sheets, math.ceil(len(made.sheets) / 2)):
            made.sold.append(plausible(rng, like))
    rng.shuffle(made.sheets)


def price(rng, sheet, factor):
    sheet.cost = round(sheet.area() / 1e6 * RATES[sheet.material] * factor * rng.uniform(1 - SCATTER, 1 + SCATTER), 2)


def plausible(rng, like):
    """A sheet somewhat like a planted one, and dearer per area."""
    w, h = (odd_step(rng, max(p[i] for p in like.outline) * rng.uniform(0.8, 1.3)) for i in (0, 1))
    outline = [(0, 0), (w, 0), (w, h), (0, h)]
    if rng.random() < 0.2:
        outline = [(0, 0), (w, 0), (w, round(0.7 * h, 2)), (round(0.6 * w, 2), h), (0, h)]
    sheet = Sheet(outline, [])
    sheet.material, sheet.thickness = like.material, like.thickness
    price(rng, sheet, rng.uniform(1.2, 2.0) / (1 - SCATTER) * (1 + SCATTER))
    return sheet


def fallback(made):
    """Full sheets that take 70 % of a layer each way, four for each layer, twice as dear per area."""
    for material, thickness in sorted({(l.material, l.thickness) for l in made.layers}):
        w, h = (math.ceil((0.7 * side + 2 * made.rules.margin + made.rules.depth) / 10) * 10 for side in made.size)
        sheet = Sheet([(0, 0), (w, 0), (w, h), (0, h)], [])
        sheet.material, sheet.thickness = material, thickness
        sheet.cost = round(w * h / 1e6 * RATES[material] * 2, 2)
        sheet.quantity = 4 * sum((l.material, l.thickness) == (material, thickness) for l in made.layers)
        made.full.append(sheet)


# ---- files --------------------------------------------------------------------------------------------------------------
def dxf_of(layer):
    """The layer as a DXF of R12: one closed polyline for the outline, and the hole."""
    pairs_out = [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (9, "$INSUNITS"), (70, 4), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]

    def polyline(points):
        pairs_out.extend([(0, "POLYLINE"), (8, "0"), (66, 1), (70, 1), (10, 0.0), (20, 0.0), (30, 0.0)])
        for x, y in points:
            pairs_out.extend([(0, "VERTEX"), (8, "0"), (10, float(x)), (20, float(y)), (30, 0.0)])
        pairs_out.extend([(0, "SEQEND"), (8, "0")])

    polyline(layer.outline)
    if layer.hole is not None and isinstance(layer.hole[0], (tuple, list)):
        polyline(layer.hole)
    elif layer.hole is not None:
        x, y, d = layer.hole
        pairs_out.extend([(0, "CIRCLE"), (8, "0"), (10, x), (20, y), (30, 0.0), (40, d / 2)])
    pairs_out.extend([(0, "ENDSEC"), (0, "EOF")])
    return "".join(f"{code:>3}\n{value}\n" for code, value in pairs_out)


def job_toml(made, title):
    width, height = made.size
    lines = [f'title = "{title}"', 'stock = "stock.toml"', "", "[fixture]", f"size = [{width}, {height}]", ""]
    if made.screws:
        holes = ", ".join(f'{{ at = [{x}, {y}], thread = "M6" }}' for x, y in made.screws)
        lines += ["[bed]", f"size = [{width}, {height}]", f"locating = [ {holes} ]", ""]
    for layer in made.layers:
        lines += ["[[layer]]", f'name = "{layer.name}"', f'material = "{layer.material}"', f"thickness = {layer.thickness:g}"]
        if not layer.plain():
            lines.append(f'drawing = "{layer.name}.dxf"')
        if made.screws:
            lines.append(f'features = ["{"locating" if layer.place == 0 else "relief"}"]')
        lines.append("")
    lines += ["[seams]", f'pattern = "{made.pattern}"']
    if made.teeth:
        lines += [f"tooth = {made.teeth[0]:g}", f"depth = {made.teeth[1]:g}"]
    lines += ["", "[cutter]", 'kind = "laser"', "kerf = 0.16"]
    lines += [f"spacing = {made.spacing:g}"] if made.spacing else []
    lines += [f"edge_margin = {made.margin:g}"] if made.margin else []
    return "\n".join(lines) + "\n"


def point(p):
    return f"[{p[0]:.2f}, {p[1]:.2f}]"


def sheet_toml(sheet):
    lines = ["[[sheet]]", f'id = "{sheet.id}"', f'material = "{sheet.material}"', f"thickness = {sheet.thickness:g}"]
    if rectangular(Polygon(sheet.outline)):
        lines.append(f"size = {point((max(p[0] for p in sheet.outline), max(p[1] for p in sheet.outline)))}")
    else:
        lines.append(f"outline = [{', '.join(point(p) for p in sheet.outline)}]")
    if sheet.defects:
        texts = [f"{{ circle = {d:.2f}, at = {point(data)} }}" if kind == "circle" else f"{{ outline = [{', '.join(map(point, data))}] }}"
                 for kind, data, d in sheet.defects]
        lines.append(f"defects = [ {', '.join(texts)} ]")
    if getattr(sheet, "quantity", 1) != 1:
        lines.append(f"quantity = {sheet.quantity}")
    return "\n".join([*lines, f"cost = {sheet.cost:.2f}", ""])


def planted_json(made, number, seed):
    area = sum(l.shape().area for l in made.layers)
    layers = [{"name": l.name, "pieces": [{"id": f"{l.name}-{i + 1}", "rectangles": rects} for i, rects in enumerate(l.pieces)],
               "lines": [{"runs": runs, "points": points} for runs, points in l.lines]} for l in made.layers]
    assignment = [{"piece": pid, "sheet": s.id, "rotation": 90 * q, "x": x, "y": y} for s in made.sheets for pid, q, x, y in s.placements]
    return {"kind": made.kind if made.kind == made.base else f"{made.kind}:{made.base}", "pattern": made.pattern, "number": number, "seed": seed,
            "cost": round(sum(s.cost for s in made.sheets), 2), "sheets": len(made.sheets), "pieces": len(made.owner),
            "fill": round(area / sum(s.area() for s in made.sheets), 4), "layers": layers,
            "assignment": sorted(assignment, key=lambda a: a["piece"])}


def make(number, seed, kind, pattern, full):
    """Job `number`: drawn again from its own stream until a draw leads somewhere."""
    rng = random.Random(f"{seed}/{kind}/{pattern}/{number}")
    others = ("grid", "tee", "pair", "ell", "ell-step", "odd", "cut")
    turn = number // len(KINDS)
    base = others[turn % len(others)] if kind == "surplus" else ("ell", "ell-step")[turn % 2] if kind == "ell" else kind
    for _ in range(3000):
        try:
            made = draw(rng, base, pattern)
            made.kind = kind if kind == "surplus" else base
            stock_for(made)
        except Again:
            continue
        if full:
            fallback(made)
        offered = [*made.sheets, *made.sold]
        rng.shuffle(offered)
        for i, sheet in enumerate([*offered, *made.full]):
            sheet.id = f"{'offcut' if i < len(offered) else 'full'}-{i + 1:02}"
        made.offered = offered
        return made
    raise SystemExit(f"no job of kind {kind} came about in 3000 draws")


def write(made, number, seed, folder):
    os.makedirs(folder)
    files = {"job.toml": job_toml(made, f"Planted {number:03}, {made.kind}"), "stock.toml": "\n".join(map(sheet_toml, [*made.offered, *made.full])),
             "planted.json": json.dumps(planted_json(made, number, seed), indent=1) + "\n"}
    files |= {f"{l.name}.dxf": dxf_of(l) for l in made.layers if not l.plain()}
    for name, text in files.items():
        with open(os.path.join(folder, name), "w", encoding="utf-8", newline="\n") as f:
            f.write(text)


def write_all(out, count, seed, patterns, kinds, full):
    """Jobs one after the other: kinds in turn, patterns in turn within each kind."""
    for number in range(count):
        kind, pattern = kinds[number % len(kinds)], patterns[number // len(kinds) % len(patterns)]
        made = make(number, seed, kind, pattern, full)
        write(made, number, seed, os.path.join(out, f"{number:03}-{made.kind}-{pattern}"))


def main():
    a = argparse.ArgumentParser(description="Makes jobs with a planted solution.")
    a.add_argument("out", nargs="?")
    a.add_argument("--count", type=int, default=100)
    a.add_argument("--seed", type=int, default=1)
    a.add_argument("--pattern", default="straight", help="one of " + ", ".join(PATTERNS) + ", or several with commas: in turn")
    a.add_argument("--kind", default=",".join(KINDS))
    a.add_argument("--fallback", action="store_true")
    a.add_argument("--check", action="store_true")
    a.add_argument("--self-test", action="store_true")
    a = a.parse_args()
    patterns, kinds = a.pattern.split(","), a.kind.split(",")
    if not (a.out or a.self_test) or set(patterns) - set(PATTERNS) or set(kinds) - set(KINDS):
        raise SystemExit(__doc__)
    from planted_check import check_all, self_test
    if a.self_test:
        return self_test(write_all)
    if not a.check:
        if os.path.exists(a.out) and os.listdir(a.out):
            raise SystemExit(f"{a.out} holds something already: name a new folder")
        write_all(a.out, a.count, a.seed, patterns, kinds, a.fallback)
    return check_all(a.out)


if __name__ == "__main__":
    sys.exit(main())
