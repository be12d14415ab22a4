"""Studies: comparisons of two meters, grinders, settings or method versions, and how precise the bench is: planned,
read on the tablet, concluded."""
