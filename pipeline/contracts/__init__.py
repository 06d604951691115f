"""What is declared in files of its own: the export layout, and the SQL files, each kind held to its contract."""
