#!/usr/bin/env python3
"""Judges booleans and offsets of random pairs of regions with Shapely, with nothing of the program itself.

    check_pairs.py FILE                 each line of FILE: a pair, its union, intersection and difference, the first one grown
                                        and shrunk, as tests/all/random_pairs.rs writes them
    check_pairs.py --self-test FILE     damages some of the results, and demands that each damage is noticed

A ring is a list of edges [x, y] or [x, y, centre x, centre y, radius, 1 or -1], each from its point to the next one's, 1 for
counter-clockwise. Arcs are flattened here, all at the same angles of their circle, so that what lies on one circle has the
same chords. Prints the figures of each family and a line for each disagreement; ends with 1 if there are any.

A result must be given; its rings must be valid, but for crossings no wider than a rounding where it touches itself; and
  booleans   differ from Shapely's, computed on a grid of 1e-6 mm, by no more than ROUNDING a mm of both outlines in area of the
             symmetric difference, plus CHORD along one chord at each end of an arc that is a crossing. Parts and holes of
             less than SLIVER are taken out of Shapely's result first, here and below: the program says that it drops them.
             Parts that hang together by a neck narrower than 4 CHORD count one by one.
  offsets    run at the distance from the true edges of the first shape, to LEVEL, in three to nine points of each edge; and
             have the rings of Shapely's buffer, each as large to CHORD along it, or where they differ from the buffer by more
             than SPECK, the true distance of a point there says that they are right. A buffer by itself would be a blunt
             judge: it leaves out dents shallower than a hundredth of the distance (GEOS, from memory). So would the
             distance: it does not tell that a part is missing.

Reasons. ROUNDING: either side moves each point by up to 0.71e-6 mm when it rounds to its grid; both together 1.5e-6. CHORD: a
crossing lies on chords there and on arcs here. At an end of an arc, the last chord differs by at most CHORD along its
length √(8 · radius · CHORD), on both sides of it. LEVEL: two points within 2e-6 mm are one for the program, so that a point of
a result may lie that far from where it should, and the edge through it too; twice that, for an edge has two ends.
TOUCH: at a touching rounding may make rings overlap, by 2e-6 mm along the outline at most. SPECK: an area of chord error and
rounding along a millimetre."""
import itertools, json, math, multiprocessing, os, sys
from collections import defaultdict

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

CHORD = 1e-4
ROUNDING = 1.5e-6
LEVEL = 4e-6
TOUCH = 2e-6
SLIVER = 1e-3
SPECK = 1e-4
GRID = 1e-6
BOOLEANS = {"union": shapely.union, "common": shapely.intersection, "rest": shapely.difference}
OFFSETS = {"grown": 1, "shrunk": -1}


def n_chords(radius, chord=CHORD):
    half = math.acos(1 - chord / radius) if chord < radius else math.pi / 4
    return max(8, math.ceil(math.pi / half))


def turn(x, y, end, cx, cy, way):
    """Where an arc begins, and the angle it turns through, above 0 whichever way it runs."""
    begin = math.atan2(y - cy, x - cx)
    return begin, (math.atan2(end[1] - cy, end[0] - cx) - begin) * way % math.tau


def flatten(ring, chord=CHORD):
    points = []
    for i, edge in enumerate(ring):
        points.append((edge[0], edge[1]))
        if len(edge) == 2:
            continue
        x, y, cx, cy, radius, way = edge
        begin, sweep = turn(x, y, ring[(i + 1) % len(ring)], cx, cy, way)
        n = n_chords(radius, chord)
        step = math.tau / n
        # Cuts nearer than a thousandth of a step to an end are left out.
        if way > 0:
            cuts = np.arange(math.floor(begin / step + 1e-3) + 1, math.ceil((begin + sweep) / step - 1e-3))
        else:
            cuts = np.arange(math.ceil(begin / step - 1e-3) - 1, math.floor((begin - sweep) / step + 1e-3), -1)
        angles = (cuts % n) * step
        points.extend(np.column_stack((cx + radius * np.cos(angles), cy + radius * np.sin(angles))).tolist())
    return points


def shape(regions):
    rings = [[shapely.linearrings(np.array(flatten(ring))) for ring in region] for region in regions]
    return MultiPolygon([Polygon(outer, holes) for outer, *holes in rings])


def areas(geometry):
    """The polygons of a geometry, without lines, points and what is empty."""
    parts = shapely.get_parts(geometry)
    return list(parts[shapely.area(parts) > 0])


def is_sliver(part, result):
    """Whether a part, or the inside of a hole, may be missing; where the result has it, it is none."""
    if part.area >= 10 * SLIVER:
        return False
    if part.area < SLIVER:
        return True
    inner = areas(part.buffer(-2 * CHORD))
    return bool(inner) and all(p.area < SLIVER and not shapely.contains(result, p.representative_point()) for p in inner)


