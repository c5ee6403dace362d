"""Pictures of the page to build on, for the project's pages: PNG files that carry their words.

``pytest --rewrite --long tests/service/test_by_pointing.py tests/service/test_evening.py`` takes
them again. A picture differs
from machine to machine, by its fonts: the test holds its words to the page, not its pixels.
"""

from __future__ import annotations

import struct
import zlib
from pathlib import Path
from typing import TYPE_CHECKING

from service.hands import still

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

PICTURES = Path(__file__).parents[2] / "examples" / "pictures"
MOST_BYTES = 150_000
MARK = b"\x89PNG\r\n\x1a\n"
BUILDING = "[data-title], .picture, .judgement, .offers"
"""The parts of the page to build on whose words a picture carries."""
KEY = b"Description\0\0\0\0\0"
"""The head of an uncompressed ``iTXt`` chunk (PNG, third edition, 11.3.3.4)."""


def hold_picture(
    page: Page, name: str, top: str, height: int, *, rewrite: bool, parts: str = BUILDING
) -> None:
    """Hold a picture to what the page shows now, or take it again.

    It shows ``height`` pixels of the window, from the part ``top`` down. It carries the words of
    ``parts``.
    """
    page.mouse.move(2, 2)
    page.locator(top).evaluate("part => part.scrollIntoView({behavior: 'instant'})")
    still(page)
    file = PICTURES / f"{name}.png"
    if rewrite:
        size = page.viewport_size
        box = page.locator(top).bounding_box()
        assert size is not None
        assert box is not None
        clip = {"x": 0, "y": box["y"], "width": size["width"], "height": height}
        taken = page.screenshot(clip=clip)  # type: ignore[arg-type]  # a clip
        file.write_bytes(with_words(taken, words_of(page, parts)))
    content = file.read_bytes()
    assert len(content) <= MOST_BYTES
    kept = next(data for kind, data in chunks(content) if kind == b"iTXt" and data.startswith(KEY))
    words = words_of(page, parts)
    assert words
    assert kept.removeprefix(KEY).decode() == words, f"{name}: run pytest --rewrite --long"


def words_of(page: Page, parts: str) -> str:
    """Return the words of some parts of the page, a line for each."""
    return "\n".join(" ".join(text.split()) for text in page.locator(parts).all_inner_texts())


def with_words(png: bytes, words: str) -> bytes:
    """Return a picture with a chunk of words before its end."""
    made = b"".join(
        chunk(kind, data)
        for kind, data in [*list(chunks(png))[:-1], (b"iTXt", KEY + words.encode()), (b"IEND", b"")]
    )
    return MARK + made


def chunks(png: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Return the chunks of a picture: the kind and the data of each."""
    assert png.startswith(MARK)
    at = len(MARK)
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        yield png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        at += length + 12


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
