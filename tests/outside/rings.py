"""What the makers of drawing samples share: a curve sampled closely, loose ends joined, and the figures of the rings that come out.

Tolerance. A curve is divided until the middle of every step is within SAGITTA = 2e-7 mm of the chord's middle, and a chord is inside the curve by
no more than that: a box is off by less than 2e-7 mm, an area by less than 2e-7 mm times the length, a length by less than 1e-7 of itself for radii
above 1 mm. Figures are written to six decimals, which adds 5e-7. Only where a sample says so, figures are a closed form instead."""
import math

import numpy
from shapely.geometry import Polygon, box

SAGITTA = 2e-7
JOIN = 0.1


def sampled(f, t0, t1):
    """Points of the curve f, which takes an array of parameters and gives an array of points in mm, from t0 to t1."""
    n = 64
    while True:
        p = f(numpy.linspace(t0, t1, 2 * n + 1))
        if numpy.hypot(*(p[1::2] - (p[:-2:2] + p[2::2]) / 2).T).max() < SAGITTA or n > 1 << 19:
            return p
        n *= 2


def meets(points):
    return math.dist(points[0], points[-1]) < 1e-9


def chained(strands):
    """Rings of strands, each a pair of points and whether they close by themselves. Ends within JOIN are joined; every end must find another."""
    rings = [p for p, closed in strands if closed]
    open_ = [p for p, closed in strands if not closed]
    while open_:
        ring = open_.pop(0)
        while math.dist(ring[0], ring[-1]) > JOIN or len(ring) < 3:
            gap, k, end = min((math.dist(ring[-1], p[end]), k, end) for k, p in enumerate(open_) for end in (0, -1))
            if gap > JOIN:
                raise ValueError(f"open by {gap}")
            more = open_.pop(k)
            ring = numpy.concatenate([ring, more if end == 0 else more[::-1]])
        rings.append(ring)
    return rings


def figures(rings):
    """Regions, rings, area, length and box; rings nest by containment. They must be sound: none crosses itself, no two come near."""
    shapes = []
    for ring in rings:
        apart = numpy.hypot(*(ring - numpy.roll(ring, -1, 0)).T) > 1e-9         # a point and the same one rounded otherwise are one
        shape = Polygon(ring[apart])
        assert shape.is_valid and shape.area > 1, "a ring crosses itself or has no area"
        if not any(shape.symmetric_difference(s).area < 1e-6 for s in shapes if numpy.abs(numpy.subtract(s.bounds, shape.bounds)).max() < 1e-3):
            shapes.append(shape)
    for i, a in enumerate(shapes):
        for b in shapes[:i]:
            far = box(*a.bounds).distance(box(*b.bounds)) > 0.5
            assert far or a.exterior.simplify(0.01).distance(b.exterior.simplify(0.01)) > 0.5, "two rings touch or come too near"
    depth = [sum(o is not s and o.area > s.area and o.contains(s.representative_point()) for o in shapes) for s in shapes]
    area = sum(s.area * (1 if n % 2 == 0 else -1) for s, n in zip(shapes, depth))
    x0, y0, x1, y1 = (f(s.bounds[i] for s in shapes) for i, f in enumerate((min, min, max, max)))
    return row(sum(n % 2 == 0 for n in depth), len(shapes), area, sum(s.length for s in shapes), x0, y0, x1, y1)


def row(regions, rings, *values):
    """Figures as they are written; no zero has a sign."""
    return [regions, rings, *(f"{v if abs(v) >= 5e-7 else 0.0:.6f}" for v in values)]
