"""Draws the samples of the drawing tests with ezdxf: fixtures/drawings/dxf/<feature>/<one thing>.dxf, and beside them figures.csv with what an
independent reader (ezdxf and Shapely) measures: regions, rings, area, length and box in mm. Ellipses, splines, blocks and other features are in
more_drawings.py, with a reader of their own; what must be refused is in make_malformed.py.

    make_drawings.py [FOLDER]        (without FOLDER: fixtures of this repository)

The files are kept in the repository; this is how they were made, and running it again gives the same bytes. Arcs are flattened with a sagitta
of 1e-6 mm, so an area is off by less than that times the length, a length by less than 1e-6 of itself for radii above 1 mm."""
import csv, math, os, sys

import ezdxf
from ezdxf import units
from ezdxf.sections.classes import REQ_R2004, REQUIRED_CLASSES
from shapely.geometry import Polygon

import aged
import more_drawings

ezdxf.options.write_fixed_meta_data_for_testing = True       # no clock and no random ids in the file

SAGITTA = 1e-6
JOIN = 0.1
MM = {0: 1.0, 1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 9: 0.0254, 14: 100.0}      # of the units used here; 0 is taken as mm
SAMPLES = {}


def sample(name, version="R2000", unit=units.MM, binary=False, layer=None):
    """Registers a function that draws into a modelspace."""
    def keep(draw):
        SAMPLES[name] = (draw, version, unit, binary, layer)
        return draw
    return keep


def loose(msp, points, on=None):
    """A closed outline of single lines, every second one drawn backwards, the last first."""
    pairs = list(zip(points, points[1:] + points[:1]))
    for i, (a, b) in enumerate(reversed(pairs)):
        msp.add_line(*((a, b) if i % 2 else (b, a)), dxfattribs=on)


def plate(msp, on=None, w=120.0, d=80.0, r=10.0):
    """A plate with rounded corners of lines and arcs, in no helpful order."""
    for x, y, a in ((w - r, d - r, 0), (r, d - r, 90), (r, r, 180), (w - r, r, 270)):
        msp.add_arc((x, y), r, a, a + 90, dxfattribs=on)
    msp.add_line((r, 0), (w - r, 0), dxfattribs=on)
    msp.add_line((r, d), (w - r, d), dxfattribs=on)
    msp.add_line((0, d - r), (0, r), dxfattribs=on)
    msp.add_line((w, r), (w, d - r), dxfattribs=on)


SQUARE = [(0, 0), (50, 0), (50, 50), (0, 50)]

