"""Assemble a plan from the plans of its boards."""
