"""The flow diagram of a plan as a picture: on the page, and cut to sheets in print."""

import math
from collections.abc import Iterator

from django.utils.safestring import SafeString, mark_safe

from haccp.drawing.flow_chart import Control, Flow, FlowArrow, FlowStep, flow
from haccp.drawing.layout import COMPACT, PRINT, WIDE, Layout
from haccp.drawing.picture import Picture
from haccp.drawing.svg import to_svg_pair
from haccp.plan.document import PlanDocument
from haccp.plan.document.parts import Step
from haccp.science.flow import LinkKind

STEPS_ON_A_SHEET = 13


def flow_diagram(document: PlanDocument, *, title: str, id_prefix: str) -> SafeString:
    """Empty for a plan without steps."""
    if not document.steps:
        return SafeString("")

    def draw(layout: Layout) -> Picture:
        return flow(_flow(document, document.steps, title, layout))

    # Safe: the drawing room escapes every text that it writes.
    return mark_safe(to_svg_pair(draw(WIDE), draw(COMPACT), id_prefix=id_prefix))  # noqa: S308


def flow_sheets(document: PlanDocument, *, title: str) -> Iterator[tuple[Picture, tuple[str, ...]]]:
    """The flow in pieces of like length that fit a sheet, each with the ways that lead off it in words."""
    numbers = {step.key: step.position for step in document.steps}
    pieces = max(1, math.ceil(len(document.steps) / STEPS_ON_A_SHEET))
    length = max(1, math.ceil(len(document.steps) / pieces))
    for start in range(0, len(document.steps), length):
        here = document.steps[start : start + length]
        keys = {step.key for step in here}
        off = tuple(
            f"{numbers[link.start]} {document.title_of(link.start)} → {numbers[link.end]} "
            f"{document.title_of(link.end)}{f' ({link.label})' if link.label else ''}"
            for link in document.links
            if link.start in keys and link.end not in keys
        )
        yield flow(_flow(document, here, title, PRINT)), off


def _flow(document: PlanDocument, steps: tuple[Step, ...], title: str, layout: Layout) -> Flow:
    names = {product.code: product.name for product in document.products}
    drawn = tuple(
        FlowStep(
            number=step.position,
            name=step.name,
            note=", ".join(names[code] for code in step.products if code in names) if len(names) > 1 else "",
            controls=tuple(
                Control(point.code, point.name, point.is_critical)
                for point in document.control_points
                if point.step == step.key
            ),
            inputs=_materials(document, step, "in"),
            outputs=_materials(document, step, "out"),
        )
        for step in steps
    )
    numbers = {step.key: step.position for step in steps}
    links = tuple(
        FlowArrow(numbers[link.start], numbers[link.end], LinkKind(link.kind), link.label)
        for link in document.links
        if link.start in numbers and link.end in numbers
    )
    # A plan from before the flow was linked is drawn as one step after another.
    return Flow(title, _in_words(drawn), drawn, layout, links if document.links else None)


def _materials(document: PlanDocument, step: Step, direction: str) -> tuple[str, ...]:
    return tuple(one.name for one in document.materials if one.step == step.key and one.direction == direction)


def _in_words(steps: tuple[FlowStep, ...]) -> str:
    def one(step: FlowStep) -> str:
        codes = ", ".join(control.code for control in step.controls)
        return f"{step.number} {step.name}" + (f" ({codes})" if codes else "")

    return ", then ".join(one(step) for step in steps) + "."
