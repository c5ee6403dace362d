"""What fits, against published values and against geometry worked out another way."""
