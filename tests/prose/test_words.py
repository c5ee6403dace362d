"""The word list flags the sentences that it was made for, and leaves the better ones alone."""

from __future__ import annotations

import socket
import tomllib
from typing import NoReturn

import pytest

from prose.linting import HERE, entries, lint

PAIRS = tomllib.loads((HERE / "before_and_after.toml").read_text("utf-8"))["pair"]


def test_flags_the_sentences_before() -> None:
    missed = [pair["before"] for pair in PAIRS if not lint(pair["before"])]
    assert len(PAIRS) == 43
    assert len(PAIRS) - len(missed) >= 35, missed


@pytest.mark.parametrize("after", [pair["after"] for pair in PAIRS])
def test_leaves_the_sentences_after_alone(after: str) -> None:
    assert lint(after) == []


def test_every_entry_flags_something() -> None:
    """An entry that matches none of the sentences has an example of its own."""
    texts = [pair["before"] for pair in PAIRS]
    texts += [entry["example"] for entry in entries() if "example" in entry]
    flagged = {flag.name for text in texts for flag in lint(text)}
    assert flagged == {entry["name"] for entry in entries()}


def test_flags_a_sentence_among_others() -> None:
    """The linter takes a whole file at once, a sentence to a line."""
    texts = [pair["before"] for pair in PAIRS]
    texts += [entry["example"] for entry in entries() if "example" in entry]
    for text in filter(lint, texts):
        names = [flag.name for flag in lint(f"One plan\n{text}\nHolds and more")]
        assert names == [flag.name for flag in lint(text)]


def test_needs_no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> NoReturn:
        raise AssertionError("The linter opens a socket.")

    monkeypatch.setattr(socket, "socket", refuse)
    assert [flag.name for flag in lint("This can not be.")] == ["cannot"]
