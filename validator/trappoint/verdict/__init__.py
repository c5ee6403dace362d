"""The verdict: whether a plan holds, and if not, a movement that shows it."""
