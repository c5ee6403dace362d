"""Settings of a club: levels and choices are read strictly and applied."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from rules.plans import example_text
from trappoint.checking.check import check_content
from trappoint.config.settings_file import (
    SettingsError,
    find_settings,
    read_settings,
    settings_in,
)
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
    """Test that the two homes exclude each other if overlaps run to the limits of the points.

    Common practice, no source. The pairs follow from the eight routes of a passing loop: of 28
    pairs 14 conflict without overlap, 16 with it.
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
    "table",
    ["[tool.trappoint.levels]", "[tool . trappoint . levels]", r'[tool."trappoin\u0074".levels]'],
)
def test_finds_its_part_however_its_key_is_written(table: str, tmp_path: Path) -> None:
    (tmp_path / "pyproject.toml").write_text(f'{table}\nstandstill = "error"\n', "utf-8")
    assert find_settings(str(tmp_path)).levels == {"standstill": "error"}


def test_leaves_the_settings_of_other_programs_alone(tmp_path: Path) -> None:
    for text in ("not [toml", '[project]\nname = "trappoint-club"\n', "[tool.other]\nlevels = 1\n"):
        (tmp_path / "pyproject.toml").write_text(text, "utf-8")
        assert find_settings(str(tmp_path)) == DEFAULTS


def test_reads_plain_files_alone(tmp_path: Path) -> None:
    (tmp_path / "trappoint.toml").mkdir()
    assert find_settings(str(tmp_path)) == DEFAULTS
    (tmp_path / "trappoint.toml").rmdir()
    os.mkfifo(tmp_path / "trappoint.toml")
    with pytest.raises(
        SettingsError, match=r"trappoint.toml: this cannot be read: it is a pipe\.$"
    ):
        find_settings(str(tmp_path))
    (tmp_path / "trappoint.toml").unlink()
    (tmp_path / "trappoint.toml").symlink_to("/etc/hostname")
    with pytest.raises(SettingsError, match="is a link that leads out of its repository"):
        find_settings(str(tmp_path))


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
        ('[levels]\nstandstil = "note"', "there is no rule standstil. Is standstill meant?"),
        ('[levels]\nstandstill = "loud"', "must be one of note, warning, error, off; not 'loud'."),
        ('[levels]\nunheld-exit = "off"', "the level of unheld-exit cannot be changed"),
        ('[levels]\nnot-json = "note"', "the level of not-json cannot be changed"),
        ("x = " + "[" * 100_000, "this is nested too deeply"),
        ("x = " + "{a = " * 100_000, "this is nested too deeply"),
        (".".join(["a"] * 500_000) + " = 1", "this is nested too deeply"),
        ('"b" . ' * 65 + "c = 1", "this is nested too deeply"),
        ("x = " + "9" * 5000, "this is not TOML"),
        ("x = \0", "this is not TOML"),
        (f"[levels]\nstandstill = {'[' * 40}{']' * 40}", "must be one of note, warning"),
        (f'[levels]\nstandstill = "{"x" * 500_000}"', "must be one of note, warning"),
        (f'"{"x" * 500_000}" = 1', "there is no setting"),
        (f'[levels]\n"{"x" * 500_000}" = 1', "there is no rule"),
        ('"\\u001b[31m" = 1', 'there is no setting "\\u001b[31m"'),
    ],
)
def test_says_what_is_wrong(text: str, said: str) -> None:
    with pytest.raises(SettingsError) as caught:
        read_settings(text, "trappoint.toml")
    assert str(caught.value).startswith("trappoint.toml: ")
    assert said in str(caught.value)
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"[levels]\nstandstill = '\xff'", "this is not UTF-8."),
        (b"#" * 1_048_577, "this is longer than 1,048,576 bytes."),
    ],
)
def test_says_what_is_wrong_with_bytes(content: bytes, said: str, tmp_path: Path) -> None:
    for name in ("trappoint.toml", "pyproject.toml"):
        with pytest.raises(SettingsError) as caught:
            settings_in(content, name)
        assert str(caught.value) == f"{name}: {said}"
    (tmp_path / "trappoint.toml").write_bytes(content)
    with pytest.raises(SettingsError, match=said):
        find_settings(str(tmp_path))


@pytest.mark.parametrize("text", ["tool = 1", "[[tool]]", "[tool]\ntrappoint = 3"])
def test_a_part_of_pyproject_that_is_no_table(text: str) -> None:
    with pytest.raises(SettingsError, match="must be a table"):
        read_settings(text, "pyproject.toml")


def test_another_program_may_write_its_part_of_pyproject_as_it_likes() -> None:
    assert settings_in(b"not TOML, nor ours", "pyproject.toml") is None
    ours = b"[tool.trappoint.choices]\noverlap = true\n[tool.other]\na.b.c = '" + b"a." * 60
    found = settings_in(ours + b"'", "pyproject.toml")
    assert found is not None
    assert found.overlap


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
