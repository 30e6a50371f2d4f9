"""What a person types about a plan. Forms of parts follow from the parts themselves."""

from haccp.plan.forms.part_form import PartForm

__all__ = ["PartForm"]
