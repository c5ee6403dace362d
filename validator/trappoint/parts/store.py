"""A store, typed and frozen: parts, recipes and shops."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.parts.money import RATE_UNIT, parse_amount, parse_rate

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.parts.demand import Want, WholeSignal

Bill = dict[str, int]
"""The number of each part, by its id."""


class Serving(NamedTuple):
    """The uses of a part as mounts or as arms; empty ``forms`` mean all forms."""

    words: frozenset[str]
    """The mounts, or the kinds of arm."""
    forms: frozenset[str]
    least_dolls: int
    most_dolls: int | None
    least_mm: float | None
    most_mm: float | None

    def fits(self, want: Want) -> bool:
        """Return whether it suits a want; a want without a height suits any height."""
        if want.word not in self.words or (self.forms and want.form not in self.forms):
            return False
        if want.dolls < self.least_dolls:
            return False
        if self.most_dolls is not None and want.dolls > self.most_dolls:
            return False
        return _high_enough(want.height_mm, self.least_mm, self.most_mm)


class ReadyMade(NamedTuple):
    """A mount with its arms on."""

    mount: str
    form: str
    dolls: tuple[tuple[str, ...], ...]
    """The kinds of the arms of each doll, sorted; the dolls from left to right."""
    least_mm: float | None
    most_mm: float | None

    def fits(self, whole: WholeSignal) -> bool:
        """Return whether it serves as a whole signal, as it is."""
        return (
            self.mount == whole.mount.word
            and self.form == whole.mount.form
            and self.dolls == whole.kinds()
            and _high_enough(whole.mount.height_mm, self.least_mm, self.most_mm)
        )


def _high_enough(height: float | None, low: float | None, high: float | None) -> bool:
    """Return whether a height is within limits; without a height in the plan, any limits do."""
    if height is None:
        return True
    return (low is None or height >= low) and (high is None or height <= high)


class Part(NamedTuple):
    """One kind of part."""

    id: str
    name: str
    owned: int
    as_mount: Serving | None
    as_arm: Serving | None
    as_signal: ReadyMade | None = None

    def serves(self, want: Want) -> bool:
        """Return whether the part serves as this want."""
        serving = self.as_mount if want.is_mount else self.as_arm
        return serving is not None and serving.fits(want)


class Recipe(NamedTuple):
    """One way to make parts from other parts."""

    id: str
    name: str
    uses: Bill
    yields: Bill
    minutes: int
    most: int | None

    def parts_touched(self) -> tuple[Bill, Bill, Bill]:
        """Return the tools (used and yielded), the parts used up and the parts gained."""
        tools = {p: min(n, self.yields[p]) for p, n in self.uses.items() if p in self.yields}
        used_up = {p: -self.net(p) for p in self.uses if self.net(p) < 0}
        return tools, used_up, {p: self.net(p) for p in self.yields if self.net(p) > 0}

    def net(self, part: str) -> int:
        """Return the pieces of a part that one run adds; negative if it uses them up."""
        return self.yields.get(part, 0) - self.uses.get(part, 0)


class Offer(NamedTuple):
    """One pack that a shop sells; ``price`` in hundredths of the shop's currency."""

    shop: str
    id: str
    name: str
    contains: Bill
    price: int
    stock: int | None
    priced_on: str | None = None
    """The day of the price, as ``2026-11-02``; None if the store gives none."""


class Shop(NamedTuple):
    """A shop; amounts in hundredths of its currency."""

    id: str
    name: str
    currency: str
    postage: int
    free_from: int | None
    offers: tuple[Offer, ...]


class Store(NamedTuple):
    """A whole store."""

    title: str
    currency: str
    rates: Mapping[str, int]
    """The value of 1 of each other currency, in ten-thousandths of the store's currency."""
    parts: Mapping[str, Part]
    recipes: Mapping[str, Recipe]
    shops: Mapping[str, Shop]
    rated_on: str | None = None
    """The day of the rates; None if the store gives none."""

    def rate(self, currency: str) -> int | None:
        """Return the value of 1 of a currency, in ten-thousandths; None without a rate."""
        return RATE_UNIT if currency == self.currency else self.rates.get(currency)

    def kept_apart(self) -> tuple[str, ...]:
        """Return the currencies of shops that have no rate, in the order of the store."""
        given = dict.fromkeys(shop.currency for shop in self.shops.values())
        return tuple(currency for currency in given if self.rate(currency) is None)


def build_store(data: Mapping[str, Any]) -> Store:
    """Build a store from data that follow the schema, without further checks."""
    currency = data["currency"]
    return Store(
        data.get("title", ""),
        currency,
        {key: parse_rate(rate) for key, rate in data.get("rates", {}).items()},
        {key: _part(key, value) for key, value in data["parts"].items()},
        {key: _recipe(key, value) for key, value in data.get("recipes", {}).items()},
        {key: _shop(key, value, currency) for key, value in data.get("shops", {}).items()},
        data.get("rated_on"),
    )


def _part(key: str, value: Mapping[str, Any]) -> Part:
    return Part(
        key,
        value.get("name", ""),
        int(value.get("owned", 0)),
        _serving(value.get("as_mount"), "mounts"),
        _serving(value.get("as_arm"), "kinds"),
        _ready_made(value.get("as_signal")),
    )


def _ready_made(value: Mapping[str, Any] | None) -> ReadyMade | None:
    if value is None:
        return None
    return ReadyMade(
        value["mount"],
        value["form"],
        tuple(tuple(sorted(kinds)) for kinds in value["dolls"]),
        value.get("least_height_mm"),
        value.get("most_height_mm"),
    )


def _serving(value: Mapping[str, Any] | None, words: str) -> Serving | None:
    if value is None:
        return None
    exactly = value.get("dolls")
    return Serving(
        frozenset(value[words]),
        frozenset(value.get("forms", ())),
        int(exactly or 0),
        exactly or value.get("most_dolls"),
        value.get("least_height_mm"),
        value.get("most_height_mm"),
    )


def _bill(value: Mapping[str, Any]) -> Bill:
    return {part: int(count) for part, count in value.items()}


def _recipe(key: str, value: Mapping[str, Any]) -> Recipe:
    most = value.get("most")
    return Recipe(
        key,
        value.get("name", ""),
        _bill(value["uses"]),
        _bill(value["yields"]),
        int(value.get("minutes", 0)),
        None if most is None else int(most),
    )


def _shop(key: str, value: Mapping[str, Any], currency: str) -> Shop:
    free = value.get("free_from")
    return Shop(
        key,
        value.get("name", key),
        value.get("currency", currency),
        parse_amount(value.get("postage", "0")),
        None if free is None else parse_amount(free),
        tuple(
            _offer(key, number, offer, value.get("priced_on"))
            for number, offer in value["offers"].items()
        ),
    )


def _offer(shop: str, key: str, value: Mapping[str, Any], priced_on: str | None) -> Offer:
    stock = value.get("stock")
    return Offer(
        shop,
        key,
        value.get("name", ""),
        _bill(value["contains"]),
        parse_amount(value["price"]),
        None if stock is None else int(stock),
        value.get("priced_on", priced_on),
    )
