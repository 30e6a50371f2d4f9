"""The last line of a file that ends without a line end: whole, or cut in its middle?"""

from haccp.science.recorder import messages, numerals
from haccp.science.recorder.layout import split_line

_MODELS = 200


def without_cut_line(body: bytes, *, first_line: int, delimiter: str, count: int) -> tuple[bytes, tuple[str, ...]]:
    """The body without a last line that was cut, or may have been, and a note that says so.

    A line with its line end is whole. Without one it must prove it: all its fields, and a last field that cannot
    be the beginning of a longer one, going by the lines before. Half a reading would be a wrong reading, and a
    recording one sample shorter does no harm.
    """
    kept, _, last = body.rpartition(b"\n")
    if not last.strip():
        return body, ()
    fields = split_line(last.decode(errors="replace"), delimiter)
    before = [split_line(line, delimiter) for line in _lines_at_end(kept)]
    models = [row[-1] for row in before if len(row) == len(fields)]
    is_short = len(fields) < max(count, len(before[-1]) if before else 0)
    if last.count(b'"') % 2 == 0 and not is_short and _is_whole(fields[-1], models, len(fields) > count):
        return body, ()
    return kept, (messages.note_cut_line(first_line + body.count(b"\n")),)


def _lines_at_end(body: bytes) -> list[str]:
    lines = body.rsplit(b"\n", _MODELS)[-_MODELS:]
    return [line.decode(errors="replace") for line in lines if line.strip()]


def _is_whole(field: str, models: list[str], is_beyond_heads: bool) -> bool:
    if not field:
        return is_beyond_heads and not any(models)
    if not numerals.is_number(field):
        return field in models or (
            not numerals.is_missing_mark(field) and len(field) >= max(map(len, models), default=0)
        )
    numbers = [model for model in models if numerals.is_number(model)]
    decimals = max(map(_decimals, numbers), default=0)
    if decimals:
        return _decimals(field) >= decimals
    return bool(numbers) and all(len(model) == len(field) for model in numbers)


def _decimals(number: str) -> int:
    return len(number.replace(",", ".").partition(".")[2])
