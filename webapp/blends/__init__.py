"""Blend-off: what can be mixed so that it is in band, the trial that is read first, and what the shop learns by it."""
