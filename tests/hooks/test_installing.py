"""The commands of README.md install the program: real pip, real git."""

from __future__ import annotations

import os
import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from amount import is_long
from hooks.clubs import ROOT, Bench
from trappoint.core.version import __version__

PAGE = (ROOT / "README.md").read_text("utf-8")
SECTION = PAGE.partition("\n## Install\n")[2].partition("\n## ")[0]
WAYS = re.findall(r"^python -m pip install (?:\"[^\"]+\"|'[^']+'|\.)", SECTION, re.MULTILINE)
IN_ONE_STEP = re.findall(r"`(python -m pip install [^`]+)`", SECTION)


def test_the_page_has_each_way_once() -> None:
    assert len(WAYS) == 4
    assert len(IN_ONE_STEP) == 2


@pytest.mark.skipif(not is_long(), reason="pip builds a package: pytest --long")
def test_a_release_is_found_by_its_tag(bench: Bench) -> None:
    """A dry run without dependencies; `--long` installs everything."""
    (tagged,) = (way for way in WAYS if f"@v{__version__}" in way)
    here = replace(bench, env=bench.env | {"TRAPPOINT": bench.hook.as_uri()})
    done = here.run("sh", "-c", f"{tagged} --dry-run --no-deps", cwd=bench.hook)
    assert done.returncode == 0, done.stdout
    assert f"Would install trappoint-{__version__}" in done.stdout


@pytest.mark.skipif(not is_long(), reason="six installations take a minute: pytest --long")
def test_every_way(bench: Bench, tmp_path: Path) -> None:
    programs = tmp_path / "venv" / "bin"
    env = bench.env | {
        "TRAPPOINT": bench.hook.as_uri(),
        "PATH": f"{programs}{os.pathsep}{bench.env['PATH']}",
    }
    here = replace(bench, env=env)
    here.run(sys.executable, "-m", "venv", "venv", cwd=tmp_path)
    newest_pip = "python -m pip install --upgrade pip"
    for way in (*WAYS, newest_pip, *IN_ONE_STEP):
        done = here.run("sh", "-c", way, cwd=bench.hook)
        assert done.returncode == 0, (way, done.stdout)
        if way != newest_pip:
            version = here.run("trappoint", "--version", cwd=tmp_path)
            assert version.stdout == f"trappoint {__version__}\n"
    done = here.run(str(programs / "python"), "-c", "import highspy", cwd=tmp_path)
    assert done.returncode == 0, done.stdout
