"""Plans to begin with: the track of usual stations, laid by rule, one after another.

``lay_out`` lays shapes along one line from west to east and returns a document of the format,
without signals; ``read_piece`` reads what a person asks for, and ``write_plan`` writes the plan.
All of it is pure.
"""
