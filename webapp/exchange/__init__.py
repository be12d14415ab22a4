"""Data out of the bench, in open formats."""
