"""What changed between two plans, in the railway's terms."""
