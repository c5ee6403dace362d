"""Data files are found in a checkout and in an installed copy."""

from __future__ import annotations

import importlib.util
import json
import shutil
from pathlib import Path

import pytest

from trappoint.core import resources


def test_a_checkout_has_them_at_the_top() -> None:
    schema = json.loads(resources.read_resource("layout.schema.json"))
    assert schema["$id"] == "urn:trappoint:layout:1"
    assert json.loads(resources.read_resource("kelpie-quay.layout.json"))["title"] == "Kelpie Quay"


def test_an_installed_copy_has_them_inside(tmp_path: Path) -> None:
    package = tmp_path / "site" / "trappoint"
    (package / "data").mkdir(parents=True)
    (package / "data" / "layout.schema.json").write_text('"é"', encoding="utf-8")
    (package / "core").mkdir()
    copy = shutil.copy(resources.__file__, package / "core")
    spec = importlib.util.spec_from_file_location("installed_resources", copy)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.read_resource("layout.schema.json") == '"é"'
    with pytest.raises(FileNotFoundError, match="no data file 'kelpie-quay"):
        module.read_resource("kelpie-quay.layout.json")
