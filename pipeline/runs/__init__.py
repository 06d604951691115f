"""The shorter ways beside the spine, one module each, and what every way did (`run_results.py`)."""
