"""Letters of other scripts on paper, read back by an independent PDF library."""

from __future__ import annotations

import json
from importlib.util import find_spec
from pathlib import Path

import pytest

from trappoint.cli import main

ROOT = Path(__file__).parents[2]
TITLES = ("Λιμάνι των Νεράιδων", "Порт Русалок", "Zażółć gęślą jaźń", "Quai des Fées")


@pytest.mark.skipif(find_spec("pypdf") is None, reason="pypdf is not installed")
@pytest.mark.parametrize("title", TITLES)
@pytest.mark.parametrize("command", ["draw", "chart"])
def test_titles_and_names_print_in_their_own_letters(
    tmp_path: Path, command: str, title: str
) -> None:
    from pypdf import PdfReader

    plan = json.loads((ROOT / "examples" / "kelpie-quay.layout.json").read_text("utf-8"))
    plan["title"] = title
    plan["platforms"]["A"]["name"] = f"{title} 1"
    source, target = tmp_path / "plan.layout.json", tmp_path / "out.pdf"
    source.write_text(json.dumps(plan), "utf-8")
    assert main([command, str(source), "-o", str(target)]) == 0
    pages = PdfReader(target).pages
    text = " ".join(page.extract_text() for page in pages)
    assert text.count(title) >= 2, text
    fonts = [f.get_object() for page in pages for f in page["/Resources"]["/Font"].values()]
    own = [f for f in fonts if "DejaVu" in f["/BaseFont"]]
    assert own
    for font in own:
        # A name with six letters and a plus sign: a subset (ISO 32000-1, 9.6.4); and embedded.
        assert font["/BaseFont"][7] == "+"
        assert "/FontFile2" in font["/FontDescriptor"].get_object()
