"""A parts plan as text, Markdown, a part of an HTML page, and JSON."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from trappoint.parts.money import RATE_UNIT, tell_amount
from trappoint.parts.planning import counted_total
from trappoint.parts.telling import CAUTION_PARTS, sections_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from trappoint.core.terminal import RenderOptions
    from trappoint.parts.demand import PartNeed, SignalKey, Want
    from trappoint.parts.parts_model import Gap
    from trappoint.parts.planning import PartsPlan, Scheme, ShopOrder
    from trappoint.parts.store import Recipe, Store

_SPECIAL = re.compile(r"([\\`*_\[\]<>#|~&])")


def render_text(answer: PartsPlan, store: Store, title: str, look: RenderOptions) -> str:
    """Return the answer as text, wrapped to the width."""
    lines = [look.paint(line, "strong") for line in look.wrap(title)]
    for section in sections_of(answer, store):
        lines += ["", *(look.paint(line, "strong") for line in look.wrap(section.heading))]
        for number, entry in enumerate(section.entries, 1):
            first = f"  {number}. " if section.numbered else "  "
            lines += look.wrap(entry, first, " " * max(4, len(first)))
    lines += ["", *look.wrap(CAUTION_PARTS)]
    return "\n".join(lines) + "\n"


def render_markdown(answer: PartsPlan, store: Store, title: str, _: RenderOptions) -> str:
    """Return the answer as a page of Markdown."""
    lines = [f"# {_escape(title)}"]
    for section in sections_of(answer, store):
        lines += ["", f"## {_escape(section.heading)}", ""]
        for number, entry in enumerate(section.entries, 1):
            lines.append(f"{f'{number}.' if section.numbered else '-'} {_escape(entry)}")
    lines += ["", f"*{CAUTION_PARTS}*"]
    return "\n".join(lines) + "\n"


def _escape(text: str) -> str:
    printable = "".join(char if char.isprintable() else " " for char in text)
    return _SPECIAL.sub(r"\\\1", printable)


def body_of(answer: PartsPlan, store: Store, level: int = 2) -> str:
    """Return the answer as a part of an HTML page, with headings of this level."""
    from html import escape

    lines = []
    for section in sections_of(answer, store):
        kind = "ol" if section.numbered else "ul"
        items = "\n".join(f"<li>{escape(entry)}</li>" for entry in section.entries)
        lines.append(
            f"<h{level}>{escape(section.heading)}</h{level}>\n<{kind}>\n{items}\n</{kind}>"
        )
    lines.append(f'<p class="caution">{escape(CAUTION_PARTS)}</p>')
    return "\n".join(lines)


def render_json(answer: PartsPlan, store: Store, _: str, __: RenderOptions) -> str:
    """Return the answer as one JSON object; amounts are strings with two decimals."""
    return json.dumps(to_json(answer, store), indent=2) + "\n"


def to_json(answer: PartsPlan, store: Store) -> dict[str, Any]:
    """Return the answer as JSON values."""
    from trappoint.core.version import __version__

    money, found = answer.least_money, answer.scheme or answer.rest
    return {
        "tool": "trappoint",
        "version": __version__,
        "caution": CAUTION_PARTS,
        "currency": store.currency,
        "met": answer.scheme is not None,
        "undecided": answer.undecided,
        "time_was_up": answer.too_late or (found is not None and found.gap is not None),
        "without": _keys(answer.left_out),
        "needs": [{**_need(need), "want": _want(need.want)} for need in answer.needs],
        "scheme": None if answer.scheme is None else _scheme(answer.scheme),
        "short": [{"want": _want(want), "by": count} for want, count in answer.short],
        "least_money": None if money is None else tell_amount(money),
        "leave_out": _keys(answer.drop),
        "scheme_for_the_rest": None if answer.rest is None else _scheme(answer.rest),
    }


def _keys(keys: Iterable[SignalKey]) -> list[dict[str, str]]:
    return [{"plan": key.plan, "signal": key.signal} for key in keys]


def _need(need: PartNeed) -> dict[str, Any]:
    return {"plan": need.plan, "signal": need.signal, "arm": need.arm}


def _want(want: Want) -> dict[str, Any]:
    values: dict[str, Any] = {"mount" if want.is_mount else "arm": want.word, "form": want.form}
    if want.is_mount:
        values["dolls"] = want.dolls
    return {**values, "height_mm": want.height_mm}


def _scheme(scheme: Scheme) -> dict[str, Any]:
    return {
        "fit": [{**_need(need), "part": part} for need, part in scheme.served],
        "use_as_it_is": scheme.as_it_is,
        "make": [_step(recipe, times) for recipe, times in scheme.steps],
        "buy": [_order(order) for order in scheme.orders],
        "left_over": scheme.left_over,
        "minutes": scheme.minutes,
        "totals": {key: tell_amount(total) for key, total in scheme.totals.items()},
        "counted_together": tell_amount(counted_total(scheme)),
        "proven": scheme.proven,
        "at_best": None if scheme.gap is None else _gap(scheme.gap),
    }


def _gap(gap: Gap) -> dict[str, Any]:
    amount: int | str | None = gap.at_best
    if gap.at_best is not None and gap.what not in ("work", "steps", "short", "left-out"):
        amount = tell_amount(gap.at_best // RATE_UNIT if gap.what == "money" else gap.at_best)
    return {"of": gap.what, "least": amount}


def _step(recipe: Recipe, times: int) -> dict[str, Any]:
    tools, used_up, gained = recipe.parts_touched()
    return {
        "recipe": recipe.id,
        "times": times,
        "at_hand": tools,
        "uses": {part: times * count for part, count in used_up.items()},
        "yields": {part: times * count for part, count in gained.items()},
        "minutes": times * recipe.minutes,
    }


def _order(order: ShopOrder) -> dict[str, Any]:
    return {
        "shop": order.shop.id,
        "currency": order.shop.currency,
        "packs": [
            {
                "offer": offer.id,
                "packs": count,
                "contains": offer.contains,
                "cost": tell_amount(offer.price * count),
            }
            for offer, count in order.packs
        ],
        "goods": tell_amount(order.goods),
        "postage": tell_amount(order.postage),
        "total": tell_amount(order.total),
    }


RENDERERS: dict[str, Callable[[PartsPlan, Store, str, RenderOptions], str]] = {
    "text": render_text,
    "markdown": render_markdown,
    "json": render_json,
}
"""The renderer of each format."""
