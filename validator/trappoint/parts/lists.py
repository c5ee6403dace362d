"""The shopping list by shop and the bench list by signal, in words and as rows of a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.parts.bench_list import DRAWER, JUST_MADE, SHOP, SPARE, bench_list
from trappoint.parts.money import tell_amount
from trappoint.parts.telling import (
    PlanSection,
    money_entries,
    part_name,
    tell_bill,
    tell_date,
    tell_signals,
    tell_step,
    what_is_missing,
)

if TYPE_CHECKING:
    from trappoint.parts.bench_list import BenchJob
    from trappoint.parts.planning import PartsPlan, Scheme, ShopOrder
    from trappoint.parts.store import Store

SHOPPING_COLUMNS = [
    "shop", "offer", "name", "packs", "each_with", "each", "cost", "currency", "priced_on",
]  # fmt: skip
BENCH_COLUMNS = ["plan", "signal", "step", "do", "what", "number", "from", "for", "minutes"]

POSTAGE, TOTAL = "Postage", "Total"


def shopping_sections(answer: PartsPlan, store: Store) -> list[PlanSection]:
    """Return the shopping list: a section for each shop, and the sums."""
    scheme = answer.scheme or answer.rest
    if scheme is None:
        return what_is_missing(answer, store)
    sections = [] if answer.scheme else what_is_missing(answer, store)
    sections += [_shop(order) for order in scheme.orders]
    return [*sections, PlanSection("Shopping in all", money_entries(scheme, store))]


def _shop(order: ShopOrder) -> PlanSection:
    currency, shop = order.shop.currency, order.shop
    days = {offer.priced_on for offer, _ in order.packs}
    entries = []
    for offer, count in order.packs:
        name = f"{offer.id} ({offer.name})" if offer.name else offer.id
        each = f", at {currency} {tell_amount(offer.price)} each" if count > 1 else ""
        day = f"; price {tell_date(offer.priced_on)}" if len(days) > 1 else ""
        entries.append(
            f"{count} x {name}, with {tell_bill(offer.contains)}: "
            f"{currency} {tell_amount(offer.price * count)}{each}{day}."
        )
    notes = [f"Goods {currency} {tell_amount(order.goods)}, {_postage(order)}."]
    notes.append(f"{TOTAL}: {currency} {tell_amount(order.total)}.")
    if len(days) == 1:
        notes.append(f"Prices {tell_date(days.pop())}.")
    return PlanSection(f"Buy from {shop.name}", entries, ticked=True, notes=notes)


def _postage(order: ShopOrder) -> str:
    shop = order.shop
    if order.postage:
        free = ""
        if shop.free_from is not None:
            free = f" (free from {shop.currency} {tell_amount(shop.free_from)})"
        return f"postage {shop.currency} {tell_amount(order.postage)}{free}"
    if shop.free_from is not None and shop.postage:
        return f"no postage from {shop.currency} {tell_amount(shop.free_from)}"
    return "no postage"


def shopping_rows(scheme: Scheme) -> list[list[str]]:
    """Return a row for each pack, for each postage and for each total, under the columns."""
    rows = []
    for order in scheme.orders:
        shop, currency = order.shop.name, order.shop.currency
        for offer, count in order.packs:
            rows.append(
                [
                    shop, offer.id, offer.name, str(count), tell_bill(offer.contains),
                    tell_amount(offer.price), tell_amount(offer.price * count), currency,
                    offer.priced_on or "",
                ]
            )  # fmt: skip
        for name, amount in ((POSTAGE, order.postage), (TOTAL, order.total)):
            rows.append([shop, "", name, "", "", "", tell_amount(amount), currency, ""])
    return rows


def bench_sections(answer: PartsPlan, store: Store) -> list[PlanSection]:
    """Return the bench list: a section for each signal, its steps in order."""
    scheme = answer.scheme or answer.rest
    if scheme is None:
        return what_is_missing(answer, store)
    several = len({need.plan for need in answer.needs}) > 1
    sections = [] if answer.scheme else what_is_missing(answer, store)
    for job in bench_list(scheme, store):
        if job.key is None:
            heading = "Before all signals"
        else:
            heading = f"Signal {tell_signals([job.key], several)}"
        entries = _taken(job, store)
        entries += [f"Make: {tell_step(step)}" for step in job.steps]
        entries += _fit(job)
        sections.append(PlanSection(heading, entries, numbered=True))
    return sections


def _taken(job: BenchJob, store: Store) -> list[str]:
    """Return an entry for each source of pieces."""
    from_source: dict[str, list[str]] = {}
    for take in job.take:
        words = f"{take.number} x {part_name(take.part, store)}"
        from_source.setdefault(take.source, []).append(words)
    return [
        f"Take {_whence(source, store)}: {', '.join(pieces)}."
        for source, pieces in from_source.items()
    ]


def _whence(source: str, store: Store) -> str:
    if source == DRAWER:
        return "from the drawer"
    if source == SPARE:
        return "from the work before"
    if source == JUST_MADE:
        return "just made"
    return f"from the order to {store.shops[source.removeprefix(SHOP)].name}"


def _fit(job: BenchJob) -> list[str]:
    if job.ready:
        return [f"Fit {job.fit[0][0]}, ready made, as it is."]
    fitted = [f"{part} as {_places(arms)}" for part, arms in job.fit]
    return [f"Fit {'; '.join(fitted)}."] if fitted else []


def _places(arms: tuple[str | None, ...]) -> str:
    named = [arm for arm in arms if arm is not None]
    words = ["the mount"] if len(named) < len(arms) else []
    if named:
        words.append(f"{'arm' if len(named) == 1 else 'arms'} {listed(named, 'and')}")
    return " and ".join(words)


def bench_rows(scheme: Scheme, store: Store) -> list[list[str]]:
    """Return a row for each step of the work for each signal, under the columns."""
    rows = []
    for job in bench_list(scheme, store):
        head = ["", ""] if job.key is None else [job.key.plan, job.key.signal]
        steps: list[list[str]] = [
            ["take", take.part, str(take.number), _whence(take.source, store), "", ""]
            for take in job.take
        ]
        for step in job.steps:
            recipe, times = step
            _, used_up, gained = recipe.parts_touched()
            bills = tell_bill(used_up, times), tell_bill(gained, times)
            steps.append(["make", recipe.id, str(times), *bills, str(recipe.minutes * times)])
        steps += [["fit", part, "", "", _places(arms), ""] for part, arms in job.fit]
        rows += [[*head, str(number), *step] for number, step in enumerate(steps, 1)]
    return rows


def bench_data(scheme: Scheme, store: Store) -> list[dict[str, object]]:
    """Return the bench list as JSON values."""
    return [
        {
            "plan": job.key.plan if job.key else None,
            "signal": job.key.signal if job.key else None,
            "take": [
                {
                    "part": take.part,
                    "count": take.number,
                    "from": take.source.split(":")[0],
                    "shop": take.source.removeprefix(SHOP) if SHOP in take.source else None,
                }
                for take in job.take
            ],
            "make": [
                {
                    "recipe": step.recipe.id,
                    "times": step.times,
                    "minutes": step.recipe.minutes * step.times,
                }
                for step in job.steps
            ],
            "fit": [{"part": part, "as": list(arms)} for part, arms in job.fit],
            "ready_made": job.ready,
            "minutes": job.minutes,
        }
        for job in bench_list(scheme, store)
    ]
