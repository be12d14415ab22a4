"""Decisions: what waits for one, and what becomes of a batch."""
