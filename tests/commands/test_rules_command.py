"""``trappoint rules`` as a whole process."""

from __future__ import annotations

import json

import pytest

from commands.running import trappoint
from trappoint.rules.catalogue import all_rules

pytestmark = pytest.mark.usefixtures("quick")


def test_the_list_names_every_rule_once() -> None:
    done = trappoint("rules")
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    named = [line.split() for line in lines if line[:1].isalpha()]
    assert [(words[0], words[1]) for words in named] == [
        (rule.id, rule.level) for rule in all_rules()
    ]


def test_one_rule_is_explained() -> None:
    done = trappoint("rules", "unheld-exit")
    (rule,) = [rule for rule in all_rules() if rule.id == "unheld-exit"]
    assert done.returncode == 0
    told = " ".join(done.stdout.split())
    for part in (
        rule.id,
        rule.level,
        rule.summary,
        rule.why,
        rule.source,
        "Speaks on",
        "Silent on",
    ):
        assert part in told
    assert '"6": null' in done.stdout


def test_an_unknown_rule_is_guessed() -> None:
    done = trappoint("rules", "unheld-exits")
    assert (done.returncode, done.stdout) == (2, "")
    assert "Is unheld-exit meant?" in done.stderr


def test_json_tells_all_of_them() -> None:
    told = json.loads(trappoint("rules", "--format", "json").stdout)["rules"]
    assert [entry["rule"] for entry in told] == [rule.id for rule in all_rules()]
    for entry, rule in zip(told, all_rules(), strict=True):
        assert entry["why"] == rule.why
        for example in ("fails", "passes"):
            assert entry[example]["about"]
    one = json.loads(trappoint("rules", "--format", "json", "not-utf8").stdout)
    assert one["fails"]["text"] == '{"title": "Quai d\\xe9sert"}'


def test_markdown_has_a_part_for_each() -> None:
    text = trappoint("rules", "--format", "markdown").stdout
    assert [line[3:] for line in text.splitlines() if line.startswith("## ")] == [
        rule.id for rule in all_rules()
    ]
    one = trappoint("rules", "--format", "markdown", "unheld-exit").stdout
    assert one.startswith("# unheld-exit\n")
