"""Pages with commands: what a reader saves, runs and sees, in the order of the page."""

from __future__ import annotations

import re
import shlex
from typing import TYPE_CHECKING, NamedTuple

from trappoint.cli import main

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

SAVED = r"[Ss]ave\s+this\s+as\s+`([\w.-]+)`:\n\n```json\n(.*?)^```$"
CONSOLE = re.compile(r"(?<=^```console\n).*?(?=^```$)", re.DOTALL | re.MULTILINE)
LEFT_OUT = "...\n"
"""Stands on a page for lines of output that it does not show."""


class Printed(NamedTuple):
    """A command of a page, as a reader types it, and its output."""

    command: str
    text: str

    def agrees(self, shown: str) -> bool:
        """Return whether a page shows the output, whole or with lines left out in one place."""
        if LEFT_OUT not in shown.splitlines(keepends=True):
            return self.text == shown
        first, _, last = shown.partition(LEFT_OUT)
        whole = len(first) + len(last) < len(self.text)
        return whole and self.text.startswith(first) and self.text.endswith(last)

    def shown_as(self, shown: str) -> str:
        """Return the output for a page, with as many lines at both ends as it shows now."""
        if LEFT_OUT not in shown.splitlines(keepends=True):
            return self.text
        first, _, last = shown.partition(LEFT_OUT)
        lines = self.text.splitlines(keepends=True)
        end = len(lines) - last.count("\n")
        return "".join([*lines[: first.count("\n")], LEFT_OUT, *lines[end:]])


def saved(page: str) -> dict[str, str]:
    """Return the texts that the page says to save, each under its name."""
    return dict(re.findall(SAVED, page, re.DOTALL | re.MULTILINE))


def commands(page: str) -> list[tuple[str, str]]:
    """Return the commands of a page, each with the output that it shows."""
    steps = [step for block in CONSOLE.findall(page) for step in block.split("$ ")[1:]]
    return [(command, shown) for command, _, shown in (step.partition("\n") for step in steps)]


def run(page: str, capsys: pytest.CaptureFixture[str]) -> list[Printed]:
    """Run the commands of a page in this folder; none fails, but a check of a plan that does."""
    found = []
    for command, _ in commands(page):
        program, *words = shlex.split(command)
        assert program == "trappoint", command
        code = main(words)
        said = capsys.readouterr()
        fails = words[0] == "check" and "does not hold" in said.out
        assert code == int(fails), (command, said)
        found.append(Printed(command, said.out + said.err))
    return found


def check(page: Path, text: str, printed: list[Printed], *, rewrite: bool) -> None:
    """Assert that a part of a page shows this output; with ``rewrite``, write it there first."""
    if rewrite:
        left = iter(printed)

        def again(block: re.Match[str]) -> str:
            steps = [step.partition("\n") for step in block[0].split("$ ")[1:]]
            return "".join(
                f"$ {command}\n{next(left).shown_as(shown)}" for command, _, shown in steps
            )

        new = CONSOLE.sub(again, text)
        page.write_text(page.read_text("utf-8").replace(text, new), "utf-8", newline="\n")
        text = new
    for (command, shown), own in zip(commands(text), printed, strict=True):
        assert own.agrees(shown), f"{page.name}: {command}: pytest --rewrite writes it again"
