"""The check of each rule is right below its record."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from rules.plans import with_check
from trappoint import rules
from trappoint.core.findings import Finding
from trappoint.facts.facts import Facts
from trappoint.rules.catalogue import all_rules
from trappoint.rules.holding import UNHELD_EXIT
from trappoint.rules.rule import Rule

MODULES = sorted(Path(rules.__file__).parent.glob("*.py"))

FOUND_ON_THE_WAY = {"nowhere-to-stand"}
"""A rule on facts whose findings the check of another rule makes."""


def record_of(statement: ast.stmt) -> str | None:
    """Return the name that a statement gives to a rule, None if it makes no rule."""
    if not isinstance(statement, ast.Assign) or not isinstance(statement.value, ast.Call):
        return None
    (name,) = statement.targets
    made = isinstance(statement.value.func, ast.Name) and statement.value.func.id == "Rule"
    return name.id if made and isinstance(name, ast.Name) else None


def checked(statement: ast.stmt) -> list[str]:
    """Return the names of the rules that a function checks."""
    if not isinstance(statement, ast.FunctionDef):
        return []
    marks = [mark for mark in statement.decorator_list if isinstance(mark, ast.Attribute)]
    return [
        mark.value.id
        for mark in marks
        if mark.attr == "checked_by" and isinstance(mark.value, ast.Name)
    ]


def apart(source: str) -> list[str]:
    """Return the rules whose check is not right below their record."""
    found, above = [], list[str]()
    for statement in ast.parse(source).body:
        found += [name for name in checked(statement) if name not in above]
        record = record_of(statement)
        above = [] if record is None else [*above, record]
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_each_check_stands_right_below_its_record(path: Path) -> None:
    assert apart(path.read_text("utf-8")) == []


def test_a_check_elsewhere_would_be_seen() -> None:
    page = "A = Rule()\nB = Rule()\n\n@A.checked_by\ndef a(facts): ...\n"
    assert apart(page) == []
    assert apart(page + "\n@B.checked_by\ndef b(facts): ...\n") == ["B"]
    assert apart("A = Rule()\nX = 1\n\n@A.checked_by\ndef a(facts): ...\n") == ["A"]


def test_every_rule_that_is_asked_has_a_check() -> None:
    asked = [rule for rule in all_rules() if rule.stage in ("boards", "plan", "facts")]
    assert {rule.id for rule in asked if rule.check is None} == FOUND_ON_THE_WAY
    assert all(rule.check is None for rule in all_rules() if rule not in asked)


def test_a_rule_has_one_check() -> None:
    def nothing(_: Facts) -> list[Finding]:
        return []

    bare: Rule = with_check(UNHELD_EXIT, None)
    assert bare.checked_by(nothing) is nothing
    assert bare.check is nothing
    with pytest.raises(ValueError, match="unheld-exit has a check already"):
        bare.checked_by(nothing)
    assert UNHELD_EXIT.check is not nothing


def test_the_page_for_newcomers_quotes_a_rule_as_it_is() -> None:
    developers = Path(__file__).parents[2].joinpath("DEVELOPERS.md").read_text("utf-8")
    part = developers.partition("\n## How to add a rule\n")[2].partition("\n## ")[0]
    quoted = part.partition("```python\n")[2].partition("```")[0]
    assert quoted.startswith("ARM_ID_TWICE = Rule(")
    assert quoted in Path(rules.__file__).with_name("references.py").read_text("utf-8")
