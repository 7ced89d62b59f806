"""Draws the DXF files of the demo job `gauge-cradle` with ezdxf: loose lines and arcs, circles, polylines with bulges, one file in inches.

    make_job_drawings.py [FOLDER]        (without FOLDER: fixtures/jobs/gauge-cradle beside this file's repository)

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


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "..", "..", "fixtures", "jobs", "gauge-cradle")
    for name, doc in (("cradle", cradle()), ("pad", pad()), ("clip", clip())):
        if doc.audit().errors:
            raise SystemExit(f"{name}: {doc.audit().errors}")
        doc.saveas(os.path.join(folder, f"{name}.dxf"))


if __name__ == "__main__":
    main()
