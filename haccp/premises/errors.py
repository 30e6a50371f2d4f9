"""Errors of actions, each with a sentence for the person who caused it."""


class ActionError(Exception):
    """The action was refused and nothing was written. str() says why and what to do.

    field: the form field or API key that it concerns, "" for the whole.
    """

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.message, self.field = message, field


class NotAllowed(ActionError):
    """The person's role does not include this."""


class Conflict(ActionError):
    """Somebody else was first, or the same id was sent with other content."""
