"""A parts plan in words: headings and entries, the same for text, Markdown and HTML."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import CAUTION_FITTING
from trappoint.core.quoting import listed
from trappoint.core.terminal import plural
from trappoint.parts.demand import SignalKey, signals_of
from trappoint.parts.money import RATE_UNIT, tell_amount
from trappoint.parts.planning import counted_total

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.parts.demand import PartNeed
    from trappoint.parts.ordering import RecipeStep
    from trappoint.parts.parts_model import Gap
    from trappoint.parts.planning import PartsPlan, Scheme, ShopOrder
    from trappoint.parts.store import Bill, Store

CAUTION_PARTS = (
    f"{CAUTION_FITTING} Prices, stock and postage are those of the store: ask the shop before you "
    "order."
)
"""For every list of parts."""


_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


class PlanSection(NamedTuple):
    """A heading and its list of entries."""

    heading: str
    entries: list[str]
    numbered: bool = False
    """Whether their order matters."""
    ticked: bool = False
    """Whether each has a box to tick."""
    notes: list[str] = []  # noqa: RUF012 - never changed
    """Sentences after the list."""


def sections_of(answer: PartsPlan, store: Store) -> list[PlanSection]:
    """Return the sections of a parts plan, in order."""
    several = len({need.plan for need in answer.needs}) > 1
    sections = [PlanSection("Needed", _needed(answer.needs))]
    if answer.left_out:
        left = f"Left out at your request: {tell_signals(answer.left_out, several)}."
        sections[0].entries.append(left)
    if answer.scheme is not None:
        sections += _scheme(answer.scheme, store, several)
        why = [reason.text for reason in answer.reasons]
        return [*sections, PlanSection("Why this way", why)] if why else sections
    sections += what_is_missing(answer, store)
    return sections if answer.rest is None else sections + _scheme(answer.rest, store, several)


def what_is_missing(answer: PartsPlan, store: Store) -> list[PlanSection]:
    """Return the sections on why the parts do not suffice, and on what would help."""
    heading = "No way found in time" if answer.too_late else "The parts do not suffice"
    sections = [PlanSection(heading, _why_not(answer))]
    if answer.rest is not None:
        several = len({need.plan for need in answer.needs}) > 1
        text = (
            f"Leave out {plural(len(answer.drop), 'signal')}: "
            f"{tell_signals(answer.drop, several)}. This is the least number; the parts for the "
            "others are listed below."
        )
        sections.append(PlanSection("What would help", [*_more_money(answer, store), text]))
    return sections


def _needed(needs: Iterable[PartNeed]) -> list[str]:
    needs = tuple(needs)
    counts: dict[str, int] = {}
    for need in needs:
        words = need.want.tell()
        counts[words] = counts.get(words, 0) + 1
    signals = plural(len(signals_of(needs)), "signal")
    return [*(f"{count} x {words}" for words, count in counts.items()), f"For {signals}."]


def tell_signals(keys: Iterable[SignalKey], several: bool) -> str:
    """Return the ids of signals in one line, with their plans if there are several plans."""
    return ", ".join(f"{key.plan}:{key.signal}" if several else key.signal for key in keys)


def _why_not(answer: PartsPlan) -> list[str]:
    if answer.too_late:
        return ["The time limit ended the search. Set a longer one with `--seconds`."]
    if answer.undecided:
        return [
            "Some recipes form a circle, so the search found neither a way nor a proof that there "
            "is none. Limit each of these recipes with `most`."
        ]
    entries = [
        f"{count} x {want.tell()}: missing; no shop or recipe supplies it."
        for want, count in answer.short
    ]
    if answer.least_money is not None:
        entries.append("The limit of `--at-most` is too low.")
    return entries


def _more_money(answer: PartsPlan, store: Store) -> list[str]:
    if answer.least_money is None:
        return []
    return [f"{store.currency} {tell_amount(answer.least_money)} would pay for all signals."]


def _scheme(scheme: Scheme, store: Store, several: bool) -> list[PlanSection]:
    sections = [
        PlanSection("Use as it is", bill_entries(scheme.as_it_is, store)),
        PlanSection("Make, in this order", [tell_step(step) for step in scheme.steps], True),
    ]
    sections += [_order(order) for order in scheme.orders]
    sections.append(PlanSection("Fit", _fitted(scheme, several)))
    sections.append(PlanSection("Left over", bill_entries(scheme.left_over, store)))
    sections.append(PlanSection("In all", _totals(scheme, store)))
    return [section for section in sections if section.entries]


def part_name(part: str, store: Store) -> str:
    """Return the id of a part, followed by its name if it has one."""
    name = store.parts[part].name
    return f"{part} ({name})" if name else part


def bill_entries(bill: Bill, store: Store) -> list[str]:
    """Return one entry for each part of a bill."""
    return [f"{count} x {part_name(part, store)}" for part, count in bill.items()]


def tell_bill(bill: Bill, times: int = 1) -> str:
    """Return a bill in one line: ``2 post, 1 doll``."""
    return ", ".join(f"{count * times} {part}" for part, count in bill.items()) or "nothing"


def tell_step(step: RecipeStep) -> str:
    """Return a step in one sentence: its recipe, how often, its work, and its parts."""
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
    days = list(dict.fromkeys(offer.priced_on for offer, _ in order.packs))
    entries.append(f"Prices {listed([tell_date(day) for day in days], 'and')}.")
    return PlanSection(f"Buy from {order.shop.name}", entries)


def tell_date(day: str | None) -> str:
    """Return the day of a price in words, to follow the word price."""
    if day is None:
        return "without a date in the store"
    year, month, number = day.split("-")
    return f"of {int(number)} {_MONTHS[int(month) - 1]} {year}"


def _fitted(scheme: Scheme, several: bool) -> list[str]:
    fitted: dict[SignalKey, dict[str, list[str]]] = {}
    for need, part in scheme.served:
        if SignalKey(need.plan, need.signal) in scheme.ready:
            fitted[SignalKey(need.plan, need.signal)] = {f"{part}, ready made": []}
            continue
        parts = fitted.setdefault(SignalKey(need.plan, need.signal), {})
        arms = parts.setdefault(part if need.arm is not None else f"{part} for its mount", [])
        if need.arm is not None:
            arms.append(need.arm)
    return [
        f"Signal {tell_signals([key], several)}: {', '.join(map(_used_for, own, own.values()))}."
        for key, own in fitted.items()
    ]


def _used_for(part: str, arms: list[str]) -> str:
    if not arms:
        return part
    return f"{part} for {'arm' if len(arms) == 1 else 'arms'} {listed(arms, 'and')}"


def money_entries(scheme: Scheme, store: Store) -> list[str]:
    """Return the sums of money, one for each currency, and the sum of them all."""
    entries = [f"{currency} {tell_amount(total)}" for currency, total in scheme.totals.items()] or [
        "You need not buy anything."
    ]
    if any(currency != store.currency and store.rate(currency) for currency in scheme.totals):
        total = tell_amount(counted_total(scheme))
        rates = ", ".join(
            f"{currency} 1 = {store.currency} {_rate(rate)}"
            for currency, rate in store.rates.items()
            if currency in scheme.totals
        )
        rated = f"rates {tell_date(store.rated_on)}"
        entries.append(f"Sum: {store.currency} {total} ({rates}; {rated}).")
    apart = [currency for currency in store.kept_apart() if currency in scheme.totals]
    if apart:
        entries.append(
            f"{', '.join(apart)}: the store gives no rate, so this money is spent only on parts "
            "that nothing else supplies."
        )
    return entries


def _totals(scheme: Scheme, store: Store) -> list[str]:
    entries = money_entries(scheme, store)
    entries.append(f"{plural(scheme.minutes, 'minute')} of work.")
    if scheme.proven:
        entries.append("No other way is cheaper, or equally cheap with less work.")
    elif scheme.gap is not None:
        entries.append(_tell_gap(scheme.gap, store))
    else:
        entries.append("Some recipes form a circle, so there may be a cheaper way.")
    return entries


def _tell_gap(gap: Gap, store: Store) -> str:
    """Return a sentence on how much better an answer could be than the one found in time."""
    stopped = "The time limit ended the search: this way works, but there may be a better one."
    if gap.at_best is None:
        return stopped
    least = max(0, gap.at_best)
    if gap.what == "money":
        best = f"costs less than {store.currency} {tell_amount(least // RATE_UNIT)}"
    elif gap.what == "work":
        best = f"as cheap takes less than {plural(least, 'minute')}"
    elif gap.what == "steps":
        best = "is cheaper, or as cheap with less work; another way may have fewer steps"
    elif gap.what == "short":
        best = f"leaves fewer than {plural(least, 'part')} missing"
    elif gap.what == "left-out":
        best = f"leaves out fewer than {plural(least, 'signal')}"
    else:
        best = f"costs less than {gap.what} {tell_amount(least)}"
    return f"{stopped} No way {best}."


def _rate(rate: int) -> str:
    whole, rest = divmod(rate, RATE_UNIT)
    return f"{whole}.{rest:04d}".rstrip("0").rstrip(".")
