"""What a field of a plan's part may hold, and the JSON that follows from it.

Each field is declared once, with its name in words and its bounds; the JSON Schema, the JSON of a part and the part
of a JSON object are derived from that. No database.
"""

import dataclasses
import datetime as dt
import math
from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from typing import Any, TypeVar
from uuid import uuid4

from haccp.science.ruling import JsonValue

LONGEST_TEXT = 20_000
KEY_PATTERN = "^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
DAY_PATTERN = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"


class Form(StrEnum):
    TEXT = "text"
    CHOICE = "choice"
    WHOLE = "whole"
    NUMBER = "number"
    FLAG = "flag"
    DAY = "day"
    TEXTS = "texts"
    DATA = "data"
    KEY = "key"
    PART = "part"  # another part of the same plan, by its key
    PARTS = "parts"
    PRODUCTS = "products"  # by their codes
    PLACE = "place"  # by its name


@dataclasses.dataclass(frozen=True, slots=True)
class Spec:
    """One field. words: its name as people say it. column: attribute of the model, the field's own name when empty.

    most: characters. low, high: bounds of a number. options: of a choice. target: kind of part referred to.
    owned: the part belongs to the one referred to, and goes with it. optional: may be null (or empty, for text).
    newer: a file written before the field was there may leave it out; its default then stands.
    """

    form: Form
    words: str
    column: str = ""
    most: int = LONGEST_TEXT
    low: float = -math.inf
    high: float = math.inf
    options: tuple[str, ...] = ()
    target: str = ""
    owned: bool = False
    optional: bool = True
    newer: bool = False


def _declared(spec: Spec, **default: Any) -> Any:
    return dataclasses.field(metadata={"spec": spec}, **default)


def key() -> Any:
    return _declared(Spec(Form.KEY, "key", optional=False), default_factory=lambda: str(uuid4()))


def text(words: str, *, most: int = LONGEST_TEXT, needed: bool = False) -> Any:
    default: dict[str, Any] = {} if needed else {"default": ""}
    return _declared(Spec(Form.TEXT, words, most=most, optional=not needed), **default)


def choice(words: str, options: Iterable[str], default: str | None = None, *, newer: bool = False) -> Any:
    """Without a default, one of the options must be given."""
    given: dict[str, Any] = {} if default is None else {"default": default}
    return _declared(Spec(Form.CHOICE, words, options=tuple(options), optional=False, newer=newer), **given)


def whole(words: str, *, low: int = 0, high: int = 32_767, needed: bool = False, default: int | None = None) -> Any:
    given: dict[str, Any] = {} if needed else {"default": default}
    optional = not needed and default is None
    return _declared(Spec(Form.WHOLE, words, low=low, high=high, optional=optional), **given)


def number(words: str, *, low: float = -math.inf, high: float = math.inf) -> Any:
    return _declared(Spec(Form.NUMBER, words, low=low, high=high), default=None)


def flag(words: str, *, default: bool = False) -> Any:
    return _declared(Spec(Form.FLAG, words, optional=False), default=default)


def day(words: str) -> Any:
    return _declared(Spec(Form.DAY, words), default=None)


def texts(words: str, *, most: int = 80) -> Any:
    return _declared(Spec(Form.TEXTS, words, most=most, optional=False), default=())


def data(words: str) -> Any:
    return _declared(Spec(Form.DATA, words, optional=False), default_factory=dict)


def part(words: str, target: str, *, needed: bool = False, owned: bool = False, column: str = "") -> Any:
    default: dict[str, Any] = {} if needed else {"default": None}
    spec = Spec(Form.PART, words, column, target=target, owned=owned, optional=not needed)
    return _declared(spec, **default)


def parts(words: str, target: str) -> Any:
    return _declared(Spec(Form.PARTS, words, target=target, optional=False), default=())


def products(words: str = "products") -> Any:
    return _declared(Spec(Form.PRODUCTS, words, optional=False), default=())


def product(words: str = "product") -> Any:
    return _declared(Spec(Form.PRODUCTS, words, most=8, optional=False))


def place(words: str = "place") -> Any:
    return _declared(Spec(Form.PLACE, words, most=80), default=None)


_specs: dict[Any, dict[str, Spec]] = {}


def specs_of(kind: Any) -> dict[str, Spec]:
    """Field -> what it may hold, in the order of declaration; fields without a spec are lists of parts."""
    if kind not in _specs:
        _specs[kind] = {f.name: f.metadata["spec"] for f in dataclasses.fields(kind) if "spec" in f.metadata}
    return _specs[kind]


