"""Starting is quick because little is imported: looked at in fresh processes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import trappoint as trappoint_package
from commands.running import BAD, KELPIE, trappoint
from large.railway import railway, written

LIBRARY = {
    *("argparse", "ast", "bisect", "collections", "contextlib", "copy", "copyreg", "dataclasses"),
    *("dis", "enum", "errno", "functools", "gc", "gettext", "importlib", "inspect", "itertools"),
    *("json", "keyword", "linecache", "locale", "math", "opcode", "operator", "re", "reprlib"),
    *("token", "tokenize", "types", "typing", "warnings", "weakref"),
    *("decimal", "fractions", "numbers"),  # scales, where trains and tracks have lengths
}
"""What a check of a plan with nothing wrong may import of the standard library, and of all else
that is not this program: nothing."""

OWN = {
    "accepting",
    "arms",
    "beyond",
    "bounds",
    "building",
    "checking",
    "cli",
    "commands",
    "commands.check",
    "commands.gathering",
    "commands.many",
    "commands.progress",
    "commands.streams",
    "conflicts",
    "distants",
    "duties",
    "facts",
    "files",
    "findings",
    "fitting",
    "fitting.borders",
    "fitting.clearances",
    "fitting.curves",
    "fitting.fouling",
    "fitting.longest",
    "fitting.parting",
    "fitting.scales",
    "free_runs",
    "granted",
    "guards",
    "holding",
    "layout",
    "links",
    "locking_table",
    "nearest",
    "network",
    "parity",
    "quoting",
    "reading",
    "reporting",
    "reporting.findings_text",
    "reporting.page",
    "reporting.wording",
    "resources",
    "routes",
    "rules",
    "rules.accepted",
    "rules.beliefs",
    "rules.boards",
    "rules.distants",
    "rules.edges",
    "rules.fitting",
    "rules.fitting_posts",
    "rules.fitting_trains",
    "rules.forms",
    "rules.frame",
    "rules.holding",
    "rules.loops",
    "rules.posts",
    "rules.practice",
    "rules.references",
    "rules.roads",
    "rules.rule",
    "rules.scenes",
    "rules.senses",
    "rules.size",
    "rules.texts",
    "rules.told",
    "rules.track",
    "rules.turning",
    "rules.working",
    "schema",
    "sections",
    "settings",
    "settings_file",
    "standstill",
    "verdict",
}
"""What it may import of this program. Half a thousandth of a second is what each costs: whoever
adds one here slows every commit of everybody, and should import it where it is used, if that is
only in some plans."""


def modules_after(program: str) -> set[str]:
    """Return the modules that a fresh process has imported when this has run."""
    tail = "\nimport sys\nprint('\\n' + ' '.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", program + tail], capture_output=True, text=True, check=True
    )
    return set(done.stdout.splitlines()[-1].split())


@pytest.mark.parametrize("points", [None, 40])
def test_a_plan_with_nothing_wrong_imports_what_is_listed_alone(
    points: int | None, tmp_path: Path
) -> None:
    """Looked at on a plan as clubs have it, and on one with something of every kind."""
    plan = KELPIE
    if points is not None:
        plan = tmp_path / "large.layout.json"
        plan.write_text(written(railway(points)), "utf-8")
    program = f"from trappoint.cli import main\nassert main(['check', {str(plan)!r}]) == 0"
    found = modules_after(program) - modules_after("")
    own = {name.partition(".")[2] for name in found if name.split(".")[0] == "trappoint"}
    others = {name.split(".")[0] for name in found} - {"trappoint"}
    assert own - {""} - OWN == set()
    assert {name for name in others if not name.startswith("_")} - LIBRARY == set()


def test_nothing_is_listed_that_is_no_longer_there() -> None:
    package = Path(trappoint_package.__file__).parent
    for name in OWN:
        path = package.joinpath(*name.split("."))
        assert path.is_dir() or path.with_suffix(".py").exists(), name


def test_only_the_command_that_was_asked_for_is_imported() -> None:
    program = "from trappoint.cli import main\nassert main(['rules', 'unheld-exit']) == 0"
    found = modules_after(program)
    assert "trappoint.commands.rules" in found
    assert not found & {"trappoint.commands.check", "trappoint.commands.table"}


def test_the_library_imports_nothing_until_it_is_asked() -> None:
    found = modules_after("import trappoint")
    assert {name for name in found if name.startswith("trappoint")} == {"trappoint"}


def test_the_console_script_is_the_module(tmp_path: Path) -> None:
    """Both ways of starting it say the same."""
    script = Path(sys.executable).parent / "trappoint"
    if not script.exists():
        pytest.skip("the program is not installed beside this interpreter")
    (tmp_path / "bad.layout.json").write_text(BAD, "utf-8")
    words = ["check", "bad.layout.json"]
    done = subprocess.run(
        [script, *words], capture_output=True, text=True, cwd=tmp_path, check=False
    )
    module = trappoint(*words, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (module.returncode, module.stdout)
