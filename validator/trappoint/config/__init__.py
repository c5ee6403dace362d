"""A club's settings, read strictly."""
