"""Money, computed in whole hundredths of a currency and written as decimals."""

from __future__ import annotations

import re

_AMOUNT = re.compile(r"([0-9]{1,7})(?:\.([0-9]{1,2}))?")
_RATE = re.compile(r"([0-9]{1,4})(?:\.([0-9]{1,4}))?")

RATE_UNIT = 10_000
"""The number of units in a rate of exchange of 1: rates are in ten-thousandths."""


def parse_amount(text: str) -> int:
    """Return an amount such as ``4.5`` in hundredths. Raises ValueError for any other text."""
    found = _AMOUNT.fullmatch(text)
    if found is None:
        raise ValueError(f"not an amount of money: {text}")
    return int(found[1]) * 100 + int((found[2] or "").ljust(2, "0"))


def parse_rate(text: str) -> int:
    """Return a rate such as ``0.86`` in ten-thousandths. Raises ValueError for any other text."""
    found = _RATE.fullmatch(text)
    if found is None:
        raise ValueError(f"not a rate of exchange: {text}")
    return int(found[1]) * RATE_UNIT + int((found[2] or "").ljust(4, "0"))


def tell_amount(hundredths: int) -> str:
    """Return an amount as text with two decimals: ``4.50``."""
    return f"{hundredths // 100}.{hundredths % 100:02d}"


def rounded(units: int) -> int:
    """Convert hundredths times ``RATE_UNIT`` to hundredths, halves rounded up."""
    return (2 * units + RATE_UNIT) // (2 * RATE_UNIT)


def rounded_up(units: int) -> int:
    """Convert hundredths times ``RATE_UNIT`` to hundredths, rounded up."""
    return -(-units // RATE_UNIT)
