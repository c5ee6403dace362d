"""Tests of reports, and of the plans and findings that a check leaves out."""
