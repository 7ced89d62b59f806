"""Further samples of the drawing tests, drawn with ezdxf and written by make_drawings.py: ellipses, old polylines, splines, blocks, hatches, layers
in blocks, units, things that draw no outline, and lines that lie over one another.

Measured by ezdxf, never by the program: ellipses by `ConstructionEllipse`, splines by `BSpline`, blocks by `virtual_entities()` and
`multi_insert()`, hatches by their edges, solids by `wcs_vertices()`; sampled and measured by `rings`, where tolerances are told. Beyond that:
- a spline of fit points only has no curve of its own in the format: measured is ezdxf's construction (`fit_points_to_cad_cv`: cubic, chord length
  parameters, second derivatives 0 at the ends unless there are end tangents), so these figures bind to 1e-6 only those who construct it alike;
- of a polyline that is fitted by a spline, vertices with flag 16 are the frame and are left out (ezdxf keeps them, so this is done here);
- an entity on layer 0 in a block is on the layer of the insert (ezdxf leaves it on 0, so this is done here), all the way down;
- blocks in blocks that are sheared or in arrays, which ezdxf does not keep, and hatches in mirrored blocks are measured by matrices (`by_matrix`);
- a hatch, solid or trace is measured only where there is no outline;
- solids and traces that touch along an edge or overlap are united by Shapely (`unary_union` of polygons);
- lines that overlap are merged by Shapely (`unary_union`, `polygonize`); arcs that overlap are measured by the closed form beside them;
- units are exact by definition: the inch is 25.4 mm, the mile 1760 yards, the angstrom 1e-10 m, SI prefixes as in SI,
  the US survey foot 1200/3937 m, the astronomical unit 149 597 870 700 m, the light-year and the parsec those of the IAU."""
import math

import ezdxf
import numpy
from ezdxf.entities import boundary_paths as edges
from ezdxf.math import BSpline, closed_uniform_bspline
from shapely.geometry import LineString, Polygon
from shapely.ops import polygonize, unary_union

from rings import chained, figures, row, sampled

MM = {0: 1.0, 1: 25.4, 2: 304.8, 3: 1609344.0, 4: 1.0, 5: 10.0, 6: 1e3, 7: 1e6, 8: 25.4e-6, 9: 25.4e-3, 10: 914.4, 11: 1e-7, 12: 1e-6, 13: 1e-3,
      14: 100.0, 15: 1e4, 16: 1e5, 17: 1e12, 18: 149597870700e3, 19: 9460730472580800e3, 20: 149597870700e3 * 648000 / math.pi,
      21: 1.2e6 / 3937, 22: 1e5 / 3937, 23: 3.6e6 / 3937, 24: 5280 * 1.2e6 / 3937}
SAMPLES = {}
DOWN = {"extrusion": (0, 0, -1)}
QUARTER = math.tan(math.pi / 8)                 # bulge of a quarter turn


def sample(name, version="R2000", unit=4, binary=False, layer=None, merge=False, closed_form=None):
    """Registers a function that draws into a modelspace."""
    def keep(draw):
        SAMPLES[name] = (draw, version, unit, binary, layer, merge, closed_form)
        return draw
    return keep


def box(m, x0, y0, x1, y1, on=None):
    return m.add_lwpolyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True, dxfattribs=on)


def lines(m, *points, on=None):
    for a, b in zip(points, points[1:]):
        m.add_line(a, b, dxfattribs=on)


# ---- ellipses: center, major axis, ratio, start and end parameter -----------------------------------------------------------
def half_ellipse(m, start, end, **on):
    """Part of an ellipse whose ends are joined by two lines over a corner."""
    e = m.add_ellipse((0, 0), (30, 10), 0.4, start, end, dxfattribs=on)
    a, b = e.start_point, e.end_point
    middle, = e.vertices([start + (end - start) % math.tau / 2])
    lines(m, (a.x, a.y), (middle.x * -0.6, middle.y * -0.6), (b.x, b.y))


sample("ellipse/whole")(lambda m: m.add_ellipse((40, 30), (25, 0), 0.6))
sample("ellipse/turned", "R2010")(lambda m: m.add_ellipse((40, 30), (20, 15), 0.3))
sample("ellipse/ratio_1")(lambda m: m.add_ellipse((10, 20), (12, 5), 1))
sample("ellipse/hole_in_a_plate")(lambda m: [box(m, 0, 0, 100, 60), m.add_ellipse((50, 30), (0, 22), 0.5)])
sample("ellipse/ring_of_two")(lambda m: [m.add_ellipse((0, 0), (r, 0), 0.5) for r in (40, 30)])
sample("ellipse/part_joined_by_lines")(lambda m: half_ellipse(m, 0.4, 3.1))
sample("ellipse/start_after_end", "R2018")(lambda m: half_ellipse(m, 5.2, 1.9))
sample("ellipse/extrusion_down")(lambda m: half_ellipse(m, 0.4, 3.1, **DOWN))
sample("ellipse/two_halves", binary=True)(lambda m: [m.add_ellipse((5, 5), (8, 20), 0.25, a, a + math.pi) for a in (0.7, 0.7 + math.pi)])
sample("ellipse/start_below_zero")(lambda m: [m.add_ellipse((0, 0), (20, 0), 0.5, -math.pi / 2, math.pi / 2), lines(m, (0, 10), (-15, 0), (0, -10))])


# ---- polylines with vertices of their own -----------------------------------------------------------------------------------
def polyline(m, points, flags=0, vertex_flags=(), close=True, on=None):
    p = m.add_polyline2d(points, close=close, format="xyb", dxfattribs=on)
    p.dxf.flags |= flags
    for v, f in zip(p.vertices, vertex_flags):
        v.dxf.flags |= f


CORNERS = [(0, 0, 0), (60, 0, 0), (60, 40, 0), (0, 40, 0)]
ROUND = [(10, 0, 0), (50, 0, QUARTER), (60, 10, 0), (60, 30, QUARTER), (50, 40, 0), (10, 40, QUARTER), (0, 30, 0), (0, 10, QUARTER)]
for version in ("R12", "R2000", "R2018"):
    sample(f"polyline/rounded_{version}", version)(lambda m: polyline(m, ROUND))
