"""What the values of a column say: dates and their style, codes and their meaning, whether they fit."""
