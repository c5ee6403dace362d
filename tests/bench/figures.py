"""Figures kept over time: one row of ``figures.csv`` for each, in the order of the runs."""

from __future__ import annotations

import csv
import os
import platform
import subprocess
from datetime import UTC, datetime
from typing import TYPE_CHECKING, NamedTuple

from bench.measuring import ROOT, Figure

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

FILE = ROOT / "tests" / "bench" / "figures.csv"

BETWEEN = " / "
"""Stands between the parts of a figure's name: its row in the table, then its column."""


class Run(NamedTuple):
    """The date, machine and commit of a set of figures."""

    date: str
    commit: str
    machine: str
    python: str
    load: str
    """How many processes were running on average in the minute before."""

    def __str__(self) -> str:
        """Return the run as a sentence."""
        return (
            f"Measured on {self.date} at {self.commit}: {self.machine}, {self.python}, "
            f"load {self.load}."
        )


HEADS = (*Run._fields, "part", *Figure._fields)

History = dict[Run, dict[str, dict[str, float]]]
"""From each run, oldest first, to its parts, and from their names to their figures."""


def this_run() -> Run:
    """Describe a run that begins now."""
    words = ("git", "-C", str(ROOT), "describe", "--always", "--dirty", "--exclude", "*")
    commit = subprocess.run(words, capture_output=True, text=True, check=False).stdout.strip()
    return Run(
        f"{datetime.now(UTC):%Y-%m-%d %H:%M}",
        commit or "unknown",
        f"{os.cpu_count() or 1} cores ({platform.machine()}) {platform.system()}",
        f"{platform.python_implementation()} {platform.python_version()}",
        f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "",
    )


def append(file: Path, run: Run, measured: Mapping[str, Iterable[Figure]]) -> None:
    """Append the figures of a run, part by part; begin the file if there is none."""
    begins = not file.exists()
    with file.open("a", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        if begins:
            writer.writerow(HEADS)
        for part, figures in measured.items():
            writer.writerows(
                (*run, part, figure.name, _written(figure.value), figure.unit) for figure in figures
            )


def read(file: Path) -> History:
    """Read the figures of all runs."""
    history: History = {}
    with file.open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            parts = history.setdefault(Run(*(row[name] for name in Run._fields)), {})
            parts.setdefault(row["part"], {})[row["name"]] = float(row["value"])
    return history


def newest(history: History, part: str) -> tuple[Run, dict[str, float]] | None:
    """Return the last run that measured a part, and the figures; None if none did."""
    for run, parts in reversed(history.items()):
        if part in parts:
            return run, parts[part]
    return None


def values(figures: Iterable[Figure]) -> dict[str, float]:
    """Return the figures of one part by their names."""
    return {figure.name: figure.value for figure in figures}


def by_rows(found: Mapping[str, float], table: str = "") -> dict[str, dict[str, float]]:
    """Return the figures of one table: from each row to its columns."""
    rows: dict[str, dict[str, float]] = {}
    before = table + BETWEEN if table else ""
    for name, value in found.items():
        row, between, column = name.removeprefix(before).rpartition(BETWEEN)
        if name.startswith(before) and between:
            rows.setdefault(row, {})[column] = value
    return rows


def _written(value: float) -> str:
    """Write a figure with four digits that count."""
    return str(value) if isinstance(value, int) else f"{float(f'{value:.4g}'):.12g}"
