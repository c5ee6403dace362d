"""The verdict and the locking table, proved with a solver from the plan and the printed table.

``roads`` reads a plan's ground afresh, ``printed`` reads the table as it is printed, ``system``
builds from both what two trains can do, ``steps`` writes that as formulas, ``prover`` settles with
a SAT solver whether they can be brought together, ``reasons`` asks for each conflict of the table
what it is good for.
"""