def hangs_by_a_neck(sliver, result):
    """Whether little of a sliver that was dropped, or filled in, lies next to what it was cut from."""
    if shapely.contains(result, sliver.representative_point()):
        result = shapely.difference(shapely.box(*result.bounds).buffer(1), result)
    return shapely.intersection(sliver, shapely.buffer(result, 2 * CHORD)).area < sliver.area / 10


def without_slivers(geometry, result):
    kept = []
    for part in areas(geometry):
        if not is_sliver(part, result):
            holes = [Polygon(h) for h in part.interiors]
            is_small = any(h.area < 10 * SLIVER for h in holes)
            gaps = shapely.difference(Polygon(part.exterior), result) if is_small else None
            kept.append(Polygon(part.exterior, [h.exterior for h in holes if not is_sliver(h, gaps)]))
    kept = MultiPolygon(kept)
    return kept if kept.is_valid else shapely.make_valid(kept)


def room_of_ends(regions, given):
    """What chords may change in area at those ends of arcs that are no vertices of the pair."""
    room = 0
    for ring in (ring for region in regions for ring in region):
        for i, edge in enumerate(ring):
            if len(edge) > 2:
                x, y, cx, cy, radius, way = edge
                end = ring[(i + 1) % len(ring)]
                length = min(radius * turn(x, y, end, cx, cy, way)[1], math.sqrt(8 * max(radius, CHORD) * CHORD))
                room += 2 * CHORD * length * sum(place(p) not in given for p in (edge, end))
    return room


def place(edge):
    return round(edge[0], 5), round(edge[1], 5)


def are_alike(result, theirs):
    """Whether both have as many rings, each of the area of its like to the error of chords and rounding along it."""
    sizes = []
    for geometry in (result, theirs):
        rings = shapely.get_rings(areas(geometry))
        size = np.column_stack((shapely.area(shapely.polygons(rings)), shapely.length(rings)))
        sizes.append(size[np.argsort(size[:, 0])])
    ours, others = sizes
    return len(ours) == len(others) and bool(np.all(np.abs(ours - others)[:, 0] <= CHORD * ours[:, 1]))


def boxes(edges, grown=0.0):
    ax, ay, bx, by = edges[:, :4].T
    low, high = (np.minimum(ax, bx) - grown, np.minimum(ay, by) - grown), (np.maximum(ax, bx) + grown, np.maximum(ay, by) + grown)
    return shapely.box(*low, *high)


class Outline:
    """True edges, and the true distance of points from them."""

    def __init__(self, regions):
        lines, arcs = [], []
        for ring in (ring for region in regions for ring in region):
            for i, edge in enumerate(ring):
                end = ring[(i + 1) % len(ring)]
                if len(edge) == 2:
                    lines.append([*edge, *end[:2]])
                else:
                    x, y, cx, cy, radius, way = edge
                    begin, sweep = turn(x, y, end, cx, cy, way)
                    # Counter-clockwise from `first` through `sweep`.
                    first = begin if way > 0 else begin - sweep
                    arcs.append([x, y, *end[:2], cx, cy, radius, first, sweep])
        self.lines, self.arcs = np.array(lines).reshape(-1, 4), np.array(arcs).reshape(-1, 9)
        self.line_tree = shapely.STRtree(boxes(self.lines))
        # No point of an arc lies farther from its chord than this, up to half a circle and beyond.
        ax, ay, bx, by, _, _, radius, _, sweep = self.arcs.T
        self.arc_tree = shapely.STRtree(boxes(self.arcs, radius * (1 - np.cos(sweep / 2))))

    def distances(self, points, reach):
        """Distances up to `reach`; what lies farther away has none."""
        x, y = np.asarray(points).reshape(-1, 2).T
        best = np.full(len(x), np.inf)
        near = shapely.box(x - reach, y - reach, x + reach, y + reach)
        for edges, tree, distance in ((self.lines, self.line_tree, to_lines), (self.arcs, self.arc_tree, to_arcs)):
            i, k = tree.query(near)
            np.minimum.at(best, i, distance(x[i], y[i], *edges[k].T))
        return best


def to_lines(x, y, ax, ay, bx, by):
    ux, uy = bx - ax, by - ay
    share = np.clip(((x - ax) * ux + (y - ay) * uy) / (ux * ux + uy * uy), 0, 1)
    return np.hypot(x - ax - share * ux, y - ay - share * uy)


