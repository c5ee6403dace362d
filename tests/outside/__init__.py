"""The library held against what others published: locking tables, rules, and reversing loops."""