sample("polyline/rounded_R12_binary", "R12", binary=True)(lambda m: polyline(m, ROUND))
sample("polyline/closed_flag", "R12")(lambda m: polyline(m, CORNERS))
sample("polyline/open_but_ends_meet", "R12")(lambda m: polyline(m, CORNERS + CORNERS[:1], close=False))
sample("polyline/bulge_on_the_closing_side", "R12")(lambda m: polyline(m, [(0, 0, 0), (40, 0, -0.2), (40, 30, 0), (0, 30, 0.6)]))
sample("polyline/extrusion_down", "R12")(lambda m: polyline(m, [(0, 0, 0.5), (30, 0, 0), (10, 40, 0)], on=DOWN))
sample("polyline/joined_with_lines", "R12")(lambda m: [polyline(m, [(0, 0, 0), (40, 0, 0.4), (40, 25, 0)], close=False), lines(m, (0, 0), (0, 25), (40, 25))])
# Fitted by arcs: between two drawn corners a vertex of flag 1 that the fit has added; the bulges of both are the curve.
sample("polyline/fitted_by_arcs", "R12")(lambda m: polyline(m, [(30, 0, .3), (24, 24, .1), (0, 30, .3), (-24, 24, .1), (-30, 0, .1), (-22, -20, .3), (0, -30, .1), (20, -22, .3)], 2, (0, 1) * 4))
# Fitted by a spline: the frame's four corners (16), between and after them the curve's points (8).
FRAME = [(40, 40, 0), (-40, 40, 0), (-40, -40, 0), (40, -40, 0)]
FITTED = [(30 * math.cos(math.tau * k / 24), 30 * math.sin(math.tau * k / 24), 0) for k in range(24)]
sample("polyline/fitted_by_a_spline", "R12")(lambda m: polyline(m, FRAME + FITTED, 4, [16] * 4 + [8] * 24))
sample("polyline/fitted_by_a_spline_R2000")(lambda m: polyline(m, FRAME + FITTED, 4, [16] * 4 + [8] * 24))


# ---- splines ------------------------------------------------------------------------------------------------------------------
def spline(m, points, degree, knots=None, weights=None, closed=False, on=None):
    s = m.add_spline(degree=degree, dxfattribs=on)
    n = len(points) - degree
    s.control_points = [(*p, 0) for p in points]
    s.knots = knots or [0.0] * degree + [float(k) for k in range(n + 1)] + [float(n)] * degree
    s.weights = weights or []
    s.set_flag_state(s.RATIONAL, bool(weights))
    s.set_flag_state(s.CLOSED, closed)


BLOB = [(0, 0), (20, -15), (50, -10), (60, 20), (35, 45), (5, 30), (-15, 15), (0, 0)]
H = math.sqrt(0.5)
sample("spline/degree_1")(lambda m: spline(m, [(0, 0), (40, 5), (30, 35), (0, 0)], 1))
sample("spline/degree_2", "R2004")(lambda m: spline(m, BLOB, 2))
sample("spline/degree_3")(lambda m: spline(m, BLOB, 3))
sample("spline/degree_5")(lambda m: spline(m, BLOB, 5))
sample("spline/degree_3_binary", "R2013", binary=True)(lambda m: spline(m, BLOB, 3))
sample("spline/closed_flag", "R2010")(lambda m: spline(m, BLOB, 3, closed=True))
sample("spline/uneven_knots")(lambda m: spline(m, BLOB, 3, knots=[10, 10, 10, 10, 40, 55, 130, 140, 250, 250, 250, 250]))
sample("spline/rational_circle")(lambda m: spline(m, [(20, 0), (20, 20), (0, 20), (-20, 20), (-20, 0), (-20, -20), (0, -20), (20, -20), (20, 0)], 2,
                                                  knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4], weights=[1, H, 1, H, 1, H, 1, H, 1]))
sample("spline/rational_weights")(lambda m: spline(m, BLOB, 3, weights=[1, 2, 0.5, 3, 1, 1, 4, 1]))
sample("spline/periodic", "R2000")(lambda m: m.add_spline().set_closed([(*p, 0) for p in BLOB[:-1]], degree=3))
sample("spline/periodic_degree_2")(lambda m: m.add_spline().set_closed([(*p, 0) for p in BLOB[:-1]], degree=2))
sample("spline/cusp")(lambda m: spline(m, [(0, -30), (30, -5), (45, 30), (0, 10), (-45, 30), (-30, -5), (0, -30)], 3, knots=[0, 0, 0, 0, 1, 1, 1, 2, 2, 2, 2]))
sample("spline/inner_knot_twice")(lambda m: spline(m, BLOB, 3, knots=[0, 0, 0, 0, 1, 1, 2, 3, 4, 4, 4, 4]))
sample("spline/joined_with_lines")(lambda m: [spline(m, [(60, 40), (45, 60), (25, 20), (0, 40)], 3), lines(m, (0, 40), (0, 0), (60, 0), (60, 40))])
sample("spline/two_end_to_end")(lambda m: [spline(m, [(0, 0), (10, -20), (40, -20), (50, 0)], 3), spline(m, [(0, 0), (-10, 25), (60, 35), (50, 0)], 3)])
sample("spline/extrusion_down")(lambda m: spline(m, BLOB, 3, on=DOWN))          # the points of a spline are the drawing's own: nothing is mirrored
sample("spline/hole_in_a_plate")(lambda m: [box(m, -40, -40, 90, 70), spline(m, BLOB, 3)])
sample("spline/fit_points_only")(lambda m: m.add_spline([(0, 0), (30, -10), (60, 10), (50, 40), (15, 35), (0, 0)]))
sample("spline/fit_points_and_line")(lambda m: [m.add_spline([(0, 0), (10, 20), (30, 15), (50, 30), (70, 0)]), m.add_line((70, 0), (0, 0))])


