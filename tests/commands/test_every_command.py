"""Every command is listed, has a page and a test, and explains its options."""

from __future__ import annotations

import re
from argparse import SUPPRESS, ArgumentParser
from pathlib import Path

import pytest

from trappoint.commands.catalogue import COMMANDS
from trappoint.core import by_name
from trappoint.core.findings import CAUTION, CAUTION_DRILLING

ROOT = Path(__file__).parents[2]
FORMATS = [name for name in by_name.REPORTERS if name != "text"]
"""The formats of findings; text, the default, is shown and tested everywhere."""
README = (ROOT / "README.md").read_text("utf-8")
PAGES = [
    page
    for page in sorted(ROOT.glob("*/*.md"))
    if page.parent.name in ("schema", "examples", "hooks", "service")
]
"""The pages for users: a command has one of these, or a part of README.md outside its table."""
TESTS = [
    path.read_text("utf-8")
    for path in sorted((ROOT / "tests").glob("*/*.py"))
    if path.name != Path(__file__).name
]


def test_each_command_has_a_summary_and_a_module() -> None:
    assert list(COMMANDS) == list(by_name.COMMANDS)
    modules = {path.stem for path in (ROOT / "validator/trappoint/commands").glob("*.py")}
    assert modules - {"__init__", "catalogue", "paper", "shared"} == set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_has_one_row_in_the_table(name: str) -> None:
    assert len(re.findall(rf"^\| `trappoint {name}\b[^`]*` \| .+ \|$", README, re.MULTILINE)) == 1


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_shown_on_a_page(name: str) -> None:
    beside_the_table = re.sub(r"^\|.*$", "", README, flags=re.MULTILINE)
    pages = [beside_the_table, *(page.read_text("utf-8") for page in PAGES)]
    assert any(re.search(rf"\btrappoint {name}\b", page) for page in pages)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_run_by_a_test(name: str) -> None:
    by_helper = rf'\b(?:trappoint|main|printed)\(\s*\[?\s*"{name}"'
    run = re.compile(rf'{by_helper}|"trappoint", "{name}"')
    assert any(run.search(text) for text in TESTS)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_explains_each_option(name: str) -> None:
    command = by_name.import_by_name(by_name.COMMANDS, name)
    parser = ArgumentParser(name)
    command.add_arguments(parser)
    assert COMMANDS[name].strip()
    assert (command.__doc__ or "").strip()
    unexplained = [
        action.option_strings or action.dest
        for action in parser._actions
        if not action.help or action.help == SUPPRESS
    ]
    assert unexplained == []


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_an_option_with_a_value_gives_its_default(name: str) -> None:
    command = by_name.import_by_name(by_name.COMMANDS, name)
    parser = ArgumentParser(name)
    command.add_arguments(parser)
    silent = [
        action.option_strings[-1]
        for action in parser._actions
        if action.option_strings
        and action.nargs != 0
        and not re.search(r"default|required|exit 0", action.help or "")
    ]
    assert silent == []


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_a_command_that_writes_csv_has_the_caution(name: str) -> None:
    command = by_name.import_by_name(by_name.COMMANDS, name)
    parser = ArgumentParser(name)
    command.add_arguments(parser)
    formats = [a.choices for a in parser._actions if "--format" in a.option_strings]
    writes_csv = any("csv" in (choices or ()) for choices in formats)
    assert writes_csv == (name in ("table", "fitting", "parts"))
    assert (CAUTION in (parser.epilog or "")) == writes_csv
    assert (CAUTION_DRILLING in (parser.epilog or "")) == (name in ("fitting", "parts"))


@pytest.mark.parametrize("name", FORMATS)
def test_a_format_of_findings_has_a_row_on_the_page_of_hooks(name: str) -> None:
    page = (ROOT / "hooks/README.md").read_text("utf-8")
    table = page.partition("\n| `--format` |")[2].partition("\n\n")[0]
    assert f"\n| `{name}` |" in table


@pytest.mark.parametrize("name", FORMATS)
def test_a_format_of_findings_is_run_by_a_test(name: str) -> None:
    assert any(re.search(rf'"--format", "{name}"', text) for text in TESTS)
