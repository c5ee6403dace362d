"""The check of a store: findings with their places, in every format."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from trappoint.cli import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "kelpie-quay.store.json"


@pytest.fixture
def spoilt(tmp_path: Path) -> str:
    """Return a store with a rate for its own currency, in line 2."""
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
    assert f"error rate-of-own-currency\n{spoilt}:2:13\n" in out
    assert "cannot be used as a store: correct 1 error first." in " ".join(out.split())


@pytest.mark.parametrize("form", ["json", "sarif", "junit", "github"])
def test_every_report_tells_it(form: str, spoilt: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", spoilt, "--format", form]) == 1
    said = capsys.readouterr()
    assert "rate-of-own-currency" in said.out and "fault" not in said.err
