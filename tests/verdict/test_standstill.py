"""Standstills do not depend on the order of the tracks in the file."""

from __future__ import annotations

import json

import pytest

from oracle.cases import a_plan
from trappoint.checking.check import check_content

TRACKS = {
    "line": "edge:x joint:1",
    "lead": "joint:1 joint:2",
    "end": "joint:2 buffer",
}
"""An approach of two tracks joined without a signal, and a platform at its end."""


@pytest.mark.parametrize("first", TRACKS)
def test_a_train_that_can_leave_by_an_edge_is_at_no_standstill(first: str) -> None:
    tracks = {first: TRACKS[first], **TRACKS}
    report = check_content(json.dumps(a_plan(tracks, {"h": "lead down", "e": "end up"})), "plan")
    assert report.holds is True
    assert [found for found in report.findings if found.rule == "standstill"] == []
