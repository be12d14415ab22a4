"""Comparisons of two meters, grinders, settings or method versions: planned, read on the tablet, concluded."""