@sample("spline/fit_points_with_tangents")
def _(m):
    s = m.add_spline([(0, 0), (20, 25), (50, 20), (70, 0)])
    s.dxf.start_tangent, s.dxf.end_tangent = (0, 1, 0), (0, -1, 0)
    m.add_line((70, 0), (0, 0))


# ---- blocks -------------------------------------------------------------------------------------------------------------------
def block(m, name="PART", base=(0, 0)):
    return m.doc.blocks.new(name, base_point=base)


def flag(m, base=(0, 0)):
    """A block without any symmetry: a bent outline with one bulge, and a hole."""
    b = block(m, base=base)
    b.add_lwpolyline([(0, 0, 0), (30, 0, 0.4), (30, 20, 0), (12, 20, 0), (0, 35, 0)], format="xyb", close=True)
    b.add_circle((20, 8), 4)


def half_disc(m):
    """A half disc of an arc and a line."""
    b = block(m)
    b.add_arc((0, 0), 15, 20, 200)
    a, c = (15 * math.cos(math.radians(20)), 15 * math.sin(math.radians(20))), (15 * math.cos(math.radians(200)), 15 * math.sin(math.radians(200)))
    b.add_line(a, c)


def put(m, at, xs=1, ys=1, turn=0, name="PART", **more):
    return m.add_blockref(name, at, dxfattribs={"xscale": xs, "yscale": ys, "rotation": turn, **more})


sample("block/plain")(lambda m: [flag(m), put(m, (100, 50))])
sample("block/plain_R12", "R12")(lambda m: [block(m).add_circle((1, 2), 8), put(m, (30, 20))])
sample("block/plain_binary", "R2018", binary=True)(lambda m: [flag(m), put(m, (100, 50))])
sample("block/many")(lambda m: [box(m, 0, 0, 200, 100), flag(m), [put(m, (15 + 60 * i, 15 + 10 * i)) for i in range(3)]])
sample("block/turned")(lambda m: [flag(m), put(m, (100, 50), turn=37)])
sample("block/scaled")(lambda m: [flag(m), put(m, (100, 50), 2.5, 2.5)])
sample("block/scaled_and_turned")(lambda m: [flag(m), put(m, (100, 50), 0.5, 0.5, turn=200)])
sample("block/mirrored")(lambda m: [flag(m), put(m, (100, 50), -1)])
sample("block/mirrored_and_turned", "R2010")(lambda m: [flag(m), put(m, (100, 50), -1, 1, turn=25)])
sample("block/mirrored_twice")(lambda m: [flag(m), put(m, (100, 50), -1, -1)])
sample("block/unequal_circle_is_an_ellipse")(lambda m: [block(m).add_circle((5, 5), 10), put(m, (0, 0), 3, 1)])
sample("block/unequal_arc", "R2007")(lambda m: [half_disc(m), put(m, (10, 20), 1, 2)])
sample("block/unequal_bulge")(lambda m: [flag(m), put(m, (10, 20), 1.5, 0.8, turn=30)])
sample("block/unequal_and_mirrored")(lambda m: [half_disc(m), put(m, (10, 20), -2, 1, turn=15)])
sample("block/unequal_ellipse")(lambda m: [block(m).add_ellipse((0, 0), (20, 8), 0.5), put(m, (10, 20), 1, 2.2)])
sample("block/unequal_spline")(lambda m: [spline(block(m), BLOB, 3), put(m, (10, 20), 2, 0.7, turn=-20)])
sample("block/base_point")(lambda m: [flag(m, base=(30, 20)), put(m, (100, 50), 2, 2, turn=90)])
sample("block/array")(lambda m: [flag(m), put(m, (10, 10), column_count=3, row_count=2, column_spacing=45, row_spacing=50)])
sample("block/array_turned")(lambda m: [flag(m), put(m, (10, 10), turn=30, column_count=3, row_count=2, column_spacing=45, row_spacing=50)])
sample("block/array_scaled")(lambda m: [block(m).add_circle((0, 0), 4), put(m, (10, 10), 2, 2, column_count=4, row_count=1, column_spacing=25)])   # spacing is not scaled
sample("block/extrusion_down")(lambda m: [flag(m), put(m, (100, 50), turn=20, **DOWN)])
sample("block/used_with_outlines")(lambda m: [block(m).add_arc((0, 0), 20, 90, 270), put(m, (20, 20)), lines(m, (20, 40), (80, 40), (80, 0), (20, 0))])


@sample("block/three_deep", "R2004")
def _(m):
    block(m, "HOLE").add_circle((1, 0), 3)
    inner = block(m, "INNER", base=(2, 2))
    box(inner, 0, 0, 30, 20)
    put(inner, (10, 10), name="HOLE")
    put(inner, (20, 10), 1.2, 1.2, name="HOLE")
    outer = block(m, "OUTER")
    put(outer, (0, 0), turn=30, name="INNER")
    put(outer, (70, 0), -1, 1, turn=-10, name="INNER")
    put(m, (100, 20), 1.5, 1.5, turn=15, name="OUTER")


@sample("block/nested_and_mirrored_by_turns", "R2010")
def _(m):
    inner = block(m, "INNER", base=(3, 4))
    inner.add_lwpolyline([(0, 0, 0.5), (30, 0, 0), (30, 10, -0.3), (0, 10, 0)], format="xyb", close=True)
    outer = block(m, "OUTER", base=(1, 1))
    put(outer, (0, 0), -1, 1, turn=30, name="INNER")
    put(outer, (80, 0), 1, -1, turn=-45, name="INNER")
    put(m, (10, 20), -1.5, 1.5, turn=70, name="OUTER")
    put(m, (300, 20), turn=15, name="OUTER", **DOWN)


