"""What stands in a part of a page, ready to print: sentences, tables, charts."""
