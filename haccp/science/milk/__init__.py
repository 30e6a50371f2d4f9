"""Milk as it arrives: rolling means of the periodic counts, and how fast it was cooled."""
