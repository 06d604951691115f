"""The program comes first: it says how many threads NumPy has, which asks when it is imported."""

import pipeline  # noqa: F401