sample("line/loose_square", "R12")(lambda m: loose(m, SQUARE))
sample("line/island_in_a_hole")(lambda m: [loose(m, [(c - s, c - s), (c + s, c - s), (c + s, c + s), (c - s, c + s)]) for c, s in ((50, 50), (50, 40), (50, 30), (50, 20))])
sample("line/two_parts_apart")(lambda m: [loose(m, [(x + a, b) for a, b in SQUARE]) for x in (0, 60)])
sample("line/finely_divided")(lambda m: loose(m, [(20 * math.cos(k * math.tau / 3000), 20 * math.sin(k * math.tau / 3000)) for k in range(3000)][::6]))
sample("line/shorter_than_the_join")(lambda m: loose(m, [(2 * math.cos(k * math.tau / 250), 2 * math.sin(k * math.tau / 250)) for k in range(250)]))
sample("arc/rounded_plate", "R12")(plate)
sample("version/edited_for_1e300_days")(lambda m: [m.doc.header.__setitem__("$TDINDWG", 1e300), plate(m)])
sample("arc/full_turn")(lambda m: m.add_arc((10, 20), 6.6, 30, 390))
sample("arc/angles_below_zero")(lambda m: [m.add_arc((0, 0), 10, -90, 90), m.add_arc((0, 0), 10, 90, -90)])
sample("arc/two_halves_of_a_circle")(lambda m: [m.add_arc((5, 5), 3.3, 17, 197), m.add_arc((5, 5), 3.3, 197, 17)])
sample("circle/one")(lambda m: m.add_circle((30, 40), 3.3))
sample("circle/hole_in_a_plate")(lambda m: [m.add_circle((60, 40), 20), plate(m)])
sample("circle/rings_of_four")(lambda m: [m.add_circle((0, 0), r) for r in (40, 30, 20, 10)])
sample("lwpolyline/rectangle")(lambda m: m.add_lwpolyline([(0, 0), (85, 0), (85, 54), (0, 54)], close=True))
sample("lwpolyline/clockwise")(lambda m: m.add_lwpolyline([(0, 0), (0, 54), (85, 54), (85, 0)], close=True))
sample("lwpolyline/quarter_arc")(lambda m: m.add_lwpolyline([(0, 0, math.tan(math.pi / 8)), (10, 0, 0), (5, -20, 0)], format="xyb", close=True))
sample("lwpolyline/slot")(lambda m: m.add_lwpolyline([(0, 0, 0), (30, 0, 1), (30, 10, 0), (0, 10, 1)], format="xyb", close=True))
sample("lwpolyline/circle_of_two_bulges")(lambda m: m.add_lwpolyline([(0, 0, 1), (20, 0, 1)], format="xyb", close=True))
sample("lwpolyline/more_than_a_half_turn")(lambda m: m.add_lwpolyline([(0, 0, 2), (10, 0, 0), (5, -8, 0)], format="xyb", close=True))
sample("lwpolyline/open_flag_but_ends_meet")(lambda m: m.add_lwpolyline([(0, 0), (40, 0), (20, 30), (0, 0)]))
sample("lwpolyline/last_vertex_repeats_the_first")(lambda m: m.add_lwpolyline([(0, 0), (40, 0), (20, 30), (0, 0)], close=True))
sample("lwpolyline/vertex_given_twice")(lambda m: m.add_lwpolyline([(0, 0, 0), (40, 0, 0.5), (40, 0, 0), (20, 30, 0.2)], format="xyb", close=True))
sample("lwpolyline/joined_with_lines")(lambda m: [m.add_lwpolyline([(0, 0, -0.3), (40, 0, 0), (40, 25, 0.4)], format="xyb"), m.add_line((0, 25), (40, 25)), m.add_line((0, 0), (0, 25))])
sample("extrusion/arc_mirrored")(lambda m: [m.add_arc((-10, 0), 10, 0, 180, dxfattribs={"extrusion": (0, 0, -1)}), m.add_line((0, 0), (20, 0))])
sample("extrusion/skew_arc_mirrored")(lambda m: [m.add_arc((-10, 5), 10, 20, 130, dxfattribs={"extrusion": (0, 0, -1)}),
                                                 m.add_line((10 - 10 * math.cos(math.radians(20)), 5 + 10 * math.sin(math.radians(20))), (10, -30)),
                                                 m.add_line((10 - 10 * math.cos(math.radians(130)), 5 + 10 * math.sin(math.radians(130))), (10, -30))])
sample("extrusion/circle_mirrored")(lambda m: m.add_circle((-30, 40), 7, dxfattribs={"extrusion": (0, 0, -1)}))
sample("extrusion/polyline_mirrored")(lambda m: m.add_lwpolyline([(0, 0, 0.5), (30, 0, 0), (10, 40, 0)], format="xyb", close=True, dxfattribs={"extrusion": (0, 0, -1)}))
sample("duplicate/lines_twice")(lambda m: [loose(m, SQUARE), loose(m, SQUARE[2:] + SQUARE[:2])])
sample("duplicate/circle_twice")(lambda m: [m.add_circle((5, 5), 4), m.add_circle((5, 5), 4)])
sample("duplicate/polyline_begun_elsewhere")(lambda m: [m.add_lwpolyline(SQUARE, close=True), m.add_lwpolyline(list(reversed(SQUARE[1:] + SQUARE[:1])), close=True)])
sample("gap/lines_0.05")(lambda m: [m.add_line((0, 0), (50, 0)), m.add_line((50.05, 0), (50, 50)), m.add_line((50, 50), (0, 0.04))])
sample("gap/line_and_arc_0.08")(lambda m: [m.add_arc((0, 0), 20, 0, 180), m.add_line((-20, 0), (19.92, 0))])
sample("gap/arcs_0.03")(lambda m: [m.add_arc((0, 0), 20, 0, 90), m.add_arc((0, 0.03), 20, 90, 180), m.add_arc((0, 0), 20, 180, 360)])
sample("gap/arcs_to_six_decimals")(lambda m: [m.add_arc((0, 0), 333.333333, 10, 70), m.add_arc((round(233.333333 * math.cos(math.radians(70)), 6), round(233.333333 * math.sin(math.radians(70)), 6)), 100, 70, 190),
                                              m.add_line((round(233.333333 * math.cos(math.radians(70)) + 100 * math.cos(math.radians(190)), 6), round(233.333333 * math.sin(math.radians(70)) + 100 * math.sin(math.radians(190)), 6)),
                                                         (round(333.333333 * math.cos(math.radians(10)), 6), round(333.333333 * math.sin(math.radians(10)), 6)))])
