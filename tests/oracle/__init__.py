"""Independent machinery against which the verdicts of the library are proved.

Nothing here imports the library: the same definitions are worked out a second time, as
literally as they are written down, from the plain JSON of a plan.
"""
