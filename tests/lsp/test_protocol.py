"""The language server over the protocol: a real client and the real process."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path
from typing import Any

import pytest
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException

from lsp.client import SECONDS, edited, editor, marked, run
from lsp.plans import KELPIE
from trappoint.core.findings import CAUTION_SHORT
from trappoint.tidying.tidy import tidy_content
from warm import PYTHON

pytestmark = pytest.mark.usefixtures("quick")

PLAN = "file:///nowhere/kelpie-quay.layout.json"
BAD = "".join(line for line in KELPIE.splitlines(keepends=True) if '"6": {' not in line)
"""Kelpie Quay without signal 6: no signal holds a train in the siding."""


def test_findings_come_while_a_plan_is_typed_and_go_again() -> None:
    async def test() -> None:
        async with editor() as host:
            host.open(PLAN, KELPIE)
            assert await host.findings(PLAN) == []
            host.type(PLAN, BAD)
            (found,) = await host.findings(PLAN)
            assert found.code == "unheld-exit"
            assert found.severity == lsp.DiagnosticSeverity.Error
            assert marked(BAD, found.range) == '"p3.left"'
            assert CAUTION_SHORT in found.message
            related = found.related_information or ()
            assert [r.message for r in related][:2] == ["siding", "p3"]
            assert marked(BAD, related[0].location.range) == "siding"
            host.type(PLAN, BAD.replace('"p2": {"normal": "left"},', '"p2": {"normal": "left"}'))
            codes = {found.code for found in await host.findings(PLAN)}
            assert codes == {"not-json", "unheld-exit"}
            host.type(PLAN, KELPIE)
            assert await host.findings(PLAN) == []
            host.client.text_document_did_close(
                lsp.DidCloseTextDocumentParams(lsp.TextDocumentIdentifier(PLAN))
            )

    run(test)


def test_only_the_last_of_many_changes_is_checked() -> None:
    async def test() -> None:
        async with editor() as host:
            host.open(PLAN, KELPIE)
            await host.findings(PLAN)
            seen: list[int | None] = []
            take = host.take

            async def count(params: lsp.PublishDiagnosticsParams) -> None:
                seen.append(params.version)
                await take(params)

            host.take = count  # type: ignore[method-assign]
            for number in range(30):
                host.type(PLAN, KELPIE.replace("1450", str(1450 + number)))
            await host.findings(PLAN)
            assert seen[-1] == host.versions[PLAN]
            assert len(seen) < 10

    run(test)


def test_a_broken_text_is_still_answered() -> None:
    async def test() -> None:
        async with editor() as host:
            host.open(PLAN, KELPIE)
            await host.findings(PLAN)
            broken = KELPIE.replace('"to": "loop-west"}', '"to": "')
            host.type(PLAN, broken)
            offered = await host.client.text_document_completion_async(
                lsp.CompletionParams(**host.at(PLAN, '"to": "'))
            )
            assert isinstance(offered, lsp.CompletionList)
            labels = [item.label for item in offered.items]
            assert labels[:2] == ["loop-west", "main"]
            (found,) = await host.findings(PLAN)
            assert found.code == "not-json"
            edit = offered.items[0].text_edit
            assert isinstance(edit, lsp.TextEdit)
            assert edited(broken, [edit]) == broken.replace('"to": "', '"to": "loop-west"', 1)
            more = await host.client.completion_item_resolve_async(offered.items[0])
            assert isinstance(more.documentation, lsp.MarkupContent)
            assert "**Track loop-west**" in more.documentation.value
            hover = await host.client.text_document_hover_async(
                lsp.HoverParams(**host.at(PLAN, '"id": "7', 'R"'))
            )
            assert hover is not None
            assert isinstance(hover.contents, lsp.MarkupContent)
            assert "Gives leave to run from quarry-line" in hover.contents.value
            assert hover.range is not None
            assert marked(broken, hover.range) == "7R"

    run(test)


def test_definition_references_highlights_and_outline() -> None:
    async def test() -> None:
        async with editor() as host:
            host.open(PLAN, KELPIE)
            at = host.at(PLAN, '"down": "p', "1.toe")
            where = await host.client.text_document_definition_async(lsp.DefinitionParams(**at))
            (location,) = places(where)
            assert marked(KELPIE, location.range) == "p1"
            assert KELPIE.splitlines()[location.range.start.line].lstrip().startswith('"p1": {')
            context = lsp.ReferenceContext(include_declaration=True)
            uses = await host.client.text_document_references_async(
                lsp.ReferenceParams(context=context, **at)
            )
            assert len(uses or ()) == 1 + KELPIE.count('"p1.')
            assert {marked(KELPIE, use.range) for use in uses or ()} == {"p1"}
            lit = await host.client.text_document_document_highlight_async(
                lsp.DocumentHighlightParams(**at)
            )
            assert [each.range for each in lit or ()] == [use.range for use in uses or ()]
            shown = await host.client.text_document_document_symbol_async(
                lsp.DocumentSymbolParams(lsp.TextDocumentIdentifier(PLAN))
            )
            signals = next(s for s in shown or () if s.name == "Signals")
            assert isinstance(signals, lsp.DocumentSymbol)
            plan = json.loads(KELPIE)
            assert [s.name for s in signals.children or ()] == list(plan["signals"])
            first = (signals.children or ())[0]
            assert [arm.name for arm in first.children or ()] == ["1L", "1R"]

    run(test)


def places(where: Any) -> list[lsp.Location]:
    assert isinstance(where, list)
    return where


def test_rename_and_why_not() -> None:
    async def test() -> None:
        async with editor() as host:
            host.open(PLAN, KELPIE)
            at = host.at(PLAN, '"track": "sid', 'ing"')
            ready = await host.client.text_document_prepare_rename_async(
                lsp.PrepareRenameParams(**at)
            )
            assert isinstance(ready, lsp.PrepareRenamePlaceholder)
            assert ready.placeholder == "siding"
            change = await host.client.text_document_rename_async(
                lsp.RenameParams(new_name="quay-road", **at)
            )
            assert change is not None
            after = edited(KELPIE, list((change.changes or {})[PLAN]))
            assert after == KELPIE.replace("siding", "quay-road")
            with pytest.raises(
                JsonRpcException, match="main is taken: there is a track"
            ) as refused:
                await host.client.text_document_rename_async(
                    lsp.RenameParams(new_name="main", **at)
                )
            assert refused.value.code == lsp.LSPErrorCodes.RequestFailed
            with pytest.raises(JsonRpcException, match="There is no id here"):
                await host.client.text_document_prepare_rename_async(
                    lsp.PrepareRenameParams(**host.at(PLAN, '"tit', 'le"'))
                )

    run(test)


def test_a_quick_fix_puts_it_right() -> None:
    async def test() -> None:
        async with editor() as host:
            slip = KELPIE.replace("length_mm", "lenght_mm", 1)
            host.open(PLAN, slip)
            (found,) = await host.findings(PLAN)
            actions = await host.client.text_document_code_action_async(
                lsp.CodeActionParams(
                    lsp.TextDocumentIdentifier(PLAN), found.range, lsp.CodeActionContext([found])
                )
            )
            (action,) = actions or ()
            assert isinstance(action, lsp.CodeAction)
            assert action.title == 'Change to "length_mm"'
            assert action.edit is not None
            after = edited(slip, list((action.edit.changes or {})[PLAN]))
            assert after == KELPIE
            host.type(PLAN, after)
            assert await host.findings(PLAN) == []

    run(test)


def test_formatting_is_tidying() -> None:
    async def test() -> None:
        async with editor() as host:
            text = json.dumps(json.loads(KELPIE))
            host.open(PLAN, text)
            edits = await host.client.text_document_formatting_async(
                lsp.DocumentFormattingParams(
                    lsp.TextDocumentIdentifier(PLAN), lsp.FormattingOptions(2, True)
                )
            )
            assert edited(text, list(edits or ())) == tidy_content(text)
            host.type(PLAN, KELPIE[:-5])
            edits = await host.client.text_document_formatting_async(
                lsp.DocumentFormattingParams(
                    lsp.TextDocumentIdentifier(PLAN), lsp.FormattingOptions(2, True)
                )
            )
            assert not edits

    run(test)


@pytest.mark.parametrize(
    ("asked", "unit"),
    [
        (None, ("utf-16-le", 2)),
        ([lsp.PositionEncodingKind.Utf8], ("utf-8", 1)),
        ([lsp.PositionEncodingKind.Utf32], ("utf-32-le", 4)),
    ],
)
def test_characters_are_counted_as_agreed(
    asked: list[lsp.PositionEncodingKind] | None, unit: tuple[str, int]
) -> None:
    """A steam engine is two units of UTF-16, four of UTF-8, one code point."""

    async def test() -> None:
        async with editor(encodings=asked) as host:
            line = '  "note": "🚂🚂 é \u2028", "trakcs": {},'
            text = KELPIE.replace('  "title"', line + '\n  "title"')
            host.open(PLAN, text)
            (found,) = await host.findings(PLAN)
            before = line[: line.index('"trakcs"')]
            codec, size = unit
            assert found.range.start.line == text[: text.index("trakcs")].count("\n")
            assert found.range.start.character == len(before.encode(codec)) // size
            assert found.range.end.character - found.range.start.character == len('"trakcs"')

    run(test)


def test_settings_of_the_club_are_kept_to(tmp_path: Path) -> None:
    async def test() -> None:
        async with editor() as host:
            uri = (tmp_path / "kelpie-quay.layout.json").as_uri()
            settings = tmp_path / "trappoint.toml"
            settings.write_text('[levels]\nsiding-without-trap = "warning"\n')
            host.open(uri, KELPIE)
            found = await host.findings(uri)
            assert "siding-without-trap" in {each.code for each in found}
            settings.unlink()
            host.client.text_document_did_save(
                lsp.DidSaveTextDocumentParams(lsp.TextDocumentIdentifier(uri))
            )
            await host.findings(uri, lambda found: not found)
            settings.write_text("[levles]\n")
            host.client.text_document_did_save(
                lsp.DidSaveTextDocumentParams(lsp.TextDocumentIdentifier(uri))
            )
            while not host.messages:
                await host.findings(uri)
                host.type(uri, KELPIE + " " * host.versions[uri])
            assert "there is no setting levles. Is levels meant?" in host.messages.pop()

    run(test)


# --- how it ends


def started() -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [PYTHON, "-m", "trappoint", "lsp"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def message(**content: Any) -> bytes:
    body = json.dumps({"jsonrpc": "2.0", **content}).encode()
    return b"Content-Length: %d\r\n\r\n%s" % (len(body), body)


HELLO = message(id=1, method="initialize", params={"processId": None, "capabilities": {}})


def read_messages(output: bytes) -> list[Any]:
    """Split an output into messages (LSP 3.17, base protocol); fail on anything else."""
    found = []
    while output:
        head, _, rest = output.partition(b"\r\n\r\n")
        fields = dict(line.split(b": ") for line in head.split(b"\r\n"))
        assert set(fields) <= {b"Content-Length", b"Content-Type"}
        length = int(fields[b"Content-Length"])
        found.append(json.loads(rest[:length]))
        output = rest[length:]
    return found


@pytest.mark.parametrize(
    "said",
    [
        b"",
        HELLO,
        HELLO
        + message(method="initialized", params={})
        + message(
            method="textDocument/didOpen",
            params={"textDocument": {"uri": PLAN, "languageId": "json", "version": 1, "text": BAD}},
        ),
    ],
)
def test_it_ends_when_its_input_is_closed(said: bytes) -> None:
    process = started()
    output, errors = process.communicate(said, timeout=SECONDS)
    assert process.returncode == 0
    assert errors == b""
    assert len(read_messages(output)) >= said.count(b'"initialize"')


def test_it_ends_when_it_is_told_to() -> None:
    process = started()
    bye = message(id=2, method="shutdown") + message(method="exit")
    output, errors = process.communicate(HELLO + bye, timeout=SECONDS)
    assert process.returncode == 0
    assert errors == b""
    answers = read_messages(output)
    assert [answer["id"] for answer in answers] == [1, 2]
    assert answers[0]["result"]["serverInfo"]["name"] == "trappoint"


@pytest.mark.parametrize("properly", [True, False])
def test_it_does_not_wait_for_more_input_when_it_is_told_to_end(properly: bool) -> None:
    """The protocol asks for exit code 0 after ``shutdown``, 1 without it."""
    process = started()
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdin.write(HELLO + (message(id=2, method="shutdown") if properly else b""))
    process.stdin.write(message(method="exit"))
    process.stdin.flush()
    assert process.wait(SECONDS) == (0 if properly else 1)
    assert process.stderr.read() == b""
    process.stdin.close()
    process.stdout.close()
    process.stderr.close()


def test_it_says_what_is_missing_where_it_can_not_be_used(tmp_path: Path) -> None:
    (tmp_path / "pygls").mkdir()
    (tmp_path / "pygls" / "__init__.py").write_text(
        "raise ModuleNotFoundError('no', name='pygls')\n"
    )
    done = subprocess.run(
        [PYTHON, "-m", "trappoint", "lsp"],
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        input="",
        check=False,
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert "pip install 'trappoint[lsp]'" in done.stderr
