"""Tests that the plans in ``examples/`` agree with the page there."""
