"""Errors that the ledger raises, each a sentence that a person can act on."""


class LedgerError(Exception):
    """Something that the ledger refuses to do; str() says what and what to do instead."""
