"""The commands, one module each. A module is imported only where its command is asked for.

Each has ``add_arguments(parser)`` and ``run(options, streams) -> int``, the exit code; the first
line of its docstring is its description.
"""

from __future__ import annotations

COMMANDS: dict[str, str] = {
    "new": "write a plan to begin with: track along a line, signalled",
    "check": "check plans: does each one hold, and what else is wrong",
    "propose": "propose the signals of a plan, or the least change that mends it",
    "table": "print the locking table that follows from a plan",
    "dimensions": "tell which trains fit where, and what room posts and points need",
    "draw": "draw the diagram of a plan",
    "chart": "make the sheet for the wall by the layout",
    "road": "set a road from a stand to a stand, like a signalman",
    "session": "print the signalman's sheet of a running session",
    "parts": "plan the parts: what to use, make and buy, at the least cost",
    "fitting": "print the fitting sheet: where to drill, and the order of work",
    "rules": "list the rules, or explain one",
    "compare": "say what has changed between two plans, in the railway's terms",
    "tidy": "write plans again in one layout; the data stay the same",
    "merge": "merge two versions of a plan by id and key",
    "lsp": "answer an editor while a plan is being written",
    "serve": "serve the web form and its interface on this computer",
}
"""From each command to what it does, in the order in which help lists them."""
