"""Fitting the signals: the place of each post, and the order of work."""
