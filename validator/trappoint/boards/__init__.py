"""Plans that are put together from others."""
