"""The flow diagram of a revision as a picture."""

from django.utils.safestring import SafeString, mark_safe

from haccp.drawing.flow_chart import Control, Flow, FlowArrow, FlowStep, flow
from haccp.drawing.layout import COMPACT, WIDE, Layout
from haccp.drawing.picture import Picture
from haccp.drawing.svg import to_svg_pair
from haccp.plan.queries import PlanInWords
from haccp.science.flow import LinkKind


def flow_diagram(plan: PlanInWords) -> SafeString:
    """Empty for a plan without steps."""
    if not plan.steps:
        return SafeString("")
    steps = tuple(
        FlowStep(
            number=i,
            name=step.name,
            note=", ".join(product.name for product in step.products.all()),
            controls=tuple(
                Control(point.code, point.name, point.is_critical)
                for point in plan.control_points
                if point.step_id == step.pk
            ),
            inputs=tuple(one.name for one in step.materials.all() if one.direction == "in"),
            outputs=tuple(one.name for one in step.materials.all() if one.direction == "out"),
        )
        for i, step in enumerate(plan.steps, start=1)
    )
    numbers = {step.pk: i for i, step in enumerate(plan.steps, start=1)}
    # A plan from before the flow was linked is drawn as one step after another.
    links = tuple(
        FlowArrow(numbers[link.start_id], numbers[link.end_id], LinkKind(link.kind), link.label)
        for step in plan.steps
        for link in step.links_out.all()
    )
    title = f"Flow of {plan.revision}"

    def draw(layout: Layout) -> Picture:
        return flow(Flow(title, _in_words(steps), steps, layout, links or None))

    # Safe: the drawing room escapes every text that it writes.
    return mark_safe(to_svg_pair(draw(WIDE), draw(COMPACT), id_prefix=f"flow-{plan.revision.pk}"))  # noqa: S308


def _in_words(steps: tuple[FlowStep, ...]) -> str:
    def one(step: FlowStep) -> str:
        codes = ", ".join(control.code for control in step.controls)
        return f"{step.number} {step.name}" + (f" ({codes})" if codes else "")

    return ", then ".join(one(step) for step in steps) + "."
