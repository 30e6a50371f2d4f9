"""Sources that were replaced, so that a value that still rests on one is found."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Superseded:
    """mark: text that names the old source in a citation, lower case. since: as far as it is known."""

    mark: str
    by: str
    since: str = ""


SUPERSEDED: tuple[Superseded, ...] = (
    Superseded("standard 1.6.2", "Food Standards Code, Standard 4.2.4, clause 16", "28 June 2012"),
    Superseded("b.08.048", "the criteria incorporated by reference (SOR/2024-244)", "18 December 2024"),
    Superseded("1881/2006", "Regulation (EU) 2023/915"),  # from memory
    Superseded("1995/1372", "the retained Regulation (EC) 853/2004"),
    Superseded("92/46/eec", "Regulation (EC) 853/2004"),  # from memory
    Superseded("178.1010", "40 CFR 180.940"),
    Superseded("1-1969, rev. 3", "CXC 1-1969 (2022)"),
    Superseded("1-1969, rev. 4", "CXC 1-1969 (2022)"),
    Superseded("1-1969 (2003)", "CXC 1-1969 (2022)"),
    Superseded("1-1969 (2020)", "CXC 1-1969 (2022)"),
)
