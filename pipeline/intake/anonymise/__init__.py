"""A service's own workbook with names in it, into an export without: which columns go, and what takes their place."""
