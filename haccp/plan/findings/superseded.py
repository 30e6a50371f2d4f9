"""Sources that were replaced, so that a value that still rests on one is found."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Superseded:
    """mark: text that names the old source in a citation, lower case. since: as far as it is known."""

    mark: str
    by: str
    since: str = ""
