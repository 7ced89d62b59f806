#!/usr/bin/env python3
"""Judges layers that were split along seams with Shapely, with nothing of the program itself.

    check_seams.py FILE                 each line of FILE: a layer, its pieces as drawn and as finished, its seams, as
                                        tests/all/seam_properties/patterns.rs writes them
    check_seams.py --self-test FILE     damages some of the lines, and demands that each damage is noticed

Rings and seams are lists of edges as in check_pairs.py; a seam's list ends with its last point. Prints figures for each pattern
and a line for each fault; ends with 1 if there are any. Of each layer

  tiling     the pieces are valid, one area each, do not overlap and cover the layer, to ROUNDING a mm of outline
  gap        the finished pieces are the layer less a band of half the gap on both sides of every seam
  necks      a piece whose rim is taken off by half of `min_web` stays in one part, where the size of teeth is not asked for
  clear      teeth keep `min_web` from every edge of the layer, and seams `keep_clear` from locating holes
  side       teeth leave the base line to their side only, and no farther than is told
  radii      every arc has the least radius and half the gap; edges join without a corner
  play       two pieces of a plain plate are moved in 16 directions: by 0.9 of what normals of the seam admit, gap / (−n·way)
             (first order, the closed forms of play for straight faces), they do not meet; by twice that they do. Dovetails and
             knobs hold in all 16, straight seams in none that opens them, the others as their flanks stand

Reasons. CHORD: arcs are flattened to it, all at the same angles of their circle, so that faces that share an arc share its
chords, but for the one at a crossing; drawn in, they do not, and the band's own rounding adds as much: LEVEL. ROUNDING: see
check_pairs.py; twice, for outlines of two pieces."""
import json, math, multiprocessing, os, sys
from collections import defaultdict

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.affinity import translate

from check_pairs import ROUNDING, flatten, turn

CHORD = 1e-3
# A crumb left where a rim is taken off.
CRUMB = 0.5
# Along a flattened curve, and in what an offset of one is off.
LEVEL = 2 * CHORD
HELD = {"dovetail", "knob"}


def polygons(regions):
    return [Polygon(flatten(rings[0], CHORD), [flatten(r, CHORD) for r in rings[1:]]) for rings in regions]


def parts_of(geometry):
    return [p for p in getattr(geometry, "geoms", [geometry]) if p.geom_type == "Polygon" and p.area > CRUMB]


def tangents(edges):
    """Directions of travel at both ends of each edge, as angles."""
    out = []
    for a, b in zip(edges, edges[1:]):
        if len(a) == 2:
            way = math.atan2(b[1] - a[1], b[0] - a[0])
            out.append((way, way))
        else:
            x, y, cx, cy, _, ccw = a
            begin, sweep = turn(x, y, b, cx, cy, ccw)
            first = begin + ccw * math.pi / 2
            out.append((first, first + ccw * sweep))
    return out