def is_single(kind: type, name: str) -> bool:
    """Whether a field of products holds one."""
    return specs_of(kind)[name].form is Form.PRODUCTS and name == "product"


# --- JSON ---

P = TypeVar("P")


def to_json(item: Any) -> dict[str, JsonValue]:
    """A part as a JSON object; days as text, what people ordered in its order, data with its keys in order."""
    return {name: _written(spec, getattr(item, name)) for name, spec in specs_of(type(item)).items()}


def _written(spec: Spec, value: Any) -> JsonValue:
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, tuple):
        return list(value)
    if spec.form is Form.DATA:
        return _in_order(value)
    if spec.form is Form.NUMBER and value is not None:
        return int(value) if float(value).is_integer() else float(value)
    return value  # type: ignore[no-any-return]


def _in_order(value: Any) -> JsonValue:
    if isinstance(value, Mapping):
        return {str(name): _in_order(value[name]) for name in sorted(value)}
    if isinstance(value, list | tuple):
        return [_in_order(item) for item in value]
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value  # type: ignore[no-any-return]


def from_json(kind: type[P], given: Mapping[str, Any]) -> P:
    """A part of a JSON object that its schema has accepted."""
    return kind(
        **{name: _read(spec, given[name], kind, name) for name, spec in specs_of(kind).items() if name in given}
    )


def _read(spec: Spec, value: Any, kind: type, name: str) -> Any:
    if value is None:
        return None
    if spec.form in (Form.TEXTS, Form.PARTS) or (spec.form is Form.PRODUCTS and not is_single(kind, name)):
        return tuple(value)
    if spec.form is Form.NUMBER:
        return float(value)
    if spec.form is Form.WHOLE:
        return int(value)
    if spec.form is Form.DAY:
        return dt.date.fromisoformat(value)
    return value


# --- JSON Schema ---


def schema_of(kind: type) -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a part: every field but newer ones must be there, and no other."""
    specs = specs_of(kind)
    return {
        "type": "object",
        "description": (kind.__doc__ or "").split("\n")[0],
        "properties": {name: _property(spec, is_single(kind, name)) for name, spec in specs.items()},
        "required": [name for name, spec in specs.items() if not spec.newer],
        "additionalProperties": False,
    }


def _property(spec: Spec, single: bool) -> dict[str, Any]:
    made = _BY_FORM[spec.form](spec, single)
    if spec.optional and spec.form is not Form.TEXT:
        made["type"] = [made["type"], "null"]
    return {"description": spec.words, **made}


def _string(spec: Spec, single: bool) -> dict[str, Any]:
    return {"type": "string", "maxLength": spec.most, **({} if spec.optional else {"minLength": 1})}


def _bounded(name: str) -> Callable[[Spec, bool], dict[str, Any]]:
    def made(spec: Spec, single: bool) -> dict[str, Any]:
        bounds = {"minimum": spec.low, "maximum": spec.high}
        return {"type": name, **{end: value for end, value in bounds.items() if math.isfinite(value)}}

    return made


def _list(item: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": item, "maxItems": 500}


def _reference(spec: Spec, single: bool) -> dict[str, Any]:
    return {"type": "string", "pattern": KEY_PATTERN}


_CODE = {"type": "string", "minLength": 1, "maxLength": 8}
_BY_FORM: dict[Form, Callable[[Spec, bool], dict[str, Any]]] = {
    Form.TEXT: _string,
    Form.CHOICE: lambda spec, single: {"type": "string", "enum": list(spec.options)},
    Form.WHOLE: _bounded("integer"),
    Form.NUMBER: _bounded("number"),
    Form.FLAG: lambda spec, single: {"type": "boolean"},
    Form.DAY: lambda spec, single: {"type": "string", "pattern": DAY_PATTERN},
    Form.TEXTS: lambda spec, single: _list({"type": "string", "minLength": 1, "maxLength": spec.most}),
    Form.DATA: lambda spec, single: {"type": "object"},
    Form.KEY: _reference,
    Form.PART: _reference,
    Form.PARTS: lambda spec, single: _list(_reference(spec, single)),
    Form.PRODUCTS: lambda spec, single: dict(_CODE) if single else _list(dict(_CODE)),
    Form.PLACE: lambda spec, single: {"type": "string", "minLength": 1, "maxLength": spec.most},
}
