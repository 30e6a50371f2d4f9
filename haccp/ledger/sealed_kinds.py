"""Where the rooms above say which of their rows are sealed, so that verification can compare rows with entries.

A room registers each kind that it seals in its `AppConfig.ready()`. A registered kind means: one row, one entry in
the row's log, under one subject. What may happen to a row several times (an amendment, a release) is a row of its
own.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

FetchBodies = Callable[[Sequence[str]], Mapping[str, Mapping[str, object]]]
AllSubjects = Callable[[str], Iterable[str]]


@dataclass(frozen=True, slots=True)
class SealedKind:
    """fetch_bodies: subjects → the body that sealing each row would give today, where there is such a row.
    all_subjects: key of a log → the subjects of all rows that belong to it, without loading them all at once.
    """

    kind: str
    fetch_bodies: FetchBodies
    all_subjects: AllSubjects | None = None


_registered: dict[str, SealedKind] = {}


def register(kind: str, *, fetch_bodies: FetchBodies, all_subjects: AllSubjects | None = None) -> None:
    """Say how the rows of a kind are read. Errors: ValueError where another room has taken the name."""
    new = SealedKind(kind, fetch_bodies, all_subjects)
    if _registered.setdefault(kind, new) != new:
        raise ValueError(f"The kind “{kind}” is registered already, with another way to read its rows.")


def registered() -> dict[str, SealedKind]:
    """All registered kinds by name."""
    return dict(_registered)
