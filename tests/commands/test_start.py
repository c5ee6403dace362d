"""Starting is quick because little is imported: looked at in fresh processes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from commands.running import BAD, KELPIE, trappoint

NEVER = {
    *("jsonschema", "networkx", "flask", "importlib.metadata", "referencing", "rpds"),
    *("pathlib", "shutil", "tempfile", "textwrap", "csv", "html", "unicodedata", "urllib"),
    *("multiprocessing", "concurrent.futures", "subprocess", "logging", "asyncio", "pprint"),
    *("trappoint.commands.table", "trappoint.commands.rules", "trappoint.scanning"),
    *("trappoint.reporting.excerpt", "trappoint.reporting.findings_json"),
    *("trappoint.reporting.table_text", "trappoint.positions"),
}


def modules_after(program: str) -> set[str]:
    """Return the modules that a fresh process has imported when this has run."""
    tail = "\nimport sys\nprint('\\n' + ' '.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", program + tail], capture_output=True, text=True, check=True
    )
    return set(done.stdout.splitlines()[-1].split())


def test_a_good_plan_imports_nothing_heavy() -> None:
    bare = modules_after("")
    program = f"from trappoint.cli import main\nassert main(['check', {str(KELPIE)!r}]) == 0"
    assert (modules_after(program) - bare) & NEVER == set()


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
