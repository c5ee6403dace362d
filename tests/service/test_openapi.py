"""The OpenAPI description: valid, and true of the running service."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from amount import amount, is_long
from trappoint_service.openapi import path_of

if TYPE_CHECKING:
    from flask.testing import FlaskClient


def test_it_is_valid(client: FlaskClient) -> None:
    """Validate it against the schema of OpenAPI 3.1 with the reference validator."""
    document = client.get("/openapi.json").get_json()
    assert document["openapi"] == "3.1.0"
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_it_names_every_address_and_method(client: FlaskClient) -> None:
    """Every address, pages included, must be described."""
    served: dict[str, set[str]] = {}
    for rule in client.application.url_map.iter_rules():
        methods = {method.lower() for method in rule.methods or () if method in ("GET", "POST")}
        served.setdefault(path_of(rule.rule), set()).update(methods)
    paths = client.get("/openapi.json").get_json()["paths"]
    assert {path: set(told) - {"parameters"} for path, told in paths.items()} == served


@pytest.mark.parametrize("tag", ["programs", "people"] if is_long() else ["programs"])
def test_the_service_does_what_it_says(address: str, tmp_path: Path, tag: str) -> None:
    """Schemathesis makes requests from the description, good and bad, and checks the answers.

    A document can have the form of a request and be no plan: then 422 is right. Pages lead back
    to the form, have no rule of most names, and take a form that has more in it.
    """
    more = "" if tag == "programs" else ', "303", "404"'
    (tmp_path / "schemathesis.toml").write_text(
        f'[checks.positive_data_acceptance]\nexpected-statuses = ["2xx", "422"{more}]\n'
        f"[checks.negative_data_rejection]\nenabled = {str(tag == 'programs').lower()}\n",
        "utf-8",
    )
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from schemathesis.cli import schemathesis; schemathesis()",
            *("run", f"{address}/openapi.json"),
            *("--phases", "examples,coverage,fuzzing" if is_long() else "examples,coverage"),
            *("--include-tag", tag, "--max-examples", str(amount(4, long=50))),
            *("--seed", "1", "--workers", "1", "--no-color"),
            *("--report", "har", "--report-dir", str(tmp_path)),
        ],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
        env={**os.environ, "COLUMNS": "100"},
        timeout=120,
    )
    assert done.returncode == 0, done.stdout[-6000:] + done.stderr[-2000:]
    (har,) = tmp_path.glob("har-*.json")
    codes = [e["response"]["status"] for e in json.loads(har.read_text())["log"]["entries"]]
    assert codes.count(200) > 50
    assert not [code for code in codes if code >= 500]
