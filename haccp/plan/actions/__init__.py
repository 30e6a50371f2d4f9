"""Every write to the plan: drafts and their parts, approval, confirmation on site, reviews, files."""

from haccp.plan.actions.confirmation import flow_confirm
from haccp.plan.actions.control_points import control_point_add
from haccp.plan.actions.drafts import CheckDraft, ControlPointDraft, LimitDraft, MeasureDraft
from haccp.plan.actions.files import plan_import, plan_take_in
from haccp.plan.actions.joining import plan_join
from haccp.plan.actions.judgements import judgements_answer
from haccp.plan.actions.limits import limit_save
from haccp.plan.actions.parts import Seen, part_add, part_change, part_remove, parts_add
from haccp.plan.actions.products import product_add, product_restore, product_retire
from haccp.plan.actions.reviews import review_occasion_record, review_record
from haccp.plan.actions.revisions import (
    APPROVAL_STATEMENT,
    approval_content,
    revision_approve,
    revision_change,
    revision_copy,
    revision_discard,
    revision_draft,
    revision_restore,
)
from haccp.plan.actions.steps import hazard_add, step_add

__all__ = [
    "APPROVAL_STATEMENT",
    "CheckDraft",
    "ControlPointDraft",
    "LimitDraft",
    "MeasureDraft",
    "Seen",
    "approval_content",
    "control_point_add",
    "flow_confirm",
    "hazard_add",
    "judgements_answer",
    "limit_save",
    "part_add",
    "part_change",
    "part_remove",
    "parts_add",
    "plan_import",
    "plan_join",
    "plan_take_in",
    "product_add",
    "product_restore",
    "product_retire",
    "review_occasion_record",
    "review_record",
    "revision_approve",
    "revision_change",
    "revision_copy",
    "revision_discard",
    "revision_draft",
    "revision_restore",
    "step_add",
]
