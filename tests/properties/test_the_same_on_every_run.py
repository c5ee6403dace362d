"""A plan gets the same report on every run, word for word and in the same order."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import pytest

from oracle.plans import large_plan, random_plan
from properties.dressed import dressed_plan
from properties.test_unchanged import FILES, TESTS
from trappoint import Finding, check


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Return all example plans, readable or not, and random plans."""
    folder = tmp_path_factory.mktemp("plans")
    plans = [random_plan(random.Random(seed)) for seed in range(30)]
    plans += [dressed_plan(seed) for seed in range(60, 90)]
    plans += [large_plan(random.Random(seed), points=30) for seed in range(2)]
    found = list(FILES)
    for number, plan in enumerate(plans):
        path = folder / f"{number}.layout.json"
        path.write_text(json.dumps(plan, indent=1), "utf-8")
        found.append(path)
    return found


def told(files: list[Path], hash_seed: str) -> str:
    """Return the reports of a fresh process on these plans."""
    run = subprocess.run(
        [sys.executable, "-m", "properties.tell", *map(str, files)],
        env={**os.environ, "PYTHONPATH": str(TESTS), "PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    return run.stdout


def test_in_processes_that_hash_differently(files: list[Path]) -> None:
    """Python orders sets of texts differently in each process; no report may depend on it."""
    first = told(files, "0")
    assert len(first.splitlines()) == len(files)
    for hash_seed in ("1", "20240229"):
        for line, again in zip(
            first.splitlines(), told(files, hash_seed).splitlines(), strict=True
        ):
            assert line == again, json.loads(line)["file"]


def test_twice_in_one_process(files: list[Path]) -> None:
    for path in files:
        first, second = check(path), check(path)
        assert (first.findings, first.accepted) == (second.findings, second.accepted)
        assert first.table == second.table


def test_sorted_by_place_and_rule(files: list[Path]) -> None:
    several = 0
    for path in files:
        report = check(path)
        assert is_sorted(report.findings), path
        assert is_sorted(report.accepted), path
        several += len(report.findings) > 2
    assert several > 25


def is_sorted(findings: Iterable[Finding]) -> bool:
    places = [(finding.line, finding.column, finding.rule) for finding in findings]
    return places == sorted(places)


def test_every_finding_has_a_place(files: list[Path]) -> None:
    """The line and the column of each finding, counted from 1, are inside the text."""
    for path in files:
        report = check(path)
        lines = path.read_bytes().decode("utf-8", "replace").split("\n")
        for finding in (*report.findings, *report.accepted):
            assert 1 <= finding.line <= len(lines), (path, finding)
            assert 1 <= finding.column <= len(lines[finding.line - 1]) + 1, (path, finding)
