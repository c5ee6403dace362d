"""What messages about a store have of their own."""

from __future__ import annotations

from trappoint.schema.forms import no_id, none_such
from trappoint.schema.published import STORE_FORMAT, store_schema
from trappoint.schema.vocabulary import Vocabulary

_NEEDED = {
    "format": (
        '"format": "trappoint-store/1"',
        "It says what kind of file this is, and in which edition of the format.",
    ),
    "currency": ('"currency": "GBP"', "Without it nobody knows what a price means."),
    "parts": ('"parts": {}', "Everything in a store is about its parts."),
    "mounts": ('"mounts": ["post"]', "It says which mounts the part serves as."),
    "kinds": ('"kinds": ["stop"]', "It says which arms the part serves as."),
    "uses": ('"uses": {"post": 1}', "A recipe makes parts out of parts."),
    "yields": ('"yields": {"doll": 2}', "A recipe makes parts out of parts."),
    "offers": ('"offers": {}', "A shop is there for what it sells."),
    "contains": ('"contains": {"post": 10}', "It says what is in the pack."),
    "price": ('"price": "4.50"', "Without it the costs cannot be known."),
    "postage": (
        '"postage": "3.20"',
        "free_from says from when on there is no postage, and says nothing without it.",
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
        "rate": none_such(
            "rate of exchange",
            "A rate is more than 0, in digits, with at most four decimals after a full stop.",
            '"0.86"',
        ),
    },
    beyond="No store has so many or so few of anything.",
    two_types={},
)
