"""The choices of a plan's fields: stored value -> words. Shared by models, document and findings."""

STEP_KINDS = {
    "reception": "reception",  # where milk, ingredients or packaging come in
    "operation": "operation",
    "storage": "storage",
    "transport": "transport",
    "packing": "packing",
    "dispatch": "dispatch",  # where product leaves
    "disposal": "disposal",  # where waste leaves
}
STARTING_STEPS = frozenset({"reception"})
ENDING_STEPS = frozenset({"dispatch", "disposal"})

LINK_KINDS = {"flow": "flow", "branch": "branch", "rework": "rework", "waste": "waste"}
DIRECTIONS = {"in": "goes in", "out": "comes out"}
MATERIAL_KINDS = {
    "milk": "milk",
    "ingredient": "ingredient",
    "processing_aid": "processing aid",
    "water": "water, steam or ice",
    "packaging": "packaging",
    "product": "product",
    "by_product": "by-product",
    "waste": "waste",
}
HAZARD_KINDS = {
    "biological": "biological",
    "chemical": "chemical",
    "physical": "physical",
    "allergen": "allergen",
}
RISK_AXES = {"likelihood": "likelihood", "severity": "severity"}
CONTROL_POINT_KINDS = {"ccp": "critical control point", "prerequisite": "prerequisite programme"}
VALIDATION_KINDS = {
    "law": "set by law or an official code",
    "literature": "published study or guidance",
    "study": "own study",
    "trial": "trial at this dairy",
    "history": "records of this dairy",
}
RESTS = {
    "never": "due all the year",
    "without_milk": "not due while no milk comes in",
    "without_making": "not due while no cheese is made",
}
IF_MISSED = {"flagged": "flagged, with a reason", "deviation": "opens a deviation"}
DOCUMENT_KINDS = {"document": "document", "record": "record"}
TRIGGER_KINDS = {
    "new_product": "new product",
    "new_equipment": "new equipment or process",
    "deviation_trend": "trend of deviations",
    "published_limit": "changed law or published limit",
    "complaint": "complaint or illness",
    "new_knowledge": "new knowledge of a hazard",
    "other": "other reason",
}
# Prerequisite programmes: CXC 1-1969 (2022), chapter one, sections 2 to 9, in the order of a dairy's day.
PROGRAMMES = {
    "water": "water",
    "cleaning": "cleaning and sanitising",
    "pests": "pests",
    "personnel": "personnel hygiene",
    "training": "training",
    "suppliers": "suppliers",
    "allergens": "allergens",
    "calibration": "calibration",
    "maintenance": "maintenance",
    "waste": "waste",
    "transport": "transport",
}
