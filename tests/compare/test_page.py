"""What the page says of comparing is so: hooks/README.md, from its first plan on."""

from __future__ import annotations

import re
import sys
from pathlib import Path

from compare.repositories import Club

PAGE = (Path(__file__).parents[2] / "hooks" / "README.md").read_text("utf-8")
NAME = "sorrel-halt.layout.json"


def section() -> str:
    return PAGE.partition("\n## Seeing what changed\n")[2].partition("\n## ")[0]


def test_the_page_shows_what_git_says(club: Club) -> None:
    found = re.search(r"<<'END'\n(.*?)END\n", PAGE, re.DOTALL)
    assert found
    plan = found.group(1)
    club.write(plan, NAME)
    club.commit("Sorrel Halt, with its siding")
    club.git("branch", "winter")
    bin_ = club.folder.parent / "bin"
    bin_.mkdir()
    for name, module in (("trappoint", "trappoint"), ("trappoint-diff", "trappoint_hooks.diff")):
        script = bin_ / name
        script.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m {module} "$@"\n', "utf-8")
        script.chmod(0o755)
    club.env["PATH"] = f"{bin_}:{club.env['PATH']}"
    for block in re.findall(r"^```sh\n(.*?)^```$", section(), re.DOTALL | re.MULTILINE):
        done = club.run("sh", "-e", "-c", block)
        assert (done.returncode, done.stderr) == (0, ""), block
    changed = plan.replace('"siding"', '"yard-road"')
    changed = re.sub(r',\n    "3": .*\n', "\n", changed)
    club.write(changed, NAME)
    said = club.git("diff")
    (shown,) = re.findall(r"\n\n```\n(.*?)^```$", section(), re.DOTALL | re.MULTILINE)
    number = re.compile(r"\([0-9a-f]{7}\)")
    assert number.sub("(...)", said).strip() == number.sub("(...)", shown).strip()
    assert max(map(len, said.splitlines())) <= 80
