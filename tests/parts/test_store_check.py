"""A store is checked like a plan: findings with their places, in every form of report."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from trappoint.cli import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "kelpie-quay.store.json"


@pytest.fixture
def spoilt(tmp_path: Path) -> str:
    """Return a store that gives a rate for the currency in which it counts, in line 2."""
    data = json.loads(EXAMPLE.read_text("utf-8"))
    data.pop("rates", None)
    rates = f'"rates": {{"{data["currency"]}": "1"}}'
    file = tmp_path / "club.store.json"
    file.write_text(f"{{\n  {rates},\n{json.dumps(data)[1:]}", "utf-8")
    return str(file)


def test_a_store_in_order(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(EXAMPLE)]) == 0
    assert "can be used as a store." in capsys.readouterr().out


def test_a_finding_has_its_place(spoilt: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", spoilt]) == 1
    out = capsys.readouterr().out
    assert f"{spoilt}:2:13 error rate-of-own-currency" in out
    assert "is no store yet: 1 error must be put right." in " ".join(out.split())


@pytest.mark.parametrize("form", ["json", "sarif", "junit", "github"])
def test_every_report_tells_it(form: str, spoilt: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", spoilt, "--format", form]) == 1
    said = capsys.readouterr()
    assert "rate-of-own-currency" in said.out and "fault" not in said.err
