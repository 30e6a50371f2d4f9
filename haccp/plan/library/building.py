"""Entries as written, turned into typed ones. The schema has let them pass; cross-checks come afterwards."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from haccp.plan.library.conditions import read_when
from haccp.plan.library.entries import (
    Band,
    CheckEntry,
    ControlEntry,
    Document,
    Family,
    Force,
    HazardEntry,
    Known,
    LimitChoice,
    Material,
    MeasureEntry,
    Occurrence,
    Part,
    Question,
    ReadyLimit,
    Rework,
    Sampling,
    Source,
    StepEntry,
    Table,
    Value,
)
from haccp.science.limit import Comparator, Limit

Raw = Mapping[str, Any]


def document(raw: Raw) -> Document:
    return Document(
        id=raw["id"],
        title=raw["title"],
        edition=raw.get("edition", ""),
        jurisdiction=raw["jurisdiction"],
        known=Known(raw["known"]),
        how=raw["how"],
        in_force_from=_day(raw, "in_force_from"),
        in_force_to=_day(raw, "in_force_to"),
        superseded_by=raw.get("superseded_by", ""),
        cited_as=tuple(raw.get("cited_as", ())),
        note=raw.get("note", ""),
    )


def value(raw: Raw) -> Value:
    parts = tuple(_part(item) for item in raw.get("parts", ()))
    sampling = _sampling(raw["sampling"]) if "sampling" in raw else None
    return Value(
        id=raw["id"],
        subject=raw["subject"],
        title=raw["title"],
        jurisdictions=tuple(raw["jurisdictions"]),
        document=raw["document"],
        clause=raw["clause"],
        known=Known(raw["known"]),
        force=Force(raw["force"]),
        effective_from=_day(raw, "effective_from"),
        effective_to=_day(raw, "effective_to"),
        superseded_by=raw.get("superseded_by", ""),
        species=tuple(raw.get("species", ())),
        treatments=tuple(raw.get("treatments", ())),
        families=tuple(raw.get("families", ())),
        process=raw.get("process", ""),
        condition=raw.get("condition", ""),
        group=raw.get("group", ""),
        rule=raw.get("rule", ""),
        when=read_when(raw.get("when")),
        forbids=raw.get("forbids", False),
        parts=parts,
        sampling=sampling,
        table=_table(raw["table"]) if "table" in raw else None,
        limits=tuple(_ready_limit(item, parts, sampling) for item in raw.get("limits", ())),
        note=raw.get("note", ""),
    )


def _day(raw: Raw, key: str) -> dt.date | None:
    return dt.date.fromisoformat(raw[key]) if key in raw else None


def _part(raw: Raw) -> Part:
    comparator = Comparator(raw["comparator"])
    low = raw.get("si_low", raw.get("si") if comparator is Comparator.AT_LEAST else None)
    high = raw.get("si_high", raw.get("si") if comparator is Comparator.AT_MOST else None)
    period = next(iter(raw["period"].items())) if "period" in raw else None
    return Part(
        name=raw["name"],
        quantity=raw["quantity"],
        comparator=comparator,
        low=None if low is None else float(low),
        high=None if high is None else float(high),
        published=tuple(float(raw[key]) for key in ("value", "low", "high") if key in raw),
        unit=raw.get("unit", ""),
        period=period,
        as_published=raw.get("as_published", ""),
    )


def _sampling(raw: Raw) -> Sampling:
    return Sampling(
        organism=raw["organism"],
        n=raw["n"],
        c=raw["c"],
        stage=raw["stage"],
        m=raw.get("m"),
        largest=raw.get("M"),
        unit=raw.get("unit", ""),
        absent_in=raw.get("absent_in", ""),
    )


def _table(raw: Raw) -> Table:
    return Table(
        row_quantity=raw["row_quantity"],
        rows=tuple(_band(item) for item in raw["rows"]),
        column_quantity=raw["column_quantity"],
        columns=tuple(_band(item) for item in raw["columns"]),
        cells=tuple(tuple(row) for row in raw["cells"]),
    )


def _band(raw: Raw) -> Band:
    return Band(raw.get("from"), raw.get("above"), raw.get("below"), raw.get("up_to"))


def _ready_limit(raw: Raw, parts: tuple[Part, ...], sampling: Sampling | None) -> ReadyLimit:
    return ReadyLimit(raw["key"], raw["statement"], _limit(raw, parts, sampling))


def _limit(raw: Raw, parts: tuple[Part, ...], sampling: Sampling | None) -> Limit:
    """Bounds from the part named, from the sampling plan, or answers that are accepted."""
    evaluator, parameters = raw["evaluator"], dict(raw.get("parameters", {}))
    if "accepted" in raw:
        return Limit("answer", evaluator, Comparator.ONE_OF, accepted=tuple(raw["accepted"]), parameters=parameters)
    found = next((part for part in parts if part.name == raw.get("part")), None)
    if found is not None:
        return Limit(
            found.quantity,
            evaluator,
            found.comparator,
            low=found.low,
            high=found.high,
            parameters=parameters,
            unit=raw.get("unit", found.unit),
        )
    if sampling is not None and sampling.largest is not None:
        target = sampling.m if sampling.m != sampling.largest else None
        return Limit(
            "count_cfu",
            evaluator,
            Comparator.AT_MOST,
            high=sampling.largest,
            target_high=target,
            parameters=parameters,
            unit=sampling.unit,
        )
    return Limit("", evaluator, Comparator.AT_MOST, parameters=parameters)


def hazard(raw: Raw) -> HazardEntry:
    return HazardEntry(
        id=raw["id"],
        name=raw["name"],
        kind=raw["kind"],
        severity=raw["severity"],
        removed_by=dict(raw["removed_by"]),
        sources=_sources(raw),
        at=tuple(_occurrence(item) for item in raw["at"]),
        species=tuple(raw.get("species", ())),
        removal_note=raw.get("removal_note", ""),
        values=tuple(raw.get("values", ())),
    )


def _sources(raw: Raw) -> tuple[Source, ...]:
    return tuple(
        Source(item["document"], item.get("clause", ""), Known(item.get("known", "memory")))
        for item in raw.get("sources", ())
    )


def _occurrence(raw: Raw) -> Occurrence:
    return Occurrence(
        step=raw["step"],
        how=raw["how"],
        likelihood=raw["likelihood"],
        significant=raw["significant"],
        justification=raw["justification"],
        control_measure=raw["control_measure"],
        controlled_by=tuple(raw["controlled_by"]),
        when=read_when(raw.get("when")),
    )


def step(raw: Raw) -> StepEntry:
    return StepEntry(
        id=raw["id"],
        name=raw["name"],
        description=raw["description"],
        when=read_when(raw.get("when")),
        inputs=tuple(Material(item["name"], read_when(item.get("when"))) for item in raw.get("inputs", ())),
        outputs=tuple(Material(item["name"], read_when(item.get("when"))) for item in raw.get("outputs", ())),
        rework=tuple(
            Rework(item["material"], item["to"], read_when(item.get("when"))) for item in raw.get("rework", ())
        ),
    )


def control(raw: Raw) -> ControlEntry:
    return ControlEntry(
        id=raw["id"],
        kind=raw["kind"],
        name=raw["name"],
        corrective_action=raw["corrective_action"],
        verification=raw["verification"],
        checks=tuple(_check(item) for item in raw["checks"]),
        programme=raw.get("programme", ""),
        step=raw.get("step", ""),
        validation=raw.get("validation", ""),
        limits=tuple(_limit_choice(item) for item in raw.get("limits", ())),
        sources=_sources(raw),
        when=read_when(raw.get("when")),
    )


def _limit_choice(raw: Raw) -> LimitChoice:
    left_open = raw["open"]
    return LimitChoice(
        key=raw["key"],
        open_statement=left_open["statement"],
        open_question=left_open["question"],
        quantity=left_open["quantity"],
        comparator=Comparator(left_open["comparator"]),
        evaluator=left_open["evaluator"],
        choose=tuple((read_when(item.get("when")), item["value"], item["limit"]) for item in raw.get("choose", ())),
        when=read_when(raw.get("when")),
        help=left_open.get("help", ""),
    )


def _check(raw: Raw) -> CheckEntry:
    return CheckEntry(
        name=raw["name"],
        subject=raw["subject"],
        how=raw["how"],
        who=raw["who"],
        cadence=dict(raw["cadence"]),
        measures=tuple(_measure(item) for item in raw["measures"]),
        place_kind=raw.get("place_kind", ""),
        window_before_s=raw.get("window_before_s", 3600),
        grace_s=raw.get("grace_s", 3600),
        rests=raw.get("rests", "never"),
        if_missed=raw.get("if_missed", "flagged"),
        instrument_kind=raw.get("instrument_kind", ""),
        when=read_when(raw.get("when")),
    )


def _measure(raw: Raw) -> MeasureEntry:
    return MeasureEntry(
        label=raw["label"],
        kind=raw["kind"],
        quantity=raw.get("quantity", ""),
        unit=raw.get("unit", ""),
        choices=tuple(raw.get("choices", ())),
        required=raw.get("required", True),
        limits=tuple(raw.get("limits", ())),
    )


def family(raw: Raw) -> Family:
    return Family(raw["id"], raw["name"], raw["description"], dict(raw["typical"]), tuple(raw["steps"]))


def question(raw: Raw) -> Question:
    return Question(
        id=raw["id"],
        asks=raw["asks"],
        decides=raw["decides"],
        kind=raw["kind"],
        choices=tuple((item["key"], item["label"]) for item in raw.get("choices", ())),
        lowest=raw.get("lowest"),
        highest=raw.get("highest"),
        default=raw.get("default"),
        when=read_when(raw.get("when")),
        ask_when=read_when(raw.get("ask_when")),
    )
