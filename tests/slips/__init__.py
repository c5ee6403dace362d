"""One slip at a time in plans that hold: is it caught, rightly passed over, or missed?

``python -m slips`` (from ``tests/``) makes thousands of them and prints the table by kind. What a
plan with a slip in it should be told is worked out here a second time, from the plain JSON and the
search in ``oracle``; nothing here but ``judging`` asks the library.
"""
