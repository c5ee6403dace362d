"""The parts planner: what a plan needs, what the club has, what to make and what to buy.

``read_store`` reads a store, ``demand_of`` derives what plans need, and ``plan_parts`` finds the
cheapest way from the one to the other, exactly. It uses the library's public face alone; the
solver (HiGHS, the extra ``parts``) is imported only when there is something to solve.
"""

from __future__ import annotations

from trappoint.parts.demand import Need, SignalKey, Want, demand_of, signals_of
from trappoint.parts.money import parse_amount, tell_amount
from trappoint.parts.planning import Order, PartsPlan, Scheme, counted_total, plan_parts
from trappoint.parts.programme import NotInstalled
from trappoint.parts.store import Offer, Part, Recipe, Shop, Store
from trappoint.parts.store_reading import StoreReport, read_store, store_schema

__all__ = [
    "Need",
    "NotInstalled",
    "Offer",
    "Order",
    "Part",
    "PartsPlan",
    "Recipe",
    "Scheme",
    "Shop",
    "SignalKey",
    "Store",
    "StoreReport",
    "Want",
    "counted_total",
    "demand_of",
    "parse_amount",
    "plan_parts",
    "read_store",
    "signals_of",
    "store_schema",
    "tell_amount",
]
