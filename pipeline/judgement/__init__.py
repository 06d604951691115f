"""What may be said of a figure: numbers in, a verdict with its reason out, and no words."""
