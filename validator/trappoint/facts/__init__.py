"""What is derived from one plan, each fact once."""
