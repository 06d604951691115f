"""The export as a whole, beside the load of its source before it: held back, or not."""
