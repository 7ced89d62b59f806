"""Draws the demo jobs' drawings: for `gauge-cradle` DXF files with loose lines and arcs, circles, polylines with bulges, one file in inches; for
`stamp-rack` (an invented rack of stamps and ink pads) `face.svg` with groups, `use` and Bezier curves, and `spacer.dxf` with blocks and a spline.

    make_job_drawings.py [FOLDER]        (without FOLDER: fixtures/jobs of this repository)

Both drawings of the rack have the same outline and the same places of screws: x from 0 to 620, y from -420 to 0, which is how an SVG's page lies.
The files are kept in the repository; this is how they were made, and running it again gives the same bytes."""
import math, os, sys

import ezdxf

ezdxf.options.write_fixed_meta_data_for_testing = True       # no clock and no random ids in the file

WIDTH, DEPTH, CORNER = 640.0, 300.0, 20.0
THUMB = 40.0                                                 # radius of the thumb notch in the front edge
BORES = [(80 + 120 * i, 160) for i in range(5)]


def new(units):
    doc = ezdxf.new("R2000")
    doc.units = units
    return doc, doc.modelspace()


def plate(msp, layer):
    """The plate's outline as loose lines and arcs, in no helpful order, some drawn backwards."""
    r, w, d, mid = CORNER, WIDTH, DEPTH, WIDTH / 2
    on = {"layer": layer}
    msp.add_line((w, r), (w, d - r), on)
    msp.add_arc((r, r), r, 180, 270, dxfattribs=on)
    msp.add_line((w - r, d), (r, d), on)
    msp.add_arc((w - r, d - r), r, 0, 90, dxfattribs=on)
    msp.add_line((mid - THUMB, 0), (r, 0), on)               # backwards
    msp.add_arc((mid, 0), THUMB, 0, 180, dxfattribs=on)      # a bite into the front edge
    msp.add_arc((w - r, r), r, 270, 360, dxfattribs=on)
    msp.add_line((0, r), (0, d - r), on)                     # backwards
    msp.add_line((mid + THUMB, 0), (w - r, 0), on)
    msp.add_arc((r, d - r), r, 90, 180, dxfattribs=on)


def slot(msp, layer, x, y, length, width):
    """A slot along x about its middle: a closed polyline whose ends are half circles (bulge 1)."""
    half, r = (length - width) / 2, width / 2
    msp.add_lwpolyline([(x - half, y - r, 0), (x + half, y - r, 1), (x + half, y + r, 0), (x - half, y + r, 1)], format="xyb", close=True,
                       dxfattribs={"layer": layer})


def cradle():
    """Two layers of the cradle in one file: BASE with vents, FACE with the bores for the gauges."""
    doc, msp = new(ezdxf.units.MM)
    for name in ("BASE", "FACE"):
        doc.layers.add(name)
        plate(msp, name)
    for x, y in BORES:
        msp.add_circle((x, y), 30, {"layer": "FACE"})
    for x in (140, 260, 380, 500):
        slot(msp, "BASE", x, 160, 44, 14)
    return doc


def pad():
    """A ring of felt under a gauge."""
    doc, msp = new(ezdxf.units.MM)
    msp.add_circle((0, 0), 29)
    msp.add_circle((0, 0), 11)
    return doc


def clip():
    """A spring clip, drawn in inches: a C with a round back."""
    doc, msp = new(ezdxf.units.IN)
    quarter = math.tan(math.radians(90) / 4)
    msp.add_lwpolyline([(0, 0, 0), (1.25, 0, 1), (1.25, 0.25, 0), (0.5, 0.25, -quarter), (0.25, 0.5, 0), (0.25, 0.75, -quarter), (0.5, 1.0, 0),
                        (1.25, 1.0, 1), (1.25, 1.25, 0), (0, 1.25, 0)], format="xyb", close=True)
    return doc


# ---- stamp-rack: x, y on the page of the SVG, y down; the DXF has -y --------------------------------------------------------------
RACK, RACK_CORNER = (620, 420), 24
SCREWS = [(22, 22), (598, 22), (22, 398), (598, 398)]
ROUND_STAMPS = [(80 + 92 * i, 86) for i in range(6)]         # middles
FLAT_STAMPS = [(98 + 106 * i, 182) for i in range(5)]
PADS = [(125, 300), (495, 300)]


