"""The changelog has an entry for the current version, or only unreleased changes."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from trappoint.core.version import __version__

ROOT = Path(__file__).parents[2]
RELEASED = re.compile(r"(\d+)\.(\d+)\.(\d+) \(\d{4}-\d\d-\d\d\)")
"""The heading of a release: version and date."""


def problems(changelog: str, version: str) -> list[str]:
    """Return the mistakes in the headings of a changelog for this version of the program."""
    headings = re.findall(r"^## (.+)$", changelog, re.MULTILINE)
    if not headings:
        return ["there is no heading"]
    open_part = headings[0] == "Unreleased"
    releases = [RELEASED.fullmatch(heading) for heading in headings[open_part:]]
    if None in releases:
        return ["a heading is neither 'Unreleased', at the top, nor 'VERSION (DATE)'"]
    numbers = [tuple(map(int, release.groups())) for release in releases if release]
    own = tuple(map(int, version.split(".")))
    found = []
    if any(newer <= older for newer, older in pairwise(numbers)):
        found.append("the newest release does not come first")
    if not open_part and numbers[0] != own:
        found.append("the newest release is not the program's version")
    if open_part and numbers and own < numbers[0]:
        found.append("the program's version is older than the newest release")
    return found


def test_the_changelog_fits_the_version() -> None:
    assert problems((ROOT / "CHANGELOG.md").read_text("utf-8"), __version__) == []


@pytest.mark.parametrize(
    ("headings", "fits"),
    [
        (["Unreleased"], True),
        (["1.2.3 (2026-01-02)"], True),
        (["1.2.3 (2026-01-02)", "1.2.2 (2026-01-01)"], True),
        (["Unreleased", "1.2.3 (2026-01-02)"], True),
        (["Unreleased", "1.2.2 (2026-01-01)"], True),
        ([], False),
        (["1.2.2 (2026-01-01)"], False),
        (["1.2.4 (2026-01-02)"], False),
        (["Unreleased", "1.2.4 (2026-01-02)"], False),
        (["1.2.3 (2026-01-02)", "Unreleased"], False),
        (["1.2.3"], False),
        (["1.2.3 (2026-01-02)", "1.10.0 (2026-01-01)"], False),
    ],
)
def test_headings_that_fit_version_1_2_3(headings: list[str], fits: bool) -> None:
    changelog = "".join(f"## {heading}\n\n- A change.\n\n" for heading in headings)
    assert (problems(changelog, "1.2.3") == []) is fits
