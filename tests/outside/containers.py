"""Published sets of pieces for given containers as jobs of parts, run through the public command line.

    python tests/outside/containers.py DATA WORK [--sets terashima1_tn001,...] [--seconds 60 | --rounds 200] [--seeds 1,2] [--lanes 2] [--program PATH]
                  [--checker PATH]

DATA holds the instances in the neutral form that fixtures/nesting/README.md describes. Containers become sheets about 1000 mm wide
(factor 1, 1.25, 1.5 or 1.75 times a power of two), spacing and margin are 0. Every defect is forbidden to every piece, which is
stricter than baldacci_test1 asks. Prints containers used beside the known number (terashima: the pieces were cut from so many,
and fill them), the bound, and the seconds until the first plan stood. Ends with 1 where a run fails or `check_plan.py`, where it is at hand, finds a fault.
"""
import argparse
import json
import os
import pathlib
import subprocess
import time

import certified
from strip import factor, part

SETS = ("terashima1_tn001,terashima1_td001,terashima1_tk001,terashima2_ts001c5,terashima2_tv001c5,terashima2_tx001c8c5,"
        "baldacci_test1,baldacci_test4")


def points(outline, f):
    return "[" + ", ".join(f"[{x * f!r}, {y * f!r}]" for x, y in outline) + "]"


def make(data, folder):
    """Writes job, stock and drawings."""
    folder.mkdir(parents=True, exist_ok=True)
    f = factor(max(p[0] for p in data["containers"][0]["outline"]) - min(p[0] for p in data["containers"][0]["outline"]), 1000)
    lines = ['stock = "stock.toml"', "[cutter]", 'kind = "laser"', "kerf = 0", "spacing = 0", "edge_margin = 0", "[marks]", "labels = false"]
    for item in data["items"]:
        lines += part(item, f, folder)
    (folder / "job.toml").write_text("\n".join(lines) + "\n")
    stock = []
    for c in data["containers"]:
        # y runs down in SVG, and up in the stock file: the outlines of the sheets are mirrored like the pieces.
        mirrored = [[x, -y] for x, y in reversed(c["outline"])]
        n = c["quantity"] if c["quantity"] is not None else sum(i["quantity"] for i in data["items"])
        stock += ["[[sheet]]", f'id = "c{c["id"]}"', 'material = "felt"', "thickness = 2", f"quantity = {n}", f"cost = {float(c['cost'])!r}",
                  f"outline = {points(mirrored, f)}"]
        if c["defects"]:
            stock.append("defects = [" + ", ".join("{ outline = " + points([[x, -y] for x, y in reversed(d["outline"])], f) + " }" for d in c["defects"]) + "]")
    (folder / "stock.toml").write_text("\n".join(stock) + "\n")


def run(program, folder, budget):
    """Seconds to the first plan, seconds in all, the plan."""
    began = time.time()
    done = subprocess.Popen([program, "plan", folder, "-o", folder / "out", "--force", "--progress", "lines", *budget],
                            stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
    first, told = None, []
    for line in done.stderr:
        told.append(line)
        if first is None and "first plan" in line:
            first = time.time() - began
    _, status, _ = os.wait4(done.pid, 0)
    if status != 0:
        return None, "".join(told[-6:]), None
    return first, time.time() - began, json.loads((folder / "out" / "plan.json").read_text())


def main():
    p = argparse.ArgumentParser()
    p.add_argument("data", type=pathlib.Path)
    p.add_argument("work", type=pathlib.Path)
    p.add_argument("--sets", default=SETS)
    p.add_argument("--seconds", default="60")
    p.add_argument("--rounds")
    p.add_argument("--seeds", default="1")
    p.add_argument("--lanes", default="2")
    p.add_argument("--program", default="target/release/seamwright")
    certified.option(p)
    a = p.parse_args()
    wrong = []
    for name in a.sets.split(","):
        data = json.loads((a.data / f"{name}.json").read_text())
        folder = a.work / name
        make(data, folder)
        job = (folder / "job.toml").read_text()
        for seed in a.seeds.split(","):
            (folder / "job.toml").write_text(job + f"[search]\nseed = {seed}\nlanes = {a.lanes}\n")
            first, took, plan = run(a.program, folder, ["--rounds", a.rounds] if a.rounds else ["--seconds", a.seconds])
            if plan is None:
                wrong.append(f"{name} failed: {took}")
                continue
            wrong += certified.faults(a.checker, folder)
            m = plan["metrics"]
            known = (data.get("known_optimum") or {}).get("containers", "-")
            print(f"{name},{seed}: {m['sheets_used']} containers (known {known}, bound {m['bound']['stock_cost']:g}), yield {m['yield']:.3f}, "
                  f"first plan {first:.2f} s, {plan['settings']['rounds']} rounds, {took:.1f} s", flush=True)
    print(*wrong, certified.at_hand(a.checker), sep="\n")
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
