"""What a parts plan says, as headings and lines: the same words for text and for Markdown."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.terminal import plural
from trappoint.parts.demand import signals_of
from trappoint.parts.money import RATE_UNIT, tell_amount
from trappoint.parts.planning import counted_total

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.parts.demand import PartNeed, SignalKey
    from trappoint.parts.ordering import RecipeStep
    from trappoint.parts.parts_model import Gap
    from trappoint.parts.planning import PartsPlan, Scheme, ShopOrder
    from trappoint.parts.store import Bill, Store


class PlanSection(NamedTuple):
    """A heading and what stands below it; entries are a list, numbered where order matters."""

    heading: str
    entries: list[str]
    numbered: bool = False


def sections_of(answer: PartsPlan, store: Store) -> list[PlanSection]:
    """Return all that there is to say, in order."""
    several = len({need.plan for need in answer.needs}) > 1
    sections = [PlanSection("Needed", _needed(answer.needs))]
    if answer.left_out:
        left = f"Left out, as asked: {_signals(answer.left_out, several)}."
        sections[0].entries.append(left)
    if answer.scheme is not None:
        return sections + _scheme(answer.scheme, store, several)
    sections.append(
        PlanSection(
            "Nothing was found" if answer.too_late else "This cannot be met",
            _why_not(answer),
        )
    )
    if answer.rest is None:
        return sections
    count = plural(len(answer.drop), "signal")
    text = (
        f"The fewest that must be left out: {count}, {_signals(answer.drop, several)}. "
        "The rest can be met then, as follows."
    )
    sections.append(PlanSection("What would help", [*_more_money(answer, store), text]))
    return sections + _scheme(answer.rest, store, several)


def _needed(needs: Iterable[PartNeed]) -> list[str]:
    needs = tuple(needs)
    counts: dict[str, int] = {}
    for need in needs:
        words = need.want.tell()
        counts[words] = counts.get(words, 0) + 1
    signals = plural(len(signals_of(needs)), "signal")
    return [*(f"{count} x {words}" for words, count in counts.items()), f"For {signals}."]


def _signals(keys: Iterable[SignalKey], several: bool) -> str:
    return ", ".join(f"{key.plan}:{key.signal}" if several else key.signal for key in keys)


def _why_not(answer: PartsPlan) -> list[str]:
    if answer.too_late:
        return ["The time was up before a way was found, or that there is none. Give it more."]
    if answer.undecided:
        return [
            "Recipes go round in circles, so that no way was found, nor that there is none. "
            "Say with most how often each can be done."
        ]
    entries = [
        f"{count} x {want.tell()}: short, whatever is spent." for want, count in answer.short
    ]
    if answer.least_money is not None:
        entries.append("The money does not reach.")
    return entries


def _more_money(answer: PartsPlan, store: Store) -> list[str]:
    if answer.least_money is None:
        return []
    return [f"With {store.currency} {tell_amount(answer.least_money)} all can be met."]


def _scheme(scheme: Scheme, store: Store, several: bool) -> list[PlanSection]:
    sections = [
        PlanSection("Use as it is", bill_entries(scheme.as_it_is, store)),
        PlanSection("Make, in this order", [_step(step) for step in scheme.steps], True),
    ]
    sections += [_order(order) for order in scheme.orders]
    sections.append(PlanSection("Fit", _fitted(scheme, several)))
    sections.append(PlanSection("Left over", bill_entries(scheme.left_over, store)))
    sections.append(PlanSection("In all", _totals(scheme, store)))
    return [section for section in sections if section.entries]


def part_name(part: str, store: Store) -> str:
    """Return the id of a part, with its name where it has one."""
    name = store.parts[part].name
    return f"{part} ({name})" if name else part


def bill_entries(bill: Bill, store: Store) -> list[str]:
    """Return a line for each part of a bill."""
    return [f"{count} x {part_name(part, store)}" for part, count in bill.items()]


def tell_bill(bill: Bill, times: int = 1) -> str:
    """Return a bill in one line: ``2 post, 1 doll``."""
    return ", ".join(f"{count * times} {part}" for part, count in bill.items()) or "nothing"


def _step(step: RecipeStep) -> str:
    recipe, times = step
    name = f"{recipe.id} ({recipe.name})" if recipe.name else recipe.id
    how_often = "once" if times == 1 else "twice" if times == 2 else f"{times} times"
    work = f", {plural(recipe.minutes * times, 'minute')}" if recipe.minutes else ""
    tools, used_up, gained = recipe.parts_touched()
    at_hand = f"with {tell_bill(tools)} at hand, " if tools else ""
    return (
        f"{name}, {how_often}{work}: {at_hand}uses {tell_bill(used_up, times)}; "
        f"yields {tell_bill(gained, times)}."
    )


def _order(order: ShopOrder) -> PlanSection:
    currency = order.shop.currency
    entries = []
    for offer, count in order.packs:
        name = f"{offer.id} ({offer.name})" if offer.name else offer.id
        entries.append(
            f"{count} x {name}, each with {tell_bill(offer.contains)}: "
            f"{currency} {tell_amount(offer.price * count)}."
        )
    postage = f"postage {currency} {tell_amount(order.postage)}" if order.postage else "no postage"
    entries.append(f"Order: {currency} {tell_amount(order.total)}, {postage}.")
    return PlanSection(f"Buy from {order.shop.name}", entries)


def _fitted(scheme: Scheme, several: bool) -> list[str]:
    lines: dict[tuple[str, str], list[str]] = {}
    for need, part in scheme.served:
        what = f"arm {need.arm}" if need.arm is not None else need.want.word
        lines.setdefault((need.plan, need.signal), []).append(f"{what} {part}")
    return [
        f"Signal {plan + ':' if several else ''}{signal}: {', '.join(parts)}."
        for (plan, signal), parts in lines.items()
    ]


def _totals(scheme: Scheme, store: Store) -> list[str]:
    entries = [f"{currency} {tell_amount(total)}" for currency, total in scheme.totals.items()] or [
        "Nothing is to be bought."
    ]
    if any(currency != store.currency and store.rate(currency) for currency in scheme.totals):
        total = tell_amount(counted_total(scheme))
        rates = ", ".join(
            f"{currency} 1 = {store.currency} {_rate(rate)}"
            for currency, rate in store.rates.items()
            if currency in scheme.totals
        )
        entries.append(f"Counted together: {store.currency} {total} ({rates}).")
    apart = [currency for currency in store.kept_apart() if currency in scheme.totals]
    if apart:
        entries.append(
            f"{', '.join(apart)}: no rate is given, so it is spent only on what cannot be had "
            "otherwise."
        )
    entries.append(f"{plural(scheme.minutes, 'minute')} of work.")
    if scheme.proven:
        entries.append("Nothing that meets all this is cheaper, or as cheap with less work.")
    elif scheme.gap is not None:
        entries.append(_tell_gap(scheme.gap, store))
    else:
        entries.append("Recipes go round in circles: that nothing is cheaper could not be proven.")
    return entries


def _tell_gap(gap: Gap, store: Store) -> str:
    """Say what was not proven when the time was up, and how far it could still be from the best."""
    told = "The time was up: this can be done, but that nothing is better is not proven."
    if gap.at_best is None:
        return told
    least = max(0, gap.at_best)
    if gap.what == "money":
        best = f"costs less than {store.currency} {tell_amount(least // RATE_UNIT)}"
    elif gap.what == "work":
        best = f"that is as cheap takes less than {plural(least, 'minute')}"
    elif gap.what == "steps":
        best = "is cheaper, or as cheap with less work; there may be fewer steps"
    elif gap.what == "short":
        best = f"leaves fewer than {least} short"
    elif gap.what == "left-out":
        best = f"leaves out fewer than {plural(least, 'signal')}"
    else:
        best = f"costs less than {gap.what} {tell_amount(least)}"
    return f"{told} Nothing {best}."


def _rate(rate: int) -> str:
    whole, rest = divmod(rate, RATE_UNIT)
    return f"{whole}.{rest:04d}".rstrip("0").rstrip(".")
