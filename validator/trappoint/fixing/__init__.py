"""Quick fixes: what mends a finding at once, as changes of the text or as steps of laying."""
