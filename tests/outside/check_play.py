#!/usr/bin/env python3
"""Works out again, with SciPy and Shapely, what a finished plan tells of its seams; nothing of the program itself.

    check_play.py FOLDER
    check_play.py --self-test FOLDER      spoils figures of a good plan, and demands that each is noticed

Each check answers one question:
  pairs    are the pairs of pieces told that meet along the points of the seams, with the length that they share?
  play     does SciPy's linear program, on half spaces made from those points, reach as far as is told, or without limit?
  moved    do finished pieces, moved by nine tenths of that, stay clear of each other, and overlap when moved by twice as much?
  layer    are a layer's figures those of its joints: the longest link of a least spanning tree?
  length   are seams as long as they are drawn, where there is material?
  stiff    does the stack keep the told share of its stiffness at its seams?
Prints a line for each fault and ends with 1 if there are any, 0 if not, 2 if the folder cannot be read.

A half space: where the face has the normal n from piece A to piece B at (s, t), B moved by (x, w) and turned by phi about the
middle of the seam keeps n . (x - phi t, w + phi s) >= -gap. Arcs are found again in the chords of plan.json."""
import copy, itertools, json, math, os, sys
from collections import defaultdict

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array
from scipy.sparse.csgraph import minimum_spanning_tree
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

OF_PLAY = 1e-3              # the program asks arcs every 1/128 of a turn, 3e-4; the rest is the arcs found again
OF_TURN = 2e-3              # as above; the middle of a seam is found from chords
OF_LENGTH = 2e-3            # chords within 0.005 mm of arcs of 2 mm and more
OF_STIFFNESS = 1e-3         # a width of 100 mm to 0.1 mm: chords, and where a curve meets the line
ON_ARC = 5e-5               # points of one arc, written to 1e-6 mm, against chords that are 0.005 mm off
FINEST = math.radians(0.25)
SIDE = 0.02                 # how far beside a seam its two pieces are looked for
DEEP = 0.02                 # overlaps no deeper than twice this come from chords and second order
NO_LIMIT = 1e4              # in gaps
BOX = 1e6                   # likewise
FAR = 100.0                 # likewise: so far first order says nothing
MODULI = {"acrylic": 3300.0, "mdf": 2700.0}     # as the program's table; from a property database, and from memory


def shape_of(entry):
    return unary_union([Polygon(r["exterior"], r["holes"]) for r in entry.get("regions", [entry.get("region")])])


def circle(a, b, c):
    """Centre of the circle through three points; None where they are in line."""
    (ax, ay), (bx, by), (cx, cy) = a, b, c
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    if abs(d) < 1e-9:
        return None
    x = ((ax * ax + ay * ay) * (by - cy) + (bx * bx + by * by) * (cy - ay) + (cx * cx + cy * cy) * (ay - by)) / d
    y = ((ax * ax + ay * ay) * (cx - bx) + (bx * bx + by * by) * (ax - cx) + (cx * cx + cy * cy) * (bx - ax)) / d
    return np.array([x, y])


