"""Write a first plan: stations and junctions along a line, laid by rule and signalled.

Several shapes are joined one after another, from west to east. Options of one shape alone follow
a colon, as in terminus:roads=4,platforms=2. Free ends lead out of the plan. The plan has the fewest
signals with which it holds. Its lengths are examples: change them. --onto sets the shapes onto a
free end of a plan that you have; its own file stays as it is unless -o names it.
"""

from __future__ import annotations

import os
from functools import partial
from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT
from trappoint.app.exit_codes import FINDINGS, OK
from trappoint.commands.shared import STANDARD_OUTPUT, add_output, unreadable, write_output
from trappoint.core.errors import CannotUse, NoAnswer, NotInstalled, PlanError
from trappoint.laying.refusing import Refused
from trappoint.proposing.levels import LEVELS
from trappoint.shapes.along import lay_out
from trappoint.shapes.options import LABELS, Choice, WrongWish
from trappoint.shapes.reading import read_piece
from trappoint.shapes.shapes import SHAPES
from trappoint.shapes.writing import write_plan

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.shapes.reading import ShapePiece
    from trappoint.source.reading import Document


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument(
        "shapes",
        nargs="*",
        metavar="SHAPE",
        help="shapes from west to east; SHAPE:roads=4,platforms=2 sets options of that shape alone",
    )
    for word, (_, told) in LABELS.items():
        add = partial(parser.add_argument, f"--{word}", help=_with_default(told))
        words = _words_of(word)
        if words:
            add(choices=words)
        else:
            add(type=int, metavar="N")
    parser.add_argument(
        "--onto", metavar="PLAN", help="plan to set the shapes or steps onto (default: none)"
    )
    parser.add_argument(
        "--at",
        metavar="END",
        help="free end of PLAN: edge:NAME, tracks/ID/up or tracks/ID/down (default: edge:east)",
    )
    parser.add_argument(
        "--steps",
        metavar="FILE",
        help='file {"steps": [...]} with steps in place of shapes; adds no signals of its own '
        "(default: none)",
    )
    parser.add_argument("--title", default="", help="title of the plan (default: none)")
    levels = ", ".join(f"{level} ({what})" for level, what in LEVELS.items())
    parser.add_argument(
        "--level",
        choices=LEVELS,
        default="least",
        help=f"level of signalling: {levels} (default: least)",
    )
    parser.add_argument(
        "--bare", action="store_true", help="track alone, without signals (needs no solver)"
    )
    add_output(parser)
    parser.add_argument("--overwrite", action="store_true", help="overwrite FILE")
    parser.add_argument(
        "--list", action="store_true", help="list of the shapes, their options and an example"
    )
    parser.add_argument(
        "--list-steps", action="store_true", help="list of the steps, their measures and an example"
    )


def run(options: Namespace, streams: Streams) -> int:
    """Write the plan and return the exit code."""
    if options.list:
        streams.say(_shapes_listed())
        return OK
    if options.list_steps:
        streams.say(_steps_listed())
        return OK
    name: str | None = options.output_file
    if name not in (None, STANDARD_OUTPUT) and not options.overwrite and os.path.lexists(name):
        raise CannotUse(
            f"{name} exists already, and is unchanged. To overwrite it, add --overwrite."
        )
    try:
        text = _text(options, streams)
    except WrongWish as wrong:
        raise CannotUse(f"{wrong} `trappoint new --list` lists the shapes.") from None
    except Refused as refused:
        at = f"step {refused.step + 1}: " if options.steps is not None else ""
        raise CannotUse(f"{at}{refused.message} {refused.fix}") from None
    except NotInstalled:
        raise CannotUse(
            "signals need the solver HiGHS, which is not installed: "
            "`pip install 'trappoint[propose]'`. To write the track alone, add --bare."
        ) from None
    write_output(name, text.encode(), streams)
    return OK


def _text(options: Namespace, streams: Streams) -> str:
    """Return the text of the plan. Raises WrongWish, Refused, NotInstalled."""
    if options.at is not None and (options.onto is None or options.steps is not None):
        raise CannotUse("--at is for shapes that --onto sets onto a plan.")
    asked = {word: getattr(options, word) for word in LABELS}
    usual = {word: value for word, value in asked.items() if value is not None}
    pieces = [read_piece(text, usual) for text in options.shapes]
    # Bytes of the command line that are not UTF-8 arrive as lone surrogates.
    title = options.title.encode("utf-8", "replace").decode()
    if options.steps is None and options.onto is None:
        text = write_plan(lay_out(pieces, title))
        return text if options.bare else _signalled(text, options, streams)
    return _by_steps(options, pieces, title, streams)


def _by_steps(options: Namespace, pieces: list[ShapePiece], title: str, streams: Streams) -> str:
    """Return the text of a plan after steps. Raises WrongWish, Refused, NotInstalled."""
    from trappoint.laying.steps import lay

    if options.onto == options.steps == STANDARD_INPUT:
        raise CannotUse("only one of plan and steps can be standard input.")
    before = None if options.onto is None else _document(options.onto, streams).text
    if options.steps is None:
        steps = _steps_onto(pieces, options.at or "edge:east")
    elif pieces:
        raise CannotUse("either shapes or --steps can be laid, not both.")
    else:
        steps = _steps_of(options.steps, streams)
    _refuse_no_plan(options.onto, before)
    call = [{"do": "call-plan", "title": title}] if title else []
    text = lay(before, [*steps, *call]).text
    as_laid = options.bare or options.steps is not None
    return text if as_laid else _signalled(text, options, streams)