def face():
    """The rack's face: pockets as the stamps and pads are, and an opening for labels with a finger notch, clear of one another."""
    uses = lambda what, places: "\n".join(f'      <use href="#{what}" x="{x}" y="{y}"/>' for x, y in places)
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="{RACK[0]}mm" height="{RACK[1]}mm" viewBox="0 0 {RACK[0]} {RACK[1]}">
  <title>Stamp rack, face</title>
  <defs>
    <circle id="round" r="26"/>
    <rect id="flat" x="-36" y="-23" width="72" height="46" rx="10"/>
    <rect id="pad" x="-72" y="-46" width="144" height="92" rx="14" ry="9"/>
  </defs>
  <g fill="none" stroke="#000" stroke-width="0.2">
    <rect width="{RACK[0]}" height="{RACK[1]}" rx="{RACK_CORNER}"/>
    <g id="screws">
{chr(10).join(f'      <circle cx="{x}" cy="{y}" r="3.3"/>' for x, y in SCREWS)}
    </g>
    <g id="stamps">
{uses("round", ROUND_STAMPS)}
{uses("flat", FLAT_STAMPS)}
    </g>
    <g id="pads">
{uses("pad", PADS)}
    </g>
    <g id="labels" transform="translate(310 290)">
      <path d="M-66-40H66c6.6 0 12 5.4 12 12V28c0 6.6-5.4 12-12 12H42C30 40 34 76 0 76S-30 40-42 40h-24c-6.6 0-12-5.4-12-12v-56c0-6.6 5.4-12 12-12z"/>
    </g>
  </g>
</svg>
"""


def spacer():
    """Below the face: narrower wells that the stamps' handles go through, in blocks; an opening of one spline; holes for the screws' heads."""
    doc, msp = new(ezdxf.units.MM)
    for name in ("OUTLINE", "WELLS", "HEADS"):
        doc.layers.add(name)
    (w, d), r, on = RACK, RACK_CORNER, {"layer": "OUTLINE"}
    for x, y, a in ((w - r, -r, 0), (r, -r, 90), (r, r - d, 180), (w - r, r - d, 270)):
        msp.add_arc((x, y), r, a, a + 90, dxfattribs=on)
    for a, b in (((r, 0), (w - r, 0)), ((w, -r), (w, r - d)), ((r, -d), (w - r, -d)), ((0, r - d), (0, -r))):
        msp.add_line(a, b, on)
    for x, y in SCREWS:
        msp.add_circle((x, -y), 6, {"layer": "HEADS"})
    quarter, well = math.tan(math.pi / 8), {"layer": "WELLS"}
    doc.blocks.new("ROUND_WELL").add_circle((0, 0), 17)
    slot(doc.blocks.new("FLAT_WELL", base_point=(25, 11)), "0", 25, 11, 50, 22)
    doc.blocks.new("PAD_WELL").add_lwpolyline([(0, 0, 0), (100, 0, quarter), (112, 12, 0), (112, 60, 0), (0, 60, 0)], format="xyb", close=True)
    for x, y in ROUND_STAMPS:
        msp.add_blockref("ROUND_WELL", (x, -y), well)
    for x, y in FLAT_STAMPS:
        msp.add_blockref("FLAT_WELL", (x, -y), well)
    for (x, y), side in zip(PADS, (1, -1)):                  # the second one mirrored
        msp.add_blockref("PAD_WELL", (x - 56 * side, -y - 30), {**well, "xscale": side})
    points = [(310, -350), (286, -350), (284, -314), (244, -318), (244, -262), (280, -264), (310, -256),
              (340, -264), (376, -262), (376, -318), (336, -314), (334, -350), (310, -350)]
    opening = msp.add_spline(degree=3, dxfattribs=well)
    opening.control_points = [(x, y, 0) for x, y in points]
    opening.knots = [0.0] * 3 + [float(k) for k in range(len(points) - 2)] + [float(len(points) - 3)] * 3
    opening.closed = True
    return doc


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "..", "..", "fixtures", "jobs")
    for job, name, doc in (("gauge-cradle", "cradle", cradle()), ("gauge-cradle", "pad", pad()), ("gauge-cradle", "clip", clip()), ("stamp-rack", "spacer", spacer())):
        if doc.audit().errors:
            raise SystemExit(f"{name}: {doc.audit().errors}")
        os.makedirs(os.path.join(folder, job), exist_ok=True)
        doc.saveas(os.path.join(folder, job, f"{name}.dxf"))
    with open(os.path.join(folder, "stamp-rack", "face.svg"), "w", encoding="utf-8", newline="\n") as f:
        f.write(face())


if __name__ == "__main__":
    main()
