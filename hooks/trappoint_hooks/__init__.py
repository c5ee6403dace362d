"""Programs that git and pre-commit call: hooks, a merge driver and a diff driver."""
