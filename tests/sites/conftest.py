"""A club's plans of every kind, and the site that the command writes for them."""

from __future__ import annotations

import contextlib
import http.server
import io
import os
import sys
import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from subprocess import CompletedProcess
from typing import NamedTuple
from unittest.mock import patch

import pytest

from compare.repositories import Club, found_club
from hooks.meets import GOOD as MEET
from hooks.page import SORREL_HALT
from trappoint.app import load
from trappoint.app.dedup import found_alone
from trappoint.cli import main
from trappoint.comparing.history import shallow_commits

EVIL = "</title><script>alert(1)</script><img src=x onerror=alert(1)>\"'&"
ODD = 'Nöck & Söhne/50% #1?/"a" <b>.layout.json'

WITHOUT_3 = SORREL_HALT.replace(
    ',\n    "3": {"track": "siding", "for": "up", "arms": [{"id": "3"}]}', ""
)
"""Sorrel Halt with an exit that nothing holds."""

THRICE = "quay/sorrel.layout.json"
PLANS = {
    **MEET,
    "quay/worse.layout.json": WITHOUT_3,
    "comma.layout.json": SORREL_HALT.replace(",\n", "\n", 1),
    "twice.layout.json": SORREL_HALT.replace('"id": "1R"', '"id": "1L"'),
    "form.layout.json": '{"format": "trappoint-layout/1", "tracks": []}',
    "empty.layout.json": "",
    ODD: SORREL_HALT.replace("Sorrel Halt", EVIL.replace('"', '\\"')),
    "index.html.layout.json": SORREL_HALT,
    "halt.layout.json": SORREL_HALT,
    "HALT.LAYOUT.JSON": SORREL_HALT,
}
"""Plans that hold, that do not, and that nobody can read; with every kind of name."""


class Site(NamedTuple):
    """A site on disk, and the repository that it shows."""

    club: Club
    folder: Path

    def page(self, name: str) -> str:
        return (self.folder / name).read_text("ascii")


def write_site(club: Club, out: Path) -> CompletedProcess[str]:
    return run_here(club, ".", "-o", str(out))


class _Kept(io.BytesIO):
    """Bytes that stay when the program closes its stream."""

    def close(self) -> None:
        pass


def run_here(club: Club, *words: str) -> CompletedProcess[str]:
    """Run the command in this process, as a new process would: a start takes half a second."""
    for cached in (load._settings_of, load._settings_in, found_alone, shallow_commits):
        cached.cache_clear()
    said, told = _Kept(), _Kept()
    with (
        patch.dict(os.environ, club.env, clear=True),
        contextlib.chdir(club.folder),
        patch.object(sys, "stdout", io.TextIOWrapper(said, "utf-8")),
        patch.object(sys, "stderr", io.TextIOWrapper(told, "utf-8")),
    ):
        code = main(["site", *words], alone=False)
    return CompletedProcess(words, code, said.getvalue().decode(), told.getvalue().decode())


def files_of(folder: Path) -> dict[str, bytes]:
    """Return each file below a folder, by its path from there."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def history(club: Club) -> None:
    """Commit all plans, and Sorrel Halt three times: whole, without signal 3, whole again."""
    for name, text in PLANS.items():
        path = club.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    (club.folder / "quay").mkdir(exist_ok=True)
    for day, text, message in (
        ("2026-05-01T12:00:00+00:00", SORREL_HALT, "Sorrel Halt, as laid"),
        ("2026-05-02T12:00:00+00:00", WITHOUT_3, f"Signal 3 goes to the shed {EVIL}"),
        ("2026-05-03T23:30:00-02:00", SORREL_HALT, "Signal 3 comes back"),
    ):
        club.env["GIT_COMMITTER_DATE"] = day
        club.write(text, THRICE)
        club.commit(message)


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    folder = tmp_path_factory.mktemp("club")
    club = found_club(folder)
    history(club)
    done = club.trappoint("site", ".", "-o", str(folder / "out"))
    assert (done.returncode, done.stdout) == (0, ""), done.stderr
    return Site(club, folder / "out")


@pytest.fixture
def small(tmp_path: Path) -> Club:
    """A club with one small plan."""
    club = found_club(tmp_path)
    club.write(SORREL_HALT, "halt.layout.json")
    club.commit("Sorrel Halt")
    return club


@pytest.fixture(scope="session")
def served(site: Site) -> Iterator[str]:
    """The address of the site on a plain file server."""
    handler = partial(http.server.SimpleHTTPRequestHandler, directory=str(site.folder))
    handler.log_message = lambda *_: None  # type: ignore[attr-defined]
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()
    server.server_close()
