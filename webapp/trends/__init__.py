"""Trends: the run of a product's results as a control chart, what it says, and whether the band can be held."""
