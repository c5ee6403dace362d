"""Measures the check of each document built to blow up, in a separate process: ``measure.py``.

Seconds are processor time of the whole check without the start of Python; mebibytes are the peak
memory of the process.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).parents[1]))

from robust.blow_ups import BLOW_UPS

MAX_MIB = 500


class Cost(NamedTuple):
    """The result of checking one document, with its time and memory."""

    ended: bool
    why: str = ""
    """The reason why the check did not end."""
    kib: int = 0
    """The length of the document in KiB."""
    seconds: float = 0.0
    mib: int = 0
    holds: bool | None = None
    fault: str | None = None
    rules: dict[str, int] = {}  # noqa: RUF012 # nothing changes this default
    """The number of findings of each rule."""


def alone(name: str, *, table: bool = False, most_seconds: int = 30) -> Cost:
    """Check one document in a separate process; return the result with its time and memory."""
    command = [sys.executable, __file__, "--child", name]
    if table:
        command.append("--table")

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (most_seconds, most_seconds))
        resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))

    done = subprocess.run(command, capture_output=True, text=True, check=False, preexec_fn=limited)
    if done.returncode:
        last = done.stderr.strip().splitlines()
        return Cost(False, last[-1] if last else f"stopped ({done.returncode})")
    return Cost(True, **json.loads(done.stdout))


def child(name: str, *, table: bool) -> None:
    """Check one document and print its cost as JSON."""
    import trappoint

    text = BLOW_UPS[name].write()
    content = text.encode()
    del text
    before = time.process_time()
    report = trappoint.check(content, name=name)
    if table:
        assert report.table is None or report.table.to_json()
    seconds = time.process_time() - before
    rules: dict[str, int] = {}
    for finding in report.findings:
        rules[finding.rule] = rules.get(finding.rule, 0) + 1
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    found = {
        "kib": len(content) // 1024,
        "seconds": round(seconds, 2),
        "mib": most // (1024 if sys.platform != "darwin" else 1024 * 1024),
        "holds": report.holds,
        "fault": report.fault,
        "rules": rules,
    }
    print(json.dumps(found))


def main() -> None:
    """Print a table with one line for each document."""
    parser = argparse.ArgumentParser(description="Measures documents built to blow up.")
    parser.add_argument("--child", help=argparse.SUPPRESS)
    parser.add_argument("--table", action="store_true", help="derive the locking table too")
    parser.add_argument("--seconds", type=int, default=30, help="when to give one up")
    parser.add_argument("--only", default="", help="documents whose name has this in it")
    options = parser.parse_args()
    if options.child:
        child(options.child, table=options.table)
        return
    print(f"{'document':<40} {'KiB':>6} {'s':>7} {'MiB':>5}  verdict and findings")
    for name in BLOW_UPS:
        if options.only not in name:
            continue
        found = alone(name, table=options.table, most_seconds=options.seconds)
        if not found.ended:
            print(f"{name:<40} {'':>6} {'':>7} {'':>5}  {found.why}", flush=True)
            continue
        told = f"{found.holds} {found.fault or ''} {found.rules}"
        print(
            f"{name:<40} {found.kib:>6} {found.seconds:>7} {found.mib:>5}  {told}"[:230], flush=True
        )


if __name__ == "__main__":
    main()