@sample("block/arc_and_block_both_down", "R2010")
def _(m):
    b = block(m)
    b.add_arc((0, 0), 10, 20, 250, dxfattribs=DOWN)
    ends = [(-10 * math.cos(math.radians(a)), 10 * math.sin(math.radians(a))) for a in (20, 250)]
    b.add_line(*ends)
    put(m, (20, 0), 2, 2, turn=25, **DOWN)


sample("polyline/in_space_but_level", "R2010")(lambda m: m.add_polyline3d([(0, 0, 2), (30, 0, 2), (30, 20, 2), (0, 20, 2)], close=True))


@sample("block/attribute_beside")
def _(m):
    flag(m)
    m.doc.blocks.get("PART").add_attdef("NUMBER", (2, 2), "0", height=3)
    put(m, (100, 50)).add_attrib("NUMBER", "17", (102, 52))


@sample("block/not_used", "R2000")
def _(m):
    flag(m)
    m.add_circle((0, 0), 12)


def on_layers(m):
    for name in ("TOP", "SIDE", "GUIDE"):
        m.doc.layers.add(name)
    b = block(m)
    b.add_circle((0, 0), 20)                                     # on layer 0: where the insert is
    b.add_circle((0, 0), 12, dxfattribs={"layer": "SIDE"})
    put(m, (50, 30), layer="TOP")


sample("layer/block_of_layer_0", layer="TOP")(on_layers)
sample("layer/block_of_another", layer="side")(on_layers)
sample("layer/block_all")(on_layers)
sample("layer/block_with_a_frozen_one")(lambda m: [on_layers(m), m.doc.layers.get("SIDE").freeze()])
sample("layer/block_on_a_frozen_one")(lambda m: [on_layers(m), m.doc.layers.get("TOP").freeze(), m.doc.layers.get("SIDE").freeze(), box(m, 0, 0, 9, 9)])
sample("layer/block_with_one_off")(lambda m: [on_layers(m), m.doc.layers.get("SIDE").off()])


# What is off hides what takes its layer; what is frozen hides all that is placed on it.
sample("layer/block_on_one_off")(lambda m: [on_layers(m), m.doc.layers.get("TOP").off()])
sample("layer/block_on_one_off_named", layer="TOP")(lambda m: [on_layers(m), m.doc.layers.get("TOP").off()])
sample("layer/block_on_one_off_binary", "R2018", binary=True)(lambda m: [on_layers(m), m.doc.layers.get("TOP").off()])
sample("layer/block_on_a_frozen_one_of_what_is_named", layer="SIDE")(lambda m: [on_layers(m), m.doc.layers.get("TOP").freeze(), box(m, 0, 0, 9, 9, on={"layer": "SIDE"})])
sample("layer/block_on_a_frozen_one_of_what_is_off_but_named", layer="SIDE")(lambda m: [on_layers(m), m.doc.layers.get("TOP").freeze(), m.doc.layers.get("SIDE").off(), box(m, 0, 0, 9, 9, on={"layer": "SIDE"})])


@sample("layer/block_of_layer_0_two_deep", layer="Top")
def _(m):
    m.doc.layers.add("TOP")
    block(m, "HOLE").add_circle((0, 0), 6)
    put(block(m, "PAIR"), (10, 0), name="HOLE")
    put(m, (50, 30), name="PAIR", layer="TOP")
    m.add_circle((0, 0), 5)


for asked in ("front panel", "FRONT PANEL"):
    @sample(f"layer/asked_in_{'lower' if asked.islower() else 'upper'}_case", layer=asked)
    def _(m):
        m.doc.layers.add("Front Panel")
        box(m, 0, 0, 40, 30, on={"layer": "Front Panel"})
        box(m, 60, 0, 90, 30)


# ---- hatches ------------------------------------------------------------------------------------------------------------------
def hatch(m, *paths):
    h = m.add_hatch()
    for i, points in enumerate(paths):
        h.paths.add_polyline_path(points, is_closed=True, flags=0 if i else 1)


SLOT = [(0, 0, 0), (30, 0, 1), (30, 10, 0), (0, 10, 1)]
sample("hatch/polyline_path")(lambda m: hatch(m, [(0, 0), (50, 0), (40, 30)]))
sample("hatch/polyline_path_with_bulges")(lambda m: hatch(m, SLOT))
sample("hatch/with_a_hole", "R2010")(lambda m: hatch(m, [(-20, -20, 0), (60, -20, 0.3), (60, 40, 0), (-20, 40, 0)], SLOT))
sample("hatch/two")(lambda m: [hatch(m, SLOT), hatch(m, [(0, 20), (30, 20), (30, 50)])])
sample("hatch/beside_outlines")(lambda m: [box(m, 0, 0, 60, 40), m.add_circle((30, 20), 8), hatch(m, [(0, 0), (60, 0), (60, 40), (0, 40)], [(22, 20, 1), (38, 20, 1)])])


@sample("hatch/edge_path", "R2018")
def _(m):
    """A line, an arc, an ellipse's half, and a spline: around once."""
    path = m.add_hatch().paths.add_edge_path()
    path.add_line((0, 0), (60, 0))
    path.add_arc((60, 20), 20, 270, 360, ccw=True)
    path.add_ellipse((60, 20), (20, 0), 0.5, 0, 90, ccw=True)
    path.add_spline(control_points=[(60, 30), (40, 50), (10, 10), (0, 30)], degree=3, knot_values=[0, 0, 0, 0, 1, 1, 1, 1])
    path.add_line((0, 30), (0, 0))


@sample("hatch/edge_path_clockwise")
def _(m):
    """An arc and an ellipse that run clockwise: angles are then told in the mirrored sense."""
    path = m.add_hatch().paths.add_edge_path()
    path.add_arc((0, 0), 20, 0, 180, ccw=False)
    path.add_line((-20, 0), (-20, 40))
    path.add_ellipse((0, 40), (20, 0), 0.4, 0, 180, ccw=False)
    path.add_line((20, 40), (20, 0))


@sample("hatch/circle_by_an_edge_path")
def _(m):
    path = m.add_hatch().paths.add_edge_path()
    path.add_arc((30, 40), 12.5, 0, 360, ccw=True)


