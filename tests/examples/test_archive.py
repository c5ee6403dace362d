"""Test that the archive example, on a real cluster of two processes, agrees with a check."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

from examples.folder import EXAMPLES
from large.railway import railway, written
from trappoint.checking.check import check_content
from trappoint.core.findings import CAUTION_SHORT

SCRIPT = EXAMPLES / "archive.py"


def plans() -> dict[str, str]:
    """Return plans that hold, plans that do not, texts that are no plans, and a file's name."""
    found = {path.name: path.read_text("utf-8") for path in EXAMPLES.rglob("*.layout.json")}
    found |= {f"railway-{seed}": written(railway(10 + seed, seed)) for seed in range(20)}
    return found | {"none": "", "a name": str(SCRIPT), "half": '"\ud800"', "lines": "{\n\n}"}


def with_compiled_packages() -> dict[str, str]:
    """Return an environment in which Python finds the compiled code of Dask, also in this run."""
    found = dict(os.environ)
    if found.pop("PYTHONPYCACHEPREFIX", None):
        found["PYTHONDONTWRITEBYTECODE"] = "1"
    return found


def test_a_cluster_says_what_a_plain_check_says(tmp_path: Path) -> None:
    archive = plans()
    lines = [json.dumps({"file": name, "text": text}) for name, text in archive.items()]
    for number in range(3):  # more files than processes
        part = "\n".join(lines[number::3]) + "\n"
        (tmp_path / f"part-{number}.jsonl").write_text(part, "utf-8")
    words = [str(tmp_path / "part-*.jsonl"), "--results", str(tmp_path / "found"), "--workers", "2"]
    done = subprocess.run(
        [sys.executable, str(SCRIPT), *words],
        env=with_compiled_packages(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert CAUTION_SHORT in done.stderr
    found = {}
    for path in (tmp_path / "found").iterdir():
        for line in path.read_text("utf-8").splitlines():
            result = json.loads(line)
            found[result["file"]] = result["holds"], [tuple(f.values()) for f in result["findings"]]
    rules: Counter[str] = Counter()
    verdicts: Counter[bool | None] = Counter()
    for name, text in archive.items():
        report = check_content(text.encode("utf-8", "surrogatepass"), name)
        said = [(f.rule, f.level, f.pointer, f.line) for f in report.findings]
        assert found.pop(name) == (report.holds, said), name
        rules.update({f.rule for f in report.findings})
        verdicts[report.holds] += 1
    assert not found
    assert min(verdicts[True], verdicts[False], verdicts[None]) > 3
    summary = json.loads(done.stdout)
    assert summary.pop("plans") == len(archive)
    told = {True: "hold", False: "do not hold", None: "without a verdict"}
    assert {verdict: summary.pop(told[verdict]) for verdict in verdicts} == verdicts
    assert summary == rules
