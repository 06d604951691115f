"""From the store to the results: the SQL of cases and measures, run and held to its contract."""
