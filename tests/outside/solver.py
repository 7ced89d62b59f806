"""Rectangles on a sheet sold by length beside a general-purpose solver: who reaches the known optimum sooner, and who proves it.

    python tests/outside/solver.py DATA WORK [--sets c1_p1,...] [--seconds 60] [--lanes 2] [--seed 1] [--program PATH]

Needs ortools==9.15.6755 (`pip install ortools==9.15.6755`); nothing else here does. DATA holds the instances in the neutral form that
fixtures/nesting/README.md describes (c1 to c5: Hopper & Turton 2001; squared rectangles: known exact covers).

The solver is CP-SAT with `--lanes` workers: whole numbers for x, y and length, one truth value a piece that is turned by a quarter (where the set
allows it, and the piece is no square), no-overlap in two dimensions, and the same once more as what stands side by side on each line
along and across (two cumulative constraints, implied, but it prunes by them); least length, from area ÷ width upwards. Ours runs
through the public command line. One after the other, with the same number of threads and of seconds.

Only partly comparable: the solver is told that all positions are whole numbers and that there are rectangles and nothing else; ours is
told neither (what it writes is read back here and measured), reads drawings, and certifies what it writes. Ours gets from the length to its bound by area
and stops there; so does the solver, since every set here has an optimum without waste. Seconds count from the start of the
process (ours) and from the start of the call, the model being made (the solver): starting Python is not counted.

Prints for each set: known length; the solver's best, seconds to it, whether proved; ours, likewise.
"""
import argparse
import json
import pathlib
import subprocess
import time

from ortools.sat.python import cp_model

from strip import make

SETS = "c1_p1,c1_p2,c1_p3,c2_p1,c2_p2,c2_p3,c3_p1,c3_p2,c3_p3,c5_p1,c5_p2,c5_p3,squared_33x32,squared_69x61,squared_112x112"
# Seconds by which two times must differ to count: a start of a process takes some hundredths.
EVEN = 0.1


def rectangles(data):
    """Width, depth and whether it may be turned by a quarter, for each piece."""
    out = []
    for item in data["items"]:
        xs, ys = zip(*item["outline"])
        w, d = max(xs) - min(xs), max(ys) - min(ys)
        if len(item["outline"]) != 4 or w != int(w) or d != int(d):
            raise SystemExit(f"{data['name']}: piece {item['id']} is no rectangle of whole numbers")
        out += [(int(w), int(d), item["rotations"] != [0] and w != d)] * item["quantity"]
    return out


class Told(cp_model.CpSolverSolutionCallback):
    """Notes when each better length was found."""

    def __init__(self):
        super().__init__()
        self.began = time.monotonic()
        self.steps = []

    def on_solution_callback(self):
        self.steps.append((time.monotonic() - self.began, self.objective_value))


def by_solver(data, seconds, workers, seed):
    """(best length, seconds to it, proved, seconds in all)."""
    pieces, width = rectangles(data), int(data["strip_width"])
    longest = sum(max(w, d) if turned else w for w, d, turned in pieces)
    area = sum(w * d for w, d, _ in pieces)
    model = cp_model.CpModel()
    length = model.new_int_var(-(-area // width), longest, "length")
    xs, ys, ws, ds = [], [], [], []
    for k, (w, d, may_turn) in enumerate(pieces):
        turned = model.new_bool_var(f"turned{k}") if may_turn else 0
        sizes = (w + (d - w) * turned, d + (w - d) * turned)
        x, y = model.new_int_var(0, longest, f"x{k}"), model.new_int_var(0, width, f"y{k}")
        end_x, end_y = model.new_int_var(0, longest, f"ex{k}"), model.new_int_var(0, width, f"ey{k}")
        xs.append(model.new_interval_var(x, sizes[0], end_x, f"along{k}"))
        ys.append(model.new_interval_var(y, sizes[1], end_y, f"across{k}"))
        ws.append(sizes[0])
        ds.append(sizes[1])
        model.add(end_x <= length)
    model.add_no_overlap_2d(xs, ys)
    model.add_cumulative(xs, ds, width)
    model.add_cumulative(ys, ws, length)
    model.minimize(length)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.random_seed = seed
    told = Told()
    status = solver.solve(model, told)
    took = time.monotonic() - told.began
    if not told.steps:
        return None, None, False, took
    return told.steps[-1][1], told.steps[-1][0], status == cp_model.OPTIMAL, took


def by_ours(data, folder, budget, program):
    """(best length, seconds to it, proved, seconds in all)."""
    seconds, lanes, seed = budget
    f = make(data, folder)
    began = time.monotonic()
    done = subprocess.Popen([program, "plan", folder, "-o", folder / "out", "--force", "--progress", "lines", "--seconds", str(seconds), "--lanes", str(lanes),
                             "--seed", str(seed)], stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    last, told = None, []
    for line in done.stderr:
        told.append(line)
        if "first plan" in line or "cheaper sheets" in line:
            last = time.monotonic() - began
    said = done.stdout.read()
    if done.wait() != 0:
        raise SystemExit(f"{data['name']}: {''.join(told[-5:])}")
    took = time.monotonic() - began
    plan = json.loads((folder / "out" / "plan.json").read_text())
    return plan["sheets"][0]["used_length"] / f, last, "it cannot be bettered" in said, took


def main():
    p = argparse.ArgumentParser()
    p.add_argument("data", type=pathlib.Path)
    p.add_argument("work", type=pathlib.Path)
    p.add_argument("--sets", default=SETS)
    p.add_argument("--seconds", type=float, default=60)
    p.add_argument("--lanes", type=int, default=2)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--program", default="target/release/seamwright")
    a = p.parse_args()
    print("set, pieces, known | solver: best, seconds to it, proved, seconds in all | ours: best, seconds to it, proved, seconds in all")
    sooner = {"solver": 0, "ours": 0, "even": 0, "neither": 0}
    for name in a.sets.split(","):
        data = json.loads((a.data / f"{name}.json").read_text())
        known = data["known_optimum"]["length"] if data.get("known_optimum") else data["total_item_area"] / data["strip_width"]
        solver = by_solver(data, a.seconds, a.lanes, a.seed)
        ours = by_ours(data, a.work / name, (a.seconds, a.lanes, a.seed), a.program)
        reached = {who: r[1] for who, r in (("solver", solver), ("ours", ours)) if r[0] is not None and r[0] <= known + 1e-6}
        even = len(reached) == 2 and abs(reached["solver"] - reached["ours"]) < EVEN
        sooner["even" if even else min(reached, key=reached.get) if reached else "neither"] += 1
        show = [f"{r[0]:g}, {r[1]:.2f} s, {'proved' if r[2] else 'open'}, {r[3]:.1f} s" if r[0] is not None else f"none in {r[3]:.1f} s" for r in (solver, ours)]
        print(f"{name}, {data['piece_count']}, {known:g} | {show[0]} | {show[1]}", flush=True)
    print("reaches the optimum sooner:", ", ".join(f"{who} {n}" for who, n in sooner.items()))


if __name__ == "__main__":
    main()
