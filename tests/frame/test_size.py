"""The largest frames of the format are derived quickly; too large ones give a clear error."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from large.railway import railway, written
from robust.blow_ups import fans, worked_together
from trappoint.checking.check import load
from trappoint.checking.frame import frame_table
from trappoint.cli import main
from trappoint.core.errors import PlanError
from trappoint.lever_frame import clauses

TOLD = "The levers lock each other in too many ways to analyse."


def test_the_largest_frame_that_can_be_numbered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its locking is local, so the derivation needs a small part of the limit."""
    monkeypatch.setattr(clauses, "MAX_LOOKS", 300_000)
    table = frame_table(load(written(railway(340))))
    assert 900 < len(table.levers) <= 999
    assert len(table.entries) > len(table.levers)
    assert table.notes == ()


def fan_of_arms_on_few_levers() -> str:
    """Sixteen roads that meet sixteen others in one track, with five levers for all the arms."""
    plan = json.loads(fans(4))
    arms = [arm["id"] for signal in plan["signals"].values() for arm in signal["arms"]]
    works = [{"arms": arms[number::5]} for number in range(5)]
    works += [{"points": [name]} for name in plan["points"]]
    plan["levers"] = {str(number): each for number, each in enumerate(works, 1)}
    return json.dumps(plan)


def test_what_is_too_much_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(clauses, "MAX_LOOKS", 100_000)  # else one waits for ten seconds
    path = tmp_path / "fan.layout.json"
    path.write_text(fan_of_arms_on_few_levers(), "utf-8")
    assert main(["table", "--frame", str(path)]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == (
        f"trappoint: {path}: {TOLD} Let each lever work fewer points and arms; or give each signal "
        "box a plan, and so a frame, of its own.\n"
    )
    assert main(["table", str(path)]) == 0


def test_points_without_number_on_many_levers_are_too_much() -> None:
    plan = worked_together(1000, chained=True, levers=True)
    with pytest.raises(PlanError) as raised:
        frame_table(load(plan))
    (finding,) = raised.value.findings
    assert (finding.rule, finding.pointer) == ("too-much-to-follow", "/levers")
    assert finding.message == TOLD
