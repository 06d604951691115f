"""Statistics: pure functions, numbers in and numbers out.

Comes in: counts, as numbers or arrays. Goes out: fractions and days, NaN where undefined. Refuses: to touch the store,
a page or a file.
"""
