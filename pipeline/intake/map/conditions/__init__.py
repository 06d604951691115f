"""What decides whether a line of a sheet gives a row: how a mapping says it, and what it makes of the lines."""
