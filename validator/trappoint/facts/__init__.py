"""The facts derived from one plan, each derived once."""
