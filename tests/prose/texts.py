"""Every sentence that people read, with its file and line.

Sources: pages without their code blocks; docstrings, comments and strings of Python (``X`` is an
inserted value); the words of templates; descriptions and comments of schemas and settings.
"""

from __future__ import annotations

import ast
import io
import json
import re
import tokenize
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

TOP = Path(__file__).parents[2]
FOLDERS = ("validator", "service", "hooks", "schema", "examples", "tests", ".ci")
OWN = Path(__file__).parent
"""The linter quotes bad sentences, so it skips itself."""

STRANGERS = {"sarif-2.1.0.schema.json"}
"""Files that others wrote."""

LETTERS = re.compile(r"[A-Za-z]{2,}.*\s.*[A-Za-z]{2,}", re.DOTALL)
"""Matches a text of two words or more; a shorter one is a name or a sign."""


class Sentence(NamedTuple):
    """One sentence, and the line on which it or its paragraph begins."""

    path: Path
    line: int
    text: str


def files() -> list[Path]:
    """Return every file that has sentences, in order."""
    found = [path for path in TOP.iterdir() if path.suffix in _READERS]
    for folder in FOLDERS:
        found += [path for path in (TOP / folder).rglob("*") if path.suffix in _READERS]
    return sorted(
        path
        for path in found
        if OWN not in path.parents and path.name not in STRANGERS and path.is_file()
    )


def sentences_of(path: Path) -> list[Sentence]:
    """Return the sentences of a file, in order."""
    text = path.read_text("utf-8")
    return [
        Sentence(path, line, sentence)
        for line, paragraph in _READERS[path.suffix](text)
        for sentence in _sentences(paragraph)
    ]


def _sentences(paragraph: str) -> list[str]:
    words = " ".join(paragraph.split())
    return re.split(r"(?<=[.!?:;])[*_\"')]* +(?=[A-Z`*(])", words)


def _page(text: str) -> Iterator[tuple[int, str]]:
    text = re.sub(r"^ *```.*?^ *```", _blank, text, flags=re.DOTALL | re.MULTILINE)
    text = re.sub(r"<!--.*?-->", _blank, text, flags=re.DOTALL)
    text = re.sub(r"`[^`]*`", lambda code: "X" + _blank(code)[1:], text)
    text = re.sub(r"\]\([^)]*\)", _blank, text)
    at = 1
    for paragraph in re.split(r"(\n\s*\n|\n(?=\s*(?:[-*|#]|\d+\.) ))", text):
        for cell in paragraph.split("|"):
            yield at, cell.strip(" #*-\n")
        at += paragraph.count("\n")


def _blank(found: re.Match[str]) -> str:
    return re.sub(r"[^\n]", " ", found.group(0))


def _python(text: str) -> Iterator[tuple[int, str]]:
    found = [*_literals(ast.parse(text)), *_comments(text)]
    for line, literal in sorted(found):
        at = line
        for paragraph in re.split(r"(\n\s*\n|\n(?=\s*[-*] ))", literal):
            if LETTERS.search(paragraph):
                yield at, re.sub(r"``?[^`]*``?", "X", paragraph)
            at += paragraph.count("\n")


def _literals(tree: ast.AST) -> Iterator[tuple[int, str]]:
    below: list[ast.AST] = [tree]
    while below:
        node = below.pop()
        if isinstance(node, ast.JoinedStr):
            parts = (
                str(part.value) if isinstance(part, ast.Constant) else "X" for part in node.values
            )
            yield node.lineno, "".join(parts)
            # Inserted expressions can hold strings too.
            below += [part.value for part in node.values if isinstance(part, ast.FormattedValue)]
        elif isinstance(node, ast.Constant):
            if isinstance(node.value, str):
                yield node.lineno, node.value
        else:
            below += ast.iter_child_nodes(node)


def _comments(text: str) -> Iterator[tuple[int, str]]:
    if "#" not in text:
        return
    begun, block, last = 0, "", -1
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type != tokenize.COMMENT:
            continue
        words = re.sub(r"^#+!?\s*(?:noqa\S*|type: ignore\S*)?", "", token.string)
        if token.start[0] == last + 1:
            block += " " + words
        else:
            yield begun, block
            begun, block = token.start[0], words
        last = token.start[0]
    yield begun, block


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[int, str]] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in {"code", "pre", "script", "style"}
        for name, value in attrs:
            if name in {"title", "alt", "aria-label", "placeholder"} and value:
                self.found.append((self.getpos()[0], value))

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in {"code", "pre", "script", "style"}

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.found.append((self.getpos()[0], data))


def _template(text: str) -> Iterator[tuple[int, str]]:
    words = _Words()
    text = re.sub(r"\{%.*?%\}|\{#.*?#\}", _blank, text, flags=re.DOTALL)
    words.feed(re.sub(r"\{\{.*?\}\}", lambda one: "X" + _blank(one)[1:], text, flags=re.DOTALL))
    return iter(words.found)


def _schema(text: str) -> Iterator[tuple[int, str]]:
    for found in re.finditer(r'"(?:description|title|note|because)":\s*("(?:[^"\\]|\\.)*")', text):
        yield text.count("\n", 0, found.start()) + 1, json.loads(found.group(1))


def _remarks(text: str) -> Iterator[tuple[int, str]]:
    for number, line in enumerate(text.split("\n"), 1):
        if "#" in line:
            yield number, line.partition("#")[2]
        elif (found := re.match(r"\s*(?:-\s*)?(?:name|description): (.*)", line)) is not None:
            yield number, found.group(1)


def _script(text: str) -> Iterator[tuple[int, str]]:
    for found in re.finditer(r"/\*.*?\*/|//[^\n]*|\"(?:[^\"\\\n]|\\.)*\"|`[^`]*`", text, re.DOTALL):
        yield text.count("\n", 0, found.start()) + 1, found.group(0).strip('/* "`')


_READERS = {
    ".md": _page,
    ".py": _python,
    ".html": _template,
    ".json": _schema,
    ".toml": _remarks,
    ".yaml": _remarks,
    ".yml": _remarks,
    ".js": _script,
    ".css": _script,
}
