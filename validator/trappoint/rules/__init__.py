"""The rules: they read facts and yield findings; they never print, load or draw."""
