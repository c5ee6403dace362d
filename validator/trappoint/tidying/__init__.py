"""One layout for the text of every plan, whoever wrote it."""
