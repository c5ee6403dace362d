"""Every sheet carries its caution in each format that can contain one."""

from __future__ import annotations

import json
from html import unescape
from pathlib import Path

import pytest

from trappoint.cli import main
from trappoint.core.findings import CAUTION, CAUTION_FITTING, CAUTION_SHORT

KELPIE = Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json"
PEOPLE = ("text", "markdown", "html")


@pytest.mark.parametrize(
    ("words", "forms", "caution"),
    [
        (("table", "PLAN"), PEOPLE, CAUTION),
        (("table", "--frame", "PLAN"), PEOPLE, CAUTION),
        (("road", "PLAN", "main", "siding"), ("text", "markdown"), CAUTION),
        (("session", "PLAN"), PEOPLE, CAUTION),
        (("dimensions", "PLAN"), ("text", "markdown"), CAUTION),
        (("fitting", "PLAN"), ("text", "html"), CAUTION_FITTING),
        (("compare", "PLAN", "PLAN"), ("text",), CAUTION_SHORT),
        (("compare", "PLAN", "PLAN"), ("markdown",), CAUTION),
        (("propose", "--repair", "PLAN"), ("text",), CAUTION_SHORT),
    ],
)
def test_every_sheet_has_its_caution(
    words: tuple[str, ...],
    forms: tuple[str, ...],
    caution: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan["trains"] = {"local": {"length_mm": 400}}
    plan["sessions"] = {"evening": {"moves": [{"train": "local", "from": "edge:town", "to": "A"}]}}
    file = tmp_path / "plan.layout.json"
    file.write_text(json.dumps(plan), "utf-8")
    command = [str(file) if word == "PLAN" else word for word in words]
    for form in forms:
        assert main([*command, "--format", form]) == 0
        text = unescape(" ".join(capsys.readouterr().out.split()))
        assert caution in text, form
    main([*command, "--format", "json"])
    whole = CAUTION_FITTING if words[0] == "fitting" else CAUTION
    assert json.loads(capsys.readouterr().out)["caution"] == whole
