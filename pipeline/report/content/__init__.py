"""What the pages are made of: gathered from the store and the results, once."""
