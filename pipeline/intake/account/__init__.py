"""What became of every line of an export, and the lists of what was set aside."""
