"""What a club sets: levels and choices, read strictly and applied."""

from __future__ import annotations

from pathlib import Path

import pytest

from rules.plans import example_text
from trappoint.checking.check import check_content
from trappoint.config.settings_file import SettingsError, find_settings, read_settings
from trappoint.interlocking.locking_table import derive_table
from trappoint.model.settings import DEFAULTS, Settings
from trappoint.rules.catalogue import all_rules

LOOP = """{"format": "trappoint-layout/1",
 "tracks": {"west": {"up": "edge:w", "down": "PW.toe"},
            "one": {"up": "PW.left", "down": "PE.right", "stand": true},
            "two": {"up": "PW.right", "down": "PE.left", "stand": true},
            "east": {"up": "PE.toe", "down": "edge:e"}},
 "points": {"PW": {"normal": "left"}, "PE": {"normal": "right"}},
 "signals": {"W": {"track": "west", "for": "down", "arms": [{"id": "W1"}, {"id": "W2"}]},
             "E": {"track": "east", "for": "up", "arms": [{"id": "E2"}, {"id": "E1"}]},
             "s1W": {"track": "one", "for": "up", "arms": [{"id": "1W"}]},
             "s1E": {"track": "one", "for": "down", "arms": [{"id": "1E"}]},
             "s2W": {"track": "two", "for": "up", "arms": [{"id": "2W"}]},
             "s2E": {"track": "two", "for": "down", "arms": [{"id": "2E"}]}}}"""


def conflicting(settings: Settings) -> set[frozenset[str]]:
    facts = check_content(LOOP, "loop", settings).facts
    assert facts is not None
    table = derive_table(facts)
    return {
        frozenset((entry.arm, conflict.arm))
        for entry in table.arms
        for conflict in entry.conflicts
        if conflict.when is None
    }


def test_overlap_flips_exactly_two_pairs_of_the_passing_loop() -> None:
    """Where the overlap runs to the limits of the points, the two homes exclude each other.

    Source: description of Danish practice for simultaneous entry at a loop, by which a short
    overlap inside the points allows both at once; the pairs follow from the eight routes of a
    passing loop (28 pairs: 14 conflict without overlap, 16 with it).
    """
    without, with_it = conflicting(DEFAULTS), conflicting(Settings(overlap=True))
    assert len(without) == 14
    assert with_it - without == {frozenset(("W1", "E2")), frozenset(("W2", "E1"))}
    assert without <= with_it


def test_levels_are_applied() -> None:
    text = example_text({"signals": {"6": None, "4": {"arms": [{"id": "4R"}]}}})
    plain = check_content(text, "plan")
    louder = check_content(text, "plan", Settings({"arm-speaks-for-two-roads": "note"}))
    off = check_content(text, "plan", Settings({"arm-speaks-for-two-roads": None}))
    assert [f.level for f in plain.findings if f.rule == "arm-speaks-for-two-roads"] == ["error"]
    assert [f.level for f in louder.findings if f.rule == "arm-speaks-for-two-roads"] == ["note"]
    assert [f.rule for f in off.findings if f.rule == "arm-speaks-for-two-roads"] == []


def test_reads_a_whole_file() -> None:
    text = """
[levels]
siding-without-trap = "warning"
standstill = "off"
[choices]
overlap = true
"""
    settings = read_settings(text, "trappoint.toml")
    assert settings.levels == {"siding-without-trap": "warning", "standstill": None}
    assert settings.overlap


def test_reads_its_part_of_pyproject() -> None:
    text = '[project]\nname = "club"\n[tool.trappoint.levels]\nstandstill = "error"\n'
    assert read_settings(text, "a/pyproject.toml").levels == {"standstill": "error"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("levels", "this is not TOML"),
        ("[level]", "there is no setting level. Is levels meant?"),
        ("[choices]\noverlaps = true", "there is no setting overlaps. Is overlap meant?"),
        ("exclude = 'attic'", 'exclude must be a list of patterns, such as ["attic/**"].'),
        ("exclude = [1]", 'exclude must be a list of patterns, such as ["attic/**"].'),
        ("exclude = ['a', '!b']", "exclude: !b cannot be used: a pattern can only leave plans out"),
        (f"exclude = {['a'] * 501}", "exclude: It has more than 500 patterns."),
        ("[levels]\nexclude = ['a']", "exclude belongs above the tables [levels] and [choices]."),
        ("[choices]\noverlap = 1", "choices.overlap must be true or false, not 1."),
        ("levels = 3", "levels must be a table: write [levels]."),
        ('[levels]\nstand-still = "note"', "there is no rule stand-still. Is standstill meant?"),
        ('[levels]\nstandstill = "loud"', "must be one of note, warning, error, off; not 'loud'."),
        ('[levels]\nunheld-exit = "off"', "the level of unheld-exit can not be changed"),
        ('[levels]\nnot-json = "note"', "the level of not-json can not be changed"),
    ],
)
def test_says_what_is_wrong(text: str, said: str) -> None:
    with pytest.raises(SettingsError) as caught:
        read_settings(text, "trappoint.toml")
    assert str(caught.value).startswith("trappoint.toml: ")
    assert said in str(caught.value)


def test_looks_upwards_as_far_as_the_repository(tmp_path: Path) -> None:
    inner = tmp_path / "club" / "plans" / "old"
    inner.mkdir(parents=True)
    (tmp_path / "trappoint.toml").write_text('[levels]\nstandstill = "error"\n', "utf-8")
    assert find_settings(str(inner)).levels == {"standstill": "error"}
    (tmp_path / "club" / ".git").mkdir()
    assert find_settings(str(inner)) == DEFAULTS
    (tmp_path / "club" / "trappoint.toml").write_text("[choices]\noverlap = true\n", "utf-8")
    assert find_settings(str(inner)).overlap


def test_rules_of_practice_are_silent_unless_asked() -> None:
    optional = {rule.id for rule in all_rules() if rule.optional}
    assert optional
    report = check_content(example_text({}), "kelpie")
    assert report.findings == ()
    asked = check_content(example_text({}), "kelpie", Settings(dict.fromkeys(optional, "note")))
    assert {finding.rule for finding in asked.findings} <= optional
    assert {finding.level for finding in asked.findings} == {"note"}
