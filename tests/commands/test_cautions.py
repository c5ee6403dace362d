"""The text of commands ends with a caution; `tests/parts` has that of the parts plan."""

from __future__ import annotations

from importlib.util import find_spec

import pytest

from commands.running import BAD, EXAMPLES, KELPIE, flat, trappoint
from trappoint.core.findings import CAUTION, CAUTION_DRILLING, CAUTION_ELECTRICAL, CAUTION_SHORT

HOBTHRUSH = EXAMPLES / "hobthrush-vale.layout.json"
CAUTIONS = (CAUTION, CAUTION_SHORT, CAUTION_DRILLING, CAUTION_ELECTRICAL)


@pytest.mark.parametrize(
    "words",
    [
        ("check", KELPIE),
        ("table", KELPIE),
        ("table", "--frame", HOBTHRUSH),
        ("dimensions", KELPIE),
        ("road", KELPIE, "siding", "main"),
        ("session", HOBTHRUSH),
        ("fitting", KELPIE),
        ("compare", KELPIE, "-"),
        pytest.param(
            ("propose", KELPIE, "--best", "1"),
            marks=pytest.mark.skipif(find_spec("highspy") is None, reason="needs the solver"),
        ),
    ],
    ids=lambda words: "-".join(str(word) for word in words[:2] if not hasattr(word, "name")),
)
def test_the_text_ends_with_a_caution(words: tuple[str, ...]) -> None:
    done = trappoint(*words, given=BAD.encode())
    assert done.returncode in (0, 1), done.stderr
    assert flat(done.stdout).endswith(CAUTIONS)