def to_arcs(x, y, ax, ay, bx, by, cx, cy, radius, first, sweep):
    ends = np.minimum(np.hypot(x - ax, y - ay), np.hypot(x - bx, y - by))
    beside = (np.arctan2(y - cy, x - cx) - first) % math.tau <= sweep
    return np.where(beside, np.abs(np.hypot(x - cx, y - cy) - radius), ends)


def shares(length):
    return min(9, 3 + math.floor(length / 0.5))


def points_of(regions):
    """Points along each edge: where it begins and two to eight shares, the more the longer it is."""
    points = []
    for ring in (ring for region in regions for ring in region):
        for i, edge in enumerate(ring):
            end = ring[(i + 1) % len(ring)]
            if len(edge) == 2:
                n = shares(math.dist(edge, end[:2]))
                points += [(edge[0] + k / n * (end[0] - edge[0]), edge[1] + k / n * (end[1] - edge[1])) for k in range(n)]
            else:
                x, y, cx, cy, radius, way = edge
                begin, sweep = turn(x, y, end, cx, cy, way)
                n = shares(radius * sweep)
                points.append((x, y))
                points += [(cx + radius * math.cos(begin + way * k / n * sweep),
                            cy + radius * math.sin(begin + way * k / n * sweep)) for k in range(1, n)]
    return points


def mended_of(result):
    """What rings cover of which some overlap by a rounding: each outer one less its holes, all together. `make_valid` of the
    whole fills a hole whose corner lies on its outline but for that, and makes 91 mm2 of 1e-6."""
    def covered(ring):
        alone = Polygon(ring)
        return alone if alone.is_valid else shapely.make_valid(alone)
    parts = [shapely.difference(covered(p.exterior), shapely.union_all([covered(h) for h in p.interiors])) for p in result.geoms]
    return shapely.union_all(parts)


class Judge:
    """Looks at one case; `faults` are sentences, `figures` (name, share of what is admitted) pairs."""

    def __init__(self, case):
        self.case, self.faults, self.figures, self.counts = case, [], [], defaultdict(int)
        self.first, self.second = shape(case["a"]), shape(case["b"])
        for what, given in (("a", self.first), ("b", self.second)):
            if not given.is_valid:
                self.faults.append(f"{what} is no valid input: {shapely.is_valid_reason(given)}")
        self.length = self.first.length + self.second.length
        self.outline = Outline(case["a"])
        self.given = {place(e) for what in "ab" for region in case[what] for ring in region for e in ring}
        for what in (*BOOLEANS, *OFFSETS):
            self.counts["results"] += 1
            if case[what] is None:
                self.counts["given up"] += 1
                self.faults.append(f"{what} was given up")
                continue
            result = self.valid(what, shape(case[what]))
            (self.boolean if what in BOOLEANS else self.offset)(what, result)

    def demand(self, what, measured, admitted):
        self.figures.append((what, measured / admitted))
        if not measured <= admitted:
            self.faults.append(f"{what}: {measured:.3e}, admitted {admitted:.3e}")

    def valid(self, what, result):
        if result.is_valid:
            return result
        self.counts["touching"] += 1
        mended = mended_of(result)
        # Rings that cross or lie wrong cover another area than their own areas say.
        self.demand("validity", abs(mended.area - result.area), TOUCH * result.length)
        return mended

    def boolean(self, what, result):
        theirs = without_slivers(BOOLEANS[what](self.first, self.second, grid_size=GRID), result)
        admitted = ROUNDING * self.length + room_of_ends(self.case[what], self.given)
        apart = shapely.symmetric_difference(result, theirs)
        if apart.area > admitted:
            hanging = [p for p in areas(apart) if ROUNDING < p.area < SLIVER and hangs_by_a_neck(p, result)]
            self.counts["slivers at necks"] += len(hanging)
            admitted += sum(p.area for p in hanging)
        self.demand("booleans", apart.area, admitted)
        self.demand("areas", abs(result.area - theirs.area), admitted)

    def offset(self, what, result):
        by = OFFSETS[what] * self.case["by"]
        points = points_of(self.case[what])
        if points:
            self.demand("level", np.abs(self.outline.distances(points, abs(by) + 0.01) - abs(by)).max(), LEVEL)
            if np.any(shapely.contains_xy(self.first, points) != (by < 0)):
                self.faults.append(f"{what} lies on the wrong side of the outline")
        quarter = math.ceil(n_chords(abs(by)) / 4)
        theirs = without_slivers(self.first.buffer(by, quad_segs=quarter), result)
        if are_alike(result, theirs):
            return
        self.counts["offsets gone into"] += 1
        specks = [p.representative_point() for p in areas(shapely.symmetric_difference(result, theirs)) if p.area > SPECK]
        if not specks:
            return
        away = self.outline.distances([(p.x, p.y) for p in specks], abs(by) + 0.01)
        inside = shapely.contains(self.first, specks)
        reached = np.where(inside, -away, away) - by
        # Farther than the chords' error from the edge a point must be on its side.
        wrong = (shapely.contains(result, specks) != (reached < 0)) & (np.abs(reached) > 2 * CHORD)
        for point in np.array(specks)[wrong]:
            self.faults.append(f"{what} by {by}: wrong at ({point.x:.4f}, {point.y:.4f})")


