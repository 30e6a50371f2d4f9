"""What is wrong with library files: all of it at once, each with its file, its entry and the remedy."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """file: name within the library's folder. entry: id of the entry, or where in the file it stands."""

    file: str
    entry: str
    problem: str
    remedy: str = ""

    def __str__(self) -> str:
        where = f"{self.file}, {self.entry}" if self.entry else self.file
        return f"{where}: {self.problem}{' ' + self.remedy if self.remedy else ''}"


class LibraryError(ValueError):
    """The library cannot be used. faults: at least one; str() lists them a line each."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in faults))
