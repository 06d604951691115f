"""The demo export: an invented service whose records a newcomer can load, read and take apart.

Comes in: a seed and the declared habits of a service that does not exist. Goes out: the generated files of
demo_export/, the same bytes every time. Refuses: anything taken from a real service, place or family.
"""
