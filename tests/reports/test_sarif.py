"""SARIF reports follow the schema of the standard and the rules that no schema can express.

Source: SARIF Version 2.1.0, OASIS Standard; section numbers are its own.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from jsonschema import Draft4Validator

from commands.running import BAD, GOOD, ROOT, plan, trappoint
from rules.plans import with_check
from trappoint import cli
from trappoint.core.findings import CAUTION, CAUTION_SHORT
from trappoint.rules import catalogue
from trappoint.rules.catalogue import all_rules

pytestmark = pytest.mark.usefixtures("quick")

SCHEMA = json.loads((Path(__file__).parent / "sarif-2.1.0.schema.json").read_text("utf-8"))
FINGERPRINT = "trappointFinding/v1"


def sarif(text: str) -> dict[str, Any]:
    """Return the only run of a log; assert that the log is valid."""
    log = json.loads(text)
    assert [error.message for error in Draft4Validator(SCHEMA).iter_errors(log)] == []
    (run,) = log["runs"]
    assert isinstance(run, dict)
    return run


def check(folder: Path, text: str | bytes, name: str = "a.layout.json") -> dict[str, Any]:
    (folder / name).write_bytes(text if isinstance(text, bytes) else text.encode())
    done = trappoint("check", "--format", "sarif", name, cwd=folder)
    assert done.stderr == ""
    assert done.stdout.isascii()
    return sarif(done.stdout)


def test_the_schema_can_refuse() -> None:
    validator = Draft4Validator(SCHEMA)
    assert validator.is_valid({"version": "2.1.0", "runs": []})
    assert not validator.is_valid({"version": "2.1.0"})
    assert not validator.is_valid({"version": "2.1.0", "runs": [{"results": []}]})
    Draft4Validator.check_schema(SCHEMA)


def test_every_example_and_every_slip() -> None:
    """Test that SARIF and JSON have the same findings at the same places."""
    own = json.loads(trappoint("check", "--format", "json", "examples", cwd=ROOT).stdout)
    done = trappoint("check", "--format", "sarif", "examples", cwd=ROOT)
    assert done.returncode == 1
    run = sarif(done.stdout)
    assert run == sarif(trappoint("check", "--format", "sarif", "examples", cwd=ROOT).stdout)
    told = []
    for result in run["results"]:
        if result["suppressions"]:
            continue
        (place,) = result["locations"]
        where = place["physicalLocation"]
        artifact = run["artifacts"][where["artifactLocation"]["index"]]
        assert artifact["location"]["uri"] == where["artifactLocation"]["uri"]
        region = where["region"]
        told.append(
            (
                unquote(artifact["location"]["uri"].removeprefix("file://")),
                result["ruleId"],
                result["level"],
                region["startLine"],
                region["startColumn"],
                place["logicalLocations"][0]["fullyQualifiedName"],
            )
        )
    expected = [
        (file["file"], f["rule"], f["level"], f["line"], f["column"], f["pointer"])
        for file in own["files"]
        for f in file["findings"]
    ]
    assert len(expected) > 40
    assert told == expected
    verdicts = [artifact["properties"]["holds"] for artifact in run["artifacts"]]
    assert verdicts == [file["holds"] for file in own["files"]]


def test_every_rule_has_its_documentation() -> None:
    run = sarif(trappoint("check", "--format", "sarif", "-", given=GOOD.encode()).stdout)
    driver = run["tool"]["driver"]
    assert driver["fullDescription"]["text"] == CAUTION
    assert run["properties"]["caution"] == CAUTION_SHORT
    assert [rule["id"] for rule in driver["rules"]] == [rule.id for rule in all_rules()]
    for told, rule in zip(driver["rules"], all_rules(), strict=True):
        assert told["defaultConfiguration"] == {"level": rule.level, "enabled": not rule.optional}
        assert rule.why in told["help"]["text"]
        assert told["help"]["markdown"].startswith(f"# {rule.id}\n")
        assert "Speaks on:" in told["help"]["markdown"]
        assert told["shortDescription"]["text"].endswith(".")
    assert run["results"] == []


def test_the_region_is_the_value(tmp_path: Path) -> None:
    (result,) = check(tmp_path, BAD)["results"]
    where = result["locations"][0]["physicalLocation"]
    region = where["region"]
    line = BAD.splitlines()[region["startLine"] - 1]
    assert line[region["startColumn"] - 1 : region["endColumn"] - 1] == '"p3.left"'
    assert region["snippet"]["text"] == '"p3.left"'
    assert where["contextRegion"]["snippet"]["text"] == line
    assert where["artifactLocation"]["uri"] == "a.layout.json"


def test_rule_index_points_at_the_rule(tmp_path: Path) -> None:
    run = check(tmp_path, BAD)
    for result in run["results"]:
        assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == result["ruleId"]


def test_the_movement_is_a_thread_for_each_train(tmp_path: Path) -> None:
    """Test section 3.38.11: the execution order rises from step to step."""
    (result,) = check(tmp_path, BAD)["results"]
    (flow,) = result["codeFlows"]
    one, other = flow["threadFlows"]
    assert (one["id"], other["id"]) == ("A", "B")
    steps = [
        (step["executionOrder"], step["location"]["message"]["text"], step["location"])
        for thread in flow["threadFlows"]
        for step in thread["locations"]
    ]
    assert [order for order, _, _ in steps if order == 0] == [0, 0]
    assert sorted(order for order, _, _ in steps)[1:] == list(range(len(steps) - 1))
    for thread in flow["threadFlows"]:
        orders = [step["executionOrder"] for step in thread["locations"]]
        assert orders == sorted(orders)
    last = max(steps, key=lambda step: step[0])
    assert last[1].endswith("Both trains are in loop-west.")
    starts = {text for order, text, _ in steps if order == 0}
    assert "Train A stands in siding." in starts
    lines = BAD.splitlines()
    for _, text, place in steps:
        region = place["physicalLocation"]["region"]
        shown = lines[region["startLine"] - 1][region["startColumn"] - 1 : region["endColumn"] - 1]
        named = place["logicalLocations"][0]["fullyQualifiedName"].split("/")[2]
        assert shown == f'"{named}"'
        if " runs to " in text or " stands in " in text:
            assert text.split(".")[0].endswith(f" {named}")


def test_related_places_are_the_ids(tmp_path: Path) -> None:
    (result,) = check(tmp_path, BAD)["results"]
    related = result["relatedLocations"]
    assert [place["id"] for place in related] == list(range(1, len(related) + 1))
    assert {place["message"]["text"] for place in related} == set(result["properties"]["ids"])
    for place in related:
        assert place["physicalLocation"]["region"]["snippet"]["text"] == (
            f'"{place["message"]["text"]}"'
        )


def test_fingerprints_stay_when_lines_move_and_differ_otherwise(tmp_path: Path) -> None:
    def prints(text: str) -> list[str]:
        return [
            result["partialFingerprints"][FINGERPRINT]
            for result in check(tmp_path, text)["results"]
        ]

    two = "".join(line for line in BAD.splitlines(keepends=True) if '"3": {' not in line)
    before = prints(two)
    assert len(before) == len(set(before)) > 1
    assert prints("\n\n\n" + two.replace("{", "{\n ")) == before
    assert prints(json.dumps(json.loads(two))) == before
    assert prints(two.replace("Kelpie Quay", "Another title")) == before
    assert set(prints(BAD)) < set(before)
    assert not set(prints(two.replace('"siding"', '"spur"'))) & set(prints(BAD))


def test_what_is_accepted_is_suppressed_with_its_reason(tmp_path: Path) -> None:
    signals = {k: v for k, v in json.loads(GOOD)["signals"].items() if k != "6"}
    entries = [{"rule": "unheld-exit", "at": "siding", "because": "Worked by \u00e9lan."}]
    text = plan(signals=signals, accept=entries)
    run = check(tmp_path, text)
    (result,) = run["results"]
    (suppression,) = result["suppressions"]
    assert suppression["kind"] == "inSource"
    assert suppression["justification"] == "Worked by \u00e9lan."
    region = suppression["location"]["physicalLocation"]["region"]
    line = text.splitlines()[region["startLine"] - 1]
    assert line[region["startColumn"] - 1] == "{"
    assert '"rule": "unheld-exit"' in text.splitlines()[region["startLine"]]
    assert run["artifacts"][0]["properties"]["holds"] is False


def test_what_the_baseline_knows_is_suppressed(tmp_path: Path) -> None:
    (tmp_path / "a.layout.json").write_text(BAD, "utf-8")
    trappoint("check", "--write-baseline", "base.json", "a.layout.json", cwd=tmp_path)
    words = ["check", "--format", "sarif", "--baseline", "base.json", "a.layout.json"]
    done = trappoint(*words, cwd=tmp_path)
    (result,) = sarif(done.stdout)["results"]
    assert [s["kind"] for s in result["suppressions"]] == ["external"]
    assert done.returncode == 0


@pytest.mark.parametrize(
    "content",
    [b"", b"\xff\xfe", b"[1]", b'{"tracks": [1], "signals": 3, "format": "x"}', b"{", b"NaN"],
)
def test_what_can_not_be_understood(tmp_path: Path, content: bytes) -> None:
    run = check(tmp_path, content)
    assert run["results"]
    assert run["artifacts"][0]["properties"]["holds"] is None


def test_names_of_files_are_uris(tmp_path: Path) -> None:
    for name in ("a b.layout.json", "100%:#?.layout.json", "caf\u00e9.layout.json"):
        (artifact,) = check(tmp_path, GOOD, name)["artifacts"]
        assert unquote(artifact["location"]["uri"]) == name
        assert not set(artifact["location"]["uri"]) & set(" :#?\u00e9")
    raw = os.fsdecode(b"caf\xe9.layout.json")
    (artifact,) = check(tmp_path, GOOD, raw)["artifacts"]
    assert artifact["location"]["uri"] == "caf%E9.layout.json"
    path = tmp_path / "a b.layout.json"
    run = sarif(trappoint("check", "--format", "sarif", path).stdout)
    assert run["artifacts"][0]["location"] == {"uri": path.as_uri()}


def test_no_file_is_still_a_log() -> None:
    done = trappoint("check", "--format", "sarif", "nowhere.layout.json")
    assert done.returncode == 2
    assert sarif(done.stdout)["results"] == []


def test_a_fault_is_a_notification_and_no_result(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Test section 3.58: an internal error is a notification, not a result."""

    def fail(_: object) -> list[Any]:
        raise KeyError("siding")

    broken = tuple(
        with_check(rule, fail) if rule.id == "duty-mismatch" else rule
        for rule in catalogue.FACT_RULES
    )
    monkeypatch.setattr(catalogue, "FACT_RULES", broken)
    path = tmp_path / "a.layout.json"
    path.write_text(GOOD, "utf-8")
    assert cli.main(["check", "--format", "sarif", str(path)]) == 3
    run = sarif(capsys.readouterr().out)
    assert run["results"] == []
    (invocation,) = run["invocations"]
    assert invocation["executionSuccessful"] is False
    (told,) = invocation["toolExecutionNotifications"]
    assert told["descriptor"]["id"] == "fault-in-rule"
    assert "duty-mismatch" in told["message"]["text"]
