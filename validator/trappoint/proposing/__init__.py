"""Proposals: the least signals with which a plan holds, or the least change that mends one.

``propose`` is the public function; the other modules are for the library itself.
"""
