"""Plans with one slip each: does the check catch it, stay silent rightly, or miss it?

``python -m slips`` (from ``tests/``) makes thousands of slips and prints a table by kind. The
findings that a slip should get are derived here a second time, from the plain JSON and the search
in ``oracle``; only ``judging`` uses the library.
"""
