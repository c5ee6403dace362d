"""For any document, the check ends with findings in order and without an internal error.

A long run makes many more tries, with different documents every time.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from amount import amount, is_long
from robust.near_plans import json_values, near_plans
from trappoint.checking.check import check_content
from trappoint.config.settings_file import SettingsError, read_settings
from trappoint.core.findings import LEVELS
from trappoint.core.terminal import RenderOptions
from trappoint.model.settings import CHOICES, Settings
from trappoint.reporting.formats import reporter
from trappoint.rules.catalogue import all_rules

if TYPE_CHECKING:
    from trappoint.checking.report import Report

few = settings(
    max_examples=amount(40, long=5000),
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
    derandomize=not is_long(),
)
KNOWN = {rule.id for rule in all_rules()}


def hold(report: Report) -> None:
    """Assert the promises that every report must keep."""
    assert report.fault is None, [f.message for f in report.findings if f.rule == "fault-in-rule"]
    for findings in (report.findings, report.accepted):
        places = [(f.file or "", f.line, f.column, f.rule, f.pointer, f.message) for f in findings]
        assert places == sorted(places)
        for finding in findings:
            assert finding.rule in KNOWN
            assert finding.level in LEVELS
            assert finding.line >= 1
            assert finding.column >= 1
    if report.holds:
        told = [f for f in report.findings if f.rule == "unheld-exit" and f.level == "error"]
        assert not told
    for form in ("json", "text"):
        "".join(reporter(form)([report.for_printing()], RenderOptions())).encode()
    table = report.table
    if table is not None:
        json.dumps(table.to_json(), allow_nan=False)


@few
@given(near_plans())
def test_what_is_nearly_a_plan(plan: dict[str, Any]) -> None:
    hold(check_content(json.dumps(plan, ensure_ascii=False), "near"))


@few
@given(json_values)
def test_any_json(value: object) -> None:
    hold(check_content(json.dumps(value), "json"))


@few
@given(st.text() | st.binary() | st.text('{}[]",:\\ud0 \r\n\t\ufeff1e-+.').map(str.encode))
def test_any_text(content: str | bytes) -> None:
    hold(check_content(content, "text"))


@few
@given(near_plans(), st.data())
def test_a_plan_with_a_hole_in_its_text(plan: dict[str, Any], data: st.DataObject) -> None:
    text = json.dumps(plan, indent=1)
    at = data.draw(st.integers(0, len(text)))
    until = data.draw(st.integers(at, min(len(text), at + 20)))
    hold(check_content(text[:at] + data.draw(st.text(max_size=3)) + text[until:], "hole"))


levels = st.dictionaries(
    st.sampled_from(sorted(rule.id for rule in all_rules() if not rule.fixed)),
    st.sampled_from([None, *LEVELS]),
    max_size=20,
)


@few
@given(near_plans(), levels, st.booleans())
def test_under_any_settings(plan: dict[str, Any], own: dict[str, Any], overlap: bool) -> None:
    hold(check_content(json.dumps(plan), "near", Settings(own, overlap=overlap)))


@few
@given(
    st.text()
    | st.dictionaries(
        st.sampled_from(["levels", "choices", "level", "x"]),
        st.dictionaries(
            st.sampled_from([*sorted(KNOWN), *CHOICES, "overlapp"]),
            st.sampled_from(['"error"', '"off"', '"loud"', "true", "1", "[]"]),
            max_size=3,
        ),
        max_size=2,
    ).map(
        lambda tables: "\n".join(
            f"[{name}]\n" + "\n".join(f"{key} = {value}" for key, value in table.items())
            for name, table in tables.items()
        )
    )
)
def test_any_settings(text: str) -> None:
    try:
        found = read_settings(text, "trappoint.toml")
    except SettingsError as error:
        assert "trappoint.toml" in str(error)
    else:
        assert isinstance(found, Settings)
