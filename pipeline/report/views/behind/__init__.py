"""What stands behind a figure, in words: its cases, the dates that gave their answers, their lines."""
