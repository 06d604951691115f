"""A first mapping for an export, for a person who is no programmer to read, mend and use."""
