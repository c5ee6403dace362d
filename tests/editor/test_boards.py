"""Plans put together from boards, with boards open that nobody has saved yet."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from lsprotocol import types as lsp

from editor.client import ROOT, Editor, editor, marked, run

VALE = ROOT / "examples" / "nixie-vale"


@pytest.fixture
def club(tmp_path: Path) -> Path:
    shutil.copytree(VALE, tmp_path / "vale")
    (tmp_path / ".git").mkdir()
    return tmp_path / "vale"


def opened(host: Editor, path: Path) -> str:
    uri = path.resolve().as_uri()
    host.open(uri, path.read_text("utf-8"))
    return uri


def test_a_board_that_is_open_is_read_as_it_stands_there(club: Path) -> None:
    async def test() -> None:
        async with editor() as host:
            meet = opened(host, club / "spring.layout.json")
            before = await host.findings(meet)
            board = club / "boards" / "brook-siding.layout.json"
            brook = opened(host, board)
            await host.findings(brook)
            # The edge at which the next board is joined is called otherwise, and not saved.
            changed = board.read_text("utf-8").replace("edge:east", "edge:orient")
            host.type(brook, changed)
            found = await host.findings(meet, lambda found: found != before)
            (lost,) = [each for each in found if each.code == "join-without-edge"]
            assert marked(host.texts[meet], lost.range) == '"brook:east"'
            host.type(brook, board.read_text("utf-8"))
            assert await host.findings(meet, lambda found: found == before) == before
            # Another meet with the same board is told of it too, and no longer when it is closed.
            autumn = opened(host, club / "autumn.layout.json")
            first = await host.findings(autumn)
            host.type(brook, changed)
            if "brook-siding" in host.texts[autumn]:
                await host.findings(autumn, lambda found: found != first)
            host.client.text_document_did_close(
                lsp.DidCloseTextDocumentParams(lsp.TextDocumentIdentifier(brook))
            )
            await host.findings(meet, lambda found: found == before)

    run(test)


def without_signal_3(text: str) -> str:
    """The board without the signal that holds what stands in the siding."""
    lines = [line for line in text.splitlines(keepends=True) if '"3": {' not in line]
    return "".join(lines).replace('"arms": [{"id": "2"}]},', '"arms": [{"id": "2"}]}')


def test_what_a_board_has_by_itself_is_told_once_and_in_its_own_file(club: Path) -> None:
    async def test() -> None:
        async with editor() as host:
            board = club / "boards" / "brook-siding.layout.json"
            good = board.read_text("utf-8")
            board.write_text(without_signal_3(good), "utf-8")
            meet = opened(host, club / "spring.layout.json")
            uri = board.resolve().as_uri()
            found = await host.findings(uri)  # of a file that is not open
            assert [each.code for each in found] == ["unheld-exit"]
            assert marked(board.read_text("utf-8"), found[0].range) == '"p1.right"'
            assert opened(host, board) == uri
            both = await host.findings(uri)
            assert [each.code for each in both] == ["unheld-exit"]
            host.type(uri, good)
            await host.findings(uri, lambda found: not found)
            # In the whole nothing is wrong any more either, though the file still is as it was.
            host.type(meet, host.texts[meet] + " ")
            await host.findings(meet)
            assert await host.findings(uri) == []

    run(test)


def test_from_the_whole_to_the_board(club: Path) -> None:
    async def test() -> None:
        async with editor() as host:
            meet = opened(host, club / "spring.layout.json")
            await host.findings(meet)
            for before, after, name in (
                ('"town/', 'S1"', "S1"),
                ('"brook:', 'east"', "east"),
            ):
                where = await host.client.text_document_definition_async(
                    lsp.DefinitionParams(**host.at(meet, before, after))
                )
                assert isinstance(where, list)
                location = where[0]
                assert isinstance(location, lsp.Location)
                path = Path(location.uri.removeprefix("file://"))
                assert path.parent == (club / "boards").resolve()
                assert marked(path.read_text("utf-8"), location.range) == name

    run(test)