sample("text/left_out")(lambda m: [plate(m), m.add_text("A"), m.add_text("B"), m.add_mtext("C"), m.add_point((3, 3))])
sample("unit/inches", unit=units.IN)(lambda m: m.add_lwpolyline([(0, 0), (4, 0), (4, 2.5), (0, 2.5)], close=True))
sample("unit/feet", unit=units.FT)(lambda m: m.add_circle((1, 1), 0.5))
sample("unit/centimetres", unit=units.CM)(lambda m: plate(m, w=12, d=8, r=1))
sample("unit/metres", unit=units.M)(lambda m: m.add_circle((0.1, 0.2), 0.05))
sample("unit/mils", unit=9)(lambda m: m.add_circle((1000, 2000), 500))
sample("unit/decimetres", unit=units.DM)(lambda m: m.add_circle((1, 2), 0.5))
sample("unit/none", unit=0)(lambda m: m.add_circle((10, 20), 5))


def layered(m):
    for name, r in (("BASE", 30), ("Face", 20)):
        m.doc.layers.add(name)
        m.add_circle((0, 0), r, dxfattribs={"layer": name})


def shut(m, how):
    m.doc.layers.add("GUIDE")
    getattr(m.doc.layers.get("GUIDE"), how)()
    m.add_circle((0, 0), 30, dxfattribs={"layer": "GUIDE"})
    m.add_circle((5, 0), 20)


def beside(m):
    m.add_circle((0, 0), 20)
    m.add_circle((0, 0), 30, dxfattribs={"invisible": 1})
    m.doc.paperspace().add_circle((0, 0), 25)


sample("layer/one_of_two", layer="FACE")(layered)
sample("layer/all_of_two")(layered)
sample("layer/frozen")(lambda m: shut(m, "freeze"))
sample("layer/off")(lambda m: shut(m, "off"))
sample("layer/off_but_named", layer="guide")(lambda m: shut(m, "off"))
sample("layer/invisible_and_paper")(beside)
for version in ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"):
    sample(f"version/{version}", version)(plate)
for version in ("R12", "R2000", "R2018"):
    sample(f"version/{version}_binary", version, binary=True)(plate)


# ---- the independent reader -----------------------------------------------------------------------------------------------
def turn(center, radius, start, sweep):
    steps = max(1, math.ceil(abs(sweep) / (2 * math.acos(1 - SAGITTA / radius))))
    return [(center[0] + radius * math.cos(start + sweep * k / steps), center[1] + radius * math.sin(start + sweep * k / steps)) for k in range(steps + 1)]


def curve(e, mm):
    """Points of an entity in mm, and whether it closes by itself."""
    kind, flip = e.dxftype(), -1 if e.dxf.extrusion.z < 0 else 1
    if kind == "LINE":
        return [(p.x * mm, p.y * mm) for p in (e.dxf.start, e.dxf.end)], False
    if kind in ("ARC", "CIRCLE"):
        a, b = (e.dxf.start_angle, e.dxf.end_angle) if kind == "ARC" else (0, 360)
        sweep = (b - a) % 360 or 360
        points = turn((e.dxf.center.x * mm, e.dxf.center.y * mm), e.dxf.radius * mm, math.radians(a), math.radians(sweep))
        return [(flip * x, y) for x, y in points], sweep == 360
    if kind == "LWPOLYLINE":
        corners, out = list(e.get_points("xyb")), []
        pairs = list(zip(corners, corners[1:] + corners[:1])) if e.closed else list(zip(corners, corners[1:]))
        for (x0, y0, bulge), (x1, y1, _) in pairs:
            a, b = (x0 * mm, y0 * mm), (x1 * mm, y1 * mm)
            if not bulge or a == b:
                out += [a, b]
                continue
            sweep = 4 * math.atan(bulge)
            radius = math.dist(a, b) / (2 * abs(math.sin(sweep / 2)))
            away = radius * math.cos(sweep / 2) * (1 if bulge > 0 else -1)      # of the centre, to the left of the chord
            ux, uy = (b[0] - a[0]) / math.dist(a, b), (b[1] - a[1]) / math.dist(a, b)
            center = (a[0] + b[0]) / 2 - uy * away, (a[1] + b[1]) / 2 + ux * away
            out += turn(center, radius, math.atan2(a[1] - center[1], a[0] - center[0]), sweep)
        return [(flip * x, y) for x, y in out], e.closed
    return None, False


