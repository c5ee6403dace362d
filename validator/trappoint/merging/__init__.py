"""Three versions of a plan made one, by id and key."""
