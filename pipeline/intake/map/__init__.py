"""How the columns and codes of a service become those of the export layout: the mapping file and what it means."""
