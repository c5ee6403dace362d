"""What commands, hooks and the editor's companion share."""