def _refuse_no_plan(name: str | None, text: str | None) -> None:
    """Raise ``CannotUse``, with the name of the file, for a text that is no plan."""
    from trappoint.laying.steps import lay

    try:
        lay(text, ())
    except Refused as refused:
        raise CannotUse(f"{name}: {refused.message} {refused.fix}") from None


def _steps_onto(pieces: list[ShapePiece], at: str) -> list[dict[str, object]]:
    """Return the steps that set shapes onto a free end, one after another. Raises WrongWish."""
    from trappoint.laying.common_shapes import step_of

    if not pieces:
        raise WrongWish("Name at least one shape.")
    if len(pieces) > 1 and not at.startswith("edge:"):
        raise CannotUse("several shapes follow one another only from an edge: name one shape.")
    return [step_of(piece, at) for piece in pieces]


def _steps_of(name: str, streams: Streams) -> list[dict[str, object]]:
    """Return the steps in a file. Raises ``CannotUse`` and ``NoAnswer``."""
    none = CannotUse(f'{name} has no list of steps: write {{"steps": [...]}}.')
    data = _document(name, streams, none).data
    steps = data.get("steps")
    if list(data) != ["steps"] or not isinstance(steps, list):
        raise none
    if not steps:
        raise CannotUse(f'{name} has no steps: write at least one, such as {{"do": "lay-line"}}.')
    return steps


def _document(name: str, streams: Streams, no_object: CannotUse | None = None) -> Document:
    """Return what a file says. Raises ``CannotUse`` and ``NoAnswer``; ``no_object`` for a list."""
    from trappoint.app.load import open_plan
    from trappoint.checking.report import Report
    from trappoint.source.reading import Unreadable, read_document

    document = read_document(open_plan(name)[0], name)
    if isinstance(document, Unreadable):
        if no_object and document.findings[0].rule == "not-a-plan":
            raise no_object
        raise unreadable(Report(name, None, document.findings), streams)
    return document


def _signalled(text: str, options: Namespace, streams: Streams) -> str:
    """Return the text of a plan with signals added. Raises NotInstalled."""
    from trappoint.app.load import settings_beside
    from trappoint.model.settings import DEFAULTS
    from trappoint.parts.waiting_notice import tell_waiting
    from trappoint.proposing.proposal import CannotPropose, propose

    settings = DEFAULTS if options.onto is None else settings_beside(options.onto)
    try:
        with tell_waiting("Looking for the fewest signals"):
            draft = propose(text, level=options.level, settings=settings).drafts[0]
    except PlanError as error:  # Only a plan that --onto names can have such findings.
        from trappoint.checking.report import Report

        raise unreadable(Report(options.onto, None, error.findings), streams) from None
    except CannotPropose as error:
        raise NoAnswer(
            f"trappoint: {error} To write the track with the signals it has, add --bare.", FINDINGS
        ) from None
    if not draft.least:
        streams.complain(
            "trappoint: the plan holds, but the time limit ended the search: fewer signals may "
            "be enough."
        )
    return draft.text


def _words_of(option: str) -> tuple[str, ...]:
    """Return the words of an option, the same for all shapes; empty if it is a number."""
    taken = (shape.takes.get(option) for shape in SHAPES.values())
    words = {word for given in taken if isinstance(given, Choice) for word in given.words}
    return tuple(sorted(words))


def _with_default(told: str) -> str:
    return told if "(default" in told else f"{told} (default: see --list)"


def _shapes_listed() -> str:
    """Return the shapes with their options and ranges, then an example command."""
    lines = []
    for shape in SHAPES.values():
        lines += [f"{shape.name}: {shape.told}"]
        lines += [f"    {word}: {given.told()}" for word, given in shape.takes.items()]
    lines += [
        "",
        "Example, from west to east:",
        "    trappoint new terminus:roads=4,platforms=2 passing-loop -o halt.layout.json",
    ]
    return "\n".join(lines) + "\n"


def _steps_listed() -> str:
    """Return the verbs of steps with their measures, then an example file."""
    from textwrap import fill

    from trappoint.laying.catalogue import VERBS

    lines = []
    for verb in VERBS.values():
        lines.append(fill(f"{verb.name}: {verb.told}", 80, subsequent_indent="        "))
        for key, measure in verb.measures.items():
            needed = " (needed)" if key in verb.needed else ""
            told = f"    {key}{needed}: {measure.told}"
            lines.append(fill(told, 80, subsequent_indent="        "))
    lines += [
        "",
        "Example of a file for --steps:",
        '    {"steps": [{"do": "lay-line", "down": "buffer", "length_mm": 2400}]}',
    ]
    return "\n".join(lines) + "\n"
