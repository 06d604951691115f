"""Amounts that say their unit in the cell."""
