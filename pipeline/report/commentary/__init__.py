"""The lead's own words on a quarter, and the action plan in them: commentary/QUARTER.md of the audit folder."""
