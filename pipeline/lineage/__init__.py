"""From a figure back to the lines of the exports it came from."""
