"""Assembled plans whose boards are open and not saved yet."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException

from lsp.client import ROOT, Editor, edited, editor, marked, run

pytestmark = pytest.mark.usefixtures("quick")

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
            # Another meet with the same board gets the finding too, until it is closed.
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
    """Return the board without the signal that holds trains in the siding."""
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
            found = await host.findings(uri)  # the file is not open
            assert [each.code for each in found] == ["unheld-exit"]
            assert marked(board.read_text("utf-8"), found[0].range) == '"p1.right"'
            assert opened(host, board) == uri
            both = await host.findings(uri)
            assert [each.code for each in both] == ["unheld-exit"]
            host.type(uri, good)
            await host.findings(uri, lambda found: not found)
            # The assembled plan has no finding either, although the file on disk is unchanged.
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


def path_of(uri: str) -> Path:
    return Path(uri.removeprefix("file://"))


def text_of(host: Editor, uri: str) -> str:
    """Return a text as the editor has it, unsaved changes included."""
    return host.texts.get(uri) or path_of(uri).read_text("utf-8")


async def renamed(host: Editor, at: dict[str, Any], new: str) -> dict[str, str]:
    """Rename a thing; return the texts after that, by file name."""
    change = await host.client.text_document_rename_async(lsp.RenameParams(new_name=new, **at))
    assert change is not None
    assert change.changes is not None
    return {
        path_of(uri).name: edited(text_of(host, uri), list(edits))
        for uri, edits in change.changes.items()
    }


def test_another_id_on_a_board_also_in_the_plans_put_together_from_it(club: Path) -> None:
    async def test() -> None:
        async with editor() as host:
            town = opened(host, club / "boards" / "nixie-town.layout.json")
            # One meet is open and not saved, the other lies on the disk.
            spring = opened(host, club / "spring.layout.json")
            host.type(spring, "\n" + host.texts[spring])
            at = host.at(town, '"id": "', 'S1"')
            texts = await renamed(host, at, "S77")
            assert set(texts) >= {"nixie-town.layout.json", "spring.layout.json"}
            assert texts["spring.layout.json"] == host.texts[spring].replace("town/S1", "town/S77")
            assert '"id": "S77"' in texts["nixie-town.layout.json"]
            # And the same from there.
            again = await renamed(host, host.at(spring, '"town/', "S1"), "S77")
            assert again == texts
            prepared = await host.client.text_document_prepare_rename_async(
                lsp.PrepareRenameParams(**host.at(spring, '"town/S', "1"))
            )
            assert isinstance(prepared, lsp.PrepareRenamePlaceholder)
            assert prepared.placeholder == "S1"
            assert marked(host.texts[spring], prepared.range) == "S1"
            # An edge, with the meet closed.
            host.client.text_document_did_close(
                lsp.DidCloseTextDocumentParams(lsp.TextDocumentIdentifier(spring))
            )
            del host.texts[spring]
            edges = await renamed(host, host.at(town, "edge:", "vale"), "dale")
            assert '"town:dale"' in edges["spring.layout.json"]
            assert len(edges) == 3
            # Once that is written, open or not, nothing is found in the meets.
            host.type(town, edges["nixie-town.layout.json"])
            for name in ("spring.layout.json", "autumn.layout.json"):
                (club / name).write_text(edges[name], "utf-8")
            assert await host.findings(opened(host, club / "autumn.layout.json")) == []

    run(test)


def test_refused_where_a_plan_around_can_not_be_read(club: Path) -> None:
    async def test() -> None:
        async with editor() as host:
            town = opened(host, club / "boards" / "nixie-town.layout.json")
            spring = opened(host, club / "spring.layout.json")
            host.type(spring, host.texts[spring][:-3])
            at = host.at(town, '"id": "', 'S1"')
            with pytest.raises(JsonRpcException, match=r"spring.layout.json cannot be read: line"):
                await renamed(host, at, "S77")

    run(test)


def test_references_of_a_board_are_in_open_plans_and_on_the_disk(club: Path) -> None:
    async def test() -> None:
        async with editor() as host:
            spring = opened(host, club / "spring.layout.json")
            town = opened(host, club / "boards" / "nixie-town.layout.json")
            for at in (host.at(town, "edge:", "vale"), host.at(spring, '"town:', "vale")):
                uses = await host.client.text_document_references_async(
                    lsp.ReferenceParams(context=lsp.ReferenceContext(True), **at)
                )
                found = {path_of(use.uri).name for use in uses or ()}
                assert found == {
                    "nixie-town.layout.json",
                    "spring.layout.json",
                    "autumn.layout.json",
                }
                assert {marked(text_of(host, use.uri), use.range) for use in uses or ()} == {"vale"}

    run(test)


def test_what_stands_on_boards_may_follow_also_while_the_text_is_broken(club: Path) -> None:
    async def test() -> None:
        async with editor() as host:
            spring = opened(host, club / "spring.layout.json")
            await host.findings(spring)
            good = host.texts[spring]

            async def offered(typed: str, before: str, after: str = "") -> list[lsp.CompletionItem]:
                host.type(spring, typed)
                found = await host.client.text_document_completion_async(
                    lsp.CompletionParams(**host.at(spring, before, after))
                )
                assert isinstance(found, lsp.CompletionList)
                return list(found.items)

            # An arm that nobody has saved yet.
            town = opened(host, club / "boards" / "nixie-town.layout.json")
            host.type(town, host.texts[town].replace('"id": "S1"', '"id": "S77"'))
            broken = good.replace('{"off": ["town/S1"], "trains": {', '{"off": ["town/')
            arms = await offered(broken, '"off": ["town/')
            assert "town/S77" in [item.label for item in arms]
            (item,) = [item for item in arms if item.label == "town/S77"]
            assert item.detail == "stop arm of signal start-1 on town"
            assert isinstance(item.text_edit, lsp.TextEdit)
            assert marked(broken, item.text_edit.range).startswith("town/")
            files = await offered(good, '{"plan": "')
            assert files[0].label == "autumn.layout.json"
            assert files[0].kind == lsp.CompletionItemKind.File
            apart = good.replace('{"a": "crossing:east"', '{"a": ""')
            free = await offered(apart, '{"a": "', '"')
            assert [each.label for each in free if each.label[-1] != ":"] == ["crossing:east"]

    run(test)


@pytest.mark.parametrize("told", ["folders", "root", "nothing"])
def test_without_a_repository_the_folder_that_is_worked_in_counts(club: Path, told: str) -> None:
    (club.parent / ".git").rmdir()

    async def test() -> None:
        folders = [club] if told == "folders" else None
        async with editor(folders=folders, root=club if told == "root" else None) as host:
            town = opened(host, club / "boards" / "nixie-town.layout.json")
            edges = await renamed(host, host.at(town, "edge:", "vale"), "dale")
            assert len(edges) == (1 if told == "nothing" else 3)

    run(test)
