"""Thirteen cases built by hand, with all their answers by hand."""
