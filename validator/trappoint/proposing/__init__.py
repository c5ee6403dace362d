"""Drafting: the least signals with which a plan holds, or the least change that mends one.

Beyond ``propose``, what is here is for the library itself.
"""
