"""A plan looked at by the checker of whole plans, where it is at hand: for scripts that run many jobs."""
import pathlib
import subprocess
import sys

CHECKER = pathlib.Path(__file__).resolve().parents[3] / "shared" / "verify" / "check_plan.py"


def option(parser):
    """Adds `--checker`."""
    parser.add_argument("--checker", type=pathlib.Path, default=CHECKER, help="a checker of finished folders; none where there is no such file")


def faults(checker, folder):
    """Lines of what it finds in `folder/out`; empty where it finds nothing, or is not there."""
    if not checker.exists():
        return []
    done = subprocess.run([sys.executable, checker, folder / "out", "--job", folder / "job.toml"], capture_output=True, text=True)
    if done.returncode == 0:
        return []
    return [f"{folder.name}: {line}" for line in (done.stdout + done.stderr).splitlines()[-6:] or [f"the checker ended with {done.returncode}"]]


def at_hand(checker):
    """In words, for the last line of a table."""
    return "every plan was looked at by the checker of whole plans" if checker.exists() else "the checker of whole plans was not at hand"
