"""The verdict and the locking table, proved with a solver from the plan and the printed table.

The ground of a plan is read afresh from the format's page: ``held`` writes out held edges,
``pieces`` cuts and joins the tracks, ``roads`` finds the moves, ``routes`` the routes and their
conflicts, ``guards`` the trap groups that can be relied on. ``printed`` reads the table as it is
printed, ``system`` builds from both what two trains can do, ``steps`` writes that as formulas.
``prover`` settles with a SAT solver whether the trains can be brought together, ``movement``
follows what the check shows, ``reasons`` asks what each conflict of the table is good for.
"""
