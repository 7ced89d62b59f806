"""Writes the drawings that must be refused: fixtures/malformed/dxf/<fault>.dxf and fixtures/malformed/svg/<fault>.svg, each with one thing wrong.

    make_malformed.py [FOLDER]        (without FOLDER: fixtures of this repository)

What the program says of each is not written here: fixtures/malformed/expected.csv has it, one row for each fault in the order in which they are
told, with its code and a part of the message. The files are kept in the repository; running this again gives the same bytes. Nothing but
Python's own library is used, and each tag and element is put down as it stands, since a library that writes drawings would correct them."""
import os, sys

SQUARE = [(0, 0), (50, 0), (50, 50), (0, 50)]


# ---- DXF --------------------------------------------------------------------------------------------------------------------
def tags(*pairs):
    return "".join(f"{code:>3}\n{value}\n" for code, value in pairs)


def section(name, *pairs):
    return tags((0, "SECTION"), (2, name), *pairs, (0, "ENDSEC"))


def file(*entities, header=(), blocks=(), layers=()):
    """A file of a header, a layer table, blocks and entities, each a list of pairs."""
    head = section("HEADER", (9, "$INSUNITS"), (70, 4), *header)
    if layers:
        head += section("TABLES", (0, "TABLE"), (2, "LAYER"), (70, len(layers)), *(p for l in layers for p in l), (0, "ENDTAB"))
    if blocks:
        head += section("BLOCKS", *(p for b in blocks for p in b))
    return head + section("ENTITIES", *(p for e in entities for p in e)) + tags((0, "EOF"))


def block(name, *entities):
    return [(0, "BLOCK"), (8, "0"), (2, name), (70, 0), (10, 0), (20, 0), *(p for e in entities for p in e), (0, "ENDBLK")]


def line(x0, y0, x1, y1, handle, layer="FACE"):
    return [(0, "LINE"), (5, handle), (8, layer), (10, x0), (20, y0), (30, 0), (11, x1), (21, y1), (31, 0)]


def circle(x, y, r, handle, layer="FACE"):
    return [(0, "CIRCLE"), (5, handle), (8, layer), (10, x), (20, y), (30, 0), (40, r)]


def poly(*points, handle="A0", closed=1):
    return [(0, "LWPOLYLINE"), (5, handle), (8, "FACE"), (90, len(points)), (70, closed), *((c, v) for p in points for c, v in zip((10, 20), p))]


def other(kind, *pairs, handle="B7"):
    return [(0, kind), (5, handle), (8, "FACE"), *pairs]


def insert(name, *pairs, handle="C1"):
    return [(0, "INSERT"), (5, handle), (8, "FACE"), (2, name), (10, 0), (20, 0), *pairs]


def ellipse(ratio=0.5, x=0, major=10):
    return other("ELLIPSE", (10, x), (20, 0), (30, 0), (11, major), (21, 0), (31, 0), (40, ratio), (41, 0), (42, "6.283185307179586"))


KNOTS = (0, 0, 0, 0, 1, 1, 1, 1)
POINTS = ((0, 0), (20, 40), (40, 40), (50, 0))


def spline(degree=3, knots=KNOTS, points=POINTS, weights=()):
    """A spline with a line that closes it."""
    curve = other("SPLINE", (70, 8), (71, degree), (72, len(knots)), (73, len(points)), (74, 0), *((40, k) for k in knots), *((41, w) for w in weights),
                  *((c, v) for p in points for c, v in zip((10, 20, 30), (*p, 0))))
    return file(curve, line(*points[-1], *points[0], "B8"))


def hatch(*edges):
    """A filled area with one outline of straight edges."""
    path = [(92, 1), (93, len(edges)), *((c, v) for e in edges for c, v in zip((72, 10, 20, 11, 21), (1, *e))), (97, 0)]
    return other("HATCH", (10, 0), (20, 0), (30, 0), (210, 0), (220, 0), (230, 1), (2, "SOLID"), (70, 1), (71, 0), (91, 1), *path, (75, 0), (76, 1), (98, 0))


