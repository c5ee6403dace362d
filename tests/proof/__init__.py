"""The verdict and the locking table, proved with a solver from the plan and the printed table.

The ground of a plan is derived from the format's page alone: ``held`` writes out held edges,
``pieces`` cuts and joins the tracks, ``roads`` finds the moves, ``routes`` the routes and their
conflicts, ``guards`` the trap groups that guard. ``printed`` reads the printed table. From both,
``system`` builds the steps of two trains, and ``steps`` writes them as formulas. ``prover`` decides
with a SAT solver whether two trains can meet, ``movement`` follows the movements of the check, and
``reasons`` finds the reason for each conflict of the table.
"""
