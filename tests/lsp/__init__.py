"""Tests of the language server: its answers and the protocol."""
