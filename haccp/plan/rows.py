"""Between a plan's rows and the plan as a value: read whole in a constant number of queries, written in bulk."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID, uuid4

from django.db.models import ManyToManyField, Model

from haccp.plan.document import KINDS, Part, PlaceNamed, PlanDocument, ProductNamed, kind_name
from haccp.plan.document.document import in_reading_order
from haccp.plan.document.shape import Form, Spec, is_single, specs_of
from haccp.plan.models import (
    Borrowed,
    Check,
    ControlMeasure,
    ControlPoint,
    CriticalLimit,
    DecisionAnswers,
    FlowLink,
    Hazard,
    KeptDocument,
    Measure,
    OpenJudgement,
    PlanRevision,
    ProcessStep,
    Product,
    ProductDescription,
    ReviewTrigger,
    RiskLevel,
    StepMaterial,
    TeamMember,
    Validation,
    Verification,
)
from haccp.plan.models.part import PartOfPlan
from haccp.premises.models import Place

MODELS: dict[str, type[PartOfPlan]] = {
    "team_members": TeamMember,
    "descriptions": ProductDescription,
    "steps": ProcessStep,
    "materials": StepMaterial,
    "links": FlowLink,
    "risk_levels": RiskLevel,
    "hazards": Hazard,
    "control_points": ControlPoint,
    "control_measures": ControlMeasure,
    "decisions": DecisionAnswers,
    "limits": CriticalLimit,
    "checks": Check,
    "measures": Measure,
    "validations": Validation,
    "verifications": Verification,
    "documents": KeptDocument,
    "review_triggers": ReviewTrigger,
    "borrowed": Borrowed,
    "judgements": OpenJudgement,
}
HEADER = (
    "scope_statement",
    "change_summary",
    "significant_from",
    "always_significant_severity",
    "review_every_months",
    "records_reviewed_within",
)
_MANY = (Form.PARTS, Form.PRODUCTS)


def _is_many(kind: type, name: str, spec: Spec) -> bool:
    return spec.form in _MANY and not is_single(kind, name)


def _manager(model: type[PartOfPlan]) -> Any:
    return model._default_manager


# --- Reading ---


def read_plan(revision: PlanRevision) -> PlanDocument:
    """The whole revision. The number of queries does not depend on its size."""
    rows: dict[str, list[PartOfPlan]] = {
        kind: list(_manager(model).filter(revision=revision).order_by()) for kind, model in MODELS.items()
    }
    products = {product.pk: product for product in Product.objects.filter(premises=revision.premises_id)}
    place_ids = {row.place_id for row in rows["checks"] if isinstance(row, Check) and row.place_id}
    places = {place.pk: place for place in Place.objects.filter(pk__in=place_ids)}
    names: dict[UUID, str] = {row.pk: row.key for kind in rows.values() for row in kind}
    names |= {pk: product.code for pk, product in products.items()} | {pk: place.name for pk, place in places.items()}
    parts = {kind: in_reading_order(kind, _parts(kind, found, revision, names)) for kind, found in rows.items()}
    spoken_of = _codes_in(parts)
    header: dict[str, Any] = {name: getattr(revision, name) for name in HEADER} | parts
    return PlanDocument(
        **header,
        products=tuple(
            named(product)
            for product in sorted(products.values(), key=lambda product: product.code)
            if product.code in spoken_of or product.retired_at is None
        ),
        places=tuple(
            PlaceNamed(name=place.name, kind=place.kind, walking_order=place.walking_order)
            for place in sorted(places.values(), key=lambda place: place.name)
        ),
    )


def named(product: Product) -> ProductNamed:
    """A product by its identity, as documents name it."""
    return ProductNamed(
        code=product.code,
        name=product.name,
        species=product.species,
        treatment=product.treatment,
        family=product.family,
    )


def _codes_in(parts: Mapping[str, Sequence[Any]]) -> set[str]:
    found = {description.product for description in parts["descriptions"]}
    for part in (*parts["steps"], *parts["limits"], *parts["checks"]):
        found.update(part.products)
    return found


def _parts(kind: str, rows: Sequence[PartOfPlan], revision: PlanRevision, names: Mapping[UUID, str]) -> list[Part]:
    made: Any = KINDS[kind]
    specs = specs_of(made)
    linked = {
        name: _linked(MODELS[kind], spec.column or name, revision, names)
        for name, spec in specs.items()
        if _is_many(made, name, spec)
    }
    return [
        made(
            **{
                name: tuple(sorted(linked[name].get(row.pk, ()))) if name in linked else _value(row, name, spec, names)
                for name, spec in specs.items()
            }
        )
        for row in rows
    ]


def _linked(
    model: type[PartOfPlan], column: str, revision: PlanRevision, names: Mapping[UUID, str]
) -> dict[UUID, list[str]]:
    """Primary key of the row -> names of what it is linked to; one query for all rows."""
    field = model._meta.get_field(column)
    assert isinstance(field, ManyToManyField)
    through: Any = field.remote_field.through
    owner, other = field.m2m_field_name(), field.m2m_reverse_field_name()
    found: dict[UUID, list[str]] = {}
    pairs = through._default_manager.filter(**{f"{owner}__revision": revision})
    for row_id, other_id in pairs.values_list(f"{owner}_id", f"{other}_id"):
        found.setdefault(row_id, []).append(names[other_id])
    return found


def _value(row: PartOfPlan, name: str, spec: Spec, names: Mapping[UUID, str]) -> Any:
    column = spec.column or name
    if spec.form is Form.KEY:
        return row.key
    if spec.form is Form.PART and not spec.target:
        value = getattr(row, column)
        return None if value is None else str(value)
    if spec.form in (Form.PART, Form.PLACE, Form.PRODUCTS):
        value = getattr(row, f"{column}_id")
        return None if value is None else names[value]
    value = getattr(row, column)
    return tuple(value) if spec.form is Form.TEXTS else value


# --- Writing ---


class Names:
    """What keys, product codes and names of places stand for at one premises: their primary keys."""

    def __init__(self, ids: Mapping[str, UUID], products: Mapping[str, UUID], places: Mapping[str, UUID]) -> None:
        self.ids, self.products, self.places = dict(ids), dict(products), dict(places)

    @classmethod
    def of(cls, revision: PlanRevision) -> "Names":
        """Of every part of the revision, and of the products and places of its premises."""
        ids = {
            str(origin or pk): pk
            for model in MODELS.values()
            for pk, origin in _manager(model).filter(revision=revision).order_by().values_list("pk", "origin")
        }
        here = revision.premises_id
        return cls(
            ids,
            dict(Product.objects.filter(premises=here).values_list("code", "pk")),
            dict(Place.objects.filter(premises=here).values_list("name", "pk")),
        )


def add_parts(revision: PlanRevision, parts: Iterable[Part], names: Names) -> None:
    """Writes new parts, which may refer to one another and to those in names. Nothing is checked here."""
    by_kind: dict[str, list[Part]] = {kind: [] for kind in KINDS}
    for part in parts:
        by_kind[kind_name(part)].append(part)
        names.ids[part.key] = uuid4()
    for kind, found in by_kind.items():
        model = MODELS[kind]
        rows = [
            model(id=names.ids[part.key], revision=revision, origin=UUID(part.key), **_columns(part, names))
            for part in found
        ]
        _manager(model).bulk_create(rows, batch_size=200)
        _link(kind, found, names)


def change_part(revision: PlanRevision, part: Part, names: Names) -> None:
    """Writes a part over the row of its key."""
    kind = kind_name(part)
    row_id = names.ids[part.key]
    _manager(MODELS[kind]).filter(pk=row_id, revision=revision).update(**_columns(part, names))
    for _, through, owner, _ in _links_of(kind):
        through._default_manager.filter(**{f"{owner}_id": row_id}).delete()
    _link(kind, [part], names)


def remove_parts(revision: PlanRevision, parts: Iterable[Part]) -> None:
    """Removes parts with what hangs on them in the database."""
    for part in parts:
        key = UUID(part.key)
        model = MODELS[kind_name(part)]
        found = _manager(model).filter(revision=revision)
        (found.filter(origin=key) | found.filter(origin__isnull=True, pk=key)).delete()


def _columns(part: Part, names: Names) -> dict[str, Any]:
    made: Any = type(part)
    return {
        f"{spec.column or name}{_ending(made, name, spec)}": _stored(getattr(part, name), spec, names)
        for name, spec in specs_of(made).items()
        if spec.form is not Form.KEY and not _is_many(made, name, spec)
    }


def _ending(made: type, name: str, spec: Spec) -> str:
    refers = (spec.form is Form.PART and spec.target) or spec.form is Form.PLACE or is_single(made, name)
    return "_id" if refers else ""


def _stored(value: Any, spec: Spec, names: Names) -> Any:
    if value is None:
        return None
    if spec.form is Form.PART:
        return names.ids[value] if spec.target else UUID(value)
    if spec.form is Form.PLACE:
        return names.places[value]
    if spec.form is Form.PRODUCTS:
        return names.products[value]
    if spec.form is Form.TEXTS:
        return list(value)
    return dict(value) if spec.form is Form.DATA else value


def _links_of(kind: str) -> list[tuple[str, Any, str, str]]:
    """Field of the part, through model, name of the owner's key there, name of the other's."""
    found = []
    for name, spec in specs_of(KINDS[kind]).items():
        if _is_many(KINDS[kind], name, spec):
            field = MODELS[kind]._meta.get_field(spec.column or name)
            assert isinstance(field, ManyToManyField)
            found.append((name, field.remote_field.through, field.m2m_field_name(), field.m2m_reverse_field_name()))
    return found


def _link(kind: str, parts: Sequence[Part], names: Names) -> None:
    for name, through, owner, other in _links_of(kind):
        known = names.products if specs_of(KINDS[kind])[name].form is Form.PRODUCTS else names.ids
        rows: list[Model] = [
            through(**{f"{owner}_id": names.ids[part.key], f"{other}_id": known[target]})
            for part in parts
            for target in getattr(part, name)
        ]
        through._default_manager.bulk_create(rows, batch_size=400)
