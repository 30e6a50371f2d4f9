"""The pages of the plan: reading it, starting a draft, working on its sections, approving and reviewing it."""

from haccp.plan.views.approving import approval, approve
from haccp.plan.views.batches import batches
from haccp.plan.views.comparing import differences
from haccp.plan.views.confirming import confirm
from haccp.plan.views.drafting import answers, answers_add, copy, discard, export, restore, take_in
from haccp.plan.views.findings import findings
from haccp.plan.views.part import part_add, part_change, part_remove
from haccp.plan.views.products import product_add, product_restore, product_retire
from haccp.plan.views.reading import plan
from haccp.plan.views.reviewing import occasion, review, review_record
from haccp.plan.views.section import answer_questions, section, settings
from haccp.plan.views.tree import tree
from haccp.plan.views.workspace import workspace

__all__ = [
    "answer_questions",
    "answers",
    "answers_add",
    "approval",
    "approve",
    "batches",
    "confirm",
    "copy",
    "differences",
    "discard",
    "export",
    "findings",
    "occasion",
    "part_add",
    "part_change",
    "part_remove",
    "plan",
    "product_add",
    "product_restore",
    "product_retire",
    "restore",
    "review",
    "review_record",
    "section",
    "settings",
    "take_in",
    "tree",
    "workspace",
]
