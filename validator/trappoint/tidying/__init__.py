"""The one text layout of plans, and its explicit and short forms."""