def arcs(points):
    """Cuts a chain into chords and arcs: (first, last, centre or None). An arc has four points or more, turns one way, and no
    chord of it turns by more than 50 degrees."""
    out, i, n = [], 0, len(points)
    while i < n - 1:
        best = None
        if i + 3 < n:
            j = i + 3
            while j < n:
                c = circle(points[i], points[(i + j) // 2], points[j])
                if c is None:
                    break
                spokes = points[i:j + 1] - c
                r = np.hypot(*spokes.T)
                steps = np.arctan2(spokes[:-1, 0] * spokes[1:, 1] - spokes[:-1, 1] * spokes[1:, 0], (spokes[:-1] * spokes[1:]).sum(1))
                if np.ptp(r) > ON_ARC or r[0] > 1e4 or abs(np.sign(steps).sum()) != len(steps) or abs(steps).max() > math.radians(50):
                    break
                best = (i, j, c)
                j += 1
        out.append(best or (i, i + 1, None))
        i = out[-1][1]
    return out


def touches(points):
    """Points of a chain with the normals to its right: of chords both ends, of arcs every quarter of a degree."""
    out = []
    for i, j, c in arcs(points):
        if c is None:
            d = (points[j] - points[i]) / np.hypot(*(points[j] - points[i]))
            out += [(p, (d[1], -d[0])) for p in (points[i], points[j])]
            continue
        spokes = points[i:j + 1] - c
        steps = np.arctan2(spokes[:-1, 0] * spokes[1:, 1] - spokes[:-1, 1] * spokes[1:, 0], (spokes[:-1] * spokes[1:]).sum(1))
        r, start, sweep = np.hypot(*spokes[0]), math.atan2(spokes[0, 1], spokes[0, 0]), steps.sum()
        n = max(1, math.ceil(abs(sweep) / FINEST))
        for a in start + sweep * np.arange(n + 1) / n:
            out_ward = np.array([math.cos(a), math.sin(a)])
            out.append((c + r * out_ward, tuple(out_ward if sweep > 0 else -out_ward)))
    return out


class Plan:
    def __init__(self, plan):
        self.plan, self.faults = plan, []
        self.told = plan["metrics"]["seams"]
        self.gap = plan["settings"]["seam_gap"]
        self.shapes = {p["id"]: shape_of(p) for p in plan["pieces"] if "layer" in p}
        self.of_layer = defaultdict(list)
        for p in plan["pieces"]:
            if "layer" in p:
                self.of_layer[p["copy"], p["layer"]].append(p["id"])
        self.seams = defaultdict(list)
        for s in plan["seams"]:
            self.seams[s["copy"], s["layer"]].append((s["runs"], np.array(s["points"])))
        self.layers = {(l["copy"], l["name"]): l for l in plan["layers"]}

    def fault(self, check, text):
        self.faults.append((check, text))

    # ---- which faces two pieces share -------------------------------------------------------------------------------
    def shared(self, key):
        """For each pair of pieces of a layer, chains of seam points between them, the first piece to the left."""
        out = defaultdict(list)
        pieces = {k: self.shapes[k] for k in self.of_layer[key]}
        corners = np.array([c for s in pieces.values() for p in getattr(s, "geoms", [s]) for r in (p.exterior, *p.interiors) for c in r.coords])
        for runs, points in self.seams[key]:
            chain, last = [], None
            for a, b in itertools.pairwise(points):
                d = b - a
                length = np.hypot(*d)
                d /= length
                along, off = (corners - a) @ d, abs((corners - a) @ np.array([-d[1], d[0]]))
                stops = sorted({0.0, length, *(along[(off < 1e-5) & (along > 1e-5) & (along < length - 1e-5)].round(6))})
                for u, v in itertools.pairwise(stops):
                    middle, side = a + d * (u + v) / 2, np.array([-d[1], d[0]]) * SIDE
                    pair = tuple(next((k for k, s in pieces.items() if s.covers(Point(middle + way))), None) for way in (side, -side))
                    here = pair if None not in pair and pair[0] != pair[1] else None
                    if here != last and chain:
                        out[last].append((runs, np.array(chain)))
                        chain = []
                    if here:
                        chain = chain or [a + d * u]
                        chain.append(a + d * v)
                    last = here
            if chain:
                out[last].append((runs, np.array(chain)))
        return out

    def pairs(self):
        """Joints as told, each with the chains that its two pieces share, the first piece to the left of each."""
        told = {tuple(j["pieces"]): j for j in self.told["joints"]}
        found = {}
        for key in self.layers:
            shared = self.shared(key)
            for a, b in {tuple(sorted(p)) for p in shared}:
                chains = shared.get((a, b), []) + [(r, c[::-1]) for r, c in shared.get((b, a), [])]
                found[a, b] = [(r, tidy(c)) for r, c in chains]
        for pair in {tuple(sorted(p)) for p in told} ^ set(found):
            self.fault("pairs", f"{pair} meet in the drawing or in the figures alone")
        out = []
        for (a, b), joint in told.items():
            if tuple(sorted((a, b))) not in found:
                continue
            chains = found[tuple(sorted((a, b)))]
            chains = chains if a < b else [(r, c[::-1]) for r, c in chains]
            length = sum(np.hypot(*np.diff(c, axis=0).T).sum() for _, c in chains)
            if abs(length - joint["length"]) > OF_LENGTH * length + 0.01:
                self.fault("pairs", f"{a} and {b} share {length:.3f} mm, told {joint['length']}")
            out.append((joint, chains))
        return out

    # ---- how far they can move --------------------------------------------------------------------------------------
    def play(self):
        for joint, chains in self.pairs():
            name, runs = " and ".join(joint["pieces"]), joint["runs"]
            found = [t for _, c in chains for t in touches(c)]
            at, normal = (np.array(v) for v in zip(*found))
            # Across the seam from A to B: the normals of a chain sum up to that of its chord.
            chord = sum(c[-1] - c[0] for _, c in chains)
            t_axis = np.array([0.0, 1.0]) if runs == "x" else np.array([1.0, 0.0])
            if np.array([chord[1], -chord[0]]) @ t_axis < 0:
                self.fault("pairs", f"{name}: the second one lies in front of the first")
                continue
            s_axis = np.array([t_axis[1], -t_axis[0]])
            s, t = at @ s_axis, at @ t_axis
            middle = ((s.min() + s.max()) / 2) * s_axis + t[0] * t_axis
            s, t, n_s, n_t = (at - middle) @ s_axis, (at - middle) @ t_axis, normal @ s_axis, normal @ t_axis
            half = max((s.max() - s.min()) / 2, 1.0)
            planes = -np.stack([n_s, n_t, (n_t * s - n_s * t) / half], axis=1)

            def most(way, free):
                # Held in a box far beyond what counts as no limit, so that the solver always has a corner to end at. The dual has
                # as many rows as the motion has freedoms, which the solver likes better than thousands; its marginals are the motion.
                rows, wanted = planes[:, free], np.array(way, float)[list(free)]
                sides = np.eye(len(free))
                got = linprog(np.concatenate([np.ones(len(rows)), np.full(2 * len(free), BOX)]), A_eq=np.concatenate([rows, sides, -sides]).T,
                              b_eq=wanted, method="highs", options={"presolve": False})
                if got.status != 0:
                    raise ValueError(f"{name}: {got.message}")
                if got.fun > NO_LIMIT:
                    return math.inf, None
                motion = np.zeros(3)
                motion[list(free)] = got.eqlin.marginals
                return got.fun, motion

            along = [most((w, 0, 0), (0,)) for w in (1, -1)]
            along_most = [most((w, 0, 0), (0, 1)) for w in (1, -1)]
            closing, opening = most((0, -1, 0), (0, 1)), most((0, 1, 0), (0, 1))
            turn = [most((0, 0, w), (0, 1, 2)) for w in (1, -1)]
            off = math.isinf(opening[0])
            worst = lambda both: max(v for v, _ in both)
            figures = {"along": worst(along), "along_most": math.inf if off else worst(along_most), "closing": closing[0], "opening": opening[0],
                       "turn": math.inf if off else worst(turn) / half}
            self.compare(name, joint["play"], figures)
            if self.gap > 0:
                motions = [near(m, planes) for v, m in along + [closing, opening] + ([] if off else turn) if m is not None]
                motions = [m * self.gap / np.array([1, 1, half]) for m in motions if abs(m).max() < FAR]
                self.moved(name, joint["pieces"], motions, s_axis, t_axis, middle)

    def compare(self, name, told, figures):
        for word, per_gap in figures.items():
            unit, share = (math.degrees(1), OF_TURN) if word == "turn" else (1.0, OF_PLAY)
            if (told[word] is None) != math.isinf(per_gap):
                self.fault("play", f"{name}: {word} is told as {told[word]}, found {per_gap} gaps")
            elif told[word] is not None and abs(told[word] - per_gap * self.gap * unit) > share * per_gap * self.gap * unit + 2e-6:
                self.fault("play", f"{name}: {word} is told as {told[word]}, found {per_gap * self.gap * unit:.6f}")
        holds = [w for w in ("along", "closing", "opening", "turn") if not math.isinf(figures[w])]
        if told["holds"] != holds:
            self.fault("play", f"{name}: told to hold {told['holds']}, found {holds}")

    def finished(self, piece):
        key = next(k for k, v in self.of_layer.items() if piece in v)
        lines = unary_union([LineString(c) for _, c in self.seams[key]])
        return self.shapes[piece].difference(lines.buffer(self.gap / 2, 64, cap_style="flat"), grid_size=1e-6)

    def moved(self, name, pair, motions, s_axis, t_axis, middle):
        a, b = (self.finished(p) for p in pair)
        for x, w, phi in motions:
            for share, touching in ((0.9, False), (2.0, True)):
                d = share * (x * s_axis + w * t_axis)
                if share > 1 and phi and abs(phi) * math.hypot(*np.subtract(b.bounds[2:], b.bounds[:2])) > 5 * self.gap:
                    continue            # so far that first order says nothing of twice as much
                other = affinity.translate(affinity.rotate(b, share * phi, origin=tuple(middle), use_radians=True), *d)
                deep = a.intersection(other, grid_size=1e-6).buffer(-DEEP).area
                if (deep > 0) != touching:
                    word = "stay clear of" if touching else "run into"
                    self.fault("moved", f"{name}: moved by {share} of ({x:.4f}, {w:.4f}, {phi:.6f}) they {word} each other, {deep:.4f} mm²")

    # ---- layers and stack -------------------------------------------------------------------------------------------
    def layer(self):
        for told in self.told["layers"]:
            key = (told["copy"], told["layer"])
            ids = self.of_layer[key]
            if told["pieces"] != len(ids):
                self.fault("layer", f"{key}: {len(ids)} pieces, told {told['pieces']}")
            joints = [j for j in self.told["joints"] if j["pieces"][0] in ids]
            if (told["play"] is None) != (not joints):
                self.fault("layer", f"{key}: play is told without joints, or not told")
                continue
            for word in told["play"] or {}:
                if word != "holds":
                    got = link(ids, joints, word)
                    if (got is None) != (told["play"][word] is None) or (got is not None and abs(got - told["play"][word]) > 2e-6):
                        self.fault("layer", f"{key}: {word} is told as {told['play'][word]}, its joints say {got}")

    def length(self):
        for told in self.told["layers"]:
            key = (told["copy"], told["layer"])
            whole = shape_of(self.layers[key]).buffer(1e-6)
            length = sum(LineString(p).intersection(whole).length for _, p in self.seams[key])
            if abs(length - told["length"]) > OF_LENGTH * length + 0.01:
                self.fault("length", f"{key}: seams of {length:.3f} mm, told {told['length']}")

    def stiff(self):
        near = self.plan["settings"]["min_lap"] / 4
        moduli = [MODULI.get(l["material"].lower()) for l in self.plan["layers"]]
        moduli = [1.0] * len(moduli) if None in moduli or self.told["no_modulus"] else moduli
        if bool(self.told["no_modulus"]) != any(l["material"].lower() not in MODULI for l in self.plan["layers"]):
            self.fault("stiff", f"materials without a modulus: {self.told['no_modulus']}")
        for copy_no, beam in itertools.product(sorted({c for c, _ in self.layers}), "xy"):
            across = 0 if beam == "x" else 1
            rows = [(k, l, e) for (k, l), e in zip(self.layers.items(), moduli) if k[0] == copy_no]
            least = {k: (1.0, 1.0) for k, _, _ in rows}
            for key, _, _ in rows:
                for runs, points in self.seams[key]:
                    if runs != beam:
                        share = self.section(rows, points, across, near)
                        least[key] = tuple(map(min, least[key], share))
            told = {(t["copy"], t["layer"]): t["stiffness"][beam] for t in self.told["layers"]}
            told[copy_no, None] = self.told["stacks"][copy_no - 1]["stiffness"][beam]
            least[copy_no, None] = tuple(map(min, *least.values())) if len(least) > 1 else next(iter(least.values()))
            for key, (bonded, dry) in least.items():
                if abs(told[key]["bonded"] - bonded) > OF_STIFFNESS or abs(told[key]["dry"] - dry) > OF_STIFFNESS:
                    self.fault("stiff", f"{key}, beam along {beam}: told {told[key]}, found {bonded:.5f} bonded, {dry:.5f} dry")

    def section(self, rows, points, across, near):
        """Bonded and dry stiffness along a seam's base line, as a share of the same without seams."""
        v, low, high = points[0, across], points[:, across].min(), points[:, across].max()
        line = LineString([(v, -1e5), (v, 1e5)] if across == 0 else [(-1e5, v), (1e5, v)])
        whole, left = [], []
        for key, layer, modulus in rows:
            material = shape_of(layer).intersection(line)
            runs = "y" if across == 0 else "x"
            cuts = []
            for r, p in self.seams[key]:
                if r == runs and p[:, across].min() < high + near and low < p[:, across].max() + near:
                    ends = sorted((p[0, 1 - across], p[-1, 1 - across]))
                    cuts.append(LineString([(v, e) if across == 0 else (e, v) for e in ends]).buffer(1e-3, cap_style="flat"))
            through = material.difference(unary_union(cuts)) if cuts else material
            whole.append((material.length, layer["thickness"], modulus))
            left.append((through.length, layer["thickness"], modulus))
        return tuple(a / b for a, b in zip(rigidity(left), rigidity(whole)))


def near(motion, planes):
    """The motion without what the solver moved because nothing held it, where that breaks no half space."""
    close = np.where(abs(motion) < FAR, motion, 0.0)
    return close if (planes @ close).max() < 1 + 1e-6 else motion


def tidy(chain):
    """Leaves out points that repeat."""
    keep = [chain[0]]
    for point in chain[1:]:
        if np.hypot(*(point - keep[-1])) > 1e-7:
            keep.append(point)
    return np.array(keep)


def link(ids, joints, word):
    """The longest link of a least spanning tree over the joints; None where a link without limit is needed."""
    finite = [(ids.index(j["pieces"][0]), ids.index(j["pieces"][1]), j["play"][word]) for j in joints if j["play"][word] is not None]
    groups = list(range(len(ids)))
    for a, b, _ in finite:
        old, new = groups[b], groups[a]
        groups = [new if g == old else g for g in groups]
    if any(groups[ids.index(a)] != groups[ids.index(b)] for a, b in (j["pieces"] for j in joints)):
        return None
    # A graph of SciPy's takes 0 as no link: all are longer by 1.
    a, b, w = zip(*finite)
    tree = minimum_spanning_tree(coo_array((np.array(w) + 1, (a, b)), shape=(len(ids),) * 2))
    return tree.data.max() - 1


def rigidity(strips):
    """Bending stiffness of a section, bottom first: (bonded, dry). Bonded by thin slices about the neutral axis."""
    dry = sum(e * b * t ** 3 / 12 for b, t, e in strips)
    base, slices = 0.0, []
    for b, t, e in strips:
        x, weight = np.polynomial.legendre.leggauss(2)          # exact for squares
        slices += [(base + t / 2 * (1 + x[k]), e * b * t / 2 * weight[k]) for k in range(2)]
        base += t
    z, weight = np.array(slices).T
    if weight.sum() == 0:
        return 0.0, 0.0
    axis = (z * weight).sum() / weight.sum()
    return ((z - axis) ** 2 * weight).sum(), dry


def look(plan):
    checked = Plan(plan)
    for check in (checked.play, checked.layer, checked.length, checked.stiff):
        check()
    return checked.faults


# ---- self-test ------------------------------------------------------------------------------------------------------
def first_joint(seams, word):
    return next(j["play"] for j in seams["joints"] if j["play"][word])


def scaled(word, by):
    def apply(seams):
        play = first_joint(seams, word)
        play[word] *= by
    return apply


def tie_up(seams):
    play = next((j["play"] for j in seams["joints"] if j["play"]["opening"] is None), None) or first_joint(seams, "opening")
    play["opening"] = 0.2 if play["opening"] is None else None


SPOILT = [
    ("a joint forgotten", lambda s: s["joints"].pop(), {"pairs"}),
    ("a joint too long", lambda s: s["joints"][0].update(length=s["joints"][0]["length"] * 1.01), {"pairs"}),
    ("more play along", scaled("along", 1.02), {"play"}),
    ("less play closing", scaled("closing", 0.98), {"play"}),
    ("less play opening", scaled("opening", 0.97), {"play"}),
    ("more turn", scaled("turn", 1.02), {"play"}),
    ("a limit where there is none, or none where there is one", tie_up, {"play"}),
    ("a layer that holds better than its joints", lambda s: next(l for l in s["layers"] if l["play"])["play"].update(closing=0.01), {"layer"}),
    ("a seam too short", lambda s: s["layers"][0].update(length=s["layers"][0]["length"] * 0.99), {"length"}),
    ("a stack too stiff", lambda s: s["stacks"][0]["stiffness"]["x"].update(bonded=0.99), {"stiff"}),
    ("a piece too many", lambda s: s["layers"][0].update(pieces=99), {"layer"}),
]


def self_test(plan):
    if look(plan):
        print("the plan to spoil has faults of its own")
        return 1
    missed = 0
    for what, spoil, wanted in SPOILT:
        spoilt = copy.deepcopy(plan)
        spoil(spoilt["metrics"]["seams"])
        seen = {check for check, _ in look(spoilt)}
        if not wanted & seen:
            missed += 1
            print(f"not noticed: {what}: wanted {sorted(wanted)}, seen {sorted(seen)}")
    print(f"{len(SPOILT)} figures spoilt, {missed} not noticed")
    return 1 if missed else 0


def main():
    words = [w for w in sys.argv[1:] if w != "--self-test"]
    if len(words) != 1:
        print(__doc__)
        return 2
    try:
        with open(os.path.join(words[0], "plan.json"), encoding="utf-8") as f:
            plan = json.load(f)
        if "--self-test" in sys.argv:
            return self_test(plan)
        faults = look(plan)
    except (OSError, KeyError, ValueError, TypeError) as e:
        print(f"cannot be read: {type(e).__name__}: {e}")
        return 2
    for check, text in faults[:40]:
        print(f"{check}: {text}")
    print(f"{os.path.basename(os.path.abspath(words[0]))}: {len(plan['metrics']['seams']['joints'])} joints, {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
