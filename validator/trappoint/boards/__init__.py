"""Plans put together from the plans of their boards."""
