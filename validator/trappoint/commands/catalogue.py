"""The commands, one module each, imported only when called.

Each has ``add_arguments(parser)`` and ``run(options, streams)``, which returns the exit code.
"""

from __future__ import annotations

COMMANDS: dict[str, str] = {
    "new": "write a first plan: stations along a line, with signals",
    "check": "check plans: does each one hold, and what else is wrong",
    "propose": "propose the signals of a plan, or the least change that mends it",
    "table": "print the locking table, or the locking of the lever frame",
    "dimensions": "print the trains that fit, and the room that posts and points need",
    "draw": "draw the diagram of a plan",
    "chart": "make the wall chart: diagram, arms, conflicts, scenes",
    "road": "set the road of a train from stand to stand, as a signalman would",
    "session": "print the signalman's sheet of a running session",
    "parts": "plan the parts: what to use, make and buy, at the lowest cost",
    "fitting": "print the fitting sheet: where to drill, and the order of work",
    "rules": "list the rules, or explain one",
    "compare": "compare two plans, in railway terms",
    "tidy": "rewrite plans in one layout; the data stay the same",
    "merge": "merge two versions of a plan by id and key",
    "site": "write plans as static pages",
    "lsp": "run the language server for an editor",
    "serve": "serve the web form and the web interface on this computer",
}
"""From each command to its summary, in the order of the help."""
