#!/usr/bin/env python3
"""Plans the jobs that `planted.py` made, and sets what is reached beside the planted cost.

    run_planted.py FOLDER [--binary target/release/seamwright] [--seconds 20 | --rounds N] [--enough] [--jobs 1] [--only TEXT] [--table FILE] [--keep FOLDER]
                   [--checker ../shared/verify/check_plan.py]

Per job one line: kind, job, planted cost, reached cost, their ratio, seconds until that cost was reached (from the program's own lines of
progress), the program's exit status, rounds, and how many faults the checkers find: `check_folder.py`, and a further one where it is at hand.
At the end a summary per kind: how many jobs reached the planted cost (to 1e-6) or less. `--table` writes the lines as CSV.

`--enough` asks a program to end once it shows the planted cost; what it then writes is checked as any other plan. `--jobs` plans as many at a time;
with more than one the processors are shared, so seconds mean less. A program that runs much longer than it was told is stopped, and its status is
`stopped`. Ends with 0 when every job was run and no checker found a fault (whatever was reached), 1 when a checker found one or the program ended
other than with 0 or 3, 2 when there is nothing to run."""
import argparse, csv, json, os, re, shutil, signal, subprocess, sys, tempfile, threading, time
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
SAME = 1e-6                  # two costs that differ by no more are the same
LATE = 60                    # seconds over the time told after which a program is stopped: the first plan and writing come on top
COLUMNS = ("kind", "pattern", "job", "pieces", "planted", "reached", "ratio", "bound", "seconds", "status", "rounds", "faults")
LINE = re.compile(r"^\s*(\d+(?:\.\d+)?) (s|min)\s+(\d+)\s+(\d+)\s+(\d+(?:\.\d+)?)\s")


def reached_after(text, cost):
    """Seconds at the first line of progress (time, round, sheets, cost) that shows this cost as rounded there; None without one."""
    for line in text.splitlines():
        m = LINE.match(line)
        if m and abs(float(m[5]) - cost) <= 0.005 + SAME:
            return float(m[1]) * (60 if m[2] == "min" else 1)
    return None


def faults(job, out, checkers):
    """Lines that the checkers print about a plan; a checker that cannot read it counts as one."""
    found = []
    for checker, arguments in checkers:
        done = subprocess.run([sys.executable, checker, *(a.format(job=job, out=out) for a in arguments)], capture_output=True, text=True, timeout=300)
        lines = [l for l in done.stdout.splitlines() if l.strip() and not l.startswith("skipped")]
        if done.returncode == 1:
            found += lines[:-1] or lines or ["a fault without a word"]
        elif done.returncode != 0:
            found.append(f"{os.path.basename(checker)} ended with {done.returncode}: {(done.stderr or done.stdout).strip()[-200:]}")
    return found


def planned(command, most, enough):
    """Exit status (None where it was stopped after so many seconds) and words of the program, asked to end, as by Ctrl-C, once it shows a cost."""
    program = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    over = threading.Timer(most, program.kill)
    over.start()
    lines, asked = [], False
    for line in program.stdout:
        lines.append(line)
        m = LINE.match(line)
        if enough is not None and not asked and m and float(m[5]) <= enough + 0.005 + SAME:
            program.send_signal(signal.SIGINT)
            asked = True
    status = program.wait()
    over.cancel()
    return (None if status == -signal.SIGKILL else status), "".join(lines)


def run(folder, options, checkers, room):
    """One job: a row of the table, and what is to be said about it."""
    with open(os.path.join(folder, "planted.json"), encoding="utf-8") as f:
        planted = json.load(f)
    name, job = os.path.basename(folder), os.path.join(folder, "job.toml")
    out = os.path.join(room, name)
    budget = ["--rounds", str(options.rounds)] if options.rounds is not None else ["--seconds", str(options.seconds)]
    most = 3600 if options.rounds is not None else options.seconds + LATE
    row = {"kind": planted["kind"], "pattern": planted["pattern"], "job": name, "pieces": planted["pieces"], "planted": planted["cost"], "reached": None,
           "ratio": None, "bound": None, "seconds": None, "rounds": None, "faults": 0}
    started = time.monotonic()
    command = [options.binary, "plan", job, "-o", out, "--progress", "lines", "--color", "never", *budget]
    status, text = planned(command, most, planted["cost"] if options.enough else None)
    if status is None:
        return {**row, "status": "stopped"}, [f"{name}: stopped after {time.monotonic() - started:.0f} s"]
    row["status"], said = status, []
    if status == 0:
        with open(os.path.join(out, "plan.json"), encoding="utf-8") as f:
            plan = json.load(f)
        cost = plan["metrics"]["stock_cost"]
        said = [f"{name}: {line}" for line in faults(job, out, checkers)]
        row |= {"reached": cost, "ratio": cost / planted["cost"], "bound": plan["metrics"]["bound"]["stock_cost"], "rounds": plan["settings"]["rounds"],
                "seconds": reached_after(text, cost), "faults": len(said)}
    elif status != 3:
        said = [f"{name}: ended with {status}: {text.strip()[-300:]}"]
    return row, said