class Judge:
    """Looks at one layer; `faults` are sentences, `figures` (name, share of what is admitted) pairs."""

    def __init__(self, case):
        self.case, self.faults, self.figures = case, [], []
        self.layer = shapely.union_all(polygons(case["layer"]))
        self.pieces, self.finished = polygons(case["pieces"]), polygons(case["finished"])
        self.lines = [LineString(flatten(s["edges"], CHORD)) for s in case["seams"]]
        self.length = self.layer.length + sum(p.length for p in self.pieces)
        self.tiling()
        if not self.faults:
            self.gap()
            self.necks()
        for seam, line in zip(case["seams"], self.lines):
            self.clear(seam, line)
            self.side(seam, line)
            self.radii(seam)
        if len(self.lines) == 1 and len(self.pieces) == 2 and case["gap"] > 0 and case["case"] % 6 == 5:
            self.play(case["seams"][0])

    def demand(self, what, measured, admitted):
        self.figures.append((what, measured / admitted))
        if not measured <= admitted:
            self.faults.append(f"{what}: {measured:.3e}, admitted {admitted:.3e}")

    def tiling(self):
        for k, piece in enumerate(self.pieces + self.finished):
            if not piece.is_valid:
                self.faults.append(f"piece {k} is not valid: {shapely.is_valid_reason(piece)}")
        if self.faults:
            return
        admitted = 2 * ROUNDING * self.length + CHORD
        covered = shapely.union_all(self.pieces)
        self.demand("uncovered or outside", shapely.symmetric_difference(covered, self.layer).area, admitted)
        self.demand("overlap", sum(p.area for p in self.pieces) - covered.area, admitted)

    def gap(self):
        gap = self.case["gap"]
        made = shapely.union_all(self.finished)
        if gap == 0:
            self.demand("finished without a gap", shapely.symmetric_difference(made, shapely.union_all(self.pieces)).area,
                        2 * ROUNDING * self.length + CHORD)
            return
        bands = shapely.union_all([line.buffer(gap / 2, quad_segs=32) for line in self.lines])
        apart = shapely.symmetric_difference(made, self.layer.difference(bands))
        seams = sum(line.length for line in self.lines)
        # Beside a seam's end that meets an edge askew, either side may be cleared about the end by as much as the gap.
        self.demand("gap", apart.area, CHORD * (2 * seams + self.length / 20) + 0.1 * gap * gap * 2 * len(self.lines))
        for k, a in enumerate(self.finished):
            for b, whole in zip(self.finished[:k], self.pieces):
                if self.pieces[k].intersection(whole).length > 1:
                    self.demand("faces off the gap", abs(a.distance(b) - gap), 2 * LEVEL)

    def necks(self):
        if self.case["asked"]:
            return
        for k, piece in enumerate(self.pieces):
            parts = parts_of(piece.buffer(-self.case["min_web"] / 2 + 0.01, quad_segs=32))
            if len(parts) > 1:
                p = min(parts, key=lambda p: p.area).representative_point()
                self.faults.append(f"piece {k} has a neck below min_web: ({p.x:.2f}, {p.y:.2f}) hangs by it")

    def base(self, seam):
        return seam["edges"][0][0 if seam["runs"] == "y" else 1]

    def clear(self, seam, line):
        xy = shapely.get_coordinates(line.segmentize(0.5))
        off = np.abs(xy[:, 0 if seam["runs"] == "y" else 1] - self.base(seam))
        teeth = xy[off > 0.01]
        if len(teeth):
            near = shapely.distance(shapely.points(teeth), self.layer.boundary).min()
            self.demand("teeth too near to an edge", max(0.0, self.case["min_web"] - near), LEVEL)
        elif seam["pattern"] != "straight":
            self.faults.append(f"a seam is told to be {seam['pattern']} and is straight")
        for x, y, diameter in self.case["holes"]:
            near = line.distance(Point(x, y)) - diameter / 2
            self.demand("seam too near to a hole", max(0.0, self.case["keep_clear"] - near), LEVEL)

    def side(self, seam, line):
        x0, y0, x1, y1 = line.bounds
        low, high = (x0, x1) if seam["runs"] == "y" else (y0, y1)
        low, high = self.base(seam) - low, high - self.base(seam)
        wrong, right = (low, high) if self.case["plus"] else (high, low)
        self.demand("teeth on the wrong side", wrong, 1e-6)
        self.demand("teeth reach too far", max(0.0, right - self.case["depth"]), 1e-6)
        if (right > 1) != (seam["pattern"] != "straight"):
            self.faults.append(f"a seam is told to be {seam['pattern']} and reaches {right:.3f}")
        if seam["pattern"] not in ("straight", self.case["pattern"]):
            self.faults.append(f"a seam is told to be {seam['pattern']}, the layer's pattern is {self.case['pattern']}")

    def radii(self, seam):
        least = self.case["corner_radius"] + self.case["gap"] / 2
        for edge in seam["edges"]:
            if len(edge) > 2:
                self.demand("radius too small", max(0.0, least - edge[4]), 1e-9)
                self.demand("an end off its circle", abs(math.dist(edge[:2], edge[2:4]) - edge[4]), 2e-6)
        ways = tangents(seam["edges"])
        for (_, out), (back, _) in zip(ways, ways[1:]):
            self.demand("a corner", abs(math.remainder(back - out, math.tau)), 1e-6)

    def play(self, seam):
        """Normals point from the piece at smaller positions to the other, which is the one that moves."""
        gap, along = self.case["gap"], seam["runs"] == "y"
        upper = max((0, 1), key=lambda k: self.finished[k].centroid.coords[0][0 if along else 1])
        moved, still = self.finished[upper], self.finished[1 - upper]
        normals = []
        for begin, end in tangents(seam["edges"]):
            for way in np.linspace(begin, end, 100 if begin != end else 1):
                normals.append((math.sin(way), -math.cos(way)) if along else (-math.sin(way), math.cos(way)))
        held = 0
        for k in range(16):
            way = (math.cos(k * math.tau / 16), math.sin(k * math.tau / 16))
            against = max(-(n[0] * way[0] + n[1] * way[1]) for n in normals)
            over = lambda by: translate(moved, way[0] * by, way[1] * by).intersection(still).area
            if against < 0.02:
                self.demand(f"held where {seam['pattern']} is free", over(3.0), 1e-2)
                continue
            held += 1
            self.demand("held before the play is used up", over(0.9 * gap / against), 1e-2)
            if over(2 * gap / against) < 1e-2:
                self.faults.append(f"{seam['pattern']} does not hold along {way} by {gap / against:.4f}")
        expected = {"straight": 7, "wave": (8, 15), "zigzag": (8, 13), "finger": 15, "dovetail": 16, "knob": 16}[seam["pattern"]]
        low, high = expected if isinstance(expected, tuple) else (expected, expected)
        if not low <= held <= high:
            self.faults.append(f"{seam['pattern']} holds in {held} of 16 directions")
        self.figures.append((f"directions held by {seam['pattern']}", held))