def measure(path, layer, unit):
    """Regions, rings, area, length and box of a drawing."""
    doc = ezdxf.readfile(path)
    mm = MM[doc.header.get("$INSUNITS", 0)]
    shut = {l.dxf.name.lower() for l in doc.layers if l.is_frozen() or l.is_off()}
    closed, open_ = [], []
    for e in doc.modelspace():
        on = e.dxf.layer.lower()
        if e.dxf.get("invisible", 0) or (on != layer.lower() if layer else on in shut):
            continue
        points, is_closed = curve(e, mm)
        if points:
            (closed if is_closed else open_).append(points)
    while open_:
        ring = open_.pop(0)
        while math.dist(ring[0], ring[-1]) > JOIN or len(ring) < 3:
            gap, k, end = min((math.dist(ring[-1], p[end]), k, end) for k, p in enumerate(open_) for end in (0, -1))
            if gap > JOIN:
                raise ValueError(f"{path} is open by {gap}")
            more = open_.pop(k)
            if {ring[0], ring[-1]} == {more[0], more[-1]} and len(ring) == len(more) == 2:
                continue                                                        # the same line again
            ring = ring + (more if end == 0 else more[::-1])
        closed.append(ring)
        open_ = [p for p in open_ if not any(p in (list(pair), list(pair)[::-1]) for pair in zip(ring, ring[1:] + ring[:1]))]
    shapes = []
    for ring in closed:
        shape = Polygon(ring)
        if not any(shape.symmetric_difference(s).area < 1e-6 for s in shapes):
            shapes.append(shape)
    depth = [sum(o is not s and o.contains(s.representative_point()) and o.area > s.area for o in shapes) for s in shapes]
    area = sum(s.area * (1 if n % 2 == 0 else -1) for s, n in zip(shapes, depth))
    x0, y0, x1, y1 = (f(s.bounds[i] for s in shapes) for i, f in enumerate((min, min, max, max)))
    return [sum(n % 2 == 0 for n in depth), len(shapes), *(f"{v:.6f}" for v in (area, sum(s.length for s in shapes), x0, y0, x1, y1))]


def draw(folder, name, by, version, unit, binary):
    """Draws a sample; gives its path."""
    doc = ezdxf.new("R2000" if version in aged.VERSIONS else version)
    doc.units = unit
    by(doc.modelspace())
    if doc.dxfversion > "AC1009":           # ezdxf would add those in use in the order of a set, which is never twice the same
        for kind in (*REQUIRED_CLASSES.get(doc.dxfversion, REQ_R2004), "LAYOUT", "ACDBPLACEHOLDER", *sorted(doc.entitydb.dxf_types_in_use())):
            doc.classes.add_class(kind)
    path = os.path.join(folder, *name.split("/")) + ".dxf"
    os.makedirs(os.path.dirname(path), exist_ok=True)
    doc.saveas(path, fmt="bin" if binary else "asc")
    if version in aged.VERSIONS:
        aged.age(path, version)
    return path


def main(folder):
    rows = []
    for name, (by, version, unit, binary, layer) in SAMPLES.items():
        path = draw(folder, name, by, version, unit, binary)
        rows.append([name, layer or "", *measure(path, layer, unit)])
    for name, (by, version, unit, binary, layer, merge, closed_form) in more_drawings.SAMPLES.items():
        path = draw(folder, name, by, version, unit, binary)
        try:
            rows.append([name, layer or "", *more_drawings.measure(path, layer, merge, closed_form)])
        except Exception as error:
            raise SystemExit(f"{name}: {error!r}")
    with open(os.path.join(folder, "figures.csv"), "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow("sample,layer,regions,rings,area_mm2,length,min_x,min_y,max_x,max_y".split(","))
        out.writerows(rows)


if __name__ == "__main__":
    here = os.path.dirname(os.path.abspath(__file__))
    fixtures = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "..", "..", "fixtures")
    main(os.path.join(fixtures, "drawings", "dxf"))
