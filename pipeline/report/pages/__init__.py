"""The files a command writes: each page rendered from its content."""
