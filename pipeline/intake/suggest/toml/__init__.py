"""The suggested mapping as text: its blocks, its lists of codes, its open questions."""
