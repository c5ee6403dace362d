"""What fits: scales, fouling places, lengths of trains, the room for posts.

Nothing here is guessed. Where a measure is not given there is no answer, and an answer says from
which published value it follows. Values that could not be looked up carry "from memory" with them.
"""
