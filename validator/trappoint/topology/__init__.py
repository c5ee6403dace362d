"""The topology of a plan: sections, places, moves, up and down ends, links between points."""