# ---- versions that ezdxf reads but does not write: see aged.py --------------------------------------------------------------------
sample("version/R13", "R13", unit=0)(lambda m: [polyline(m, ROUND), m.add_arc((30, 20), 9, 0, 180), lines(m, (21, 20), (39, 20))])
sample("version/R14", "R14", unit=0)(lambda m: [m.add_lwpolyline(ROUND, format="xyb", close=True), m.add_circle((30, 20), 9)])
sample("ellipse/R13", "R13", unit=0)(lambda m: [polyline(m, ROUND), m.add_ellipse((30, 20), (12, 5), 0.5)])
sample("spline/R14", "R14", unit=0)(lambda m: spline(m, BLOB, 3))
sample("block/R13", "R13", unit=0)(lambda m: [block(m).add_circle((1, 2), 8), put(m, (30, 20), 2, 2, turn=30)])
sample("hatch/R14", "R14", unit=0)(lambda m: hatch(m, SLOT))


# ---- units: a plate of 120 x 80 mm with a hole in each ------------------------------------------------------------------------
for code, name in ((3, "miles"), (7, "kilometres"), (8, "microinches"), (9, "mils_plate"), (10, "yards"), (11, "angstroms"), (12, "nanometres"),
                   (13, "micrometres"), (14, "decimetres_plate"), (15, "decametres"), (16, "hectometres"), (17, "gigametres"),
                   (18, "astronomical_units"), (19, "light_years"), (20, "parsecs"), (21, "survey_feet"), (22, "survey_inches"), (23, "survey_yards"),
                   (24, "survey_miles")):
    def plate(m, u=MM[code]):
        box(m, 0, 0, 120 / u, 80 / u)
        m.add_circle((40 / u, 30 / u), 12 / u)
    sample(f"unit/{name}", "R2000", unit=code)(plate)


# ---- filled areas of three or four corners ---------------------------------------------------------------------------------------
# Given are the corners around; ezdxf's own `wcs_vertices()` has them around too, while the format wants the last two the other way round.
def quad(m, *around, kind="solid", **on):
    corners = [around[i] for i in ((0, 1, 3, 2) if len(around) == 4 else (0, 1, 2, 2))]
    getattr(m, f"add_{kind}")(corners, dxfattribs=on)


KITE = [(0, 0), (40, 10), (50, 45), (5, 30)]
sample("solid/four_corners")(lambda m: quad(m, *KITE))
sample("solid/three_corners", "R12")(lambda m: quad(m, (0, 0), (50, 5), (20, 40)))
sample("solid/trace", "R2010")(lambda m: quad(m, *KITE, kind="trace"))
sample("solid/extrusion_down", binary=True)(lambda m: quad(m, *KITE, **DOWN))
sample("solid/hole_in_one", "R2018")(lambda m: [quad(m, (0, 0), (90, 0), (90, 70), (0, 70)), quad(m, *((x + 20, y + 12) for x, y in KITE))])
sample("solid/beside_outlines")(lambda m: [box(m, 0, 0, 60, 50), quad(m, *KITE), quad(m, *((x, y + 50) for x, y in KITE), kind="trace")])


def strip(m, *pairs, **on):
    """Between pairs of points, one after the other."""
    for (a, b), (c, d) in zip(pairs, pairs[1:]):
        quad(m, a, c, d, b, **on)


def fan(m, centre, radius, n, **on):
    """Triangles about a point."""
    tip = [(centre[0] + radius * math.cos(k * math.tau / n), centre[1] + radius * math.sin(k * math.tau / n)) for k in range(n)]
    for k in range(n):
        quad(m, centre, tip[k], tip[(k + 1) % n], **on)


def frame(m, x0, y0, x1, y1, width, **on):
    """Four mitred sides around a window."""
    outer, inner = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)], [(x0 + width, y0 + width), (x1 - width, y0 + width), (x1 - width, y1 - width), (x0 + width, y1 - width)]
    strip(m, *zip([*outer, outer[0]], [*inner, inner[0]]), **on)


def placed_fan(m):
    """Triangles in a block that is mirrored, turned and scaled differently along x and y."""
    block = m.doc.blocks.new("FAN")
    fan(block, (3, 2), 12, 7)
    m.add_blockref("FAN", (40, 30), dxfattribs={"xscale": -2, "yscale": 1.5, "rotation": 25})


united = lambda name, *version, **how: sample(f"solid/{name}", *version, merge="areas", **how)
united("strip_of_three")(lambda m: strip(m, ((0, 0), (0, 20)), ((30, 5), (28, 26)), ((61, 2), (60, 24)), ((80, 9), (95, 40))))
united("strip_of_three_R12", "R12")(lambda m: strip(m, ((0, 0), (0, 20)), ((30, 5), (28, 26)), ((61, 2), (60, 24)), ((80, 9), (95, 40))))
united("traces_in_a_row", "R2010", binary=True)(lambda m: strip(m, ((0, 0), (0, 4)), ((40, 0), (36, 4)), ((40, 30), (36, 34)), ((0, 50), (0, 54)), kind="trace"))
united("corner_on_an_edge")(lambda m: [quad(m, (0, 0), (60, 0), (60, 20), (0, 20)), quad(m, (10, 20), (30, 20), (20, 45)), quad(m, (35, 20), (50, 20), (50, 30), (35, 30))])
united("overlapping", "R2007")(lambda m: [quad(m, (0, 20), (70, 22), (70, 40), (0, 38)), quad(m, (20, 0), (40, 0), (44, 60), (22, 60)), quad(m, (50, 10), (66, 50), (58, 54))])
united("fan_of_twelve")(lambda m: fan(m, (50, 40), 30, 12))
united("frame_of_four", "R2018")(lambda m: frame(m, 0, 0, 90, 60, 8))
united("island_in_a_frame")(lambda m: [frame(m, 0, 0, 90, 60, 8), quad(m, (30, 20), (60, 20), (60, 40), (30, 40))])
united("two_shapes_and_one", "R2004")(lambda m: [fan(m, (20, 20), 15, 5), strip(m, ((50, 0), (50, 9)), ((70, 0), (71, 12)), ((90, 3), (88, 10))), quad(m, *((x, y + 60) for x, y in KITE))])
united("block_mirrored")(placed_fan)
united("extrusion_down_two")(lambda m: strip(m, ((0, 0), (0, 20)), ((30, 5), (28, 26)), ((61, 2), (60, 24)), **DOWN))
united("inches", unit=1)(lambda m: strip(m, ((0, 0), (0, 1)), ((1.5, 0.25), (1.5, 1.25)), ((3, 0), (3, 1.125))))


