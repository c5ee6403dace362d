"""Starting is quick because little is imported: looked at in fresh processes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from commands.running import BAD, KELPIE, trappoint
from large.railway import railway, written

PRINT = """
import sys
print()
for name, module in sys.modules.items():
    print(name, getattr(module, "__file__", None) or "", sep="\\t")
"""


def modules_after(program: str) -> dict[str, str]:
    """Return the modules that a fresh process has imported when this has run, and their files."""
    done = subprocess.run(
        [sys.executable, "-c", program + PRINT], capture_output=True, text=True, check=True
    )
    lines = done.stdout.rpartition("\n\n")[2].splitlines()
    return {name: file for name, _, file in (line.partition("\t") for line in lines)}


@pytest.mark.parametrize(
    ("points", "most_modules", "most_bytes", "most_of_the_library"),
    [
        # A plan as clubs have it: 99 modules, 555,000 bytes, 57 modules of the standard library.
        (None, 100, 560_000, 60),
        # One with something of every kind: 105 modules, 594,000 bytes, 61 modules.
        (40, 106, 600_000, 64),
    ],
)
def test_a_plan_with_nothing_wrong_imports_little(
    points: int | None, most_modules: int, most_bytes: int, most_of_the_library: int, tmp_path: Path
) -> None:
    """Each module costs every commit of everybody half a thousandth of a second.

    Where a budget is passed: import what is new where it is used, if only some plans need it.
    """
    plan = KELPIE
    if points is not None:
        plan = tmp_path / "large.layout.json"
        plan.write_text(written(railway(points)), "utf-8")
    program = f"from trappoint.cli import main\nassert main(['check', {str(plan)!r}]) == 0"
    before = modules_after("")
    found = {name: file for name, file in modules_after(program).items() if name not in before}
    own = {name: file for name, file in found.items() if name.partition(".")[0] == "trappoint"}
    others = found.keys() - own.keys()
    assert {
        name for name in others if name.partition(".")[0] not in sys.stdlib_module_names
    } == set()
    assert len(others) <= most_of_the_library, sorted(others)
    assert len(own) <= most_modules, sorted(own)
    assert sum(Path(file).stat().st_size for file in own.values()) <= most_bytes


def test_only_the_command_that_was_asked_for_is_imported() -> None:
    program = "from trappoint.cli import main\nassert main(['rules', 'unheld-exit']) == 0"
    found = modules_after(program)
    assert "trappoint.commands.rules" in found
    assert not found.keys() & {"trappoint.commands.check", "trappoint.commands.table"}


def test_the_library_imports_nothing_until_it_is_asked() -> None:
    """But the words for that: the version, and the table of names."""
    found = {name for name in modules_after("import trappoint") if name.startswith("trappoint.")}
    assert found
    assert all(f"{name}.".startswith("trappoint.core.") for name in found)
    assert len(found) <= 3


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
