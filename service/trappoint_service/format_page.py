"""The page on the format, made from the page that explains it in the repository."""

from __future__ import annotations

import json
import re
from functools import cache
from html import escape
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.resources import read_resource

if TYPE_CHECKING:
    from collections.abc import Sequence

    from markdown_it.renderer import RendererHTML
    from markdown_it.token import Token

LINKS = {"layout.schema.json": "api/v1/schema/layout", "store.schema.json": "api/v1/schema/store"}
"""From files that the page links to their addresses in the service, below its root."""

SLOT = "<!-- plan {number} -->"
"""The place after a whole plan, where the template puts its buttons."""


class FormatPage(NamedTuple):
    """The page on the format."""

    title: str
    contents: tuple[tuple[str, str], ...]
    """The id and the text of each heading of the second level."""
    parts: tuple[tuple[str, str], ...]
    """HTML, each part followed by the text of a whole plan, or by nothing."""


@cache
def format_page(root: str) -> FormatPage:
    """Return the page. ``root`` is the address of the service, ``/`` at its end."""
    from markdown_it import MarkdownIt

    page = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = page.parse(read_resource("README.md"))
    headings = _name_headings(tokens)
    plans = _whole_plans(tokens)
    for token in tokens:
        for inner in (token, *(token.children or ())):
            _lead_link(inner, root)
    page.add_render_rule("fence", _fence)
    page.add_render_rule("table_open", _table_open)
    page.add_render_rule("table_close", _table_close)
    (_, title), *others = headings
    # The first cell of some tables is empty: it is the heading of no column.
    html = page.renderer.render(tokens[3:], page.options, {}).replace("<th></th>", "<td></td>")
    parts = re.split(r"<!-- plan \d+ -->\n", html)
    return FormatPage(title, tuple(others), tuple(zip(parts, [*plans, ""], strict=True)))


def _name_headings(tokens: Sequence[Token]) -> list[tuple[str, str]]:
    """Give each heading its id, as forges do; return those of the first two levels."""
    found = []
    for token, inline in pairwise(tokens):
        if token.type == "heading_open":
            text = inline.content.replace("`", "")
            name = re.sub(r"[^\w\- ]", "", text.lower()).replace(" ", "-")
            token.attrSet("id", name)
            if token.tag in ("h1", "h2"):
                found.append((name, text))
    return found


def _whole_plans(tokens: Sequence[Token]) -> list[str]:
    """Mark the blocks that are whole plans; return their texts."""
    found: list[str] = []
    for token in tokens:
        if token.type == "fence" and token.info == "json":
            value: Any = json.loads(token.content)
            if {"format", "tracks"} <= value.keys():
                token.meta["plan"] = len(found)
                found.append(token.content)
    return found


def _lead_link(token: Token, root: str) -> None:
    """Let a link lead to the service; one to another file of the repository becomes plain words."""
    href = str(token.attrGet("href") or "")
    if token.type == "link_open" and not href.startswith("#"):
        if href in LINKS:
            token.attrSet("href", root + LINKS[href])
        else:
            del token.attrs["href"]


def _fence(renderer: RendererHTML, tokens: Sequence[Token], at: int, *_: object) -> str:
    token = tokens[at]
    label = "A plan" if "plan" in token.meta else "Example"
    slot = SLOT.format(number=token.meta["plan"]) + "\n" if "plan" in token.meta else ""
    text = escape(token.content)
    return (
        f'<pre class="code" tabindex="0" aria-label="{label} {token.map[0]}">{text}</pre>\n{slot}'  # type: ignore[index] # a block has lines
    )


def _table_open(_: RendererHTML, tokens: Sequence[Token], at: int, *__: object) -> str:
    number = sum(token.type == "table_open" for token in tokens[: at + 1])
    label = f"Table {number}, scrollable"
    return f'<div class="wide" tabindex="0" role="region" aria-label="{label}"><table>\n'


def _table_close(*_: object) -> str:
    return "</table></div>\n"
