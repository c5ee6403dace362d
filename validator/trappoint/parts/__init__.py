"""The parts planner: what a plan needs, what the club has, what to make and what to buy.

``read_store`` reads a store, ``demand_of`` derives what plans need, and ``plan_parts`` finds the
cheapest way from the one to the other, exactly. It uses the library's public face alone; the
solver (HiGHS, the extra ``parts``) is imported only when there is something to solve.
"""
