"""Starting plans: the track of common stations, laid one after another.

``read_piece`` reads a request for a shape. ``lay_out`` lays shapes along one line from west to east
and returns a plan without signals. ``write_plan`` returns its text. All functions are pure.
"""
