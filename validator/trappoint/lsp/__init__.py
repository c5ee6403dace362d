"""The language server: findings, hover texts, completions and changes for an editor.

Pure functions answer from a text and an offset; ``server`` alone knows the protocol. They parse a
broken text as far as possible. Routes and locking come from the last text that could be checked.
"""
