"""Print what the prose linter flags: ``python -m prose [FILE...]``, from ``tests/``."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

from prose.linting import lint
from prose.texts import TOP, files, sentences_of

chosen = [Path(word).resolve() for word in sys.argv[1:]]
counts: Counter[str] = Counter()
for path in files():
    if chosen and not any(path == one or one in path.parents for one in chosen):
        continue
    for sentence in sentences_of(path):
        for flag in lint(sentence.text):
            counts[flag.name] += 1
            print(f"{path.relative_to(TOP)}:{sentence.line}: {flag.name}: {flag.words!r}")
            print(f"    {sentence.text}")
for name, count in counts.most_common():
    print(f"{count:6} {name}")
sys.exit(bool(counts))
