"""The page hooks/README.md, and its parts for a reader to run or save."""

from __future__ import annotations

import re

from hooks.clubs import ROOT

PAGE = (ROOT / "hooks" / "README.md").read_text("utf-8")


def section(title: str) -> str:
    """Return the text below a heading of the second level."""
    found = re.search(rf"^## {title}\n(.*?)(?=^## |\Z)", PAGE, re.DOTALL | re.MULTILINE)
    assert found, title
    return found[1]


def blocks(title: str, language: str) -> list[str]:
    """Return the fenced blocks of a section in a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", section(title), re.DOTALL | re.MULTILINE)


def block(title: str, language: str) -> str:
    """Return the only such block."""
    (found,) = blocks(title, language)
    return found


def saved(name: str) -> str:
    """Return the text that the page says to save under a name."""
    found = re.search(
        rf"[Ss]ave\s+this as\s+`{re.escape(name)}`.*?:\n\n```\w*\n(.*?)^```$", PAGE, re.S | re.M
    )
    assert found, name
    return found[1]


def edited(text: str) -> str:
    """Make the change in a text that the page shows as a diff."""
    lines = block("Set up the hook", "diff").splitlines(keepends=True)
    before, after = ("".join(line[1:] for line in lines if line[0] == sign) for sign in "-+")
    assert text.count(before) == 1
    return text.replace(before, after)


PLAN = "sorrel-halt.layout.json"
SORREL_HALT = saved(PLAN)
"""The plan of the page."""
