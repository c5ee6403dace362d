"""The words of messages about a store."""

from __future__ import annotations

from trappoint.schema.forms import no_id, none_such
from trappoint.schema.published import STORE_FORMAT, store_schema
from trappoint.schema.vocabulary import Vocabulary

_NEEDED = {
    "format": (
        '"format": "trappoint-store/1"',
        "It gives the kind of file and the edition of the format.",
    ),
    "currency": ('"currency": "GBP"', "Prices need a currency."),
    "parts": ('"parts": {}', "A store lists parts."),
    "mount": ('"mount": "post"', "It gives the mount of the ready-made signal."),
    "form": ('"form": "upper-quadrant"', "It gives the form of the arms."),
    "dolls": ('"dolls": [["stop"]]', "It lists the arms of each doll."),
    "mounts": ('"mounts": ["post"]', "It lists the mounts that the part serves as."),
    "kinds": ('"kinds": ["stop"]', "It lists the kinds of arm that the part serves as."),
    "uses": ('"uses": {"post": 1}', "A recipe makes parts out of parts."),
    "yields": ('"yields": {"doll": 2}', "A recipe makes parts out of parts."),
    "offers": ('"offers": {}', "A shop needs a list of offers."),
    "contains": ('"contains": {"post": 10}', "It lists the contents of the pack."),
    "price": ('"price": "4.50"', "The cost depends on it."),
    "postage": (
        '"postage": "3.20"',
        "free_from has no effect without it.",
    ),
}

STORE = Vocabulary(
    format=STORE_FORMAT,
    one="store",
    whole="the store",
    schema=store_schema(),
    least={"format": STORE_FORMAT, "currency": "GBP", "parts": {}},
    kinds={"parts": "part", "recipes": "recipe", "shops": "shop", "rates": "rate"},
    inner={("shops", "offers"): "offer"},
    needed=_NEEDED,
    forms={
        "id": no_id("pointers and tables"),
        "currency": none_such("currency", "It is three capital letters.", '"GBP"'),
        "money": none_such(
            "amount of money",
            "An amount is written in digits, with at most two decimals after a full stop.",
            '"4.50"',
        ),
        "date": none_such("date", "A date is year, month and day.", '"2026-11-02"'),
        "rate": none_such(
            "rate of exchange",
            "A rate is more than 0, in digits, with at most four decimals after a full stop.",
            '"0.86"',
        ),
    },
    beyond="The number is out of range for a store.",
    refers={},
    trade_words={},
    two_types={},
)
