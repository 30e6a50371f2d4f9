"""The demo dairy's plan: its cheeses, flow, hazards, critical control points and prerequisite programmes."""

from haccp.config.demo.plan.draft import approve_first, approve_second
from haccp.config.demo.plan.products import Products, add_products

__all__ = ["Products", "add_products", "approve_first", "approve_second"]