# ---- blocks in blocks, by matrices --------------------------------------------------------------------------------------------------
def by_matrix(at, sx=1, sy=1, deg=0, down=False):
    """From a block's frame to that around it: scaled, turned, shifted, and mirrored in x where the extrusion is (0, 0, -1)."""
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    m = numpy.array([[c * sx, -s * sy, at[0]], [s * sx, c * sy, at[1]], [0, 0, 1.0]])
    return numpy.diag([-1, 1, 1]) @ m if down else m


def carried(m, points):
    return points @ m[:2, :2].T + m[:2, 2]


TONGUE = [(0, 0, 0), (20, 0, 1), (20, 8, 0), (0, 8, 1)]
ARC_ENDS = [(5 + 6 * math.cos(math.radians(a)), 20 + 6 * math.sin(math.radians(a))) for a in (30, 250)]


def sheared(down):
    """A slot and an arc with a corner, mirrored and stretched aslant in a block that is stretched again."""
    def draw(m):
        inner, outer = m.doc.blocks.new("INNER"), m.doc.blocks.new("OUTER")
        inner.add_lwpolyline(TONGUE, format="xyb", close=True)
        inner.add_arc((5, 20), 6, 30, 250)
        lines(inner, ARC_ENDS[0], (25, 18), ARC_ENDS[1])
        outer.add_circle((60, 0), 5)
        outer.add_blockref("INNER", (3, 4), dxfattribs={"xscale": -2, "yscale": 1, "rotation": 30})
        m.add_blockref("OUTER", (40, 30), dxfattribs={"xscale": 1, "yscale": -1.5, "rotation": -20, **(DOWN if down else {})})

    def measured():
        outer = by_matrix((40, 30), 1, -1.5, -20, down)
        inner = outer @ by_matrix((3, 4), -2, 1, 30)
        corner = numpy.concatenate([turn((5, 20), 6, math.radians(30), math.radians(220)), [(25, 18)]])
        return figures([carried(inner, bulged(TONGUE, True)), carried(inner, corner), carried(outer, turn((60, 0), 5, 0, math.tau))])
    return draw, measured


def arrayed(m):
    inner, outer = m.doc.blocks.new("INNER"), m.doc.blocks.new("OUTER")
    inner.add_lwpolyline(TONGUE, format="xyb", close=True)
    outer.add_blockref("INNER", (3, 4), dxfattribs={"xscale": -1, "rotation": 10, "row_count": 2, "column_count": 3, "row_spacing": 20, "column_spacing": 50})
    m.add_blockref("OUTER", (40, 30), dxfattribs={"xscale": 0.5, "yscale": 0.5, "rotation": 100, "row_count": 2, "column_count": 2, "row_spacing": 120, "column_spacing": -130})


def places(at, deg, columns, rows):
    """Where an array puts its block: rows and columns run along the turned axes, whatever the scale."""
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return [(at[0] + c * x - s * y, at[1] + s * x + c * y) for x in columns for y in rows]


def measured_array():
    inner = [by_matrix(p, -1, 1, 10) for p in places((3, 4), 10, (0, 50, 100), (0, 20))]
    outer = [by_matrix(p, 0.5, 0.5, 100) for p in places((40, 30), 100, (0, -130), (0, 120))]
    return figures([carried(o @ i, bulged(TONGUE, True)) for o in outer for i in inner])


PATCH = [(0, 0, 0), (40, 0, 0.4), (40, 20, 0), (0, 20, -0.2)]


def hatch_in_a_block(m):
    m.doc.blocks.new("PATCH").add_hatch().paths.add_polyline_path(PATCH, is_closed=True)
    m.add_blockref("PATCH", (10, 20), dxfattribs={"xscale": 1.5, "yscale": -0.7, "rotation": 40})


for name, down in (("nested_and_sheared", False), ("nested_and_sheared_down", True)):
    draw, measured = sheared(down)
    sample(f"block/{name}", "R2010", closed_form=measured)(draw)
sample("block/arrays_in_an_array", closed_form=measured_array)(arrayed)
sample("hatch/in_a_mirrored_block", closed_form=lambda: figures([carried(by_matrix((10, 20), 1.5, -0.7, 40), bulged(PATCH, True))]))(hatch_in_a_block)


@sample("block/stretched_and_round_again")
def _(m):
    inner, outer = m.doc.blocks.new("INNER"), m.doc.blocks.new("OUTER")
    inner.add_circle((3, 4), 5)
    inner.add_arc((30, 4), 5, 0, 180)
    lines(inner, (25, 4), (35, 4))
    outer.add_blockref("INNER", (0, 0), dxfattribs={"xscale": 2, "yscale": -1})
    m.add_blockref("OUTER", (40, 30), dxfattribs={"xscale": 1, "yscale": 2, "rotation": 33})


@sample("hatch/several_paths_of_many_edges")
def _(m):
    paths = m.add_hatch().paths
    e = paths.add_edge_path()
    e.add_line((0, 0), (40, 0))
    e.add_arc((40, 10), 10, -90, 90)
    e.add_line((40, 20), (0, 20))
    e.add_ellipse((0, 10), (0, 10), 0.5, 0, 180)
    paths.add_edge_path(flags=16).add_arc((20, 10), 5, 0, 360, ccw=False)
    paths.add_polyline_path([(34, 5, 1), (34, 15, 1)], is_closed=True, flags=16)


