"""Hooks for git: programs that git, or a program beside it, calls at its own moments."""
