"""What an export without a mapping holds: its lines of names, its columns, the words of the trade in them."""
