"""What is wrong with library files: all of it at once, each with its file, its entry and the remedy."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """file: name within the library's folder. entry: id of the entry, or where in the file it stands."""

    file: str
    entry: str
    problem: str
    remedy: str = ""

    def __str__(self) -> str:
        where = f"{self.file}, {self.entry}" if self.entry else self.file
        return f"{where}: {self.problem}{' ' + self.remedy if self.remedy else ''}"


class LibraryError(ValueError):
    """The library cannot be used. findings: at least one; str() lists them a line each."""

    def __init__(self, findings: list[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(str(finding) for finding in findings))
