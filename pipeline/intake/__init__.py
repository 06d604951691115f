"""Exports in: read, check, account for every line."""
