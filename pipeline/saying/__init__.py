"""What each command says on the terminal when it has done its work."""
