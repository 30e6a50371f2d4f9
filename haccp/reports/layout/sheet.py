"""What every section is laid out for."""

from dataclasses import dataclass, field, replace

from haccp.drawing.layout import PRINT, Layout
from haccp.drawing.pdf import PictureFlowable
from haccp.drawing.picture import Picture
from haccp.reports.dates import LocalTime
from haccp.reports.draw.document import Tick
from haccp.reports.draw.paper import Paper
from haccp.reports.layout.addresses import Addresses

# Points under a picture's own height: the words above it, with or without a QR code beside them, and the gap below.
WORDS_ABOVE, CODED_WORDS_ABOVE = 52.0, 82.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """tick: told how many lines or pictures have been laid out, for the progress bar. has_records: whether the
    records of the plan stand in the same document. in_fahrenheit: what the reader reads temperatures in.
    """

    paper: Paper
    time: LocalTime
    tick: Tick
    has_records: bool = True
    in_fahrenheit: bool = False
    addresses: Addresses = field(default_factory=lambda: Addresses(""))

    def third_of_a_page(self, above: float = WORDS_ABOVE) -> Layout:
        """For a picture that stands on a page with two others. above: room for the words around it."""
        scale = PRINT.width / self.paper.text_width
        return replace(PRINT, height=(self.paper.text_height / 3 - above) * scale)

    def fitted(self, picture: Picture, above: float = WORDS_ABOVE) -> PictureFlowable:
        """A picture whose labels need more height than a third of the page is drawn a little smaller."""
        room = self.paper.text_height / 3 - above
        width = min(self.paper.text_width, room * picture.width / picture.height)
        return PictureFlowable(picture, width)
