"""Errors that a person can act on: what is wrong, where, and what to do."""


class InputError(ValueError):
    """Bad input. problem: one sentence; remedy: one sentence; line: 1-based line of a file, or None.

    str() gives the whole message, ready to be shown.
    """

    def __init__(self, problem: str, *, remedy: str = "", line: int | None = None) -> None:
        self.problem, self.remedy, self.line = problem, remedy, line
        place = f"Line {line}: " if line is not None else ""
        super().__init__(f"{place}{problem}{' ' + remedy if remedy else ''}")
