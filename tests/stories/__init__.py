"""The story of every measure: tiny cases on its boundary days, each answer written by hand from the definition.

A measure has a file here of its own name. tests/test_stories.py loads all of them as one export and compares.
"""
