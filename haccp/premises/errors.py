"""Errors of actions, each with a sentence for the person who caused it."""

from collections.abc import Mapping


class ActionError(Exception):
    """The action was refused and nothing was written. str() says why and what to do.

    fields: form field or API key -> the sentence that concerns it; empty when it concerns the whole.
    """

    def __init__(self, message: str, *, field: str = "", fields: Mapping[str, str] | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.fields: dict[str, str] = dict(fields or {})
        if field:
            self.fields[field] = message


class NotAllowed(ActionError):
    """The person's role does not include this."""


class TooLarge(ActionError):
    """More was sent at once than is taken."""


class Conflict(ActionError):
    """Somebody else was first, or the same id was sent with other content."""
