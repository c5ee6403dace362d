"""How long a check takes from a standing start, beside other programs: ``python cold.py``.

All commands take turns in one loop, so that whatever else the machine does slows them alike.
The schema-only validator is check-jsonschema, with this project's schema on the same plan; put
it into any environment and name it with ``--schema-only``, or have it on PATH.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
PLAN = ROOT / "examples" / "kelpie-quay.layout.json"
SCHEMA = ROOT / "schema" / "layout.schema.json"


def commands(schema_only: str | None, plan: Path) -> dict[str, list[str]]:
    """Return the commands to time, by the names that they have in the table."""
    bin_folder = str(Path(sys.executable).parent)
    trappoint = shutil.which("trappoint", path=bin_folder)
    found = {
        "python -c pass": [sys.executable, "-c", "pass"],
        'python -c "import jsonschema"': [sys.executable, "-c", "import jsonschema"],
        f"trappoint check {plan.name}": [
            *([trappoint] if trappoint else [sys.executable, "-m", "trappoint"]),
            "check",
            str(plan),
        ],
    }
    other = schema_only or shutil.which("check-jsonschema", path=bin_folder)
    other = other or shutil.which("check-jsonschema")
    if other:
        found["check-jsonschema, same schema"] = [other, "--schemafile", str(SCHEMA), str(plan)]
    else:
        print("check-jsonschema is not there: `pip install check-jsonschema` to compare with it.")
    return found


def measure(command: list[str]) -> float:
    """Run a command once and return the milliseconds it took. It must succeed."""
    before = time.perf_counter()
    done = subprocess.run(command, capture_output=True, check=False)
    after = time.perf_counter()
    if done.returncode:
        sys.exit(f"{command[0]} failed:\n{(done.stdout + done.stderr).decode()}")
    return (after - before) * 1000


def main() -> None:
    """Print a table of medians."""
    parser = argparse.ArgumentParser(description="Times cold starts.")
    parser.add_argument("--rounds", type=int, default=21)
    parser.add_argument("--schema-only", metavar="PATH", help="where check-jsonschema is")
    parser.add_argument("plan", nargs="?", type=Path, default=PLAN)
    options = parser.parse_args()
    found = commands(options.schema_only, options.plan)
    times: dict[str, list[float]] = {name: [] for name in found}
    for command in found.values():
        measure(command)  # fills the caches of files and of bytecode
    for _ in range(options.rounds):
        for name, command in found.items():
            times[name].append(measure(command))
    base = median(times["python -c pass"])
    print(f"medians of {options.rounds} rounds, Python {sys.version.split()[0]}")
    print(f"{'command':<44} {'ms':>6} {'least':>6} {'of bare Python':>15}")
    for name, taken in times.items():
        ratio = median(taken) / base
        print(f"{name:<44} {median(taken):>6.0f} {min(taken):>6.0f} {ratio:>14.1f}x")
    if "check-jsonschema, same schema" in times:
        ours = median(times[f"trappoint check {options.plan.name}"])
        theirs = median(times["check-jsonschema, same schema"])
        print(f"trappoint takes {ours / theirs:.2f} of the schema-only validator's time.")


if __name__ == "__main__":
    main()
