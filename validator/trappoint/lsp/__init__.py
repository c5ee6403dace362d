"""The editor's companion: findings, answers and changes for a plan while it is being written.

All that is answered is worked out by pure functions from a text and an offset in it; ``server``
alone knows the protocol. A text that is broken while somebody types is understood as far as sense
can be made of it; what needs the track to hang together comes from the last text that did.
"""
