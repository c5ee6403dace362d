"""The description of the interface: valid, and true of the service that runs."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from openapi_spec_validator import OpenAPIV31SpecValidator

if TYPE_CHECKING:
    from flask.testing import FlaskClient


def test_it_is_valid(client: FlaskClient) -> None:
    """Held to the schema of OpenAPI 3.1 by the reference validator."""
    document = client.get("/openapi.json").get_json()
    assert document["openapi"] == "3.1.0"
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_it_names_every_address(client: FlaskClient) -> None:
    rules = client.application.url_map.iter_rules()
    served = {r.rule for r in rules if r.endpoint.startswith("api.")} | {"/healthz"}
    assert set(client.get("/openapi.json").get_json()["paths"]) == served


def test_the_service_does_what_it_says(address: str, tmp_path: Path) -> None:
    """Schemathesis makes requests from the description, good and bad, and checks the answers.

    That a document has the form of a request says nothing of whether it is a plan: 422 is right
    for one that is none.
    """
    (tmp_path / "schemathesis.toml").write_text(
        '[checks.positive_data_acceptance]\nexpected-statuses = ["2xx", "422"]\n', "utf-8"
    )
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from schemathesis.cli import schemathesis; schemathesis()",
            *("run", f"{address}/openapi.json"),
            *("--phases", "examples,coverage,fuzzing"),
            *("--max-examples", "20"),
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
