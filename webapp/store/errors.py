"""What the store can say went wrong. webapp/errors.py turns these into pages."""


class StoreError(Exception):
    """Anything the store refuses."""


class NotFound(StoreError):
    """There is no such row."""


class AlreadyThere(StoreError):
    """The id is taken by a record with other content."""


class WrongSchema(StoreError):
    """The database has not been migrated to this version of the software (or is from a newer one)."""