def look(line):
    case = json.loads(line)
    judge = Judge(case)
    where = f"layer {case['case']}, {case['pattern']}"
    toothed = any(s["pattern"] != "straight" for s in case["seams"])
    return case["pattern"], toothed, [f"{where}: {f}" for f in judge.faults], judge.figures


def check(path):
    patterns, n_faults = {}, 0
    with open(path) as file, multiprocessing.Pool(os.cpu_count()) as pool:
        for pattern, toothed, faults, figures in pool.imap(look, file, chunksize=10):
            of = patterns.setdefault(pattern, [0, 0, defaultdict(float)])
            of[0] += 1
            of[1] += toothed
            for name, share in figures:
                of[2][name] = max(of[2][name], share)
            for fault in faults:
                print(fault)
            n_faults += len(faults)
    print("worst figures as shares of what is admitted")
    for pattern, (n, toothed, worst) in patterns.items():
        print(f"{pattern}: {n} layers, {toothed} with teeth; " + ", ".join(f"{name} {share:.2f}" for name, share in sorted(worst.items())))
    print(f"{sum(p[0] for p in patterns.values())} layers, {n_faults} faults")
    return n_faults + (not patterns)


def shifted(regions, by):
    return [[[[e[0] + by, e[1], *([e[2] + by, *e[3:]] if len(e) > 2 else [])] for e in ring] for ring in region]
            for region in regions]


def damages(case):
    """Copies of a case, each with a damage, and what was done."""
    pieces, finished = case["pieces"], case["finished"]
    yield "a piece is lost", {**case, "pieces": pieces[1:], "finished": finished[1:]}
    yield "a piece moved by 0.05 mm", {**case, "pieces": [*shifted(pieces[:1], 0.05), *pieces[1:]]}
    yield "two pieces are one and the same", {**case, "pieces": [pieces[0], *pieces[:-1]]}
    if case["gap"] > 0:
        yield "no gap is cut", {**case, "finished": pieces}
        yield "a finished piece moved by 0.02 mm", {**case, "finished": [*shifted(finished[:1], 0.02), *finished[1:]]}
        yield "twice the gap is told", {**case, "gap": 2 * case["gap"]}
    for k, seam in enumerate(case["seams"]):
        with_seam = lambda new: {**case, "seams": [*case["seams"][:k], new, *case["seams"][k + 1:]]}
        edges = seam["edges"]
        arcs = [i for i, e in enumerate(edges) if len(e) > 2]
        x, y = edges[0][:2]
        yield "a hole on the seam", {**case, "holes": [[x, y, 6.6]]}
        if not arcs:
            yield "a straight seam told to have teeth", with_seam({**seam, "pattern": "knob"})
            continue
        i = arcs[len(arcs) // 2]
        yield "a larger radius is asked", {**case, "corner_radius": max(edges[i][4] for i in arcs) + 0.01}
        yield "teeth told to point the other way", {**case, "plus": not case["plus"]}
        yield "teeth told to reach less far", {**case, "depth": 1.0}
        yield "teeth told to be none", with_seam({**seam, "pattern": "straight"})
        yield "an arc becomes a chord", with_seam({**seam, "edges": [*edges[:i], edges[i][:2], *edges[i + 1:]]})
        yield "a wider web is asked", {**case, "min_web": 200.0}
        break


def miss(line):
    """How many damages were done to a case, and which of them were not noticed."""
    case = json.loads(line)
    if Judge(case).faults:
        return 0, []
    done = [(what, bool(Judge(damaged).faults)) for what, damaged in damages(case)]
    return len(done), [f"layer {case['case']}, {case['pattern']}: {what}" for what, noticed in done if not noticed]


def self_test(path):
    n_damages, missed = 0, []
    with open(path) as file, multiprocessing.Pool(os.cpu_count()) as pool:
        for n, lines in pool.imap(miss, [line for k, line in enumerate(file) if k % 37 == 0]):
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
