"""Run the section on comparing plans of hooks/README.md, with the plan of that page."""

from __future__ import annotations

import re
import sys

from compare.repositories import Club
from hooks.page import PLAN, SORREL_HALT, block, blocks, edited


def test_the_page_shows_the_output_of_git(club: Club) -> None:
    club.write(SORREL_HALT, PLAN)
    club.commit("Sorrel Halt, with its siding")
    club.git("branch", "winter")
    bin_ = club.folder.parent / "bin"
    bin_.mkdir()
    for name, module in (("trappoint", "trappoint"), ("trappoint-diff", "trappoint_hooks.diff")):
        script = bin_ / name
        script.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m {module} "$@"\n', "utf-8")
        script.chmod(0o755)
    club.env["PATH"] = f"{bin_}:{club.env['PATH']}"
    for commands in blocks("Compare plans", "sh"):
        done = club.run("sh", "-e", "-c", commands)
        assert (done.returncode, done.stderr) == (0, ""), commands
    club.write(edited(SORREL_HALT).replace('"siding"', '"yard-road"'), PLAN)
    printed = club.git("diff")
    number = re.compile(r"\([0-9a-f]{7}\)")
    shown = block("Compare plans", "text")
    assert number.sub("(...)", printed).strip() == number.sub("(...)", shown).strip()
    assert max(map(len, printed.splitlines())) <= 80
