"""Money: whole hundredths of a currency inside, decimals outside; never a binary fraction."""

from __future__ import annotations

import re

_AMOUNT = re.compile(r"([0-9]{1,7})(?:\.([0-9]{1,2}))?")
_RATE = re.compile(r"([0-9]{1,4})(?:\.([0-9]{1,4}))?")

RATE_UNIT = 10_000
"""Rates of exchange are whole ten-thousandths."""


def parse_amount(text: str) -> int:
    """Return an amount such as ``4.5`` in hundredths. Raises ValueError where it is none."""
    found = _AMOUNT.fullmatch(text)
    if found is None:
        raise ValueError(f"not an amount of money: {text}")
    return int(found[1]) * 100 + int((found[2] or "").ljust(2, "0"))


def parse_rate(text: str) -> int:
    """Return a rate such as ``0.86`` in ten-thousandths. Raises ValueError where it is none."""
    found = _RATE.fullmatch(text)
    if found is None:
        raise ValueError(f"not a rate of exchange: {text}")
    return int(found[1]) * RATE_UNIT + int((found[2] or "").ljust(4, "0"))


def tell_amount(hundredths: int) -> str:
    """Return an amount as text with two decimals: ``4.50``."""
    return f"{hundredths // 100}.{hundredths % 100:02d}"


def rounded(units: int) -> int:
    """Return hundredths for an amount in hundredths times ``RATE_UNIT``, the half rounded up."""
    return (2 * units + RATE_UNIT) // (2 * RATE_UNIT)


def rounded_up(units: int) -> int:
    """Return the least hundredths that are not less than an amount in hundredths of the rate."""
    return -(-units // RATE_UNIT)
