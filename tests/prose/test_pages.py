"""Every sentence that people read is plain: the linter flags none in the whole repository."""

from __future__ import annotations

from pathlib import Path

import pytest

from prose.linting import lint
from prose.texts import TOP, files, sentences_of


@pytest.mark.parametrize("path", files(), ids=lambda path: str(path.relative_to(TOP)))
def test_no_sentence_is_flagged(path: Path) -> None:
    sentences = sentences_of(path)
    if not lint("\n".join(sentence.text for sentence in sentences)):
        return  # nor is any sentence by itself: the patterns match line by line
    flags = [
        (sentence.line, flag.words, flag.instead, sentence.text)
        for sentence in sentences
        for flag in lint(sentence.text)
    ]
    assert flags == []
