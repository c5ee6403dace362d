"""Check an archive of plans, however large, with Dask: on this computer or on many.

    python examples/archive.py --results results 'archive/*.jsonl'

An archive is made of files with one JSON object a line: ``{"file": NAME, "text": THE PLAN}``. The
text is the unchanged file of the plan, so findings give its line numbers. The script writes the
findings into the folder ``results``, one line for each plan, and prints a summary.

A check depends on the text of one plan alone: any computer can check any line, in any order. If a
computer fails, another checks its part again. With ``--scheduler tcp://HOST:8786`` the workers of
that cluster do the work; Trappoint must be installed on them too. Archives may then have any name
that Dask reads (``s3://...``).
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from typing import TYPE_CHECKING, Any

import dask.bag
from dask.distributed import Client, LocalCluster

import trappoint
from trappoint.core.findings import CAUTION_SHORT

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

BLOCK = "8MiB"
"""The size of one task: a few thousand plans of a club, some seconds of work."""


def check_lines(lines: Iterable[str]) -> Iterator[dict[str, Any]]:
    """Check the plans of some lines of an archive; yield the file, verdict and findings of each."""
    for line in lines:
        entry = json.loads(line)
        # As bytes: ``check`` takes a text that does not look like a plan for the name of a file.
        content = entry["text"].encode("utf-8", "surrogatepass")
        report = trappoint.check(content, name=entry["file"])
        findings = [
            {"rule": f.rule, "level": f.level, "pointer": f.pointer, "line": f.line}
            for f in report.findings
        ]
        yield {"file": report.file, "holds": report.holds, "findings": findings}


def count(results: Iterable[dict[str, Any]]) -> Counter[str]:
    """Return the number of plans, of each verdict, and of plans with a finding of each rule."""
    found: Counter[str] = Counter()
    words = {True: "hold", False: "do not hold", None: "without a verdict"}
    for result in results:
        found.update(["plans", words[result["holds"]], *{f["rule"] for f in result["findings"]}])
    return found


def check_archive(names: list[str], results: str) -> Counter[str]:
    """Check whole archives, write the findings, and return a summary."""
    lines = dask.bag.read_text(names, blocksize=BLOCK)
    checked = lines.map_partitions(check_lines)
    # Compute both in one pass, so that no plan is checked twice.
    written = checked.map(json.dumps).to_textfiles(f"{results}/*.jsonl", compute=False)
    summary = checked.reduction(count, lambda parts: sum(parts, Counter()))
    *_, total = dask.compute(*written, summary)
    return Counter(total)


def main() -> None:
    """Check archives on a cluster and print a summary."""
    parser = argparse.ArgumentParser(description="Checks archives of plans with Dask.")
    parser.add_argument("archives", nargs="+", help="files with a plan a line; * is allowed")
    parser.add_argument("--results", required=True, help="the folder to write into")
    parser.add_argument("--scheduler", help="the address of a cluster (default: one of its own)")
    parser.add_argument("--workers", type=int, help="processes of its own (default: the cores)")
    options = parser.parse_args()
    # One thread for each process: a check is pure Python, so two threads would take turns.
    cluster = options.scheduler or LocalCluster(
        n_workers=options.workers, threads_per_worker=1, dashboard_address=None
    )
    with Client(cluster):
        summary = check_archive(options.archives, options.results)
    json.dump(dict(summary.most_common()), sys.stdout, indent=2)
    sys.stdout.write("\n")
    sys.stderr.write(f"{CAUTION_SHORT}\n")


if __name__ == "__main__":
    main()
