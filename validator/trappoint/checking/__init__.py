"""The check, and its report."""
