"""Journeys: how a train comes from a stand to a stand, with other trains standing where they do.

A train that is *at rest* either stands, in a stand, and may set off in any heading that its track
allows; or it is held by a signal that faces it. In between it takes routes whole, one after
another, and runs freely where no signal faces it. Nothing else moves meanwhile.
"""