@sample("hatch/spline_with_weights_and_half_ellipse", "R2010")
def _(m):
    e = m.add_hatch().paths.add_edge_path()
    e.add_spline(control_points=[(0, 0), (10, -10), (30, 10), (40, 0)], degree=3, knot_values=[0, 0, 0, 0, 1, 1, 1, 1], weights=[1, 2, 0.5, 1])
    e.add_ellipse((40, 10), (0, -10), 0.7, 0, 180)
    e.add_line((40, 20), (0, 20))
    e.add_arc((0, 10), 10, 90, 270)


LOOP = [(0, 0), (30, -5), (50, 10), (40, 40), (10, 45), (-10, 20)]


def loop(m, degree, weights=None, flag=True):
    s = m.add_spline()
    s.apply_construction_tool(closed_uniform_bspline(LOOP, order=degree + 1, weights=weights))
    s.closed = flag


def loop_in_a_block(m):
    loop(m.doc.blocks.new("LOOP"), 2, [1, 2, 0.5, 1, 3, 1])
    m.add_blockref("LOOP", (10, 20), dxfattribs={"xscale": 1.5, "yscale": -0.7, "rotation": 40, **DOWN})


sample("spline/closed_with_weights", "R2013")(lambda m: loop(m, 3, [1, 2, 0.5, 1, 3, 1]))
sample("spline/closed_without_the_flag")(lambda m: loop(m, 3, flag=False))
sample("spline/closed_with_weights_in_a_block")(loop_in_a_block)
sample("ellipse/start_after_end_down", "R2007")(lambda m: half_ellipse(m, 5.2, 1.9, **DOWN))
sample("lwpolyline/bulges_of_both_signs_down")(lambda m: m.add_lwpolyline([(0, 0, 0.3), (40, 0, -0.5), (40, 30, 1.5), (0, 30, 0)], format="xyb", close=True, dxfattribs=DOWN))


# ---- what draws no outline ----------------------------------------------------------------------------------------------------
sample("left_out/dimension")(lambda m: [box(m, 0, 0, 60, 40), m.add_linear_dim(base=(0, -15), p1=(0, 0), p2=(60, 0)).render()])
sample("left_out/leader")(lambda m: [box(m, 0, 0, 60, 40), m.add_leader([(10, 10), (80, 60), (90, 60)])])
sample("left_out/endless_lines")(lambda m: [box(m, 0, 0, 60, 40), m.add_xline((0, 0), (1, 1)), m.add_ray((5, 5), (0, 1))])
sample("left_out/parallel_lines")(lambda m: [box(m, 0, 0, 60, 40), m.add_mline([(10, 10), (40, 10), (40, 30)])])
sample("left_out/wipeout", "R2010")(lambda m: [box(m, 0, 0, 60, 40), m.add_wipeout([(10, 10), (30, 20)])])


# ---- lines over lines ---------------------------------------------------------------------------------------------------------
sample("overlap/two_lines_in_part", merge=True)(lambda m: [lines(m, (0, 0), (35, 0)), lines(m, (50, 0), (20, 0)), lines(m, (50, 0), (50, 30), (0, 30), (0, 0))])
sample("overlap/short_line_on_a_long_one", merge=True)(lambda m: [lines(m, (0, 0), (50, 0), (50, 30), (0, 30), (0, 0)), lines(m, (10, 0), (25, 0))])
sample("overlap/lines_and_a_polyline", merge=True)(lambda m: [lines(m, (0, 0), (25, 0), (50, 0), (50, 30), (0, 30), (0, 0)), box(m, 0, 0, 50, 30)])
sample("overlap/polylines_in_part", merge=True)(lambda m: [m.add_lwpolyline([(0, 30), (0, 0), (40, 0)]), m.add_lwpolyline([(15, 0), (50, 0), (50, 30), (0, 30)])])
# The whole circle of radius 20: 400 pi, 40 pi.
sample("overlap/arcs_on_one_circle", closed_form=(1, 1, 400 * math.pi, 40 * math.pi, -20, -20, 20, 20))(lambda m: [m.add_arc((0, 0), 20, a, a + 150) for a in (0, 120, 240)])
# A half disc of radius 20 whose arc is drawn as two that share 40 degrees.
sample("overlap/arcs_of_a_half_disc", closed_form=(1, 1, 200 * math.pi, 20 * math.pi + 40, -20, 0, 20, 20))(
    lambda m: [m.add_arc((0, 0), 20, 0, 110), m.add_arc((0, 0), 20, 70, 180), m.add_line((-20, 0), (20, 0))])
sample("gap/spline_0.06")(lambda m: [spline(m, [(60, 40), (45, 60), (25, 20), (0.06, 40)], 3), lines(m, (0, 40), (0, 0), (60, 0), (60, 40))])
sample("gap/ellipse_0.04")(lambda m: [m.add_ellipse((0, 0), (30, 0), 0.5, 0, math.pi), lines(m, (-30, -0.04), (0, -25), (30, 0))])
sample("gap/polyline_ends_0.09", "R12")(lambda m: polyline(m, [(0, 0.09, 0), (60, 0, 0.3), (60, 40, 0), (0, 40, 0.2), (0, 0, 0)], close=False))
sample("gap/block_and_lines_0.05")(lambda m: [block(m).add_arc((0, 0), 20, 90, 270), put(m, (20, 20)), lines(m, (20.05, 40), (80, 40), (80, 0), (20, 0))])


# ---- the independent reader ---------------------------------------------------------------------------------------------------
def turn(center, radius, start, sweep):
    return sampled(lambda t: numpy.stack([center[0] + radius * numpy.cos(t), center[1] + radius * numpy.sin(t)], 1), start, start + sweep)