def old_polyline(flags, *vertices, more=()):
    return other("POLYLINE", (66, 1), (70, flags), *more, *(p for v in vertices for p in [(0, "VERTEX"), (8, "FACE"), *v]), (0, "SEQEND"))


def corners(n):
    return [(c + k, v) for k in range(n) for c, v in zip((10, 20, 30), (*SQUARE[k], 0))]


def square(handle=0x20, layer="FACE"):
    """A square of lines."""
    return [line(*a, *b, f"{handle + i:X}", layer) for i, (a, b) in enumerate(zip(SQUARE, SQUARE[1:] + SQUARE[:1]))]


def ring_of_blocks(*names):
    """Each block places the next, the last one the first."""
    return file(insert(names[0]), blocks=[block(a, insert(b, handle=f"D{i}")) for i, (a, b) in enumerate(zip(names, names[1:] + names[:1]))])


def nested(n, *pairs):
    """Block 0 holds a circle, each further one the one before it, with as few tags as will do."""
    place = lambda i: [(0, "INSERT"), (2, f"L{i}"), *pairs]
    inner = [circle(0, 0, 5, "20"), *(place(i) for i in range(n))]
    return file(place(n), blocks=[[(0, "BLOCK"), (2, f"L{i}"), *inner[i], (0, "ENDBLK")] for i in range(n + 1)])


WHOLE = file(*square())
BODY = WHOLE.index("ENTITIES")
SECTIONS = (section("HEADER", (9, "$INSUNITS"), (70, 4))
            + section("CLASSES", (0, "CLASS"), (1, "SUN"), (2, "Sun"), (3, "Scene"), (90, 1153), (280, 0), (281, 0))
            + section("TABLES", (0, "TABLE"), (2, "LAYER"), (70, 1), (0, "LAYER"), (2, "FACE"), (70, 0), (62, 7), (6, "CONTINUOUS"), (0, "ENDTAB"))
            + section("BLOCKS", *block("BOLT", circle(0, 0, 5, "20")))
            + section("ENTITIES", *old_polyline(1, *([(10, x), (20, y), (30, 0)] for x, y in SQUARE)))
            + section("OBJECTS", (0, "DICTIONARY"), (5, "C"), (3, "GROUPS"), (350, "D")) + tags((0, "EOF")))


def cut(after, more=0):
    """The file of all sections, cut short where the line after these words begins, or some bytes later."""
    return SECTIONS[:SECTIONS.index(f"\n{after}\n") + len(after) + 2 + more]


