"""The published report and the files beside it, each made from the public frame alone."""
