"""List the rules, or explain one of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.core.errors import CannotUse
from trappoint.core.terminal import WIDTH, RenderOptions

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument(
        "rule", nargs="?", metavar="RULE", help="id of the rule to explain (default: list all)"
    )
    parser.add_argument(
        "--format",
        choices=("text", "json", "markdown"),
        default="text",
        help="output format (default: text)",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Print the list of rules, or the page of one; return the exit code."""
    from trappoint.rules.catalogue import all_rules

    chosen = [rule for rule in all_rules() if options.rule in (None, rule.id)]
    if not chosen:
        from trappoint.core.spelling import nearest

        near = nearest(options.rule, [rule.id for rule in all_rules()])
        hint = f" Is {near} meant?" if near else ""
        raise CannotUse(f"there is no rule {options.rule}.{hint} `trappoint rules` lists them all.")
    look = RenderOptions(width=streams.width(WIDTH), encoding=streams.encoding)
    if options.format == "json":
        from trappoint.reporting.rules_json import render_rules

        text = render_rules(chosen, whole=options.rule is None)
    elif options.format == "markdown":
        from trappoint.reporting.rules_markdown import render_rules as render_page

        text = render_page(chosen, whole=options.rule is None)
    elif options.rule is None:
        from trappoint.reporting.rules_text import render_list

        text = render_list(chosen, look)
    else:
        from trappoint.reporting.rules_text import render_rule

        text = render_rule(chosen[0], look)
    streams.say(text)
    return OK
