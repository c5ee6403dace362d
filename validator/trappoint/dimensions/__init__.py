"""Dimensions: scales, fouling places, lengths of trains, the room beside posts.

Nothing here is a guess: if the plan lacks a measure, there is no answer. Each answer names the
published value that it follows from. Values without a confirmed source are marked "unconfirmed".
"""