def told(value, digits):
    return "-" if value is None else f"{value:.{digits}f}" if isinstance(value, float) else str(value)


def good(row):
    return row["reached"] is not None and row["reached"] <= row["planted"] + SAME


def line_of(row):
    return (f"{row['kind']:17} {row['pattern']:9} {row['job']:31} {row['pieces']:6} {row['planted']:9.2f} {told(row['reached'], 2):>9} {told(row['ratio'], 4):>7}"
            f" {told(row['seconds'], 1):>7} {row['status']!s:>7} {told(row['rounds'], 0):>6} {row['faults']:6} {'reached' if good(row) else ''}")


def summary(rows):
    """Per kind: jobs, how many reached the planted cost, how many were dearer, how many have no plan; mean of what the dearer ones are over."""
    groups = defaultdict(list)
    for row in rows:
        groups[row["kind"].split(":")[0]].append(row)
    lines = [f"{'kind':17} {'jobs':>5} {'reached':>8} {'dearer':>7} {'no plan':>8} {'mean over':>10} {'slowest s':>10}"]
    for kind, own in [*sorted(groups.items()), ("all", rows)]:
        dearer = [r["ratio"] - 1 for r in own if r["ratio"] and not good(r)]
        slow = max((r["seconds"] for r in own if good(r) and r["seconds"] is not None), default=None)
        lines.append(f"{kind:17} {len(own):5} {sum(map(good, own)):8} {len(dearer):7} {sum(r['reached'] is None for r in own):8}"
                     f" {f'{sum(dearer) / len(dearer):.2%}' if dearer else '-':>10} {told(slow, 1):>10}")
    return lines


def checkers_of(path):
    """The checkers at hand and how each is asked."""
    found = [(os.path.join(HERE, "check_folder.py"), ["{job}", "{out}"])]
    if os.path.exists(path):
        found.append((path, ["{out}", "--job", "{job}", "--drawings"]))
    return found


def options_of():
    a = argparse.ArgumentParser(description="Plans planted jobs and compares the cost.")
    a.add_argument("folder")
    a.add_argument("--binary", default=os.path.join(ROOT, "target", "release", "seamwright"))
    a.add_argument("--seconds", type=float, default=20.0)
    a.add_argument("--rounds", type=int)
    a.add_argument("--jobs", type=int, default=1)
    a.add_argument("--enough", action="store_true", help="ends a program once it shows the planted cost: the plan is written and checked, and time is saved")
    a.add_argument("--only", default="", help="jobs whose name has this in it")
    a.add_argument("--table", help="CSV file")
    a.add_argument("--keep", help="folder for the plans; a temporary one without")
    a.add_argument("--checker", default=os.path.join(os.path.dirname(ROOT), "shared", "verify", "check_plan.py"))
    return a.parse_args()


def main():
    options = options_of()
    options.binary = os.path.abspath(options.binary)
    names = sorted(n for n in os.listdir(options.folder) if options.only in n and os.path.exists(os.path.join(options.folder, n, "planted.json")))
    if not names or not os.path.exists(options.binary):
        print(f"nothing to run: {len(names)} jobs in {options.folder}, program {options.binary}")
        return 2
    checkers = checkers_of(options.checker)
    room = options.keep or tempfile.mkdtemp(prefix="planted-")
    os.makedirs(room, exist_ok=True)
    print(f"{'kind':17} {'pattern':9} {'job':31} pieces   planted   reached   ratio seconds  status rounds faults")
    rows, said = [], []
    with ThreadPoolExecutor(max(1, options.jobs)) as pool:
        for row, words in pool.map(lambda n: run(os.path.join(options.folder, n), options, checkers, room), names):
            rows.append(row)
            said += words
            print(line_of(row), flush=True)
    print("\n".join(["", *said, "" if said else f"no fault found by {len(checkers)} checkers", *summary(rows)]))
    if options.table:
        with open(options.table, "w", newline="", encoding="utf-8") as f:
            table = csv.DictWriter(f, COLUMNS)
            table.writeheader()
            table.writerows(rows)
    if not options.keep:
        shutil.rmtree(room)
    return 1 if said else 0


if __name__ == "__main__":
    sys.exit(main())
