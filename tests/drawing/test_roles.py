import re
from pathlib import Path

import pytest

from haccp.drawing.roles import INKS, Role

CSS = Path(__file__).parents[2] / "haccp" / "static" / "css" / "pictures.css"
WRITTEN_ON_WHITE = set(Role) - {Role.PLOT, Role.GRID, Role.FORBIDDEN}


def luminance(colour: str) -> float:
    """Relative luminance by the definition in WCAG 2.2."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio by the definition in WCAG 2.2."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_agrees_with_the_published_extremes() -> None:
    # WCAG 2.2: ratios range from 1 to 21, black on white being 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("role", sorted(WRITTEN_ON_WHITE))
@pytest.mark.parametrize("ground", [Role.PLOT, Role.BAND, Role.HOLD])
def test_every_ink_can_be_read_on_every_ground(role: Role, ground: Role) -> None:
    # WCAG 2.2 success criterion 1.4.3: 4.5 to 1 for text.
    assert contrast(INKS[role].line, INKS[ground].area) >= 4.5


def test_page_and_paper_use_the_same_inks() -> None:
    rules = re.findall(
        r"^\.pic-(\w+) \{ --ink: (#\w{6}); --area: (#\w{6}); --pen: ([\d.]+)px; \}$", CSS.read_text(), re.MULTILINE
    )

    assert {role: (ink, area, float(pen)) for role, ink, area, pen in rules} == {
        str(role): (ink.line, ink.area, ink.width) for role, ink in INKS.items()
    }
    assert set(INKS) == set(Role)


def test_the_style_sheet_loads_nothing_from_elsewhere_and_its_files_are_there() -> None:
    urls = re.findall(r'url\("([^"]+)"\)', CSS.read_text())

    assert urls
    assert all((CSS.parent / url).resolve().is_file() for url in urls)
