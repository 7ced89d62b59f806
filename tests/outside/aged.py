"""Makes a drawing of R13 (AC1012) or R14 (AC1014) of one that ezdxf has written as R2000, since it reads those versions but does not write them.

What is taken out is what R2000 brought, from memory of the format's reference: all of the header but the version, the code page, the next free
handle and the current layer ($INSUNITS among it: drawings of these versions tell no unit); classes; line weights (370), plot styles (390), owners
of entities (330) and pointers from block records to layouts (340); of dimension styles all but the name; of the objects all but the root
dictionary with an empty one of groups. No program of that time has written or opened the result: what checks it is that ezdxf opens it as the
version that it claims, raises it to R2000 by itself, and that its audit finds no error, and two dictionaries without an owner to repair."""
import ezdxf

VERSIONS = {"R13": "AC1012", "R14": "AC1014"}
HEADER = ("$ACADVER", "$DWGCODEPAGE", "$HANDSEED", "$CLAYER")
NEW = {"370", "390", "347", "330", "340"}
YOUNGER = {"AC1012": {"LWPOLYLINE", "HATCH"}, "AC1014": set()}          # kinds that a version does not have


def pairs(text):
    lines = text.splitlines()
    return list(zip((l.strip() for l in lines[::2]), lines[1::2]))


def parts(all_pairs, of="0"):
    """Pairs from one of a code to the next."""
    out = []
    for pair in all_pairs:
        if pair[0] == of or not out:
            out.append([])
        out[-1].append(pair)
    return out


def sections(all_pairs):
    out, name = [], None
    for part in parts(all_pairs):
        if part[0][1] == "SECTION":
            out.append((part[1][1], [part]))
        elif part[0][1] != "EOF":
            out[-1][1].append(part)
    return out


def header(section, version):
    begin, *variables = parts(section[0], of="9")
    kept = [v for v in variables if v[0][1] in HEADER]
    return [begin + [("1", version) if v[0][1] == "$ACADVER" and p[0] == "1" else p for v in kept for p in v], section[-1]]


def entry(part):
    if part[0][1] == "DIMSTYLE":
        return [p for p in part if p[0] in ("0", "105", "100", "2", "70")]
    return [p for p in part if p[0] not in NEW]


def objects(section):
    """The root dictionary, and in it the one of groups alone."""
    root = section[1]
    at = root.index(("3", "ACAD_GROUP"))
    handle = root[at + 1][1]
    groups = next(p for p in section if ("5", handle) in p[:2])
    first = root.index(("100", "AcDbDictionary"))
    return [section[0], [p for p in root[:first + 1] if p[0] != "330"] + [("3", "ACAD_GROUP"), ("350", handle)],
            [p for p in groups if p[0] != "330"], section[-1]]


def age(path, version):
    version = VERSIONS[version]
    with open(path, encoding="cp1252", newline="") as f:
        found = dict(sections(pairs(f.read())))
    young = {p[0][1] for p in found["ENTITIES"] + found["BLOCKS"]} & YOUNGER[version]
    assert not young, f"{version} has no {young}"
    new = [header(found["HEADER"], version), [found["CLASSES"][0], found["CLASSES"][-1]]]
    new += [[entry(p) for p in found[name]] for name in ("TABLES", "BLOCKS", "ENTITIES")] + [objects(found["OBJECTS"])]
    flat = [p for section in new for part in section for p in part] + [("0", "EOF")]
    with open(path, "w", encoding="cp1252", newline="") as f:
        f.write("".join(f"{code:>3}\n{value}\n" for code, value in flat))
    doc = ezdxf.readfile(path)
    assert doc._loaded_dxfversion == version, "ezdxf takes it for another version"
    audit = doc.audit()
    assert not audit.errors and len(audit.fixes) == 2, [e.message for e in audit.errors + audit.fixes]