DXF = {
    "empty": "",
    "blank": "\n \n\n",
    "pdf_renamed": "%PDF-1.7\n%\u00e2\u00e3\n1 0 obj\n<< /Type /Catalog >>\nendobj\n",
    "xml_renamed": '<?xml version="1.0"?>\n<drawing/>\n',
    "svg_renamed": '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm"/>\n',
    "dwg_renamed": "AC1015\0\0\0\0",
    "text": "length = 12\nwidth = 7\n",
    "utf_16": b"\xff\xfe" + WHOLE.encode("utf-16-le"),
    "only_carriage_returns": WHOLE.replace("\n", "\r"),
    "begins_with_an_entity": tags(*line(0, 0, 1, 1, "20"), (0, "EOF")),
    "ends_in_the_header": WHOLE[:40],
    "ends_in_an_entity": WHOLE[:BODY + 150],
    "ends_after_a_code": WHOLE[:BODY + 12],
    "no_end_mark": WHOLE.replace("  0\nEOF\n", ""),
    "code_that_is_no_number": WHOLE.replace(" 11\n50", "1l\n50", 1),
    "line_left_out": WHOLE.replace(" 10\n0\n", " 10\n", 1),
    "binary_cut_short": b"AutoCAD Binary DXF\r\n\x1a\0\0\0SECTION\0\x02\0ENTITIES\0\0\0LINE\0\x0a\0\0\0",
    "binary_with_an_unknown_code": b"AutoCAD Binary DXF\r\n\x1a\0\0\0SECTION\0\x02\0ENTITIES\0\xe7\x5f\0\0",
    "coordinate_nan": file(line("nan", 0, 50, 0, "20")),
    "coordinate_inf": file(circle(0, "inf", 5, "20")),
    "coordinate_is_a_word": file(line("twelve", 0, 50, 0, "20")),
    "coordinate_1e300": file(circle("1e300", 0, 5, "20")),
    "coordinate_beyond_a_kilometre": file(circle(1000001, 0, 5, "20")),
    "radius_below_zero": file(circle(0, 0, -5, "20")),
    "unit_99": file(*square()).replace(" 70\n4", " 70\n99"),
    "tilted_circle": file(circle(0, 0, 5, "20") + [(210, 0), (220, 0.5), (230, 0.8)]),
    "line_that_climbs": file(line(0, 0, 50, 0, "20")).replace(" 31\n0", " 31\n7"),
    "unknown_entity": file(*square(), other("WOBBLE", (10, 0), (20, 0))),
    "text_only": file(other("TEXT", (10, 0), (20, 0), (40, 5), (1, "A"))),
    "no_entities": file(),
    "header_only": tags((0, "SECTION"), (2, "HEADER"), (0, "ENDSEC"), (0, "EOF")),
    "open_by_0.183": file(line(0, 0, 50, 0, "20"), line(50, 0.183, 50, 50, "21"), line(50, 50, 0, 0, "22")),
    "open_polyline": file(poly((0, 0), (50, 0), (50, 50), closed=0)),
    "one_line": file(line(0, 0, 50, 0, "20")),
    "three_at_a_corner": file(*square(), line(50, 50, 80, 80, "30")),
    "ten_lines": file(*(line(0, 3 * i, 50, 3 * i, f"{0x20 + i:X}") for i in range(10))),
    "hatching": file(*(line(0, y := round(0.0021 * i, 4), 50, y, f"{0x20 + i:X}") for i in range(600))),
    "there_and_back": file(poly((0, 0), (50, 0))),
    "bow_tie": file(poly((0, 0), (50, 50), (50, 0), (0, 50))),
    "circles_cross": file(circle(0, 0, 10, "20"), circle(15, 0, 10, "21")),
    "hole_touches_the_edge": file(*square(), circle(10, 25, 10, "30")),
    "squares_share_an_edge": file(*(poly(*((x + a, b) for a, b in SQUARE), handle=h) for x, h in ((0, "20"), (50, "21")))),
    # Truncated in the other sections.
    "ends_in_the_classes": cut("SUN"),
    "ends_in_the_tables": cut("CONTINUOUS"),
    "ends_in_a_block": cut("CIRCLE"),
    "ends_in_a_polyline": cut("VERTEX", 20),
    "ends_in_the_objects": cut("GROUPS"),
    "ends_in_a_line_of_the_header": SECTIONS[:38],
    # Blocks.
    "block_in_itself": ring_of_blocks("BOLT"),
    "two_blocks_in_a_circle": ring_of_blocks("BOLT", "NUT"),
    "three_blocks_in_a_circle": ring_of_blocks("BOLT", "NUT", "WASHER"),
    "blocks_300_deep": nested(300),
    "block_missing": file(*square(), insert("BOLT")),
    "array_of_30000_by_30000": file(insert("BOLT", (70, 30000), (71, 30000), (44, 20), (45, 20)), blocks=[block("BOLT", circle(0, 0, 5, "20"))]),
    "arrays_of_arrays": nested(10, (70, 10), (71, 1), (44, 20), (45, 20)),
    "block_without_an_end": file(insert("BOLT"), blocks=[block("BOLT", circle(0, 0, 5, "20"))[:-1], block("NUT", circle(20, 0, 5, "21"))]),
    "block_end_without_a_block": file(insert("BOLT"), blocks=[block("BOLT", circle(0, 0, 5, "20"))[6:]]),
    "radius_below_zero_in_a_block": file(insert("BOLT"), blocks=[block("BOLT", circle(0, 0, -5, "20"))]),
    "insert_scale_nan": file(insert("BOLT", (41, "nan")), blocks=[block("BOLT", circle(0, 0, 5, "20"))]),
    "insert_scale_0": file(insert("BOLT", (41, 0), (42, 0)), blocks=[block("BOLT", circle(0, 0, 5, "20"))]),
    "insert_scale_1e300": file(insert("BOLT", (41, "1e300"), (42, "1e300")), blocks=[block("BOLT", circle(0, 0, 5, "20"))]),
    # Curves whose numbers make none.
    "ellipse_nan": file(ellipse(ratio="nan")),
    "ellipse_ratio_0": file(ellipse(ratio=0)),
    "ellipse_ratio_1e9": file(ellipse(ratio="1e9")),
    "ellipse_without_an_axis": file(ellipse(major=0)),
    "spline_knot_nan": spline(knots=(0, 0, 0, 0, 1, 1, "nan", 1)),
    "spline_too_few_knots": spline(knots=KNOTS[:-1]),
    "spline_knots_descend": spline(knots=(0, 0, 0, 0, 1, 1, 0.5, 1)),
    "spline_degree_0": spline(degree=0),
    "spline_degree_40": spline(degree=40),
    "spline_weight_below_zero": spline(weights=(1, -1, 1, 1)),
    "spline_too_few_points": spline(points=POINTS[::3], knots=KNOTS[1:-1]),
    "hatch_inf": file(hatch((0, 0, 50, 0), (50, 0, 50, "inf"), (50, 50, 0, 0))),
    "hatch_with_an_open_edge_path": file(hatch((0, 0, 50, 0), (50, 0, 50, 50), (50, 50, 0, 50))),
    # What is not flat, or is a surface.
    "polyline_in_space": file(old_polyline(9, *([(10, x), (20, y), (30, x), (70, 32)] for x, y in SQUARE))),
    "polyline_mesh": file(old_polyline(16, *([(10, x), (20, y), (30, 0), (70, 64)] for x, y in SQUARE), more=[(71, 2), (72, 2)])),
    "tilted_lwpolyline": file(poly(*SQUARE) + [(210, 0), (220, 0.6), (230, 0.8)]),
    "face_in_space": file(other("3DFACE", *corners(4))),
    "solid_with_corners_around": file(other("SOLID", *corners(4))),              # the format wants the last two the other way round
    "solid_of_two_corners": file(other("SOLID", *corners(2))),
    "trace_in_space": file(other("TRACE", *corners(4)[:-1], (33, 1))),
    "parallel_lines_only": file(other("MLINE", (2, "STANDARD"), (40, 10), (70, 0), (71, 3), (72, 2), (73, 2), (10, 0), (20, 0), (30, 0))),
    "region": file(other("REGION", (70, 1), (1, "nmmjjhjof"))),
    "body_in_space": file(other("3DSOLID", (70, 1), (1, "nmmjjhjof"))),
    # Names and marks.
    "utf_16_without_a_mark": WHOLE.encode("utf-16-le"),
    "handle_of_10_kB": file(line(0, 0, 50, 0, "A" * 10_000)),
    "layer_of_10_kB": file(line(0, 0, 50, 0, "20", layer="A" * 10_000)),
    "layer_with_control_characters": file(line(0, 0, 50, 0, "20", layer="FA\x1b[31mCE\x07\x85\x7f")),
    "layer_with_marks_of_direction": file(line(0, 0, 50, 0, "20", layer="FA\u202eCE\u2066\u200f")).encode("utf-8"),
    "block_with_a_name_of_10_kB": file(insert("B" * 10_000)),
    "zip_renamed": b"PK\x03\x04\x14\0\0\0\x08\0",
    "kind_of_10_kB": file(other("W" * 10_000)),
    # Many of one kind, and several kinds at once.
    "radius_below_zero_30_times": file(*(circle(20 * i, 0, -5, f"{0x20 + i:X}") for i in range(30))),
    "thirty_unknown_kinds": file(*square(), *(other(f"WOBBLE{i:02}", (10, 0), handle=f"{0xB0 + i:X}") for i in range(30))),
    "unknown_kind_beside_a_radius_below_zero": file(other("WOBBLE", (10, 0)), circle(0, 0, -5, "20"), circle(1000001, 0, 5, "21")),
    "unit_99_beside_a_radius_below_zero": file(circle(0, 0, -5, "20")).replace(" 70\n4", " 70\n99"),
    # Nothing to cut, for several reasons.
    "layers_switched_off": file(*square(layer="GUIDE"), other("TEXT", (10, 0), (20, 0), (40, 5), (1, "A")),
                                layers=[[(0, "LAYER"), (2, "GUIDE"), (70, 0), (62, -7)], [(0, "LAYER"), (2, "FACE"), (70, 0), (62, 7)]]),
    "invisible_only": file(circle(0, 0, 5, "20") + [(60, 1)]),
    "on_a_paper_layout_only": file(circle(0, 0, 5, "20") + [(67, 1)]),
    "block_placed_nowhere": file(blocks=[block("BOLT", circle(0, 0, 5, "20"))]),
    "circle_of_no_radius": file(circle(0, 0, 0, "20")),
    "kinds_of_text_by_the_dozen": file(*(other(k, (10, 0), (20, 0)) for k in ("TEXT", "MTEXT", "POINT", "RAY", "XLINE", "LEADER", "IMAGE"))),
    # Squeezed to nothing.
    "insert_scale_0_along_y": file(insert("BOLT", (41, 1), (42, 0)), blocks=[block("BOLT", *square())]),
    "ellipse_ratio_1e-9": file(ellipse(ratio="1e-9")),
    "polyface_mesh": file(old_polyline(64, *([(10, x), (20, y), (30, 0), (70, 192)] for x, y in SQUARE), more=[(71, 4), (72, 1)])),
    # What the pairs say is none of the format's.
    "flags_that_are_a_word": file(*square(), poly(*SQUARE)).replace(" 70\n1\n", " 70\nclosed\n"),
    "weight_that_is_a_word": file(circle(0, 0, 5, "20") + [(370, "thick")]),
    "true_colour_of_3e9": file(circle(0, 0, 5, "20") + [(420, 3000000000)], *square()),
    "visibility_that_is_a_word": file(circle(0, 0, 5, "20") + [(60, "shown")]),
    "edit_time_of_1e300_and_a_block_without_an_end": file(*square(), header=[(9, "$TDINDWG"), (40, "1e300")], blocks=[block("BOLT", circle(0, 0, 5, "20"))[:-1]]),
    "block_inside_of_a_block": file(insert("BOLT"), blocks=[block("BOLT", circle(0, 0, 5, "20"))[:-1] + block("NUT", circle(20, 0, 5, "21"))]),
    # Other formats under the name of this one.
    "png_renamed": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
    "jpeg_renamed": b"\xff\xd8\xff\xe0\0\x10JFIF\0",
    "compressed": b"\x1f\x8b\x08\0\0\0\0\0\0\xff\x03\0" + bytes(8),
    "svg_in_utf_16_renamed": b"\xff\xfe" + '<svg width="10mm" height="10mm"/>\n'.encode("utf-16-le"),
    "utf_32": WHOLE.encode("utf-32-be"),
    "utf_32_with_a_mark": b"\xff\xfe\0\0" + WHOLE.encode("utf-32-le"),
    "binary_with_a_wrong_mark": b"AutoCAD Binary DXF\n\x1a\0" + b"\0\0SECTION\0\x02\0ENTITIES\0\0\0ENDSEC\0\0\0EOF\0",
}


