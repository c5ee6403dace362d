"""The frame of all HTML sheets: pages that need no other file, and allow no script."""

from __future__ import annotations

import base64
import hashlib
from html import escape
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION

if TYPE_CHECKING:
    from collections.abc import Iterable

OWN_PICTURES = "'self' file:"
"""The source of pictures beside a page, from a server and from the disk (Content Security Policy
Level 3)."""

_LINKS_OF_A_SITE = "  @media print { nav { display: none; } }\n"


def html_sheet(
    title: str, style: str, body: str, caution: str = CAUTION, *, pictures: str = ""
) -> str:
    """Return a page with the caution at its end, in ASCII: it reads the same in every encoding.

    ``title`` and ``caution`` are plain text, ``body`` is markup. ``pictures`` is the source from
    which the page may show pictures (default: none).
    """
    style += _LINKS_OF_A_SITE
    page = f"""<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
{content_policy([style], pictures=pictures)}
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)}</title>
<style>{style}</style>
</head>
<body>
<main>
{body}
<p class="caution">{escape(caution)}</p>
</main>
</body>
</html>
"""
    return page.encode("ascii", "xmlcharrefreplace").decode("ascii")


def content_policy(
    styles: Iterable[str], scripts: Iterable[str] = (), *, pictures: str = ""
) -> str:
    """Return the meta element that allows these styles and scripts of a page, and nothing else.

    They are allowed by their hashes. ``pictures`` is the source of its pictures (default: none).
    """
    allowed = {
        "default-src": "'none'",
        "style-src": " ".join(map(_hash, styles)),
        "script-src": " ".join(map(_hash, scripts)),
        "img-src": pictures,
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    policy = "; ".join(f"{name} {sources}" for name, sources in allowed.items() if sources)
    return f'<meta http-equiv="Content-Security-Policy" content="{escape(policy)}">'


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
