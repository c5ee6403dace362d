"""Compare two plans, in railway terms."""
