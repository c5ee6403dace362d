"""A parts plan and its lists as text, Markdown, CSV, a part of an HTML page, and JSON."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from trappoint.parts.demand import SignalKey
from trappoint.parts.lists import (
    BENCH_COLUMNS,
    SHOPPING_COLUMNS,
    bench_data,
    bench_rows,
    bench_sections,
    shopping_rows,
    shopping_sections,
)
from trappoint.parts.money import RATE_UNIT, tell_amount
from trappoint.parts.planning import counted_total
from trappoint.parts.telling import CAUTION_PARTS, sections_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from trappoint.core.terminal import RenderOptions
    from trappoint.parts.demand import PartNeed, Want
    from trappoint.parts.parts_model import Gap
    from trappoint.parts.planning import PartsPlan, Scheme, ShopOrder
    from trappoint.parts.store import Recipe, Store
    from trappoint.parts.telling import PlanSection

SHEETS: dict[str, Callable[[PartsPlan, Store], list[PlanSection]]] = {
    "plan": sections_of,
    "shopping": shopping_sections,
    "bench": bench_sections,
}
"""The sections of each sheet: the whole plan, the shopping list and the bench list."""

TITLES = {"plan": "Parts", "shopping": "Shopping list", "bench": "Bench list"}
"""The title of each sheet."""

FORMATS = ("text", "markdown", "csv", "json")
"""The formats of the sheets; the whole plan has no CSV."""

_SPECIAL = re.compile(r"([\\`*_\[\]<>#|~&])")


def render(
    form: str, sheet: str, answer: PartsPlan, store: Store, title: str, look: RenderOptions
) -> str:
    """Return a sheet in one of the ``FORMATS``; CSV only for the lists.

    ``title`` says for which plans it is, from which store.
    """
    if form == "csv":
        return _render_csv(sheet, answer, store)
    if form == "json":
        return render_json(answer, store, sheet)
    sections, title = SHEETS[sheet](answer, store), f"{TITLES[sheet]} {title}"
    if form == "markdown":
        return _render_markdown(sections, title)
    return _render_text(sections, title, look)


def _render_text(sections: list[PlanSection], title: str, look: RenderOptions) -> str:
    lines = [look.paint(line, "strong") for line in look.wrap(title)]
    for section in sections:
        lines += ["", *(look.paint(line, "strong") for line in look.wrap(section.heading))]
        for number, entry in enumerate(section.entries, 1):
            first = f"  {number}. " if section.numbered else "  [ ] " if section.ticked else "  "
            lines += look.wrap(entry, first, " " * max(4, len(first)))
        for note in section.notes:
            lines += look.wrap(note, "  ", "    ")
    lines += ["", *look.wrap(CAUTION_PARTS)]
    return "\n".join(lines) + "\n"


def _render_markdown(sections: list[PlanSection], title: str) -> str:
    lines = [f"# {_escape(title)}"]
    for section in sections:
        lines += ["", f"## {_escape(section.heading)}", ""]
        for number, entry in enumerate(section.entries, 1):
            mark = f"{number}." if section.numbered else "- [ ]" if section.ticked else "-"
            lines.append(f"{mark} {_escape(entry)}")
        for note in section.notes:
            lines += ["", _escape(note)]
    lines += ["", f"*{CAUTION_PARTS}*"]
    return "\n".join(lines) + "\n"


def _escape(text: str) -> str:
    printable = "".join(char if char.isprintable() else " " for char in text)
    return _SPECIAL.sub(r"\\\1", printable)


def _render_csv(sheet: str, answer: PartsPlan, store: Store) -> str:
    import csv
    import io

    from trappoint.core.csv_cells import safe_cell

    scheme = answer.scheme or answer.rest
    columns = SHOPPING_COLUMNS if sheet == "shopping" else BENCH_COLUMNS
    rows = []
    if scheme is not None:
        rows = shopping_rows(scheme) if sheet == "shopping" else bench_rows(scheme, store)
    out = io.StringIO(newline="")
    cells = ([safe_cell(cell) for cell in row] for row in rows)
    csv.writer(out, lineterminator="\r\n").writerows([columns, *cells])
    return out.getvalue()


def body_of(answer: PartsPlan, store: Store, level: int = 2, sheet: str = "plan") -> str:
    """Return a sheet as a part of an HTML page, with headings of this level."""
    from html import escape

    lines = []
    for section in SHEETS[sheet](answer, store):
        kind = "ol" if section.numbered else "ul"
        ticked = ' class="to-tick"' if section.ticked else ""
        items = "".join(f"<li>{escape(entry)}</li>\n" for entry in section.entries)
        notes = "".join(f"\n<p>{escape(note)}</p>" for note in section.notes)
        lines.append(
            f'<div class="sheet-part">\n<h{level}>{escape(section.heading)}</h{level}>\n'
            f"<{kind}{ticked}>\n{items}</{kind}>{notes}\n</div>"
        )
    lines.append(f'<p class="caution">{escape(CAUTION_PARTS)}</p>')
    return "\n".join(lines)


def render_json(answer: PartsPlan, store: Store, sheet: str = "plan") -> str:
    """Return a sheet as one JSON object; amounts are strings with two decimals."""
    values = to_json(answer, store)
    if sheet != "plan":
        scheme = values["scheme"] or values["scheme_for_the_rest"] or {}
        listed = ("buy", "totals", "counted_together") if sheet == "shopping" else ("bench",)
        head = ("tool", "version", "caution", "currency", "met", "leave_out")
        values = {
            **{key: values[key] for key in head},
            **{key: scheme.get(key) for key in listed},
        }
    return json.dumps(values, indent=2) + "\n"


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
        "needs": [
            {**_need(need), "doll": need.doll, "want": want_data(need.want)}
            for need in answer.needs
        ],
        "scheme": None if answer.scheme is None else _scheme(answer.scheme, store),
        "short": [{"want": want_data(want), "by": count} for want, count in answer.short],
        "least_money": None if money is None else tell_amount(money),
        "reasons": [reason._asdict() for reason in answer.reasons],
        "leave_out": _keys(answer.drop),
        "scheme_for_the_rest": None if answer.rest is None else _scheme(answer.rest, store),
    }


def _keys(keys: Iterable[SignalKey]) -> list[dict[str, str]]:
    return [{"plan": key.plan, "signal": key.signal} for key in keys]


def _need(need: PartNeed) -> dict[str, Any]:
    return {"plan": need.plan, "signal": need.signal, "arm": need.arm}


def want_data(want: Want) -> dict[str, Any]:
    """Return a want as JSON values."""
    values: dict[str, Any] = {"mount" if want.is_mount else "arm": want.word, "form": want.form}
    if want.is_mount:
        values["dolls"] = want.dolls
    return {**values, "height_mm": want.height_mm}


def _scheme(scheme: Scheme, store: Store) -> dict[str, Any]:
    return {
        "fit": [
            {
                **_need(need),
                "part": part,
                "ready_made": SignalKey(need.plan, need.signal) in scheme.ready,
            }
            for need, part in scheme.served
        ],
        "use_as_it_is": scheme.as_it_is,
        "make": [_step(recipe, times) for recipe, times in scheme.steps],
        "buy": [order_data(order) for order in scheme.orders],
        "bench": bench_data(scheme, store),
        "left_over": scheme.left_over,
        "minutes": scheme.minutes,
        "totals": {key: tell_amount(total) for key, total in scheme.totals.items()},
        "counted_together": tell_amount(counted_total(scheme)),
        "proven": scheme.proven,
        "at_best": None if scheme.gap is None else _gap(scheme.gap),
    }


def _gap(gap: Gap) -> dict[str, Any]:
    amount: int | str | None = None if gap.what == "steps" else gap.at_best
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


def order_data(order: ShopOrder) -> dict[str, Any]:
    """Return the order to a shop as JSON values."""
    return {
        "shop": order.shop.id,
        "name": order.shop.name,
        "currency": order.shop.currency,
        "packs": [
            {
                "offer": offer.id,
                "packs": count,
                "contains": offer.contains,
                "each": tell_amount(offer.price),
                "cost": tell_amount(offer.price * count),
                "priced_on": offer.priced_on,
            }
            for offer, count in order.packs
        ],
        "goods": tell_amount(order.goods),
        "postage": tell_amount(order.postage),
        "total": tell_amount(order.total),
    }
