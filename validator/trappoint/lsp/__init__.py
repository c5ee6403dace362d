"""Answers for an editor while somebody writes a plan: findings, hover texts, completions, changes.

Pure functions work out each answer from a text and an offset in it; ``server`` alone knows the
protocol. They understand a text that is broken by an edit as far as they can. What needs connected
track comes from the last text that the check understood.
"""
