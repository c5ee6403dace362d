"""The frame of all HTML sheets: pages for printing that need no other file."""

from __future__ import annotations

from html import escape

from trappoint.core.findings import CAUTION


def html_sheet(title: str, style: str, body: str, caution: str = CAUTION) -> str:
    """Return a page with the caution at its end, in ASCII: it reads the same in every encoding.

    ``title`` and ``caution`` are plain text, ``body`` is markup.
    """
    page = f"""<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)}</title>
<style>{style}</style>
</head>
<body>
{body}
<p class="caution">{escape(caution)}</p>
</body>
</html>
"""
    return page.encode("ascii", "xmlcharrefreplace").decode("ascii")