def bulged(corners, closed):
    """Points of a polyline of x, y, bulge."""
    out = []
    for (x0, y0, bulge), (x1, y1, _) in zip(corners, corners[1:] + corners[:1] if closed else corners[1:]):
        a, b = numpy.array([x0, y0]), numpy.array([x1, y1])
        if not bulge or (a == b).all():
            out += [a[None], b[None]]
            continue
        sweep, chord = 4 * math.atan(bulge), b - a
        center = (a + b) / 2 + numpy.array([-chord[1], chord[0]]) * (1 - bulge * bulge) / (4 * bulge)
        out.append(turn(center, math.dist(a, center), math.atan2(*(a - center)[::-1]), sweep))
    return numpy.concatenate(out)


def elliptic(e, mm):
    """Points of a ConstructionEllipse, and whether it is whole."""
    c, u, v = (numpy.array([p.x, p.y]) * mm for p in (e.center, e.major_axis, e.minor_axis))
    span = (e.end_param - e.start_param) % math.tau or math.tau
    if abs(span - math.tau) < 1e-9:
        span = math.tau
    return sampled(lambda t: c + numpy.cos(t)[:, None] * u + numpy.sin(t)[:, None] * v, e.start_param, e.start_param + span), span == math.tau


def splined(s, mm):
    """Points of a BSpline over its domain, which for knots that are not clamped begins at knot number `degree`."""
    knots, n = s.knots(), s.count
    stops = sorted({k for k in knots if knots[s.degree] <= k <= knots[n]})
    at = lambda ts: numpy.array([(p.x, p.y) for p in s.points(ts)]) * mm
    return numpy.concatenate([sampled(at, a, b) for a, b in zip(stops, stops[1:])])


def meets(points):
    return math.dist(points[0], points[-1]) < 1e-9


def strands(e, mm):
    """Points in mm and whether they close, for each strand of an entity that draws an outline."""
    kind = e.dxftype()
    wcs = lambda p: numpy.array([(q.x, q.y) for q in e.ocs().points_to_wcs([(*xy, 0) for xy in p])])
    if kind == "LINE":
        yield numpy.array([(p.x * mm, p.y * mm) for p in (e.dxf.start, e.dxf.end)]), False
    elif kind in ("ARC", "CIRCLE"):
        a, b = (e.dxf.start_angle, e.dxf.end_angle) if kind == "ARC" else (0, 360)
        yield wcs(turn((e.dxf.center.x * mm, e.dxf.center.y * mm), e.dxf.radius * mm, math.radians(a), math.radians((b - a) % 360 or 360))), kind == "CIRCLE"
    elif kind == "LWPOLYLINE":
        p = wcs(bulged([(x * mm, y * mm, b) for x, y, b in e.get_points("xyb")], e.closed))
        yield p, e.closed or meets(p)
    elif kind == "POLYLINE":
        corners = [(v.dxf.location.x * mm, v.dxf.location.y * mm, v.dxf.get("bulge", 0)) for v in e.vertices if not v.dxf.flags & 16]
        p = wcs(bulged(corners, e.is_closed))
        yield p, e.is_closed or meets(p)
    elif kind == "ELLIPSE":
        yield elliptic(e.construction_tool(), mm)
    elif kind == "SPLINE":
        p = splined(e.construction_tool(), mm)
        yield p, meets(p)


def filled(e, mm):
    """The same of a filled area."""
    if e.dxftype() == "HATCH":
        yield from hatched(e, mm)
    elif e.dxftype() in ("SOLID", "TRACE"):
        yield numpy.array([(p.x, p.y) for p in e.wcs_vertices()]) * mm, True


def hatched(e, mm):
    """The same of a hatch's paths."""
    for path in e.paths:
        if isinstance(path, edges.PolylinePath):
            yield bulged([(x * mm, y * mm, b) for x, y, b in path.vertices], True), True
            continue
        for edge in path.edges:
            if isinstance(edge, edges.LineEdge):
                yield numpy.array([edge.start, edge.end]) * mm, False
            elif isinstance(edge, (edges.ArcEdge, edges.EllipseEdge)):
                yield elliptic(edge.construction_tool(), mm) if isinstance(edge, edges.EllipseEdge) else arc_edge(edge, mm)
            else:
                yield splined(BSpline(edge.control_points, edge.degree + 1, edge.knot_values, edge.weights or None), mm), False


def arc_edge(edge, mm):
    sweep = (edge.end_angle - edge.start_angle) % 360 or 360
    return turn([c * mm for c in edge.center], edge.radius * mm, math.radians(edge.start_angle), math.radians(sweep)), sweep == 360


def leaves(e, above, frozen):
    """The entities that an insert stands for, each with its layer; nothing of an insert on a frozen layer."""
    on = above if above is not None and e.dxf.layer == "0" else e.dxf.layer
    if e.dxftype() != "INSERT":
        yield e, on.lower()
    elif on.lower() not in frozen:
        for one in e.multi_insert() if e.mcount > 1 else [e]:
            for part in one.virtual_entities():
                yield from leaves(part, on, frozen)


def measure(path, layer, merge, closed_form):
    """Regions, rings, area, length and box of a drawing."""
    doc = ezdxf.readfile(path)
    if closed_form:
        return closed_form() if callable(closed_form) else row(*closed_form)
    mm = MM[doc.header.get("$INSUNITS", 0)]
    frozen = {l.dxf.name.lower() for l in doc.layers if l.is_frozen()}
    shut = frozen | {l.dxf.name.lower() for l in doc.layers if l.is_off()}
    used = [e for top in doc.modelspace() for e, on in leaves(top, None, frozen) if (on == layer.lower() if layer else on not in shut)]
    found = [s for e in used for s in strands(e, mm)] or [s for e in used for s in filled(e, mm)]
    if merge == "areas":
        whole = unary_union([Polygon(p) for p, _ in found])
        shapes = getattr(whole, "geoms", [whole])
        return figures([numpy.array(ring.coords) for s in shapes for ring in (s.exterior, *s.interiors)])
    if merge:
        around = [LineString([*p, p[0]] if closed else p) for p, closed in found]
        return figures([numpy.array(p.exterior.coords) for p in polygonize(unary_union(around))])
    return figures(chained(found))
