"""Starting plans: the track of common stations, laid one after another.

``read_piece`` reads a request for a shape. ``lay_out`` lays shapes along one line from west to east
and returns a plan without signals. ``set_on`` returns what a shape adds at a free end of any plan.
``write_plan`` returns the text of a plan; ``shapes_as_data`` lists the shapes. All functions are
pure.
"""
