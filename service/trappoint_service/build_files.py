"""The files of the page on which people build a plan."""

from __future__ import annotations

SCRIPTS = (
    *("history.js", "server.js", "text_places.js", "text_pane.js", "drawn_places.js", "zoom.js"),
    *("diagram_pane.js", "offers.js", "findings.js", "proposals.js", "drafts.js"),
    *("beginnings.js", "working.js", "take_away.js", "pointing.js", "keeping.js", "boards.js"),
    *("folder.js", "page.js"),
)
"""The scripts in ``static/build/``, in the order in which the page loads them."""

STYLE = "build.css"
"""The style, in the same folder."""
