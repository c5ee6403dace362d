"""The badge of a plan: a small notice with its verdict in one word, as SVG.

The word and the arm of a signal show the verdict, so that it does not depend on colour: the arm is
off if the plan holds and on if it does not; without a verdict there is no arm.
"""

from __future__ import annotations

from typing import NamedTuple

from trappoint.core.findings import CAUTION_SHORT


class _Look(NamedTuple):
    word: str
    length: int
    """The length of the word, in units of the drawing."""
    ink: str
    arm: str


_ARM = '<path d="M21 9.5 {end}" stroke="{ink}" stroke-width="3.6"/>'

_LOOKS = {
    True: _Look("holds", 43, "#1f5c2e", _ARM.format(end="L10 5.5", ink="#1f5c2e")),
    False: _Look("does not hold", 97, "#9b1c14", _ARM.format(end="H9.3", ink="#9b1c14")),
    None: _Look("cannot be judged", 117, "#7a4b00", ""),
}
"""Contrasts of the inks on the paper are at least 6 to 1 (WCAG 2.1 asks for 4.5)."""

MARK = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32">\
<path d="M0 0h32v32H0z" fill="#fbf7ea"/><path d="M7 28h18M22 28V4" fill="none" stroke="#1d1a16" \
stroke-width="3"/><path d="M22 9H5" stroke="#9b1c14" stroke-width="5"/></svg>
"""
"""The icon of a site: a signal with its arm on."""


def word_of(holds: bool | None) -> str:
    """Return the verdict in one word: holds, does not hold, or cannot be judged."""
    return _LOOKS[holds].word


def badge(holds: bool | None) -> str:
    """Return the badge as SVG, in ASCII. It needs no font and no other file."""
    word, length, ink, arm = _LOOKS[holds]
    width = 30 + length + 11
    return f"""<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="28" \
viewBox="0 0 {width} 28" role="img" aria-label="Signalling: {word}">
<title>Signalling: {word}</title>
<desc>{CAUTION_SHORT}</desc>
<path d="M0 0h{width}v28h-{width}z" fill="#fbf7ea"/>
<path d="M1 1h{width - 2}v26h-{width - 2}zM3.5 3.5h{width - 7}v21h-{width - 7}z" fill="none" \
stroke="#8d8269"/>
<g fill="none"><path d="M21 6.5V22M17.5 22h7" stroke="#1d1a16" stroke-width="2"/>{arm}</g>
<text x="31" y="18.4" textLength="{length}" lengthAdjust="spacingAndGlyphs" \
font-family="Georgia, 'Liberation Serif', 'DejaVu Serif', serif" font-size="15" \
font-weight="bold" fill="{ink}">{word}</text>
</svg>
"""
