"""The parts planner: which parts to use, make and buy for the signals of plans.

``read_store`` reads a store, ``demand_of`` derives the needs of plans, and ``plan_parts`` finds the
cheapest way to meet them, exactly. The planner uses the public Python API alone. It imports the
solver (HiGHS, the extra ``parts``) only to solve a case.
"""