# ---- SVG --------------------------------------------------------------------------------------------------------------------
NAMESPACES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
PAGE = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
RECT = '<rect id="plate" x="10" y="10" width="60" height="40"/>'


def svg(*elements, page=PAGE):
    return "".join(f"{line}\n" for line in (f"<svg {NAMESPACES} {page}>", *("  " + e for e in elements), "</svg>"))


def typed(declarations, *elements):
    """With a document type."""
    return '<?xml version="1.0"?>\n<!DOCTYPE svg [\n' + "".join(f"  <!ENTITY {d}>\n" for d in declarations) + "]>\n" + svg(*elements)


def path(data, more=""):
    return svg(f'<path id="edge" d="{data}"{more}/>')


def levels(n, times):
    """Each group repeats the one before it."""
    return [f'<g id="l{i}">' + f'<use href="#l{i - 1}"/>' * times + "</g>" for i in range(1, n + 1)]


SOUND = svg(RECT)
PLATE = "M10 10H70V50H10Z"
SVG = {
    "empty": "",
    "blank": "\n \n\t\n",
    "pdf_renamed": DXF["pdf_renamed"],
    "dxf_renamed": WHOLE,
    "png_renamed": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
    "compressed": b"\x1f\x8b\x08\0\0\0\0\0\0\xff\x03\0" + bytes(8),
    "zip_renamed": DXF["zip_renamed"],
    "text": "length = 12\nwidth = 7\n",
    "zero_bytes_at_the_end": SOUND + "\0" * 20,
    "parameter_entity": '<!DOCTYPE svg [\n  <!ENTITY % more SYSTEM "file:///etc/hostname">\n  %more;\n]>\n' + SOUND,
    "utf_16_damaged": b"\xff\xfe" + SOUND.encode("utf-16-le").replace(b"p\0l\0a\0t\0e\0", b"p\0l\0a\0\0\xdce\0"),
    "utf_16_with_half_a_letter": b"\xff\xfe" + SOUND.encode("utf-16-le")[:-3],
    "control_character": SOUND.replace("plate", "pl\x01te"),
    "ends_in_a_tag": SOUND[:SOUND.index(' y="10"')],
    "ends_in_an_attribute": SOUND[:SOUND.index('0" height="40"')],
    "ends_in_a_comment": SOUND.replace("  <rect", "  <!-- the plate\n  <rect"),
    "ends_in_a_cdata_section": SOUND.replace("  <rect", "  <style><![CDATA[ rect { fill: none }\n  <rect"),
    "ends_without_the_root": SOUND.replace("</svg>\n", ""),
    "goes_on_after_the_root": SOUND + "<rect",
    "two_roots": SOUND + SOUND,
    "attribute_twice": SOUND.replace('x="10"', 'x="10" x="20"'),
    "tags_cross": svg("<g><a>" + RECT + "</g></a>"),
    "prefix_unknown": svg("<plan:plate/>" + RECT),
    "unknown_root": "<drawing>\n" + RECT + "\n</drawing>\n",
    "html": "<!DOCTYPE html>\n<html><body>" + SOUND + "</body></html>\n",
    "entity_unknown": svg('<rect width="&width;" height="40"/>'),
    "entity_bomb": typed(['e0 "M0 0h9v9z"'] + [f'e{i} "{f"&e{i - 1};" * 10}"' for i in range(1, 10)], '<path d="&e9;"/>'),
    "entity_in_itself": typed(['width "&width;"'], '<rect width="&width;" height="40"/>'),
    "two_entities_in_a_circle": typed(['width "&height;"', 'height "&width;"'], '<rect width="&width;" height="40"/>'),
    "entity_of_another_file": typed(['name SYSTEM "file:///etc/hostname"'], "<text>&name;</text>", RECT),
    "use_of_itself": svg('<use id="u" href="#u"/>', RECT),
    "use_of_what_holds_it": svg('<g id="plates">' + RECT + '<use href="#plates" x="20"/></g>'),
    "two_uses_in_a_circle": svg('<g id="a"><use href="#b"/></g>', '<g id="b"><use href="#a"/></g>', RECT),
    "uses_of_uses": svg('<g id="l0">' + RECT + "</g>", *levels(7, 10)),
    "groups_300_deep": svg("<g>" * 300 + RECT + "</g>" * 300),
    "uses_300_deep": svg('<g id="l0">' + RECT + "</g>", "<defs>", *levels(150, 1), "</defs>", '<use href="#l150"/>'),
    "path_nan": path("M10 10HnanV50Z"),
    "path_inf": path("M10 10H70Vinf H10Z"),
    "path_1e400": path("M10 10H1e400V50H10Z"),
    "path_begins_with_a_line": path("L10 10H70V50Z"),
    "path_of_an_unknown_command": path("M10 10H70W50H10Z"),
    "path_with_arc_flag_2": path("M10 10A20 20 0 2 1 50 10Z"),
    "path_with_a_number_too_few": path("M10 10L70 10 70Z"),
    "rect_nan": svg('<rect width="nan" height="40"/>'),
    "rect_1e400": svg('<rect width="1e400" height="40"/>'),
    "rect_width_below_zero": svg('<rect x="10" y="10" width="-60" height="40"/>'),
    "circle_radius_below_zero": svg('<circle cx="20" cy="20" r="-5"/>'),
    "ellipse_radius_below_zero": svg('<ellipse cx="20" cy="20" rx="10" ry="-5"/>'),
    "polygon_with_half_a_point": svg('<polygon points="10,10 70,10 70,50 10"/>'),
    "polygon_with_a_word": svg('<polygon points="10,10 70,ten 70,50"/>'),
    "transform_nan": svg('<g transform="translate(nan)">' + RECT + "</g>"),
    "transform_1e400": svg('<g transform="scale(1e400)">' + RECT + "</g>"),
    "transform_of_an_unknown_name": svg('<g transform="swirl(30)">' + RECT + "</g>"),
    "transform_of_five_numbers": svg('<g transform="matrix(1 0 0 1 0)">' + RECT + "</g>"),
    "transform_to_nothing": svg('<g transform="scale(0)">' + RECT + "</g>"),
    "transform_to_a_line": svg('<g transform="scale(1 0)">' + RECT + "</g>"),
    "view_box_of_no_size": svg(RECT, page='width="100mm" height="100mm" viewBox="0 0 0 100"'),
    "view_box_below_zero": svg(RECT, page='width="100mm" height="100mm" viewBox="0 0 -100 100"'),
    "view_box_of_three_numbers": svg(RECT, page='width="100mm" height="100mm" viewBox="0 0 100"'),
    "view_box_nan": svg(RECT, page='width="100mm" height="100mm" viewBox="0 0 nan 100"'),
    "page_in_furlongs": svg(RECT, page='width="12furlongs" height="100mm" viewBox="0 0 100 100"'),
    "page_in_em": svg(RECT, page='width="12em" height="100mm" viewBox="0 0 100 100"'),
    "page_of_no_size": svg(RECT, page='width="0mm" height="100mm" viewBox="0 0 100 100"'),
    "page_in_nonsense_percent": svg(RECT, page='width="%100" height="100mm" viewBox="0 0 100 100"'),
    "rect_in_em": svg('<rect width="4em" height="40"/>'),
    "rect_in_percent_of_nonsense": svg('<rect width="4%%" height="40"/>'),
    "coordinate_beyond_a_kilometre": svg('<rect x="1000001" y="10" width="60" height="40"/>'),
    "outline_open": path("M10 10H70V50H10", ' fill="none" stroke="black"'),
    "outlines_cross": svg(RECT, '<rect id="tab" x="40" y="30" width="50" height="50"/>'),
    "bow_tie": path("M10 10L70 50V10L10 50Z", ' fill="none" stroke="black"'),
    "outlines_touch": svg(RECT, '<rect id="tab" x="70" y="10" width="20" height="40"/>'),
    "hole_touches_the_edge": path(PLATE + "M10 30L30 20V40Z", ' fill-rule="evenodd"'),
    "text_only": svg('<text x="10" y="20">A</text>'),
    "nothing_in_it": svg(),
    "all_hidden": svg('<g display="none">' + RECT + "</g>"),
    "image_only": svg('<image width="60" height="40" href="plate.png"/>'),
    "definitions_only": svg("<defs>" + RECT + "</defs>"),
    "transform_by_the_style_of_an_element": svg('<g>', '  <rect id="plate" style="transform: rotate(30deg)" x="10" y="10" width="60" height="40"/>', "</g>"),
    "radius_by_the_style_of_an_element": svg('<circle id="bore" style="r: 20px" cx="40" cy="40" r="5"/>'),
    "width_by_a_rule_of_style": svg("<style>rect { width: 50px }</style>", RECT),
    "path_data_by_a_style": svg('<path id="edge" style="d: path(\'M0 0h50v50z\')" d="M0 0h10v10z"/>'),
    "symbol_with_a_point_of_its_own": svg('<symbol id="eye" refX="5" refY="5"><circle cx="5" cy="5" r="4"/></symbol>', '<use href="#eye" x="20" y="30"/>'),
    "style_with_a_transform": svg("<style>rect { transform: rotate(30deg) }</style>", RECT),
    "id_of_10_kB": svg(f'<rect id="{"a" * 10_000}" width="nan" height="40"/>'),
    "id_with_marks_of_direction": svg('<rect id="pl\u202eate\u2066" width="nan" height="40"/>'),
    "attribute_of_10_kB": svg(f'<rect width="{"9x" * 5_000}" height="40"/>'),
    # The page.
    "page_by_a_style": svg(RECT, page='style="width: 100mm; height: 100mm" viewBox="0 0 100 100"'),
    "page_of_another_width_by_a_rule_of_style": svg("<style>svg { width: 100% }</style>", RECT),
    "page_inside_of_a_width_by_its_style": svg('<svg id="inner" style="width: 20px" width="40" height="40">' + RECT + "</svg>"),
    "page_below_zero": svg(RECT, page='width="-100mm" height="100mm" viewBox="0 0 100 100"'),
    "page_of_two_numbers": svg(RECT, page='width="100 200" height="100mm" viewBox="0 0 100 100"'),
    "page_without_a_number": svg(RECT, page='width="mm" height="100mm" viewBox="0 0 100 100"'),
    "page_of_an_empty_width": svg(RECT, page='width="" height="100mm" viewBox="0 0 100 100"'),
    "page_of_0_px_without_a_view_box": svg(RECT, page='width="0" height="0"'),
    "page_inside_below_zero": svg('<svg width="-20" height="20">' + RECT + "</svg>"),
    # Many of one kind, and several kinds at once.
    "rect_nan_30_times": svg(*('<rect width="nan" height="40"/>' for _ in range(30))),
    "rect_nan_beside_a_coordinate_too_far": svg('<rect width="nan" height="40"/>', '<rect id="far" x="1000001" y="10" width="60" height="40"/>'),
    # Nothing to cut, for several reasons.
    "use_without_a_target": svg('<use id="u" href="#bolt"/>', '<use href="parts.svg#nut"/>'),
    "rect_of_no_width": svg('<rect x="10" y="10" width="0" height="40"/>', '<circle r="0"/>', '<ellipse rx="5" ry="0"/>', '<polygon points=""/>', "<path/>"),
    "text_and_a_hidden_rect": svg('<text x="10" y="20">A</text>', '<rect visibility="hidden" width="60" height="40"/>'),
    # Places as an editor shows them: in pixels where the page has no size.
    "bow_tie_on_a_page_without_a_size": svg('<path id="edge" fill="none" stroke="black" d="M10 10L70 50V10L10 50Z"/>', page='viewBox="0 0 100 100"'),
    "outline_open_in_a_group": svg('<g id="face" transform="translate(5 5)">', '  <path d="M10 10H70V50H10" fill="none" stroke="black"/>', "</g>"),
    "utf_32_damaged": b"\xff\xfe\0\0" + SOUND.encode("utf-32-le").replace(b"p\0\0\0l\0\0\0", b"p\0\0\0\0\0\x11\0"),
    "dxf_in_utf_16_renamed": b"\xff\xfe" + WHOLE.encode("utf-16-le"),
    "dwg_renamed": DXF["dwg_renamed"],
    "jpeg_renamed": DXF["jpeg_renamed"],
    "root_of_10_kB": f"<{'r' * 10_000}/>\n",
}


def main(folder):
    for kind, files in ("dxf", DXF), ("svg", SVG):
        into = os.path.join(folder, kind)
        os.makedirs(into, exist_ok=True)
        for name, content in files.items():
            with open(os.path.join(into, f"{name}.{kind}"), "wb") as f:
                f.write(content if isinstance(content, bytes) else content.encode("latin-1" if kind == "dxf" else "utf-8"))


if __name__ == "__main__":
    here = os.path.dirname(os.path.abspath(__file__))
    main(os.path.join(sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "..", "..", "fixtures"), "malformed"))
