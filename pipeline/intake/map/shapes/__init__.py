"""The shapes that sheets have: groups of columns that repeat, sheets that are alike."""
