"""From the plan to the layout: where each post goes, and in which order signals are fitted."""
