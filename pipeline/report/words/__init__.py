"""Numbers, dates, codes and verdicts as a reader says them."""
