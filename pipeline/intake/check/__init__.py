"""Written rows held to the rules of the layout: rules about one column, rules about rows and tables."""