def look(line):
    case = json.loads(line)
    judge = Judge(case)
    where = f"{case['family']}, round {case['round']}"
    return case["family"], [f"{where}: {f}" for f in judge.faults], judge.figures, dict(judge.counts)


def check(path):
    families, n_faults = {}, 0
    with open(path) as file, multiprocessing.Pool(os.cpu_count()) as pool:
        for family, faults, figures, counts in pool.imap(look, file, chunksize=20):
            of = families.setdefault(family, (defaultdict(int), defaultdict(float)))
            of[0]["pairs"] += 1
            for name, count in counts.items():
                of[0][name] += count
            for name, share in figures:
                of[1][name] = max(of[1][name], share)
            for fault in faults:
                print(fault)
            of[0]["faults"] += len(faults)
            n_faults += len(faults)
    print("worst figures as shares of what is admitted")
    for family, (counts, worst) in families.items():
        print(f"{family}: " + ", ".join(f"{count} {name}" for name, count in counts.items()) + "; "
              + ", ".join(f"{name} {share:.2f}" for name, share in sorted(worst.items())))
    print(f"{sum(f[0]['pairs'] for f in families.values())} pairs, {sum(f[0]['results'] for f in families.values())} results, "
          f"{n_faults} disagreements")
    return n_faults


def moved(regions, by):
    return [[[[e[0] + by, e[1], *([e[2] + by, *e[3:]] if len(e) > 2 else [])] for e in ring] for ring in region]
            for region in regions]


def damages(case):
    """Copies of a case, each with a damage, and what was done."""
    for what in (*BOOLEANS, *OFFSETS):
        good = case[what]
        if not good:
            if what in BOOLEANS:
                yield f"{what} becomes the first", {**case, what: case["a"]}
            continue
        yield f"{what} given up", {**case, what: None}
        yield f"{what} moved by 1e-4 mm", {**case, what: moved(good, 1e-4)}
        if shape(good[:1]).area > 2 * SLIVER:
            yield f"{what} lacks a part", {**case, what: good[1:]}
        if what in OFFSETS:
            yield f"{what} not moved at all", {**case, what: case["a"]}
            other = "shrunk" if what == "grown" else "grown"
            yield f"{what} moved the other way", {**case, what: case[other]}
        for i, region in enumerate(good):
            if len(region) > 1 and shape([[region[-1]]]).area > 2 * SLIVER:
                yield f"{what} lacks a hole", {**case, what: [*good[:i], region[:-1], *good[i + 1:]]}
                break
        ring = good[0][0]
        k = next((k for k in range(len(ring)) if len(ring[k]) == len(ring[k - 1]) == 2), None)
        if k is not None:
            bent = [*ring[:k], [ring[k][0] + 0.01, ring[k][1] + 0.01], *ring[k + 1:]]
            apart = Polygon(flatten(bent)).symmetric_difference(Polygon(flatten(ring))).area if Polygon(flatten(bent)).is_valid else 1
            # Short edges hardly change anything when a corner moves.
            if apart > 1e-3:
                yield f"{what} has a corner moved by 0.014 mm", {**case, what: [[bent, *good[0][1:]], *good[1:]]}


def miss(line):
    """How many damages were done to a case, and which of them were not noticed."""
    case = json.loads(line)
    if Judge(case).faults:
        return 0, []
    done = [(what, bool(Judge(damaged).faults)) for what, damaged in damages(case)]
    return len(done), [f"{case['family']}, round {case['round']}: {what}" for what, noticed in done if not noticed]


def self_test(path):
    n_damages, missed = 0, []
    with open(path) as file, multiprocessing.Pool(os.cpu_count()) as pool:
        for n, lines in pool.imap(miss, itertools.islice(file, 0, None, 197)):
            n_damages += n
            missed += lines
    for line in missed:
        print(f"not noticed: {line}")
    print(f"self-test: {n_damages - len(missed)} of {n_damages} damages noticed")
    return len(missed) + (n_damages == 0)


if __name__ == "__main__":
    if sys.argv[1] == "--self-test":
        sys.exit(1 if self_test(sys.argv[2]) else 0)
    sys.exit(1 if check(sys.argv[1]) else 0)
