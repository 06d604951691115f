"""Which column of a sheet gives which layout column, and how sure that is."""
