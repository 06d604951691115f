"""The caseload outcomes pipeline: exports in, a report of what happened to everyone out."""

__version__ = "0.5.1"
