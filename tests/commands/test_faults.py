"""A fault of the program's own is named, and never looks like a clean run."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from commands.running import BAD, KELPIE
from rules.plans import with_check
from trappoint import cli
from trappoint.app import load
from trappoint.checking.check import check_content
from trappoint.rules import catalogue


def fail(_: object, **__: object) -> list[object]:
    raise KeyError("siding")


@pytest.fixture
def broken_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    broken = [
        with_check(rule, fail) if rule.id == "duty-mismatch" else rule
        for rule in catalogue.FACT_RULES
    ]
    monkeypatch.setattr(catalogue, "FACT_RULES", tuple(broken))


@pytest.mark.usefixtures("broken_rule")
def test_a_rule_that_fails(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(KELPIE)]) == 3
    out, err = capsys.readouterr()
    assert "internal error in duty-mismatch" in err
    assert "error fault-in-rule" in out
    assert "cannot be judged" in out
    assert "Traceback" not in out + err


@pytest.mark.usefixtures("broken_rule")
def test_a_rule_that_fails_leaves_no_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["table", str(KELPIE)]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert "duty-mismatch" in err


@pytest.mark.usefixtures("broken_rule")
def test_quiet_is_not_quiet_about_a_fault(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", "--quiet", str(KELPIE)]) == 3
    assert "internal error" in capsys.readouterr().err


def test_a_check_that_fails_altogether(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The other plans are checked all the same."""

    def check(content: bytes, *, name: str, **_: object) -> object:
        return fail(content) if "kelpie" in name else check_content(content, name=name)

    monkeypatch.setattr(load, "check", check)
    bad = tmp_path / "zzz.layout.json"
    bad.write_text(BAD, "utf-8")
    assert cli.main(["check", "--format", "json", str(KELPIE), str(bad)]) == 3
    out, err = capsys.readouterr()
    told = {Path(entry["file"]).name: entry for entry in json.loads(out)["files"]}
    assert told["kelpie-quay.layout.json"]["holds"] is None
    (finding,) = told["kelpie-quay.layout.json"]["findings"]
    assert finding["rule"] == "fault-in-program"
    assert told["zzz.layout.json"]["holds"] is False
    assert "KeyError" in err


def test_a_command_that_fails_says_where(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from trappoint.commands import check

    monkeypatch.setattr(check, "reporter", fail)
    assert cli.main(["check", str(KELPIE)]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert "It is a fault of the program, not of your plan." in err
    assert "KeyError: 'siding'" in err
    assert "commands.test_faults, line" in err
    assert "Traceback" not in err
