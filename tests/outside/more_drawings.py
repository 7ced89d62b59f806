"""Further samples of the drawing tests, drawn with ezdxf and written by make_drawings.py: ellipses, old polylines, splines, blocks, hatches, layers
in blocks, units, things that draw no outline, and lines that lie over one another.

Measured by ezdxf, never by the program: ellipses by `ConstructionEllipse`, splines by `BSpline`, blocks by `virtual_entities()` and
`multi_insert()`, hatches by their edges, solids by `wcs_vertices()`; sampled and measured by `rings`, where tolerances are told. Beyond that:
- a spline of fit points only has no curve of its own in the format: measured is ezdxf's construction (`fit_points_to_cad_cv`: cubic, chord length
  parameters, second derivatives 0 at the ends unless there are end tangents), so these figures bind to 1e-6 only those who construct it alike;
- of a polyline that is fitted by a spline, vertices with flag 16 are the frame and are left out (ezdxf keeps them, so this is done here);
- an entity on layer 0 in a block is on the layer of the insert (ezdxf leaves it on 0, so this is done here), all the way down;
- a hatch, solid or trace is measured only where there is no outline;
- lines that overlap are merged by Shapely (`unary_union`, `polygonize`); arcs that overlap are measured by the closed form beside them;
- units are exact by definition: the inch is 25.4 mm, the mile 1760 yards, the angstrom 1e-10 m, SI prefixes as in SI."""
import math

import ezdxf
import numpy
from ezdxf.entities import boundary_paths as edges
from ezdxf.math import BSpline
from shapely.geometry import LineString
from shapely.ops import polygonize, unary_union

from rings import chained, figures, row, sampled

MM = {0: 1.0, 1: 25.4, 2: 304.8, 3: 1609344.0, 4: 1.0, 5: 10.0, 6: 1e3, 7: 1e6, 8: 25.4e-6, 9: 25.4e-3, 10: 914.4, 11: 1e-7, 12: 1e-6, 13: 1e-3,
      14: 100.0, 15: 1e4, 16: 1e5, 17: 1e12}
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
                   (13, "micrometres"), (14, "decimetres_plate"), (15, "decametres"), (16, "hectometres"), (17, "gigametres")):
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
        return row(*closed_form)
    mm = MM[doc.header.get("$INSUNITS", 0)]
    frozen = {l.dxf.name.lower() for l in doc.layers if l.is_frozen()}
    shut = frozen | {l.dxf.name.lower() for l in doc.layers if l.is_off()}
    used = [e for top in doc.modelspace() for e, on in leaves(top, None, frozen) if (on == layer.lower() if layer else on not in shut)]
    found = [s for e in used for s in strands(e, mm)] or [s for e in used for s in filled(e, mm)]
    if merge:
        around = [LineString([*p, p[0]] if closed else p) for p, closed in found]
        return figures([numpy.array(p.exterior.coords) for p in polygonize(unary_union(around))])
    return figures(chained(found))
