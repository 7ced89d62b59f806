"""How far a run goes past the seconds granted: until the search ends, and until the folder is written.

    python tests/outside/on_time.py DATA WORK [--seconds 3] [--lanes 2] [--parts 1000,10000] [--sets ...] [--program PATH]

DATA holds the instances in the neutral form that fixtures/nesting/README.md describes. Jobs are those of containers.py, strip.py and
scale.py. A first plan takes as long as it takes, so its time is told beside.
"""
import argparse
import json
import pathlib
import subprocess
import time

import containers
import scale
import strip

SETS = "baldacci_test4,baldacci_test1,terashima1_tk001,terashima2_ts001c5,fu,shirts,c5_p1,gardeyn4"


def run(program, folder, a):
    """Seconds until the first plan, until the first file is written, until all is; rounds."""
    began = time.time()
    done = subprocess.Popen([program, "plan", folder, "-o", folder / "out", "--force", "--progress", "lines", "--seconds", str(a.seconds), "--lanes", a.lanes],
                            stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
    first = ended = None
    for line in done.stderr:
        if first is None and "first plan" in line:
            first = time.time() - began
    done.wait()
    took = time.time() - began
    if done.returncode != 0:
        return first, None, took, 0
    out = folder / "out"
    ended = min(p.stat().st_mtime for p in out.iterdir()) - began
    return first, ended, took, json.loads((out / "plan.json").read_text())["settings"]["rounds"]


def main():
    p = argparse.ArgumentParser()
    p.add_argument("data", type=pathlib.Path)
    p.add_argument("work", type=pathlib.Path)
    p.add_argument("--seconds", type=float, default=3)
    p.add_argument("--lanes", default="2")
    p.add_argument("--parts", default="1000,10000")
    p.add_argument("--sets", default=SETS)
    p.add_argument("--program", default="target/release/seamwright")
    a = p.parse_args()
    jobs = []
    for name in filter(None, a.sets.split(",")):
        data = json.loads((a.data / f"{name}.json").read_text())
        (containers if data["problem"] == "container" else strip).make(data, a.work / name)
        jobs.append((name, a.work / name))
    for n in filter(None, a.parts.split(",")):
        folder = a.work / f"parts-{n}"
        scale.make(folder, int(n), 20, 2.0, 1)
        jobs.append((f"{n} parts", folder))
    for name, folder in jobs:
        first, ended, took, rounds = run(a.program, folder, a)
        if ended is None:
            print(f"{name}: no plan after {took:.1f} s", flush=True)
            continue
        past = max(a.seconds, first)
        print(f"{name}: first plan {first:.2f} s, {rounds} rounds, first file {ended - past:+.2f} s, end {took - past:+.2f} s past the time granted", flush=True)


if __name__ == "__main__":
    main()
