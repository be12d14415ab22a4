"""The property tests draw the same examples on every run and on every machine, slow ones too."""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
settings.register_profile("search", max_examples=3000, deadline=None, database=None)
settings.load_profile("repeatable")
